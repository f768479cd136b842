"""Tidy tables of a result: one idea each, a row a thing, units in the headings.

The numbers are those of the document, so that every output shows the same.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from io import StringIO
from typing import Any

from feedchar.report.document import document, plain
from feedchar.report.report import Tidy, Value
from feedchar.report.words import visible
from feedchar.results import Characterisation
from feedchar.tables.sources import sources

_UNCERTAIN = ("typical", "mean", "sd", "p05", "p50", "p95")
_DANGEROUS = tuple("=+-@\t\r\n|%\uff1d\uff0b\uff0d\uff20")
"""A spreadsheet may take text that begins so for a formula or a command."""


def tidy_tables(result: Characterisation) -> dict[str, Tidy]:
    """All tables of a result by name, empty ones left out.

    Parameters
    ----------
    result : Characterisation
        The result. [-]

    Returns
    -------
    dict of str to Tidy
        In the order in which one reads them. [-]
    """
    tree = document(result)
    made = {
        "answer": _answer(tree),
        "feed": table_of(tree["minerals"]),
        "assay": table_of(_oxides(tree["assay"])),
        "iron": table_of(tree["iron"]),
        "response": table_of(tree["response"]),
        "setting": table_of([{k: v for k, v in tree["setting"].items() if k != "each_pass"}]),
        "passes": table_of(
            [{"pass": n, **one} for n, one in enumerate(tree["setting"]["each_pass"], start=1)]
        ),
        "product": table_of(_outlets(tree["product"])),
        "curves": table_of(_curves(tree["best_possible"])),
        "treatments": table_of(tree["best_possible"]["other_treatments"]),
        "stays": table_of(tree["iron_that_stays"]),
        "searched": table_of(tree["searched"]),
        "what_if": table_of(plain(result.what_if.points) if result.what_if else []),
        "measure_next": table_of(tree["measure_next"]),
        "notes": table_of(tree["notes"]),
        "sources": table_of(_sources(tree)),
    }
    return {name: table for name, table in made.items() if table.rows}


def csv_files(tables: Mapping[str, Tidy]) -> dict[str, str]:
    """Text of each table as CSV.

    Parameters
    ----------
    tables : mapping of str to Tidy
        By name. [-]

    Returns
    -------
    dict of str to str
        File name to text: commas, decimal points, plain line ends, blank for undefined. [-]
    """
    return {f"{name}.csv": csv_text(table) for name, table in tables.items()}


def csv_text(table: Tidy) -> str:
    """One table as CSV in which no text can become a formula.

    Parameters
    ----------
    table : Tidy
        The table. [-]

    Returns
    -------
    str
        Text that a spreadsheet might compute has an apostrophe in front. [-]
    """
    page = StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow([guarded(heading) for heading in table.headings])
    for row in table.rows:
        writer.writerow([_cell(value) for value in row])
    return page.getvalue()


def guarded(text: str) -> str:
    """Text that stays text in a spreadsheet.

    Parameters
    ----------
    text : str
        Any text. [-]

    Returns
    -------
    str
        Control characters made visible, an apostrophe before what might be computed. [-]
    """
    shown = visible(text)
    return f"'{shown}" if shown.lstrip().startswith(_DANGEROUS) else shown


def table_of(records: Iterable[Mapping[str, Any]]) -> Tidy:
    """A table of plain records; an uncertain number takes six columns.

    Parameters
    ----------
    records : iterable of mapping
        Plain values, all with the same keys or some of them. [-]

    Returns
    -------
    Tidy
        Headings in the order in which keys first come. [-]
    """
    flat = [_flat(record) for record in records]
    headings = tuple(dict.fromkeys(key for record in flat for key in record))
    return Tidy(headings, tuple(tuple(record.get(key) for key in headings) for record in flat))


def _flat(record: Mapping[str, Any]) -> dict[str, Value]:
    made: dict[str, Value] = {}
    for key, value in record.items():
        if isinstance(value, dict) and set(value) == set(_UNCERTAIN):
            made.update({f"{key}_{part}": value[part] for part in _UNCERTAIN})
        elif isinstance(value, list) and value and not isinstance(value[0], str):
            ends = ("low", "high") if len(value) == 2 else tuple(map(str, range(len(value))))
            made.update({f"{key}_{end}": part for end, part in zip(ends, value, strict=True)})
        elif isinstance(value, list):
            made[key] = "; ".join(value)
        else:
            made[key] = value
    return made


def _answer(tree: dict[str, Any]) -> Tidy:
    answer = tree["answer"]
    whole = {
        "quantity": "all together",
        "chance": answer["chance_of_meeting_limit"],
        "status": answer["status"],
        "sentence": answer["sentence"],
    }
    return table_of([*answer["rows"], whole])


def _oxides(assay: dict[str, Any]) -> list[dict[str, Any]]:
    made = []
    for oxide in dict.fromkeys((*assay["reconciled_wt_pct"], *assay["measured_wt_pct"])):
        measured = assay["measured_wt_pct"].get(oxide, {})
        record = {
            "oxide": oxide,
            "measured_wt_pct": measured.get("value"),
            "measured_sd_wt_pct": measured.get("sd"),
            "below_detection": measured.get("below_detection"),
        }
        for kind in ("predicted", "reconciled"):
            value = assay[f"{kind}_wt_pct"].get(oxide)
            record[f"{kind}_wt_pct"] = value or dict.fromkeys(_UNCERTAIN)
        made.append(record)
    return made


def _outlets(product: dict[str, Any]) -> list[dict[str, Any]]:
    made = []
    for outlet in ("non_magnetics", "middlings", "magnetics", "untreated"):
        values = product[outlet]
        quantities = {
            "yield": ("pct_of_dry_bag", values["yield_pct"]),
            "yield of roll feed": ("pct_of_roll_feed", values["yield_of_roll_feed_pct"]),
            "share of the iron": ("pct_of_iron", values["iron_share_pct"]),
            "dark grains": ("per_100_g", values["specks_per_100_g"]),
            **{oxide: ("wt_pct", value) for oxide, value in values["assay_wt_pct"].items()},
        }
        made += [_quantity(outlet, *entry) for entry in quantities.items()]
    for key, words, unit in (
        ("iron_removal_pct", "iron removed", "pct_of_iron"),
        ("sand_lost_pct", "sand lost", "pct_of_pale_treated"),
        ("refractory_grains_per_100_g", "refractory grains", "per_100_g"),
    ):
        made.append(_quantity("non_magnetics", words, (unit, product[key])))
    return made


def _quantity(outlet: str, words: str, entry: tuple[str, Any]) -> dict[str, Any]:
    unit, value = entry
    known = value or dict.fromkeys(_UNCERTAIN)
    return {"outlet": outlet.replace("_", "-"), "quantity": words, "unit": unit, **known}


def _curves(best: dict[str, Any]) -> list[dict[str, Any]]:
    names = ("every_grain_sorted", "ideal_magnet", "this_roll")
    points: dict[float, dict[str, Any]] = {}
    for curve in names:
        for point in best[curve]:
            row = points.setdefault(point["yield_pct"], {})
            row[f"{curve}_Fe2O3_wt_pct"] = point["Fe2O3_wt_pct"]
    return [{"yield_pct": kept, **points[kept]} for kept in sorted(points)]


def _sources(tree: dict[str, Any]) -> list[dict[str, Any]]:
    """Every source that the feed names, as the bibliography knows it."""
    known = sources()
    keys = sorted({phase["source"] for phase in tree["minerals"] if phase["source"]})
    return [
        {
            "key": key,
            "citation": known[key].citation if key in known else "of the user's own",
            "how_seen": known[key].how_seen if key in known else "",
        }
        for key in keys
    ]


def _cell(value: Value) -> Value:
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"{value:.6g}" if isinstance(value, float) else value
