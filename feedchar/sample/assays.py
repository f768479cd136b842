"""assays.csv: one row a determination, brought to wt % of the dried material, iron as Fe2O3."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from feedchar.errors import InputError
from feedchar.sample.bases import basis_column, to_dried
from feedchar.sample.columns import Column, TableSpec, choices
from feedchar.sample.iron import all_iron, as_oxides
from feedchar.sample.names import NAME_MAX_CHARACTERS, fold
from feedchar.sample.oxides import IRON, IRON_PARTS, OxideReading, nearest_oxide, oxide_name
from feedchar.sample.records import Determination, Note
from feedchar.sample.repeats import KINDS
from feedchar.sample.rows import Row
from feedchar.sample.shown import shown
from feedchar.sample.sizes import class_bounds
from feedchar.units import PPM_PER_WT_PCT

UNITS = choices(
    "wt_pct",
    "ppm",
    wt_pct="%;wt%;wt %;wt pct;pct;mass %;mass pct;g/100g",
    ppm="mg/kg;ug/g;µg/g;g/t",
)

REPEATS = choices(
    *KINDS,
    reread="re-read;same bead;same pellet",
    new_bead="bead;new pellet;new disc",
    new_split="split;new pulp",
    new_bag="new sample",
)

SPEC = TableSpec(
    "assays",
    "Determinations: one row an oxide of a bag. `<0.01` lies anywhere from 0 to 0.01. Fe, FeO and "
    "Fe2O3 are told apart by `oxide`; the one that is all iron may be called Fe2O3_total.",
    (
        Column(
            "bag",
            "what was assayed: `feed` or blank for the bag as received, or a bag of tests.csv",
        ),
        Column("passing_um", "size class: the sieve it passes", "size", "um"),
        Column("retained_um", "size class: the sieve it stays on", "size or pan", "um"),
        Column("oxide", "Fe2O3, TiO2, ... or LOI", needed=True),
        Column(
            "value",
            "the figure, or < and the limit; blank while it is not assayed yet",
            "amount",
            "",
            -5.0,
            1e6,
            needed=True,
            may_wait=True,
        ),
        Column("unit", "wt_pct or ppm", "choice", choices=UNITS, needed=True),
        Column("below_detection", "yes when the value is the limit, instead of <", "yes or no"),
        Column("laboratory", "who assayed"),
        Column("method", "fused bead, pellet, ICP, ..."),
        Column("repeat_of", "bag that this result repeats; blank for the same bag"),
        Column(
            "repeat_kind",
            "reread, new bead, new split, new bag: each shows another error",
            "choice",
            choices=REPEATS,
        ),
        Column("mill", "mill that pulverised it (steel adds iron)", longest=NAME_MAX_CHARACTERS),
        basis_column("figure"),
    ),
)

HEAD_NAMES = {"", "feed", "head", "head sample", "bag", "as received"}


@dataclass(frozen=True)
class _Read:
    row: Row
    key: tuple[object, ...]
    """Bag, class, laboratory, method, repeat: rows with one key are one analysis."""
    reading: OxideReading
    bounds: tuple[float, float] | None


def head_determinations(results: Sequence[Determination], sample_name: str) -> list[Determination]:
    """Determinations of the bag as received and their repeats, size classes left out.

    Parameters
    ----------
    results : sequence of Determination
        Rows of assays.csv. [-]
    sample_name : str
        Name of the sample, which its bag may carry. [-]

    Returns
    -------
    list of Determination
        In reading order; bags of tests are not among them. [-]
    """
    whole = [result for result in results if result.passing_um is None]
    repeated_by: dict[str, set[str]] = {}
    for result in whole:
        if result.repeat_of:
            repeated_by.setdefault(fold(result.repeat_of), set()).add(fold(result.bag))
    names: set[str] = set()
    ahead = HEAD_NAMES | {fold(sample_name)}
    while ahead:
        names |= ahead
        ahead = set().union(*(repeated_by.get(name, ()) for name in ahead)) - names
    return [result for result in whole if fold(result.bag) in names]


def read_assays(
    rows: Sequence[Row], moisture_pct: float | None, head_loi_wt_pct: float | None
) -> tuple[tuple[Determination, ...], tuple[Note, ...]]:
    """Determinations on the dried basis.

    Parameters
    ----------
    rows : sequence of Row
        Rows of assays.csv. [-]
    moisture_pct : float or None
        Moisture of the bag. [%]
    head_loi_wt_pct : float or None
        Loss on ignition of the head assay, for ignited figures. [wt %]

    Returns
    -------
    tuple
        Determinations in reading order, those to come left out, and notes. [-]

    Raises
    ------
    InputError
        For an unknown oxide, a unit that is missing, two results without a kind of repeat, a
        repeat of nothing, and iron stated twice.
    """
    done = [row for row in rows if row.amount("value") is not None]
    read = [_read(row) for row in done]
    _refuse_duplicates(read)
    notes: list[Note] = []
    if len(done) < len(rows):
        text = f"{rows[0].file}: {len(rows) - len(done)} of {len(rows)} results still to come"
        notes.append(Note("not-assayed", text))
    results: list[Determination] = []
    losses = {i.key[:2]: i.reading.value for i in reversed(read) if i.reading.name == "LOI"}
    for item in _iron_once(read, notes):
        is_head = item.key[0] in HEAD_NAMES and item.bounds is None
        loi = losses.get(item.key[:2], head_loi_wt_pct if is_head else None)
        (oxide,) = as_oxides([item.reading]).items()
        dried = to_dried(dict([oxide]), item.row.text("basis"), moisture_pct, notes, loi)
        results.append(_determination(item, *dried.popitem()))
    waiting = {
        (_bag(row.text("bag") or "feed"), oxide_name(row.text("oxide") or ""))
        for row in rows
        if row.amount("value") is None
    }
    _check_repeats(results, waiting)
    return tuple(results), tuple(dict.fromkeys(notes))


def _read(row: Row) -> _Read:
    bounds = class_bounds(row.number_of("passing_um"), row.number_of("retained_um"), row.place())
    word = row.text("oxide") or ""
    name = oxide_name(word)
    if name is None:
        near = nearest_oxide(word)
        remedy = f'Did you mean "{near}"?' if near else "Write it as SiO2, Fe2O3, ..., LOI"
        problem = f"{shown(word)} is not an oxide that is known"
        raise row.error(problem, "oxide", remedy)
    amount = row.amount("value")
    assert amount is not None
    value, below = amount.value, amount.below
    if amount.trace:
        problem = '"tr" has no number'
        raise row.error(problem, "value", "Write < and the limit, such as <0.01")
    if value < 0 and name != "LOI":
        problem = f"must be 0 to 100; found {value:g}"
        raise row.error(problem, "value")
    if row.flag("below_detection") is False and below:
        problem = "says no, and the value begins with <"
        raise row.error(problem, "below_detection")
    if row.flag("below_detection"):
        if value <= 0:
            problem = "below detection of 0 says nothing"
            raise row.error(problem, "value", "Give the limit")
        below = True
    if row.text("unit") == "ppm":
        value /= PPM_PER_WT_PCT
    elif value > 100:
        problem = f"must be 0 to 100 wt %; found {value:g}"
        raise row.error(problem, "value", "Is the unit ppm?")
    target, kind = row.text("repeat_of"), row.text("repeat_kind")
    if target is not None and kind is None:
        problem = "a repeat needs its kind"
        raise row.error(problem, "repeat_kind", ", ".join(KINDS))
    key = (
        fold(row.text("bag") or ""),
        bounds,
        fold(row.text("laboratory") or ""),
        fold(row.text("method") or ""),
        fold(target or ""),
        kind,
    )
    return _Read(row, key, OxideReading(name, value, below, place=row.place("value")), bounds)


def _refuse_duplicates(read: Sequence[_Read]) -> None:
    seen: dict[tuple[object, ...], Row] = {}
    for item in read:
        if item.key[-1] is not None:
            continue
        key = (*item.key, item.reading.name)
        if key in seen:
            problem = f"{item.reading.name} of this bag already stands in row {seen[key].number}"
            raise item.row.error(
                problem,
                "oxide",
                f"Say in repeat_kind what kind of repeat it is: {', '.join(KINDS)}",
            )
        seen[key] = item.row


def _iron_once(read: Sequence[_Read], notes: list[Note]) -> list[_Read]:
    """Rows with the iron of each analysis stated once."""
    analyses: dict[tuple[object, ...], list[_Read]] = {}
    for item in read:
        if item.reading.name in IRON:
            analyses.setdefault(item.key, []).append(item)
    joined: dict[tuple[object, ...], list[_Read]] = {}
    for key, same in analyses.items():
        names = {item.reading.name for item in same}
        if len(names) > 1 or names & set(IRON_PARTS):
            joined[key] = same
    kept: list[_Read] = []
    for item in read:
        same = joined.get(item.key, []) if item.reading.name in IRON else []
        if not same:
            kept.append(item)
            continue
        if item is not same[0]:
            continue  # stated by the first of them
        total = all_iron([other.reading for other in same])
        assert total is not None
        stated = ", ".join(other.reading.name for other in same)
        text = f"{item.row.file}, row {item.row.number}: all iron taken from {stated}"
        notes.append(Note("iron-stated", text))
        kept.append(replace(item, reading=total))
    return kept


def _determination(item: _Read, oxide: str, reading: OxideReading) -> Determination:
    row, bounds = item.row, item.bounds
    return Determination(
        bag=row.text("bag") or "feed",
        passing_um=bounds[0] if bounds else None,
        retained_um=bounds[1] if bounds else None,
        oxide=oxide,
        value=reading.value,
        below_detection=reading.below,
        laboratory=row.text("laboratory"),
        method=row.text("method"),
        repeat_of=row.text("repeat_of"),
        repeat_kind=row.text("repeat_kind"),
        mill=row.text("mill"),
        place=row.place("value"),
    )


def _check_repeats(results: Sequence[Determination], waiting: set[tuple[str, str | None]]) -> None:
    """That what every repeat repeats has a first result, or a row that waits for it."""
    firsts = {
        (_bag(r.bag), r.oxide)
        for r in results
        if r.repeat_kind is None or _bag(r.repeat_of or r.bag) != _bag(r.bag)
    }
    for result in results:
        target = result.repeat_of or result.bag
        if result.repeat_kind is not None and (_bag(target), result.oxide) not in (
            firsts | waiting
        ):
            problem = f"repeats {result.oxide} of {shown(target)}, which has no row of its own"
            raise InputError(
                problem,
                file=result.place.file,
                row=result.place.row,
                column="repeat_of",
                remedy="The first result has no repeat_kind",
            )


def _bag(name: str) -> str:
    folded = fold(name)
    return "feed" if folded in HEAD_NAMES else folded
