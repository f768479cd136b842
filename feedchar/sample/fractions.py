"""fractions.csv: separated parts of the bag, such as heavy-liquid sinks or a hand-magnet bag."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from feedchar.sample.bases import basis_column, to_dried
from feedchar.sample.columns import Column, TableSpec
from feedchar.sample.iron import as_oxides
from feedchar.sample.names import closest, fold
from feedchar.sample.records import Fraction, MineralAmount, Note, SieveClass
from feedchar.sample.rows import Row
from feedchar.sample.shown import shown
from feedchar.sample.sieves import check_known_class
from feedchar.sample.sizes import class_bounds

SPEC = TableSpec(
    "fractions",
    "Separated parts of the bag (heavy-liquid sinks, a hand-magnet bag) with their weights; "
    "minerals.csv tells by `fraction` what was found in them. Oxides in columns such as Fe2O3.",
    (
        Column("fraction", "its name", needed=True),
        Column("mass_pct", "its share of what it was separated from", "number", "%", 0, 100),
        Column("mass_g", "its mass, instead of the share", "number", "g", 0, 1e9),
        Column("from_g", "mass that it was separated from", "number", "g", 0, 1e9, True),
        Column("passing_um", "size class it was made from: the sieve that passes it", "size", "um"),
        Column("retained_um", "size class: the sieve it stays on", "size or pan", "um"),
        basis_column("oxides"),
    ),
    oxides="values",
    one_of=("mass_pct", "mass_g"),
)


def read_fractions(
    rows: Sequence[Row], classes: Sequence[SieveClass], moisture_pct: float | None
) -> tuple[tuple[Fraction, ...], tuple[Note, ...]]:
    """Separated parts with their shares.

    Parameters
    ----------
    rows : sequence of Row
        Rows of fractions.csv. [-]
    classes : sequence of SieveClass
        The sieve sheet. [-]
    moisture_pct : float or None
        Moisture of the bag, for oxides as received. [%]

    Returns
    -------
    tuple
        Fractions in reading order, and notes. [-]

    Raises
    ------
    InputError
        For a fraction twice, without weight, heavier than what it came from, or of an unknown
        size class.
    """
    fractions: list[Fraction] = []
    notes: list[Note] = []
    seen: dict[tuple[str, float | None], Row] = {}
    for row in rows:
        name = row.text("fraction") or ""
        bounds = class_bounds(
            row.number_of("passing_um"), row.number_of("retained_um"), row.place()
        )
        check_known_class(row, bounds, classes)
        key = (fold(name), bounds[0] if bounds else None)
        if key in seen:
            problem = f"{shown(name)} already stands in row {seen[key].number}"
            raise row.error(problem, "fraction")
        seen[key] = row
        oxides = to_dried(as_oxides(row.oxides), row.text("basis"), moisture_pct, notes)
        fractions.append(
            Fraction(
                fraction=name,
                mass_pct=_share(row),
                passing_um=bounds[0] if bounds else None,
                retained_um=bounds[1] if bounds else None,
                oxides_wt_pct={oxide: reading.value for oxide, reading in oxides.items()},
                place=row.place("fraction"),
                below_detection=tuple(oxide for oxide, r in oxides.items() if r.below),
            )
        )
    return tuple(fractions), tuple(notes)


def _share(row: Row) -> float:
    share, mass, whole = (row.number_of(name) for name in ("mass_pct", "mass_g", "from_g"))
    if share is not None and mass is not None:
        problem = "mass_pct and mass_g are both given"
        raise row.error(problem, "mass_g", "One of the two")
    if share is not None:
        return share
    if mass is None:
        problem = "has no weight"
        raise row.error(problem, "fraction", "Give mass_pct, or mass_g and from_g")
    if whole is None:
        problem = "mass_g needs the mass it was separated from"
        raise row.error(problem, "from_g", "Give from_g")
    if mass > whole:
        problem = f"{mass:g} g were separated from {whole:g} g"
        raise row.error(problem, "mass_g", "Is from_g the smaller one?")
    return 100.0 * mass / whole


def with_fraction_names(
    minerals: Sequence[MineralAmount], fractions: Sequence[Fraction], rows: Sequence[Row]
) -> tuple[MineralAmount, ...]:
    """Minerals whose fraction is spelled as fractions.csv has it.

    Parameters
    ----------
    minerals : sequence of MineralAmount
        Amounts as read. [-]
    fractions : sequence of Fraction
        Fractions as read. [-]
    rows : sequence of Row
        Rows of minerals.csv, for messages. [-]

    Returns
    -------
    tuple of MineralAmount
        The same amounts. [-]

    Raises
    ------
    InputError
        For a fraction without a row in fractions.csv, or not of that size class.
    """
    known = {fold(f.fraction): f.fraction for f in fractions}
    pairs = {(fold(f.fraction), f.passing_um, f.retained_um) for f in fractions}
    for row in rows:
        name = row.text("fraction")
        if name is None:
            continue
        if fold(name) not in known:
            remedy = (
                closest(name, known.values()) if known else "Its weight goes into fractions.csv"
            )
            problem = f"the fraction {shown(name)} is not in fractions.csv"
            raise row.error(problem, "fraction", remedy)
        bounds = (row.number_of("passing_um"), row.number_of("retained_um"))
        if bounds[0] is not None and (fold(name), *bounds) not in pairs:
            problem = f"fractions.csv has no {shown(name)} of {bounds[0]:g} to {bounds[1]:g} um"
            raise row.error(
                problem,
                "fraction",
                "Give the weight of this fraction of this size class",
            )
    return tuple(
        replace(m, fraction=known[fold(m.fraction)]) if m.fraction else m for m in minerals
    )
