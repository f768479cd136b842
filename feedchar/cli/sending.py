"""Writing what is sent on: document, page, workbook and folder of tables of one result."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from feedchar.cli.progress import waiting
from feedchar.errors import OutputError

if TYPE_CHECKING:
    from feedchar.results import Characterisation

_FILES = ("json", "html", "xlsx")


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
        place = getattr(arguments, kind)
        if place is not None and not (kind == "json" and place == "-"):
            taken.append(check_target(place, **known))
    if arguments.csv is not None:
        taken.append(check_folder(arguments.csv, **known))
    if len(set(taken)) < len(taken):
        message = "two outputs would have the same name. Give each its own"
        raise OutputError(message)


def send_on(arguments: argparse.Namespace, result: Characterisation) -> list[str]:
    """Write everything that was asked for.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options, with `read_paths`. [-]
    result : Characterisation
        The result that all of them show. [-]

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
    written = []
    for kind in _FILES:
        place = getattr(arguments, kind)
        if place is None or (kind == "json" and place == "-"):
            continue
        with waiting(f"writing {kind}"):
            write_file(place, _content(kind, arguments, result), **known)
        written.append(place)
    if arguments.csv is not None:
        from feedchar.report.tables import csv_files

        write_folder(arguments.csv, csv_files(result), **known)
        written.append(arguments.csv)
    return written


def _content(kind: str, arguments: argparse.Namespace, result: Characterisation) -> str | bytes:
    if kind == "json":
        from feedchar.report.document import to_json

        return to_json(result)
    asked: dict[str, Any] = {
        "units": getattr(arguments, "units", "trade"),
        "at_grade": getattr(arguments, "at_grade", None),
        "at_yield": getattr(arguments, "at_yield", None),
    }
    if kind == "html":
        from feedchar.report.html import to_html

        return to_html(result, **asked)
    from feedchar.report.workbook import to_workbook

    return to_workbook(result, **asked)
