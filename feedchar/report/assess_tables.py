"""Tidy tables of an assessment: one idea each, a row a thing, units in the headings.

The numbers are those of the document, so that every output shows the same.
"""

from __future__ import annotations

from typing import Any

from feedchar.report.document import document, plain
from feedchar.report.report import Tidy
from feedchar.report.tables import PARTS_OF_UNCERTAIN, table_of
from feedchar.results import Characterisation
from feedchar.tables.sources import sources


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
            record[f"{kind}_wt_pct"] = value or dict.fromkeys(PARTS_OF_UNCERTAIN)
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
    known = value or dict.fromkeys(PARTS_OF_UNCERTAIN)
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
