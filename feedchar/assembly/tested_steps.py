"""The steps of a test as they were run: which machine, at which setting, fed from which bag."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from math import radians

from feedchar.constants import REFERENCE_TEMPERATURE_C
from feedchar.errors import InputError
from feedchar.field.drum import (
    HAND_MAGNET,
    STRONG_DRUM,
    STRONG_HAND_MAGNET,
    WEAK_DRUM,
    Drum,
)
from feedchar.field.setting import InducedRoll, Pass, Setting
from feedchar.magnetics.isodynamic import isodynamic_susceptibility
from feedchar.sample.names import fold
from feedchar.sample.records import Sample, TestBag
from feedchar.sample.shown import shown
from feedchar.separation.isodynamic_stage import MOST_CURRENT_A
from feedchar.separation.parameters import HAND_MAGNET_PRIOR
from feedchar.testwork.campaign import fed_from
from feedchar.units import KG_S_PER_T_H

OUTLETS = ("magnetics", "middlings", "non-magnetics")
"""Products that a machine makes; dust, feed and screened bags are no outlets of one."""

ISODYNAMIC_SLOPE_DEG = 15.0
"""Side slope where a table does not tell it (common practice, no source). [°]"""
HAND_NOTE = (
    f"a hand magnet taken to miss {HAND_MAGNET_PRIOR.bypass_mean:.0%} and to keep "
    f"{100 * HAND_MAGNET_PRIOR.entrainment_median:g} % of the sand, at most "
    f"{100 * HAND_MAGNET_PRIOR.entrainment_p95:g} (guesses, drawn with their spread)"
)
_TOLD = (
    "machine", "belt_speed_m_s", "splitter_m", "splitter_2_m", "feed_kg_h", "belt_width_m",
    "current_a", "side_slope_deg", "feed_temperature_c", "roll_temperature_c",
)  # fmt: skip


@dataclass(frozen=True)
class TestedStep:
    """One machine fed once: its bags, and its setting as far as the table tells."""

    __test__ = False  # not a pytest class

    test: str
    step: str | None
    repeat: str | None
    from_bag: str
    """Folded name of the bag that was fed; empty for the bag as received."""
    kind: str
    """roll | drum | isodynamic | screen | charge | unknown"""
    bags: tuple[TestBag, ...]
    machine: str
    """In words, for people."""
    setting: Setting | None = None
    drum: Drum | None = None
    feed_kg_s_m: float | None = None
    """Feed per metre of belt, where the table tells it."""
    feed_temperature_c: float = REFERENCE_TEMPERATURE_C
    reason: str = ""
    """Why nothing can be computed; empty when it can."""
    isodynamic: tuple[float, float] | None = None
    """Current and side slope of an isodynamic separator. [A, rad]"""
    by_hand: bool = False
    """A hand magnet, which is as clean as the hand that leads it."""
    notes: tuple[str, ...] = field(default=())
    """What was assumed."""


def steps_of_tests(
    sample: Sample, base: Setting, tests: Iterable[str] | None = None
) -> tuple[TestedStep, ...]:
    """Steps of the tests of a sample, each after the step that made its feed.

    Parameters
    ----------
    sample : Sample
        With the rows of tests.csv. [-]
    base : Setting
        The machine that tests on a roll were run on: its roll, or its electromagnet. [SI]
    tests : iterable of str or None
        Names of the tests wanted; None: all. [-]

    Returns
    -------
    tuple of TestedStep
        In an order that does not depend on that of the rows. [-]

    Raises
    ------
    InputError
        A bag fed from one that is not there or from itself by a detour, rows of one step that
        tell two settings, or an outlet twice in one step.
    """
    rows = {fold(bag.bag): bag for bag in sample.tests}
    sources = fed_from(sample)
    wanted = None if tests is None else {fold(name) for name in tests}
    groups: dict[tuple[str, ...], list[TestBag]] = {}
    for bag in rows.values():
        source = sources[fold(bag.bag)]
        if wanted is None or fold(bag.test) in wanted:
            kind = "screened" if bag.product == "screened" else ""
            kind = "feed" if bag.product == "feed" else kind
            alone = fold(bag.bag) if kind == "feed" else ""
            words = (bag.test, bag.step or "", bag.repeat or "")
            key = (*(fold(word) for word in words), source, kind, alone)
            groups.setdefault(key, []).append(bag)
    depth = {name: _depth(name, sources) for name in rows}
    steps = []
    for key in sorted(groups, key=lambda key: (depth.get(key[3], 0) if key[3] else 0, key)):
        bags = sorted(groups[key], key=lambda bag: fold(bag.bag))
        steps.append(_step(sample, base, key[3], tuple(bags)))
    return tuple(steps)


def _depth(name: str, sources: dict[str, str]) -> int:
    steps = 1
    while name := sources[name]:
        steps += 1
    return steps


def _step(sample: Sample, base: Setting, source: str, bags: tuple[TestBag, ...]) -> TestedStep:
    seen: dict[str, TestBag] = {}
    for bag in bags:
        if bag.product in OUTLETS and bag.product in seen:
            problem = f"bags {shown(seen[bag.product].bag)} and {shown(bag.bag)} are both the "
            problem += f"{bag.product} of one step"
            remedy = "Name the step or the repeat of each, or weigh them together"
            raise _error(bag, problem, "product", remedy)
        seen[bag.product] = bag
    told = {name: _told(name, bags) for name in _TOLD}
    first, machine = bags[0], str(told["machine"] or "")
    step = TestedStep(
        first.test,
        first.step,
        first.repeat,
        source,
        "unknown",
        bags,
        machine,
        feed_temperature_c=_either(told["feed_temperature_c"], sample.feed_temperature_c),
    )
    if first.product in ("feed", "screened"):
        return replace(step, kind={"feed": "charge", "screened": "screen"}[first.product])
    return _machine_of(step, sample, base, told, set(seen))


def _machine_of(
    step: TestedStep,
    sample: Sample,
    base: Setting,
    told: dict[str, float | str | None],
    products: set[str],
) -> TestedStep:
    word = fold(step.machine).replace("-", " ")
    if "drum" in word or "hand" in word:
        by_hand = "drum" not in word
        if "middlings" in products:
            made = "hand magnet" if by_hand else "drum"
            return replace(step, reason=f"a {made} makes no middlings")
        strong = any(kind in word for kind in ("strong", "rare", "neodymium"))
        if not by_hand:
            return replace(step, kind="drum", drum=STRONG_DRUM if strong else WEAK_DRUM)
        drum = STRONG_HAND_MAGNET if strong else HAND_MAGNET
        return replace(step, kind="drum", drum=drum, by_hand=True, notes=(HAND_NOTE,))
    if "isodynamic" in word:
        return _isodynamic(step, told["current_a"], told["side_slope_deg"], products)
    if word and "roll" not in word and "belt" not in word:
        return replace(step, reason=f"{shown(step.machine)} is no machine that is computed")
    speed, second = told["belt_speed_m_s"], told["splitter_2_m"]
    if speed is None:
        return replace(step, reason="its belt speed is not in the table")
    notes: tuple[str, ...] = ()
    if told["splitter_m"] is None:
        notes = (f"edge not given, {1e3 * Pass().splitter_m:g} mm taken",)
    if "middlings" in products and second is None:
        return replace(step, reason="middlings without a second edge (splitter_2_mm)")
    edge = _either(told["splitter_m"], Pass().splitter_m)
    one = Pass(float(speed), edge, float(second) if second and "middlings" in products else None)
    setting = replace(
        base,
        passes=(one,),
        retreat="non-magnetics",
        drum_first=None,
        treated_passing_um=None,
        treated_retained_um=None,
        feed_temperature_c=step.feed_temperature_c,
        roll_temperature_c=_either(told["roll_temperature_c"], sample.roll_temperature_c),
    )
    if "induced" in word:
        magnet = base.induced or InducedRoll()
        current = _either(told["current_a"], magnet.current_a)
        setting = replace(
            setting, machine="induced-roll", induced=replace(magnet, current_a=current)
        )
    elif word:
        setting = replace(setting, machine="permanent-roll")
    rate, width = told["feed_kg_h"], told["belt_width_m"]
    fed = float(rate) / 1000.0 / float(width) * KG_S_PER_T_H if rate and width else None
    return replace(step, kind="roll", setting=setting, feed_kg_s_m=fed, notes=notes)


def _isodynamic(
    step: TestedStep,
    current: float | str | None,
    slope: float | str | None,
    products: set[str],
) -> TestedStep:
    if "middlings" in products:
        return replace(step, reason="an isodynamic separator makes no middlings")
    if current is None or not float(current) > 0.0:
        return replace(step, reason="the current of its isodynamic separator is not in the table")
    degrees = _either(slope, ISODYNAMIC_SLOPE_DEG)
    if not degrees > 0.0:
        text = f"a side slope of {degrees:g} degrees, against which nothing climbs, is not computed"
        return replace(step, reason=text)
    limit = float(isodynamic_susceptibility(min(float(current), MOST_CURRENT_A), radians(degrees)))
    text = (
        f"an isodynamic separator at {float(current):g} A taken to divide at {limit:.3g} m3/kg: "
        "a recalled constant that belongs to one magnet, drawn within a third"
    )
    notes = [text]
    if slope is None:
        notes.append(f"side slope not given, {degrees:g} degrees taken")
    if float(current) > MOST_CURRENT_A:
        notes.append(f"poles saturate: no more pull above {MOST_CURRENT_A:g} A")
    place = (float(current), radians(degrees))
    return replace(step, kind="isodynamic", isodynamic=place, notes=tuple(notes))


def _told(name: str, bags: tuple[TestBag, ...]) -> float | str | None:
    """What the rows of a step say of it; they must not say two things."""
    found: float | str | None = None
    for bag in bags:
        value = getattr(bag, name)
        same = value == found or (isinstance(value, str) and fold(value) == fold(str(found)))
        if value is not None and found is not None and not same:
            words = name.removesuffix("_m_s").removesuffix("_m").replace("_", " ")
            problem = f"bags of one step tell two figures of {words}: {found} and {value}"
            column = f"{name.removesuffix('_m')}_mm" if name.endswith("r_m") else name
            raise _error(bag, problem, column, "Name the step or the repeat of each")
        found = value if found is None else found
    return found


def _either(value: float | str | None, default: float) -> float:
    return default if value is None else float(value)


def _error(bag: TestBag, problem: str, column: str, remedy: str) -> InputError:
    place = bag.place
    return InputError(problem, file=place.file, row=place.row, column=column, remedy=remedy)
