"""sieves.csv: the sieve sheet, closed to 100, with the oxides of each class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import fsum

from feedchar.sample.bases import basis_column, to_dried
from feedchar.sample.columns import Column, TableSpec, choices
from feedchar.sample.iron import as_oxides
from feedchar.sample.records import Note, SieveClass, Sieving
from feedchar.sample.rows import Row
from feedchar.sample.sizes import SizeClass, check_classes
from feedchar.sample.sums import close

SPEC = TableSpec(
    "sieves",
    "The sieve sheet. One row a class, coarse to fine or in any order, without gap or overlap; "
    "the pan has retained_um 0. Oxides of a class, when assayed, in columns such as Fe2O3 or "
    "Fe2O3_ppm.",
    (
        Column("passing_um", "the sieve that all of the class passes", "size", "um", needed=True),
        Column(
            "retained_um", "the sieve it stays on; 0 for the pan", "size or pan", "um", needed=True
        ),
        Column("mass_g", "mass of the class", "number", "g", 0, 1e9),
        Column("mass_pct", "share of the class, instead of its mass", "number", "%", 0, 100),
        Column("start_g", "dry mass put on the sieves, in one row", "number", "g", 0, 1e9, True),
        Column(
            "washed_loss_g",
            "mass washed through the finest sieve, in one row",
            "number",
            "g",
            0,
            1e9,
        ),
        Column("sieving", "dry or wet, in one row", "choice", choices=choices("dry", "wet")),
        basis_column("oxides"),
    ),
    oxides="values",
    one_of=("mass_g", "mass_pct"),
)

CLASSES_MAX = 200
"""Most classes of a sieve sheet. [-]"""

Sheet = tuple[tuple[SieveClass, ...], Sieving | None, tuple[Note, ...]]


def read_sieves(rows: Sequence[Row], moisture_pct: float | None) -> Sheet:
    """The sieve sheet.

    Parameters
    ----------
    rows : sequence of Row
        Rows of sieves.csv. [-]
    moisture_pct : float or None
        Moisture of the bag, for oxides as received. [%]

    Returns
    -------
    tuple
        Classes from coarse to fine, how they came about, and notes. [-]

    Raises
    ------
    InputError
        For classes that do not fit together, and masses that are mixed, missing or all zero.
    """
    if not rows:
        return (), None, ()
    if len(rows) > CLASSES_MAX:
        problem = f"more than {CLASSES_MAX} size classes"
        raise rows[CLASSES_MAX].error(problem)
    check_classes(
        [
            SizeClass(
                row.number_of("passing_um") or 0.0,
                row.number_of("retained_um") or 0.0,
                row.place("passing_um"),
            )
            for row in rows
        ]
    )
    weighed = _is_weighed(rows)
    notes: list[Note] = []
    classes = [_class(row, weighed, moisture_pct, notes) for row in rows]
    classes.sort(key=lambda c: -c.passing_um)
    washed = _once(rows, "washed_loss_g")
    if weighed:
        if washed:
            classes = _with_washed_loss(classes, float(washed), notes)
    elif washed is not None:
        problem = "a washed loss in grams needs the classes in grams"
        raise rows[0].error(problem, "washed_loss_g", "Give mass_g")
    else:
        closure = close([c.mass_pct for c in classes], [], "mass_pct", rows[-1].place("mass_pct"))
        if closure.unidentified_pct:
            text = f"{rows[0].file}: mass_pct sums to {fsum(c.mass_pct for c in classes):.6g} %"
            notes.append(Note("sieve-loss", f"{text}: read as shares of that sum"))
        elif closure.note:
            notes.append(closure.note)
    total = fsum(c.mass_pct for c in classes)
    if total <= 0:
        problem = "all classes are empty"
        raise rows[0].error(problem, "mass_g" if weighed else "mass_pct")
    shares = tuple(replace(c, mass_pct=100.0 * c.mass_pct / total) for c in classes)
    start = _once(rows, "start_g")
    kind = _once(rows, "sieving")
    sieving = Sieving(
        start_g=None if start is None else float(start),
        recovered_g=total if weighed else None,
        washed_loss_g=None if washed is None else float(washed),
        kind=None if kind is None else str(kind),
    )
    return shares, sieving, tuple(notes)


def _is_weighed(rows: Sequence[Row]) -> bool:
    for row in rows:
        if "mass_g" in row.values and "mass_pct" in row.values:
            problem = "mass_g and mass_pct are both given"
            raise row.error(problem, "mass_pct", "One of the two")
    weighed = "mass_g" in rows[0].values
    name = "mass_g" if weighed else "mass_pct"
    for row in rows:
        if name not in row.values:
            other = "mass_pct" if weighed else "mass_g"
            if other in row.values:
                problem = f"{other} here and {name} in row {rows[0].number}"
                raise row.error(
                    problem,
                    other,
                    "One of the two for all",
                )
            problem = "is blank"
            raise row.error(problem, name, "An empty class has 0")
    return weighed


def _class(row: Row, weighed: bool, moisture_pct: float | None, notes: list[Note]) -> SieveClass:
    oxides = as_oxides(row.oxides)
    oxides = to_dried(oxides, row.text("basis"), moisture_pct, notes)
    return SieveClass(
        passing_um=row.number_of("passing_um") or 0.0,
        retained_um=row.number_of("retained_um") or 0.0,
        mass_pct=row.number_of("mass_g" if weighed else "mass_pct") or 0.0,
        oxides_wt_pct={name: reading.value for name, reading in oxides.items()},
        place=row.place("passing_um"),
        below_detection=tuple(name for name, reading in oxides.items() if reading.below),
    )


def _with_washed_loss(
    classes: list[SieveClass], washed_g: float, notes: list[Note]
) -> list[SieveClass]:
    """What was washed through the finest sieve is finer than it: it belongs to the pan."""
    finest = classes[-1]
    text = f"{finest.place.file}: the washed loss of {washed_g:g} g is counted as finer than "
    if finest.retained_um == 0:
        notes.append(Note("washed-loss", f"{text}{finest.passing_um:g} um, with the pan"))
        return [*classes[:-1], replace(finest, mass_pct=finest.mass_pct + washed_g)]
    notes.append(Note("washed-loss", f"{text}{finest.retained_um:g} um, as the pan"))
    return [*classes, SieveClass(finest.retained_um, 0.0, washed_g, place=finest.place)]


def _once(rows: Sequence[Row], name: str) -> float | str | None:
    """A figure of the whole sheet, given in one row or the same in all."""
    found: float | str | None = None
    first: Row | None = None
    for row in rows:
        if name not in row.values:
            continue
        value = row.text(name) if isinstance(row.values[name], str) else row.number_of(name)
        if first is not None and value != found:
            problem = f"differs from row {first.number}"
            raise row.error(
                problem,
                name,
                "It belongs to the whole sheet: give it once",
            )
        found, first = value, row
    return found


def check_known_class(
    row: Row, bounds: tuple[float, float] | None, classes: Sequence[SieveClass]
) -> None:
    """That a size class of another table is one of the sieve sheet.

    Parameters
    ----------
    row : Row
        Row that names the class. [-]
    bounds : tuple or None
        Passing and retained size, None for the whole bag. [um]
    classes : sequence of SieveClass
        The sieve sheet. [-]

    Raises
    ------
    InputError
        When there is no such class, or no sieve sheet.
    """
    if bounds is None or any((c.passing_um, c.retained_um) == bounds for c in classes):
        return
    problem = f"the class {bounds[0]:g} to {bounds[1]:g} um is not in the sieve sheet"
    listed = ", ".join(f"{c.passing_um:g}-{c.retained_um:g}" for c in classes)
    raise row.error(
        problem,
        "passing_um",
        f"Its classes are {listed}" if classes else "Its mass is needed: give sieves.csv",
    )
