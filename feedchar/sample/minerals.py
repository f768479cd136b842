"""minerals.csv: how much of each mineral, on one basis a row set.

A row set is the whole bag, one size class, or one fraction of either.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from feedchar.errors import InputError
from feedchar.sample.cells import Amount
from feedchar.sample.columns import Column, TableSpec
from feedchar.sample.names import fold
from feedchar.sample.naming import UNIDENTIFIED, PhaseNames
from feedchar.sample.records import MineralAmount, Note
from feedchar.sample.rows import Row
from feedchar.sample.shown import shown
from feedchar.sample.sizes import class_bounds
from feedchar.sample.sums import close

BASES = ("mass_pct", "volume_pct", "points", "grains")
COUNTS = ("points", "grains")

TRACE_LIMIT_PCT = {"count": 0.1, "other": 0.5}
"""Upper end of `tr` where no detection limit is given, by method (a guess). [%]"""

SD_FLOOR = 0.05
"""Least sd of an amount x: this times x^0.35, a tenth of the default; never below 0.01. [%]"""

SPEC = TableSpec(
    "minerals",
    "What the sample is made of. One row a mineral; one basis for the whole bag, for each size "
    "class, for each fraction. `tr` and `<0.5` lie anywhere from 0 to the limit; blank is not "
    "looked for; 0 is looked for and not found.",
    (
        Column(
            "mineral",
            "name or alias of a mineral, or a phase of phases.csv",
            needed=True,
        ),
        Column("mass_pct", "share by mass", "amount", "%", 0, 100),
        Column("volume_pct", "share by volume", "amount", "%", 0, 100),
        Column("points", "points counted on it, on a grid", "count", "-", 0, 1e9),
        Column("grains", "grains counted", "count", "-", 0, 1e9),
        Column("passing_um", "size class: the sieve it passes", "size", "um"),
        Column(
            "retained_um", "size class: the sieve it stays on, 0 for the pan", "size or pan", "um"
        ),
        Column("fraction", "separated part of the bag, a name of fractions.csv"),
        Column("sd_pct", "standard deviation of the share", "number", "%", 0, 100),
        Column("method", "diffraction, point count, grain count, estimate, or your words"),
        Column(
            "detection_limit_pct", "least share that would be found", "number", "%", 0, 100, True
        ),
        Column(
            "iron_wt_pct", "Fe (not Fe2O3) in this mineral, when measured", "number", "wt %", 0, 78
        ),
        Column(
            "mass_susceptibility_m3_kg",
            "mass susceptibility of this mineral, when measured",
            "number",
            "m3/kg",
            -1e-6,
            2e-3,
        ),
    ),
    one_of=BASES,
)

SetKey = tuple[float | None, float | None, str | None]


def read_minerals(
    rows: Sequence[Row], names: PhaseNames
) -> tuple[tuple[MineralAmount, ...], tuple[Note, ...]]:
    """Amounts of minerals, each row set closed to 100.

    Parameters
    ----------
    rows : sequence of Row
        Rows of minerals.csv. [-]
    names : PhaseNames
        Phases of the user's own. [-]

    Returns
    -------
    tuple
        Amounts in reading order, `unidentified` added where a set misses up to the edge, and
        notes. [-]

    Raises
    ------
    InputError
        For a mineral twice in a set, two bases in a set, percentages that do not sum.
    """
    amounts: list[MineralAmount] = []
    notes: list[Note] = []
    bases: dict[SetKey, tuple[str, Row]] = {}
    seen: dict[tuple[SetKey, str], tuple[str, Row]] = {}
    for row in rows:
        mineral = names.resolve(row, "mineral")
        bounds = class_bounds(
            row.number_of("passing_um"), row.number_of("retained_um"), row.place()
        )
        fraction = row.text("fraction")
        key: SetKey = (*(bounds or (None, None)), fold(fraction) if fraction else None)
        word = row.text("mineral") or ""
        if (key, mineral) in seen:
            other, first = seen[key, mineral]
            problem = f"{shown(word)} is {mineral}, as is {shown(other)} in row {first.number}"
            raise row.error(
                problem,
                "mineral",
                "One row a mineral: add them up, or keep the one you trust",
            )
        seen[key, mineral] = (word, row)
        basis = _basis(row)
        if basis is None:
            notes.append(
                Note("not-looked-for", f"{row.file}, row {row.number}: {mineral} not looked for")
            )
            continue
        first_basis, first_row = bases.setdefault(key, (basis, row))
        if basis != first_basis:
            problem = (
                f"{basis} here and {first_basis} in row {first_row.number}: one basis for a bag, "
                "size class or fraction"
            )
            raise row.error(
                problem,
                basis,
                "Counts of a separated part belong to a fraction",
            )
        amount, note = _amount(row, mineral, basis, bounds, fraction)
        amounts.append(amount)
        notes += note
    return _closed(amounts, bases, notes)


def _basis(row: Row) -> str | None:
    given = [basis for basis in BASES if basis in row.values]
    if len(given) > 1:
        problem = f"{' and '.join(given)} are both given"
        raise row.error(problem, given[1], "One basis a row")
    return given[0] if given else None


def _amount(
    row: Row,
    mineral: str,
    basis: str,
    bounds: tuple[float, float] | None,
    fraction: str | None,
) -> tuple[MineralAmount, list[Note]]:
    limit = row.number_of("detection_limit_pct")
    method = row.text("method")
    if basis in COUNTS:
        amount = Amount(row.number_of(basis) or 0.0)
    else:
        amount = row.amount(basis) or Amount(0.0)
    if amount.trace:
        counted = method is not None and any(w in fold(method) for w in ("count", "point"))
        default = TRACE_LIMIT_PCT["count" if counted else "other"]
        amount = Amount(limit if limit is not None else default, below=True, trace=True)
    sd, notes = _floored_sd(row, amount)
    return MineralAmount(
        mineral=mineral,
        basis=basis,
        value=amount.value,
        below_detection=amount.below,
        sd=sd,
        method=method,
        detection_limit_pct=limit,
        passing_um=bounds[0] if bounds else None,
        retained_um=bounds[1] if bounds else None,
        fraction=fraction,
        iron_wt_pct=row.number_of("iron_wt_pct"),
        mass_susceptibility_m3_kg=row.number_of("mass_susceptibility_m3_kg"),
        place=row.place(basis),
    ), notes


def _floored_sd(row: Row, amount: Amount) -> tuple[float | None, list[Note]]:
    sd = row.number_of("sd_pct")
    if sd is None:
        return None, []
    floor = max(SD_FLOOR * amount.value**0.35, 0.01)
    if sd >= floor:
        return sd, []
    text = f"{row.file}, row {row.number}: sd {sd:g} % raised to {floor:.2g} %, none is that sure"
    return floor, [Note("sd-floor", text)]


def _closed(
    amounts: list[MineralAmount],
    bases: dict[SetKey, tuple[str, Row]],
    notes: list[Note],
) -> tuple[tuple[MineralAmount, ...], tuple[Note, ...]]:
    sets: dict[SetKey, list[MineralAmount]] = {}
    for amount in amounts:
        sets.setdefault(_key(amount), []).append(amount)
    for key, (basis, _) in bases.items():
        members = sets[key]
        place = members[-1].place
        what = _set_name(basis, key)
        if not any(a.value > 0 for a in members):
            problem = f"{what}: nothing was found of any mineral"
            raise InputError(
                problem,
                file=place.file,
                row=place.row,
                column=place.column,
                remedy="At least one amount must be above 0",
            )
        if basis in COUNTS:
            continue
        closure = close(
            [a.value for a in members if not a.below_detection],
            [a.value for a in members if a.below_detection],
            what,
            place,
        )
        notes += [closure.note] if closure.note else []
        listed = [a for a in members if a.mineral == UNIDENTIFIED and not a.below_detection]
        if closure.unidentified_pct > 0 and listed:
            index = amounts.index(listed[0])
            amounts[index] = replace(listed[0], value=listed[0].value + closure.unidentified_pct)
        elif closure.unidentified_pct > 0:
            amounts.append(
                MineralAmount(
                    UNIDENTIFIED,
                    basis,
                    closure.unidentified_pct,
                    method=members[0].method,
                    passing_um=key[0],
                    retained_um=key[1],
                    fraction=members[0].fraction,
                    place=place,
                )
            )
    return tuple(amounts), tuple(notes)


def _key(amount: MineralAmount) -> SetKey:
    fraction = fold(amount.fraction) if amount.fraction else None
    return amount.passing_um, amount.retained_um, fraction


def _set_name(basis: str, key: SetKey) -> str:
    where = "" if key[0] is None else f" of {key[0]:g} to {key[1]:g} um"
    part = "" if key[2] is None else f" of fraction {shown(key[2])}"
    return basis + where + part
