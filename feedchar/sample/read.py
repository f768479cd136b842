"""The front door of the room: a path to a `Sample`, a text to a `Limit`."""

from __future__ import annotations

import os
from pathlib import Path

from feedchar.errors import InputError
from feedchar.sample.assemble import assemble
from feedchar.sample.folder import gather_folder
from feedchar.sample.gathered import Gathered
from feedchar.sample.limit import parse_limit
from feedchar.sample.records import Sample
from feedchar.sample.shown import file_label, shown

__all__ = ["parse_limit", "read_sample"]

_WORKBOOKS = (".xlsx", ".xls", ".xlsm", ".xlsb", ".xltx", ".xltm", ".ods")


def read_sample(path: str | os.PathLike[str]) -> Sample:
    """Everything that was measured on one bag.

    Parameters
    ----------
    path : str or path-like
        A CSV of minerals, a folder, a sample.toml, or a workbook (.xlsx). [-]

    Returns
    -------
    Sample
        Sizes in micrometres, assays in wt % of the dry bag with iron as Fe2O3. [-]

    Raises
    ------
    InputError
        For the first thing in reading order that cannot be used: file, row and column, what is
        wrong, what would be right.

    Examples
    --------
    >>> from feedchar.tables.locate import examples_folder
    >>> read_sample(examples_folder() / "minimal.csv").minerals[0].mineral
    'quartz'
    """
    text = os.fspath(path)
    if not text or "\x00" in text:
        problem = f"{shown(text)} is no path"
        raise InputError(problem, remedy="Give a CSV, a folder, a sample.toml or a workbook")
    place = Path(text)
    try:
        is_folder, exists = place.is_dir(), place.exists()
    except (OSError, ValueError) as error:
        problem = f"{shown(place.name)} cannot be read"
        raise InputError(problem) from error
    if is_folder:
        return assemble(gather_folder(place))
    if not exists:
        problem = f"{shown(place.name)} is not there"
        raise InputError(problem, remedy="Give a CSV, a folder, a sample.toml or a workbook")
    return assemble(_gather_file(place))


def _gather_file(path: Path) -> Gathered:
    suffix = path.suffix.lower()
    if suffix == ".toml":
        # A link to a sample stands for the folder that it leads to.
        real = path.resolve()
        return gather_folder(real.parent, real)
    if suffix in _WORKBOOKS:
        from feedchar.sample.workbook import gather_workbook

        return gather_workbook(path)
    if suffix in (".csv", ".txt", ".tsv"):
        gathered = Gathered(path.stem)
        gathered.take_table("minerals", path)
        if not gathered.tables["minerals"].rows:
            problem = "has a heading and no rows"
            raise InputError(problem, file=file_label(path), remedy="One row a mineral")
        return gathered
    problem = f"is a {suffix or 'file without an ending'}, and none that is read"
    raise InputError(
        problem,
        file=file_label(path),
        remedy="Give a CSV, a folder, a sample.toml or a workbook (.xlsx)",
    )
