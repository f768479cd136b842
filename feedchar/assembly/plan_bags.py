"""From the programme to bags: names that are short and unique, and what each should weigh."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from feedchar.assembly.plan_trials import main_setting, speeds_run
from feedchar.assembly.plan_work import (
    DRUM,
    HAND_MAGNET,
    MORE_PASSES,
    REPEAT,
    SECOND_EDGE,
    SMALL_KG,
    Programme,
    assay_name,
    run_name,
)
from feedchar.assembly.subset import Trials, first_rows
from feedchar.assembly.tested import predict_tests
from feedchar.field.setting import InducedRoll, Pass, Setting
from feedchar.results.plan import PlanBag
from feedchar.sample.names import fold
from feedchar.sample.records import Sample, TestBag

LETTERS = "ABCDFGHJKLMNPQRSTUVWXYZ"
"""First letters of charges; E could make a number of a name, I and O look like figures."""
_PRODUCTS = {"magnetics": "M", "middlings": "D", "non-magnetics": "N"}
_MACHINES = {"permanent-roll": "permanent roll", "induced-roll": "induced roll"}


@dataclass(frozen=True)
class Bench:
    """How the bench roll is run."""

    charge_g: float
    feed_kg_h: float
    belt_m: float


def planned_bags(
    sample: Sample, trials: Trials, used: Setting, made: Programme, bench: Bench
) -> tuple[PlanBag, ...]:
    """Every bag that will be filled, charge by charge.

    Parameters
    ----------
    sample : Sample
        For bag names that are taken, and temperatures. [-]
    trials : Trials
        The feed and the machine; row 0 is used. [-]
    used : Setting
        As assessed. [SI]
    made : Programme
        What was chosen. [-]
    bench : Bench
        Charge, feed rate and belt. [SI]

    Returns
    -------
    tuple of PlanBag
        In the order of the work; expected masses are the typical case. [g]
    """
    charges = _charges(sample)
    words = _test_words(sample)
    bags: list[PlanBag] = []
    if made.chosen(HAND_MAGNET):
        bags += _magnet(next(charges), words("hand magnet"), "hand magnet", 1e3 * SMALL_KG)
    if made.chosen(DRUM):
        bags += _magnet(next(charges), words("drum"), "strong drum", bench.charge_g)
    own = used.passes[0].belt_speed_m_s
    # The main run first: it decides, and what is wrong with the machine shows before sand is gone.
    for speed in sorted(speeds_run(used), key=lambda speed: (speed != own, speed)):
        if not made.chosen(run_name(speed)):
            continue
        is_main, one = speed == own, replace(used.passes[0], belt_speed_m_s=speed)
        repeats = 2 if is_main and made.chosen(REPEAT) else 1
        for repeat in range(1, repeats + 1):
            passes = _passes(used, replace(one, splitter_2_m=None), made, is_main, repeat)
            bags += _run(
                next(charges),
                words(f"roll {speed:g} m/s"),
                str(repeat),
                replace(used, passes=passes),
                bench,
                assayed=made.chosen(assay_name(speed)),
            )
    return _expected(sample, trials, used, bags)


def _passes(
    used: Setting, one: Pass, made: Programme, is_main: bool, repeat: int
) -> tuple[Pass, ...]:
    """Passes of one run. Where further passes are run, the second edge waits for the repeat, so
    that the first charge shows the setting as assessed."""
    if not is_main:
        return (one,)
    onward = made.chosen(MORE_PASSES) and repeat == 1
    split = made.chosen(SECOND_EDGE) and not onward
    if used.passes[0].splitter_2_m is not None or split:
        passes = main_setting(used).passes
    else:
        passes = (one,)
    return passes + (one,) * (max(2, len(used.passes)) - 1) if onward else passes


def _charges(sample: Sample) -> Iterator[str]:
    """Names of charges that no bag of the sample begins with."""
    taken = {fold(bag.bag) for bag in sample.tests} | {fold(d.bag) for d in sample.determinations}
    singles: Iterable[str] = LETTERS
    doubles = (a + b for a in LETTERS for b in LETTERS)
    for name in (*singles, *doubles):
        if not any(one == fold(name) or one.startswith(f"{fold(name)}{n}") for one in taken
                   for n in range(10)):  # fmt: skip
            yield name


def _test_words(sample: Sample) -> Callable[[str], str]:
    """Names of tests that the sample does not have yet."""
    taken = {fold(bag.test) for bag in sample.tests}

    def words(name: str) -> str:
        while fold(name) in taken:
            name += " planned"
        return name

    return words


def _charge(name: str, test: str, repeat: str, grams: float) -> PlanBag:
    return PlanBag(name, test, "0", repeat, "", "feed", "feed", grams, False)


def _magnet(name: str, test: str, machine: str, grams: float) -> list[PlanBag]:
    charge = _charge(name, test, "1", grams)
    outlets = ("magnetics", "non-magnetics")
    return [charge] + [
        PlanBag(f"{name}1{_PRODUCTS[one]}", test, "1", "1", machine, name, one, None, False)
        for one in outlets
    ]


def _run(
    name: str, test: str, repeat: str, setting: Setting, bench: Bench, assayed: bool
) -> list[PlanBag]:
    bags = [_charge(name, test, repeat, bench.charge_g)]
    source, step = name, 0
    passing, retained = setting.treated_passing_um, setting.treated_retained_um
    if passing is not None or retained:
        source = f"{name}0S"
        windows = [("S", passing, retained or 0.0)]
        windows += [("C", None, passing)] if passing is not None else []
        windows += [("F", retained, 0.0)] if retained else []
        bags += [
            PlanBag(
                f"{name}0{letter}", test, "0", repeat, "sieve", name, "screened", None, False,
                passing_um=top, retained_um=bottom,
            )
            for letter, top, bottom in windows
        ]  # fmt: skip
    if setting.drum_first is not None:
        step += 1
        for one in ("magnetics", "non-magnetics"):
            bag = f"{name}{step}{_PRODUCTS[one]}"
            machine = f"{setting.drum_first} drum"
            bags.append(
                PlanBag(
                    bag, test, str(step), repeat, machine, source, one, None, one == "magnetics"
                )
            )
        source = f"{name}{step}N"
    current = None
    if setting.machine == "induced-roll":
        current = (setting.induced or InducedRoll()).current_a
    for number, way in enumerate(setting.passes, start=1):
        step += 1
        outlets = ["magnetics", "non-magnetics"]
        if way.splitter_2_m is not None:
            outlets.insert(1, "middlings")
        for outlet in outlets:
            # What is fed on is not robbed of a split: its assay is the sum of what comes of it.
            fed_on = outlet == "non-magnetics" and number < len(setting.passes)
            bags.append(
                PlanBag(
                    f"{name}{step}{_PRODUCTS[outlet]}", test, str(step), repeat,
                    _MACHINES.get(setting.machine, "permanent roll"), source, outlet, None,
                    assayed and not fed_on, way.belt_speed_m_s, way.splitter_m, way.splitter_2_m,
                    bench.feed_kg_h, bench.belt_m, current,
                )
            )  # fmt: skip
        source = f"{name}{step}N"
    return bags


def _expected(
    sample: Sample, trials: Trials, used: Setting, bags: list[PlanBag]
) -> tuple[PlanBag, ...]:
    """The bags with what the typical case puts into each."""
    rows = tuple(
        TestBag(
            one.test, one.step, one.repeat, one.machine or None, one.from_bag, one.bag, one.product,
            1.0, one.belt_speed_m_s, one.splitter_m, one.splitter_2_m, one.feed_kg_h,
            one.belt_width_m, one.current_a, passing_um=one.passing_um, retained_um=one.retained_um,
        )
        for one in bags
    )  # fmt: skip
    found = predict_tests(replace(sample, tests=rows), first_rows(trials, 1), used)
    known = {one.bag: one for one in found}
    charge = {bag.bag: bag.expected_g for bag in bags if bag.product == "feed"}
    made = []
    for bag in bags:
        seen = known[bag.bag]
        # How clean a hand magnet works is nobody's model.
        if bag.product == "feed" or seen.phase_mass is None or bag.machine == "hand magnet":
            made.append(bag)
            continue
        first = next(name for name in charge if bag.bag.startswith(name) and
                     bag.bag[len(name)].isdigit())  # fmt: skip
        grams = (charge[first] or 0.0) * float(seen.phase_mass[0].sum())
        iron = float(seen.oxide("Fe2O3")[0])
        made.append(
            replace(bag, expected_g=grams, expected_Fe2O3_wt_pct=iron if iron == iron else None)
        )
    return tuple(made)
