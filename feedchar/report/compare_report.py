"""What is sent on of a comparison: document, tables, and the report of blocks."""

from __future__ import annotations

from typing import Any

from feedchar import __version__
from feedchar.report.compare_blocks import compare_findings
from feedchar.report.document import dump, plain
from feedchar.report.report import Report, Tidy
from feedchar.report.tables import table_of
from feedchar.report.words import listing
from feedchar.results.comparison import Comparison

SCHEMA = "feedchar-compare/1"

_OF_A_BAG = ("bag", "test", "step", "repeat", "from_bag", "product", "laboratory")


def compare_json(result: Comparison) -> str:
    """JSON document of a comparison; the same result gives the same bytes.

    Parameters
    ----------
    result : Comparison
        The result. [-]

    Returns
    -------
    str
        ASCII text ending in a line end; floats with 6 significant digits, undefined as null. [-]

    Raises
    ------
    UndefinedNumberError
        When a number of the result is NaN or infinite.
    """
    head: dict[str, Any] = {"schema": SCHEMA, "feedchar_version": __version__}
    body: dict[str, Any] = plain(result)
    return dump(head | body)


def compare_report(result: Comparison) -> Report:
    """Everything that page, workbook and folder show.

    Parameters
    ----------
    result : Comparison
        The result. [-]

    Returns
    -------
    Report
        The findings, and a table of each kind of record. [-]
    """
    names = [file.name for file in result.input.files]
    made_from = (
        f"Made by feedchar {__version__} from {listing(names, 8)}; "
        f"{result.trials} trials, seed {result.seed}."
    )
    return Report(compare_findings(result), made_from, _tables(plain(result)))


def _tables(tree: dict[str, Any]) -> dict[str, Tidy]:
    balance = [
        {key: bag[key] for key in _OF_A_BAG} | figure
        for bag in tree["balance"]["bags"]
        for figure in bag["figures"]
    ]
    mistakes = [one | {"bags": ", ".join(one["bags"])} for one in tree["mistakes"]]
    yields = [one | {"oxides": ", ".join(one["oxides"])} for one in tree["yields"]]
    made = {
        "balance": table_of(balance),
        "mistakes": table_of(mistakes),
        "losses": table_of(tree["losses"]),
        "yields": table_of(yields),
        "recoveries": table_of(tree["recoveries"]),
        "agreement": table_of(tree["agreement"]),
        "compared": table_of(tree["compared"]),
        "causes": table_of(tree["causes"]),
        "notes": table_of(tree["notes"]),
    }
    return {name: table for name, table in made.items() if table.rows}
