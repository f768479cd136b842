"""The one place that knows where the reference tables and the examples lie.

In an installed package they travel inside `feedchar`; in a working copy they lie beside it.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from feedchar.errors import FeedcharError

INDEX = "sources.csv"
"""A folder of reference tables is one that holds the index of sources; a stranger's is not."""


@lru_cache(maxsize=1)
def tables_folder() -> Path:
    """Folder of the reference tables.

    Returns
    -------
    pathlib.Path
        Folder that holds the index of sources. [-]

    Raises
    ------
    FeedcharError
        When the tables are nowhere to be found.
    """
    return _beside_or_inside("reference_tables", INDEX)


@lru_cache(maxsize=1)
def examples_folder() -> Path:
    """Folder of the invented samples.

    Returns
    -------
    pathlib.Path
        Folder that holds the README of the examples. [-]

    Raises
    ------
    FeedcharError
        When the examples are nowhere to be found.
    """
    return _beside_or_inside("examples", "README.md")


def table_path(name: str) -> Path:
    """Path of one reference table.

    Parameters
    ----------
    name : str
        File name, such as "minerals.csv". [-]

    Returns
    -------
    pathlib.Path
        Path of the file. [-]

    Raises
    ------
    FeedcharError
        When the installation lacks the file.
    """
    path = tables_folder() / name
    if not path.is_file():
        message = f"the reference table {name} is missing: this installation is incomplete"
        raise FeedcharError(message)
    return path


def _beside_or_inside(folder: str, index: str) -> Path:
    package = Path(__file__).resolve().parents[1]
    for place in (package / folder, package.parent / folder):
        if (place / index).is_file():
            return place
    message = f"the folder {folder} is missing: this installation is incomplete, install it again"
    raise FeedcharError(message)
