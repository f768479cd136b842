"""The calculator beside the roll: what a machine offers, and what it does with named grains."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt

from feedchar.assembly.calibration_used import calibration_used
from feedchar.assembly.pull_field import field_of, machine_of, reading_of
from feedchar.assembly.pull_grains import DUST_UM, grains_of_phases
from feedchar.assembly.pull_phases import (
    SAND_DENSITY_KG_M3,
    AskedPhase,
    ReadyPhase,
    ready_phase,
)
from feedchar.constants import GRAVITY_M_S2
from feedchar.errors import SettingError
from feedchar.field.setting import InducedRoll, Pass, Setting
from feedchar.field.working import WorkingField, working_field
from feedchar.magnetics.isodynamic import isodynamic_force_product
from feedchar.results.pull import CapacityPull, PullResult
from feedchar.results.pull_machine import OtherMachine, ReadingPull
from feedchar.sample.records import Note
from feedchar.separation.capacity import single_layer_capacity
from feedchar.separation.isodynamic_stage import MOST_CURRENT_A
from feedchar.separation.parameters import Calibration
from feedchar.separation.reporting import (
    STRONG_DRUM_TESLA2_M,
    STRONGEST_TESLA2_M,
    WEAK_DRUM_TESLA2_M,
)
from feedchar.separation.setting_checks import calibration_notes, check_setting
from feedchar.separation.thrower import PLANE_BELOW_ROLL_M
from feedchar.units import KG_S_PER_T_H, M_PER_MM, M_PER_UM

SIZES_UM = (100.0, 300.0, 1000.0)
SPEEDS_M_S = (1.5,)
SIDE_SLOPE_DEG = 15.0
COVERAGE = 0.7
"""Share of the belt under the grains' shadows: a nearly full single layer (common practice)."""
SMALLEST_UM = 1.0
MOST_PHASES, MOST_SIZES, MOST_SPEEDS = 20, 12, 8
FINE_UM = 100.0
"""Below this adhesion, which is not counted here, is about the weight of a grain. [µm]"""


@dataclass(frozen=True)
class Question:
    """What the calculator is asked, beside the machine."""

    phases: tuple[AskedPhase, ...] = ()
    sizes_um: tuple[float, ...] = SIZES_UM
    belt_speeds_m_s: tuple[float, ...] = SPEEDS_M_S
    heights_m: tuple[float, ...] | None = None
    side_slope_deg: float = SIDE_SLOPE_DEG
    coverage: float = COVERAGE
    probe_m: float | None = None
    """Element of a gaussmeter whose reading is given or wanted; None: none."""
    probe_height_m: float | None = None
    reading_tesla: float | None = None
    """The reading from which the magnets of the setting's roll were found; None: wanted."""


def pull(
    setting: Setting, question: Question, calibration: Calibration | None = None
) -> PullResult:
    """Field, force and single grains; a pure function of its arguments and the tables.

    Parameters
    ----------
    setting : Setting
        Machine and temperatures; its passes are not used. [SI]
    question : Question
        Phases, sizes, speeds and the rest. [SI]
    calibration : Calibration or None
        What tests taught of the machine: its pull is counted, what it misses and carries is told.
        [SI]

    Returns
    -------
    PullResult
        The typical case, without adhesion, in still air. [SI]

    Raises
    ------
    SettingError
        A machine, phase, size or speed that cannot be, or a calibration of another machine.
    UnknownNameError
        An unknown mineral or a group word.
    """
    _check(question)
    field = working_field(setting)
    for speed in question.belt_speeds_m_s:
        edge = field.belt_thickness_m + 10 * M_PER_MM
        check_setting(replace(setting, passes=(Pass(speed, edge),)))
    phases = ready_phases(setting, question)
    known = calibration_notes(calibration, setting)
    used = calibration_used(calibration)
    factor = 1.0 if used is None else used.pull_factor
    grains = grains_of_phases(
        setting, field, phases, question.sizes_um, question.belt_speeds_m_s, factor
    )
    return PullResult(
        command="pull",
        machine=machine_of(setting, field, _reading(setting, question)),
        field=field_of(setting, field, question.heights_m),
        plane_below_axis_m=field.roll_radius_m + PLANE_BELOW_ROLL_M,
        throw_off_speed_m_s=sqrt(GRAVITY_M_S2 * (field.roll_radius_m + field.belt_thickness_m)),
        side_slope_deg=question.side_slope_deg,
        phases=tuple(phase.told for phase in phases),
        grains=grains,
        sand_density_kg_m3=SAND_DENSITY_KG_M3,
        coverage=question.coverage,
        capacity=_capacity(question),
        other_machines=_others(setting),
        notes=(*known, *_notes(setting, field, question, phases)),
        calibration=used,
    )


def ready_phases(setting: Setting, question: Question) -> tuple[ReadyPhase, ...]:
    """The phases asked for, each once.

    Parameters
    ----------
    setting : Setting
        For the temperature of the feed. [SI]
    question : Question
        Phases and side slope. [SI]

    Returns
    -------
    tuple of ReadyPhase
        In the order asked for. [SI]

    Raises
    ------
    SettingError
        A phase that cannot be.
    UnknownNameError
        An unknown mineral or a group word.
    """
    slope = question.side_slope_deg
    ready = [ready_phase(one, setting.feed_temperature_c, slope) for one in question.phases]
    return tuple({phase.told.phase: phase for phase in ready}.values())


def _check(question: Question) -> None:
    for most, given, what in (
        (MOST_PHASES, question.phases, "phases"),
        (MOST_SIZES, question.sizes_um, "sizes"),
        (MOST_SPEEDS, question.belt_speeds_m_s, "belt speeds"),
    ):
        if len(given) > most:
            message = f"At most {most} {what} at a time, found {len(given)}"
            raise SettingError(message)
    for size in question.sizes_um:
        if size < SMALLEST_UM:
            message = (
                f"Sizes must be at least {SMALLEST_UM:g} um, found {size:g}. "
                "Give micrometres, such as 300."
            )
            raise SettingError(message)
    if not 0.0 < question.side_slope_deg <= 90.0:
        message = (
            f"The side slope must be above 0 and at most 90 degrees, "
            f"found {question.side_slope_deg:g}. Usual are 5 to 25."
        )
        raise SettingError(message)


def _reading(setting: Setting, question: Question) -> ReadingPull | None:
    probe, height = question.probe_m, question.probe_height_m
    if probe is None and height is None and question.reading_tesla is None:
        return None
    if probe is None or height is None:
        message = (
            "A gaussmeter reading needs the size of its element and its height above the bare "
            "roll: --probe-mm 1 --probe-height-mm 0.35"
        )
        raise SettingError(message)
    if setting.machine != "permanent-roll":
        message = "A gaussmeter reading tells the magnets of a permanent roll, not an induced roll"
        raise SettingError(message)
    if question.reading_tesla is not None:
        return ReadingPull(probe, height, question.reading_tesla, "given")
    return ReadingPull(probe, height, reading_of(setting, probe, height), "expected")


def _capacity(question: Question) -> tuple[CapacityPull, ...]:
    return tuple(
        CapacityPull(
            size,
            speed,
            float(
                single_layer_capacity(SAND_DENSITY_KG_M3, size * M_PER_UM, question.coverage, speed)
            )
            / KG_S_PER_T_H,
        )
        for size in question.sizes_um
        for speed in question.belt_speeds_m_s
    )


def _others(setting: Setting) -> tuple[OtherMachine, ...]:
    others = [
        OtherMachine("weak drum", WEAK_DRUM_TESLA2_M),
        OtherMachine("strong drum", STRONG_DRUM_TESLA2_M),
        OtherMachine("isodynamic separator at 1 A", float(isodynamic_force_product(1.0))),
    ]
    if setting.machine == "permanent-roll":
        electric = InducedRoll()
        offered = working_field(replace(setting, machine="induced-roll", induced=electric))
        name = f"induced roll at {electric.current_a:g} A"
        others.append(OtherMachine(name, offered.force_product_at_belt_tesla2_m))
    return (*others, OtherMachine("wet high-gradient matrix, from", STRONGEST_TESLA2_M))


def _notes(
    setting: Setting, field: WorkingField, question: Question, phases: tuple[ReadyPhase, ...]
) -> tuple[Note, ...]:
    notes = []
    if phases and min(question.sizes_um) <= FINE_UM:
        text = (
            "adhesion is not counted here: 10 nN (a guess) is the weight of a sand grain of 90 um, "
            "and finer grains of any kind cling to the belt and follow the roll"
        )
        notes.append(Note("adhesion-not-counted", text, "warning"))
    if phases and min(question.sizes_um) < DUST_UM:
        text = (
            f"grains below {DUST_UM:g} um follow the air of the room: no landing position is told"
        )
        notes.append(Note("dust", text))
    top = field.top_size_m
    if top is not None and max(question.sizes_um) * M_PER_UM > top:
        text = (
            f"the gap lets grains pass to about {1e3 * top:g} mm, half of it: coarser ones bridge"
        )
        notes.append(Note("gap-too-narrow", text, "warning"))
    if setting.machine == "induced-roll":
        text = (
            "the construction of the induced roll is guessed and its field an equivalent one: "
            "take its figures as an order of magnitude"
        )
        notes.append(Note("induced-roll-guessed", text, "warning"))
    if question.reading_tesla is not None and setting.roll_temperature_c != 20.0:
        text = (
            "the reading counts as taken at 20 C; the roll is computed at "
            f"{setting.roll_temperature_c:g} C"
        )
        notes.append(Note("reading-at-20", text))
    currents = [phase.told.isodynamic_current_a or 0.0 for phase in phases]
    if max(currents, default=0.0) > MOST_CURRENT_A:
        text = f"isodynamic currents above {MOST_CURRENT_A:g} A are too low: the poles saturate"
        notes.append(Note("isodynamic-saturates", text))
    if any(phase.law.order == 2 for phase in phases):
        text = (
            "take ferrimagnetic grains out with a hand magnet before any roll or isodynamic "
            "separator: they stay on the magnet"
        )
        notes.append(Note("ferrimagnetic-first", text, "warning"))
    return tuple(notes)
