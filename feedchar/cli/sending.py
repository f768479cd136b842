"""Writing what is sent on: document, page, workbook and folder of tables of one result.

The same for every command: it brings its document, and a report that is made when wanted.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

from feedchar.cli.progress import waiting
from feedchar.errors import OutputError

if TYPE_CHECKING:
    from feedchar.report.report import Report

_FILES = ("json", "html", "xlsx", "png")


def check_places(arguments: argparse.Namespace) -> None:
    """Refuse a place that must not be written, before anything long is done.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options, with `read_paths`. [-]

    Raises
    ------
    OutputError
        When a place cannot be written, or two outputs have the same.
    """
    from feedchar.report.folder import check_folder
    from feedchar.report.write import check_target

    known = {"force": arguments.force, "read_paths": arguments.read_paths}
    taken = []
    for kind in _FILES:
        place = getattr(arguments, kind, None)
        if place is not None and not (kind == "json" and place == "-"):
            taken.append(check_target(place, **known))
    if arguments.csv is not None:
        taken.append(check_folder(arguments.csv, **known))
    if len(set(taken)) < len(taken):
        message = "two outputs would have the same name. Give each its own"
        raise OutputError(message)


def send_on(
    arguments: argparse.Namespace,
    to_json: Callable[[], str],
    to_report: Callable[[], Report],
    to_png: Callable[[], bytes] | None = None,
) -> list[str]:
    """Write everything that was asked for.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options, with `read_paths`. [-]
    to_json : callable
        Makes the document. [-]
    to_report : callable
        Makes what page, workbook and folder show; called once, and only when one is wanted. [-]
    to_png : callable or None
        Makes the picture of a command that has one. [-]

    Returns
    -------
    list of str
        Places written, as they were named. [-]

    Raises
    ------
    OutputError
        When a place cannot be written.
    """
    from feedchar.report.folder import write_folder
    from feedchar.report.write import write_file

    known = {"force": arguments.force, "read_paths": arguments.read_paths}
    report = cache(to_report)
    written = []
    for kind in _FILES:
        place = getattr(arguments, kind, None)
        if place is None or (kind == "json" and place == "-"):
            continue
        with waiting(f"writing {kind}"):
            if kind == "json":
                content: str | bytes = to_json()
            elif kind == "png" and to_png is not None:
                content = to_png()
            else:
                content = _content(kind, report())
            write_file(place, content, **known)
        written.append(place)
    if arguments.csv is not None:
        from feedchar.report.tables import csv_files

        write_folder(arguments.csv, csv_files(report().tables), **known)
        written.append(arguments.csv)
    return written


def _content(kind: str, report: Report) -> str | bytes:
    if kind == "html":
        from feedchar.report.html import page

        return page(report)
    from feedchar.report.workbook import workbook

    return workbook(report)
