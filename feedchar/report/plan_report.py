"""What is sent on of a plan: its pages, tables and labels, and the rows to fill in."""

from __future__ import annotations

from feedchar import __version__
from feedchar.report.document import plain
from feedchar.report.plan_bag_blocks import label_cards
from feedchar.report.plan_blocks import plan_findings
from feedchar.report.report import Report
from feedchar.report.tables import table_of
from feedchar.report.words import name
from feedchar.results.plan import Plan
from feedchar.units import M_PER_MM

TEST_COLUMNS = (
    "test", "step", "repeat", "machine", "from_bag", "bag", "product", "mass_g", "belt_speed_m_s",
    "splitter_mm", "splitter_2_mm", "feed_kg_h", "belt_width_mm", "current_a", "passing_um",
    "retained_um", "feed_temperature_c", "roll_temperature_c", "humidity_pct", "operator", "date",
)  # fmt: skip
ASSAY_COLUMNS = (
    "bag", "oxide", "value", "unit", "laboratory", "method", "repeat_of", "repeat_kind", "mill",
)  # fmt: skip

DIAGNOSTIC_COLUMNS = (
    "treatment", "mass_in_g", "mass_out_g", "Fe2O3_in_wt_pct", "Fe2O3_out_wt_pct",
)  # fmt: skip


def plan_report(result: Plan) -> Report:
    """The whole plan, with labels to print.

    Parameters
    ----------
    result : Plan
        The result. [-]

    Returns
    -------
    Report
        Findings, tables and labels. [-]
    """
    tree = plain(result)
    tables = {
        "masses": table_of(tree["masses"]),
        "grains": table_of(tree["grains"]),
        "programme": table_of(tree["work"]),
        "splits": table_of(tree["splits"]),
        "bags": table_of(tree["bags"]),
        "order": table_of(tree["order"]),
        "notes": table_of(tree["notes"]),
    }
    files = ", ".join(name(file.name) for file in result.input.files)
    told = f" ({files})" if files else ""
    return Report(
        findings=plan_findings(result),
        made_from=(
            f"Fe2O3 means all iron expressed as Fe2O3. Made from {name(result.input.name)}{told} "
            f"by feedchar {__version__}, {result.trials} trials, seed {result.seed}."
        ),
        tables={key: table for key, table in tables.items() if table.rows},
        own_side=frozenset({"order"}),
        labels=label_cards(result),
    )


def rows_of_tests(result: Plan) -> tuple[dict[str, str], ...]:
    """Rows of tests.csv with everything but what is to be measured.

    Parameters
    ----------
    result : Plan
        The plan. [-]

    Returns
    -------
    tuple of dict of str to str
        Column to text; masses blank. [-]
    """
    made = []
    for bag in result.bags:
        made.append(
            {
                "test": bag.test,
                "step": bag.step,
                "repeat": bag.repeat,
                "machine": bag.machine,
                "from_bag": bag.from_bag,
                "bag": bag.bag,
                "product": bag.product,
                "belt_speed_m_s": _text(bag.belt_speed_m_s),
                "splitter_mm": _text(bag.splitter_m, M_PER_MM),
                "splitter_2_mm": _text(bag.splitter_2_m, M_PER_MM),
                "feed_kg_h": _text(bag.feed_kg_h),
                "belt_width_mm": _text(bag.belt_width_m, M_PER_MM),
                "current_a": _text(bag.current_a),
                "passing_um": _text(bag.passing_um),
                "retained_um": _text(bag.retained_um),
            }
        )
    return tuple(made)


def rows_of_assays(result: Plan) -> tuple[dict[str, str], ...]:
    """Rows of assays.csv, one an oxide of a bag, values blank.

    Parameters
    ----------
    result : Plan
        The plan. [-]

    Returns
    -------
    tuple of dict of str to str
        Column to text. A bag of a repeated run is a bag of its own; its rows say of which other
        bag it is a new one, where that is assayed: what is fed on is not. [-]
    """
    made = []
    firsts = {line.bag for line in result.order if line.kind == "first"}
    for line in result.order:
        if not line.in_table:
            continue
        within = line.kind in ("reread", "new bead", "new split")
        within = within or (line.kind == "new bag" and line.repeat_of in firsts)
        other = line.repeat_of if within and line.repeat_of != line.bag else ""
        for oxide in line.oxides:
            made.append(
                {
                    "bag": line.bag,
                    "oxide": oxide,
                    "unit": "wt_pct",
                    "repeat_of": other or "",
                    "repeat_kind": line.kind if within else "",
                    "mill": line.mill,
                }
            )
    return tuple(made)


def rows_of_diagnostics(result: Plan) -> tuple[dict[str, str], ...]:
    """Rows of diagnostics.csv, one a blank of the mill, figures blank.

    Parameters
    ----------
    result : Plan
        The plan. [-]

    Returns
    -------
    tuple of dict of str to str
        Column to text: the clean quartz before and after the mill is to be filled in. [-]
    """
    blanks = [line for line in result.order if line.kind == "blank"]
    return tuple({"treatment": "mill blank"} for _ in blanks)


def _text(value: float | None, unit: float = 1.0) -> str:
    return "" if value is None else f"{value / unit:.6g}"
