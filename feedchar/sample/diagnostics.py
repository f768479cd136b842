"""diagnostics.csv: small treatments that each replace an assumption by a measurement."""

from __future__ import annotations

from collections.abc import Sequence

from feedchar.sample.columns import Column, TableSpec, choices
from feedchar.sample.records import Diagnostic, Note
from feedchar.sample.rows import Row

FIGURES = ("mass_in_g", "mass_out_g", "Fe2O3_in_wt_pct", "Fe2O3_out_wt_pct")
TREATMENTS = choices(
    "scrub",
    "hot acid",
    "hand-picked clear grains",
    "hand magnet",
    "burn-off",
    "mill blank",
    scrub="scrubbing;scrubbed;attrition;attrition scrub",
    hot_acid="acid;hot hcl;acid leach",
    hand_picked_clear_grains="hand picked;clear grains;picked grains",
    hand_magnet="magnet",
    burn_off="burn out;burnoff;ashing",
    mill_blank="quartz blank;blank",
)
TAKING = ("scrub", "hot acid", "burn-off")
"""Treatments after which there cannot be more iron, of the mass before. [-]"""

IRON_GAIN = 1.5
"""Beyond what two assays of one thing differ by (common practice, no source). [-]"""

SPEC = TableSpec(
    "diagnostics",
    "Small treatments: scrub, hot acid, hand-picked clear grains, hand magnet, burn-off, mill "
    "blank. Each replaces an assumption. Acids, hot or cold, are for trained laboratories only.",
    (
        Column("treatment", "which of them", "choice", choices=TREATMENTS, needed=True),
        Column("mass_in_g", "dry mass before", "number", "g", 0, 1e9, True),
        Column(
            "mass_out_g", "dry mass after; of a hand magnet, what it took", "number", "g", 0, 1e9
        ),
        Column("Fe2O3_in_wt_pct", "all iron as Fe2O3 before", "amount", "wt %", 0, 100),
        Column(
            "Fe2O3_out_wt_pct",
            "all iron as Fe2O3 after; of a hand magnet, of what it took",
            "amount",
            "wt %",
            0,
            100,
        ),
    ),
)


def read_diagnostics(rows: Sequence[Row]) -> tuple[tuple[Diagnostic, ...], tuple[Note, ...]]:
    """Small treatments.

    Parameters
    ----------
    rows : sequence of Row
        Rows of diagnostics.csv. [-]

    Returns
    -------
    tuple
        Treatments in reading order, mill blanks to come left out, and a note of these. [-]

    Raises
    ------
    InputError
        For a treatment without any figure, or that gained mass beyond a balance's error.
    """
    waiting = [row for row in rows if _is_waiting(row)]
    notes: tuple[Note, ...] = ()
    if waiting:
        text = f"{rows[0].file}: {len(waiting)} mill blanks without a figure yet"
        notes = (Note("not-blanked", text),)
    read = [(row, _diagnostic(row)) for row in rows if row not in waiting]
    gains = tuple(note for row, one in read for note in _iron_gained(row.file, one))
    return tuple(one for _, one in read), (*notes, *gains)


def _iron_gained(file: str, one: Diagnostic) -> tuple[Note, ...]:
    """More iron after a treatment that can only take iron away."""
    before, after = one.Fe2O3_in_wt_pct, one.Fe2O3_out_wt_pct
    weighed = one.mass_in_g and one.mass_out_g is not None
    if one.treatment not in TAKING or before is None or after is None or not weighed:
        return ()
    kept = after * (one.mass_out_g or 0.0) / (one.mass_in_g or 1.0)
    if kept <= IRON_GAIN * before:
        return ()
    text = (
        f"{file}, row {one.place.row}: {one.treatment} left {kept:.3g} % Fe2O3 of {before:.3g} %, "
        "more than there was: swapped, a decimal point, or iron from the tools"
    )
    return (Note("iron-gained", text, "warning"),)


def _is_waiting(row: Row) -> bool:
    """A blank that a plan has ordered and no laboratory has reported yet."""
    return row.text("treatment") == "mill blank" and not any(one in row.values for one in FIGURES)


def _diagnostic(row: Row) -> Diagnostic:
    if not any(name in row.values for name in FIGURES):
        problem = "has no figure"
        raise row.error(problem, "treatment", f"Give some of {', '.join(FIGURES)}")
    mass_in, mass_out = row.number_of("mass_in_g"), row.number_of("mass_out_g")
    if mass_in is not None and mass_out is not None and mass_out > 1.01 * mass_in:
        problem = f"{mass_out:g} g came out of {mass_in:g} g"
        raise row.error(problem, "mass_out_g", "Damp, or swapped?")
    iron = {name: row.amount(name) for name in FIGURES[2:]}
    for name, amount in iron.items():
        if amount is not None and amount.trace:
            problem = '"tr" has no number'
            raise row.error(problem, name, "Write < and the limit, such as <0.003")
    before, after = iron.values()
    return Diagnostic(
        treatment=row.text("treatment") or "",
        mass_in_g=mass_in,
        mass_out_g=mass_out,
        Fe2O3_in_wt_pct=None if before is None else before.value,
        Fe2O3_out_wt_pct=None if after is None else after.value,
        place=row.place("treatment"),
        below_detection=tuple(n for n, amount in iron.items() if amount and amount.below),
    )
