"""The calculator beside the roll, against values computed apart from this project.

Source: physics_checks.csv, rows B (flux density to hold, fastest belt, release), C (single layer),
G (terminal velocity), H (force products of drums), V (roll with saturating steel, a finite-volume
model of another program) and X (isodynamic separator); `tolerance` and `tol_type` are the table's
own. The finite-volume values of least and greatest force belong to the same model.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from math import cos, pi, radians
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from feedchar.assembly.pull import Question, pull
from feedchar.assembly.pull_phases import AskedPhase
from feedchar.assembly.pull_picture import pull_picture
from feedchar.errors import SettingError, UnknownNameError
from feedchar.field.construction import roll_of_figures
from feedchar.field.rolls import harmonics_of, read_roll
from feedchar.field.setting import InducedRoll, Roll, Setting
from feedchar.results.pull import GrainPull, PullResult, SpeedPull

TABLE = Path(__file__).parents[1] / "published" / "data" / "physics_checks.csv"
FINE = Setting(roll=read_roll("fine-100"))


def rows(*topics: str):
    """Rows of some topics with their inputs taken apart."""
    found = []
    with TABLE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["topic"] in topics:
                given = dict(part.split("=", 1) for part in row["inputs"].split(";"))
                found.append(pytest.param(row, given, id=row["id"]))
    assert found
    return found


def agrees(row: dict[str, str], found: float) -> None:
    tolerance = float(row["tolerance"])
    how = {"rel": tolerance} if row["tol_type"] == "rel" else {"abs": tolerance, "rel": 1e-12}
    assert found == pytest.approx(float(row["expected"]), **how)


def b1_of(roll: Roll) -> float:
    return float(harmonics_of(roll)[0])


def roll_of_row(given: dict[str, str]) -> Roll:
    """The row's roll, 4:1, with the remanence that gives its B1 (where it has one)."""
    pitch = float(given["pitch_m"])
    radius = float(given["R_m"])
    roll = Roll("row", radius, 0.2 * radius, 0.8 * pitch, 0.2 * pitch, 1.25, 2.1,
                float(given["belt_m"]))  # fmt: skip
    if "B1_T" not in given:
        return roll
    wanted = float(given["B1_T"])
    remanence = brentq(
        lambda value: b1_of(replace(roll, remanence_tesla=value)) - wanted, 0.5, 1.8, xtol=1e-12
    )
    return replace(roll, remanence_tesla=float(remanence))


def grain_of_row(given: dict[str, str], speed: float | None = None) -> GrainPull:
    """The row's grain; the row's speed is that of the grain centre."""
    roll, size = roll_of_row(given), float(given["d_m"])
    face = roll.roll_radius_m + roll.belt_thickness_m
    belt = (speed or float(given.get("v_mps", 1.5))) * face / (face + size / 2)
    own = AskedPhase(mass_susceptibility_m3_kg=float(given["chi_m3kg"]))
    question = Question((own,), (size * 1e6,), (belt,))
    return pull(Setting(roll=roll), question).grains[0]


def one(result: PullResult, phase: str, size: float = 300.0) -> tuple[GrainPull, SpeedPull]:
    grain = next(g for g in result.grains if g.phase == phase and g.size_um == size)
    return grain, grain.at_speed[0]


def asked(*names: str) -> tuple[AskedPhase, ...]:
    return tuple(AskedPhase(name) for name in names)


@pytest.mark.parametrize(("row", "given"), rows("required field"))
def test_flux_density_to_hold_is_that_of_the_table(row: dict, given: dict) -> None:
    at = grain_of_row(given).at_speed[0]
    by_angle = {
        "90": at.flux_density_needed_tesla,
        "180": at.flux_density_needed_180_tesla,
    }
    found = by_angle[given["theta_deg"]]
    assert found is not None
    agrees(row, found)


@pytest.mark.parametrize(("row", "given"), rows("speed limit"))
def test_fastest_belt_is_that_of_the_table(row: dict, given: dict) -> None:
    grain = grain_of_row(given)
    fastest = grain.belt_speed_max_single_exponential_m_s
    assert fastest is not None
    at = grain.at_speed[0]
    # The table's speed is that of the grain centre.
    agrees(row, fastest * at.grain_speed_m_s / at.belt_speed_m_s)
    assert grain.belt_speed_max_m_s is not None
    assert grain.belt_speed_max_m_s > 0.97 * fastest  # the other harmonics add to the pull


@pytest.mark.parametrize(
    ("row", "given"), [row for row in rows("detachment") if "chi_m3kg" in row.values[1]]
)
def test_release_is_that_of_the_table(row: dict, given: dict) -> None:
    agrees(row, grain_of_row(given).at_speed[0].detachment_angle_single_exponential_deg)


@pytest.mark.parametrize(("row", "given"), rows("flake"))
def test_a_flake_lies_flat_and_is_pulled_more(row: dict, given: dict) -> None:
    """Thickness a tenth of the size in the row, as the calculator takes it."""
    given = given | {"R_m": "0.05"}
    assert float(given["h_m"]) == pytest.approx(0.1 * float(given["D_m"]))
    own = AskedPhase(mass_susceptibility_m3_kg=float(given["chi_m3kg"]), lies_flat=True)
    roll = roll_of_row(given)
    size = float(given["D_m"])
    grain = pull(Setting(roll=roll), Question((own,), (size * 1e6,))).grains[0]
    fastest = grain.belt_speed_max_single_exponential_m_s
    assert fastest is not None
    face = roll.roll_radius_m + roll.belt_thickness_m
    radius = face + 0.05 * size
    agrees(row, (fastest * radius / face) ** 2 / radius)
    assert grain.thickness_um == pytest.approx(0.1 * grain.size_um)


@pytest.mark.parametrize(
    ("row", "given"),
    [row for row in rows("roll field") if row.values[0]["quantity"].endswith("B dB/dr")],
)
def test_mean_force_against_height_is_that_of_another_model(row: dict, given: dict) -> None:
    height = float(given["y_mm"]) * 1e-3
    level = levels((height,))[height]
    agrees(row, level.force_product_mean_tesla2_m)


@pytest.mark.parametrize(
    ("height_mm", "mid_pole", "mid_magnet", "least", "greatest"),
    [
        (0.25, 1.241, 0.725, 196, 2430),
        (0.50, 1.011, 0.656, 183, 970),
        (1.0, 0.665, 0.519, 137, 351),
        (2.0, 0.322, 0.296, 52, 70),
    ],
)
def test_field_and_extremes_against_height_are_those_of_another_model(
    height_mm: float, mid_pole: float, mid_magnet: float, least: float, greatest: float
) -> None:
    """The same finite-volume model, 4:1, pitch 5 mm; its figures have two to four digits."""
    height = height_mm * 1e-3
    level = levels((height,))[height]
    assert level.mid_pole_tesla == pytest.approx(mid_pole, rel=0.005)
    assert level.mid_magnet_tesla == pytest.approx(mid_magnet, rel=0.005)
    assert level.force_product_least_tesla2_m == pytest.approx(least, rel=0.02)
    assert level.force_product_greatest_tesla2_m == pytest.approx(greatest, rel=0.02)


def levels(heights: tuple[float, ...]):
    result = pull(FINE, Question(heights_m=heights))
    return {level.height_m: level for level in result.field.heights}


@pytest.mark.parametrize(
    ("row", "given"), [row for row in rows("drag") if "terminal" in row.values[0]["quantity"]]
)
def test_terminal_velocity_is_that_of_the_table(row: dict, given: dict) -> None:
    own = AskedPhase(mass_susceptibility_m3_kg=0.0, density_kg_m3=float(given["rho"]))
    grain = pull(FINE, Question((own,), (float(given["d_um"]),))).grains[0]
    agrees(row, grain.terminal_velocity_m_s)


@pytest.mark.parametrize(
    ("row", "given"), [row for row in rows("capacity") if "monolayer" in row.values[0]["quantity"]]
)
def test_a_single_layer_carries_what_the_table_says(row: dict, given: dict) -> None:
    assert float(given["rho"]) == 2650
    question = Question(
        sizes_um=(1e3 * float(given["d_mm"]),),
        belt_speeds_m_s=(float(given["v_mps"]),),
        coverage=float(given["coverage"]),
    )
    agrees(row, pull(FINE, question).capacity[0].single_layer_t_h_m)


def test_the_isodynamic_current_is_that_of_the_usual_calibration() -> None:
    """Row X06: 15 degrees and 0.4 A divide at 4.06552e-7 m3/kg."""
    own = AskedPhase(mass_susceptibility_m3_kg=4.06552e-07)
    found = pull(FINE, Question((own,), side_slope_deg=15.0)).phases[0].isodynamic_current_a
    assert found == pytest.approx(0.4, rel=1e-5)


def test_needed_force_is_the_radial_balance() -> None:
    """mu0 (v^2/Rc) / chi, written out again here."""
    _, at = one(pull(FINE, Question((AskedPhase("quartz", None, 5e-7),))), "quartz, 500e-9 m3/kg")
    radius = 0.05 + 0.0002 + 0.00015
    assert at.grain_speed_m_s == pytest.approx(1.5 * radius / 0.0502)
    needed = 4e-7 * pi * at.grain_speed_m_s**2 / radius / 5e-7
    assert at.force_product_needed_tesla2_m == pytest.approx(needed, rel=1e-9)


def test_each_phase_needs_its_own_machine() -> None:
    result = pull(FINE, Question(asked("magnetite", "biotite", "muscovite", "quartz"), (300.0,)))
    kinds = {grain.phase: grain.at_speed[0].reports_to for grain in result.grains}
    assert kinds["magnetite"] == "weak drum"
    assert kinds["biotite"] == "permanent roll"
    assert kinds["muscovite"] == "stronger machine"
    assert kinds["quartz"] == "no magnet"


def test_quartz_is_pushed_off_and_nothing_holds_it() -> None:
    grain, at = one(pull(FINE, Question(asked("quartz"), (300.0,))), "quartz")
    assert grain.pull_m_s2 < 0.0
    assert grain.belt_speed_max_m_s is None
    assert at.force_product_needed_tesla2_m is None
    assert at.flux_density_needed_tesla is None
    assert at.detachment_angle_greatest_deg == 0.0
    assert at.carried_round_share == 0.0
    assert at.landing_least_m is not None
    assert at.landing_without_pull_m is not None
    # Pushed off it flies a little further than thrown.
    assert at.landing_without_pull_m < at.landing_least_m < at.landing_without_pull_m + 0.003


def test_a_slow_belt_keeps_sand_past_the_top() -> None:
    """At 0.5 m/s the balance without pull gives acos(v^2/(g Rc)); diamagnetism takes it earlier."""
    grain, at = one(pull(FINE, Question(asked("quartz"), (300.0,), (0.5,))), "quartz")
    centrifugal = at.grain_speed_m_s**2 / 0.05035
    free = np.degrees(np.arccos(centrifugal / 9.81))
    pushed = np.degrees(np.arccos((centrifugal - grain.pull_m_s2) / 9.81))
    assert at.detachment_angle_deg == pytest.approx(pushed)
    assert 0.0 < pushed < free
    assert at.landing_without_pull_m is None
    assert pull(FINE, Question()).throw_off_speed_m_s == pytest.approx((9.81 * 0.0502) ** 0.5)


def test_what_is_held_everywhere_is_carried_round() -> None:
    _, at = one(pull(FINE, Question(asked("ilmenite"), (300.0,), (1.0,))), "ilmenite")
    assert at.detachment_angle_least_deg == 180.0
    assert at.carried_round_share == 1.0
    assert at.landing_m is None


def test_the_order_of_phases_changes_no_figure() -> None:
    names = ("biotite", "hematite", "muscovite", "magnetite")
    there = pull(FINE, Question(asked(*names), (100.0, 300.0), (1.0, 2.0)))
    back = pull(FINE, Question(asked(*names[::-1]), (100.0, 300.0), (1.0, 2.0)))

    def by_name(result: PullResult) -> dict[tuple[str, float], GrainPull]:
        return {(grain.phase, grain.size_um): grain for grain in result.grains}

    assert by_name(there) == by_name(back)


def test_more_iron_needs_less_field_and_a_warm_feed_more() -> None:
    def needed(iron: float, feed: float = 20.0) -> float:
        setting = replace(FINE, feed_temperature_c=feed)
        phase = AskedPhase("biotite", iron)
        found = pull(setting, Question((phase,), (300.0,))).grains[0].at_speed[0]
        assert found.flux_density_needed_tesla is not None
        return found.flux_density_needed_tesla

    assert needed(20.0) < needed(16.0) < needed(12.0)
    # Curie's law: the pull goes with 1/T, the flux density needed with its root.
    assert needed(16.0, 100.0) / needed(16.0) == pytest.approx((373.15 / 293.15) ** 0.5, rel=0.01)


def test_a_warm_roll_is_weaker_by_its_remanence() -> None:
    cold = pull(FINE, Question())
    warm = pull(replace(FINE, roll_temperature_c=80.0), Question())
    ratio = warm.field.surface_flux_density_tesla / cold.field.surface_flux_density_tesla
    assert warm.machine.remanence_at_temperature_tesla == pytest.approx(1.25 * (1 - 0.0011 * 60))
    assert 0.93 < ratio < 0.96


def test_a_roll_found_from_a_reading_gives_that_reading() -> None:
    figures = {"reading_tesla": 1.1, "probe_mm": 1.0, "probe_height_mm": 0.35}
    roll = roll_of_figures(figures, read_roll("fine-100"))
    question = Question(probe_m=0.001, probe_height_m=0.00035)
    reading = pull(Setting(roll=roll), question).machine.reading
    assert reading is not None
    assert reading.kind == "expected"
    assert reading.reading_tesla == pytest.approx(1.1, abs=1e-4)


def test_figures_change_a_named_roll_and_say_so() -> None:
    thick = roll_of_figures({"belt_mm": 0.4}, read_roll("fine-100"))
    assert thick.belt_thickness_m == pytest.approx(0.0004)
    assert thick.remanence_tesla == read_roll("fine-100").remanence_tesla
    assert "belt_mm 0.4" in thick.source
    own = {"roll_radius_mm": 50.0, "magnet_mm": 4.0, "steel_mm": 1.0, "remanence_tesla": 1.25}
    assert harmonics_of(roll_of_figures(own)) == pytest.approx(harmonics_of(read_roll("fine-100")))
    assert "bore_radius_mm 10 assumed" in roll_of_figures(own).source


def test_the_induced_roll_answers_with_its_own_figures() -> None:
    electric = Setting(roll=FINE.roll, machine="induced-roll", induced=InducedRoll(current_a=2.0))
    weak = pull(electric, Question(asked("biotite", "quartz"), (300.0, 3000.0)))
    strong = pull(replace(electric, induced=InducedRoll(current_a=4.0)), Question())
    assert weak.machine.induced is not None
    assert strong.machine.induced is not None
    assert weak.machine.induced.background_tesla < strong.machine.induced.background_tesla < 2.0
    assert weak.field.surface_flux_density_tesla < strong.field.surface_flux_density_tesla
    assert weak.machine.magnet_m is None
    least = [level.force_product_least_tesla2_m for level in weak.field.heights[1:]]
    assert max(least) < 0.0  # valleys push off
    assert {"gap-too-narrow", "induced-roll-guessed"} <= {note.code for note in weak.notes}


@pytest.mark.parametrize("machine", ["permanent-roll", "induced-roll"])
def test_the_drawn_field_has_no_sources_and_the_right_way(machine: str) -> None:
    """div B = 0 by central differences; over like poles facing the lines leave the steel."""
    setting = replace(FINE, machine=machine)
    question = Question()
    picture = pull_picture(setting, question, pull(setting, question))
    z, y = picture.axial_m, picture.height_m
    radius = (0.05 + y)[:, None] if machine == "permanent-roll" else np.ones((len(y), 1))
    outward = np.gradient(radius * picture.radial_tesla, y, axis=0) / radius
    along = np.gradient(picture.axial_tesla, z, axis=1)
    inner = (slice(20, -2), slice(2, -2))  # off the corner of the steel, where steps are too coarse
    scale = np.abs(along[inner]).max()
    assert np.abs((outward + along)[inner]).max() < 0.01 * scale
    pole = np.argmin(np.abs(z - (z[-1] / 2)))
    assert picture.radial_tesla[:, pole].min() > 0.0
    if machine == "permanent-roll":
        middle = np.argmin(np.abs(z))
        assert picture.axial_tesla[:, middle].max() < 0.0  # back over the magnet that points to +z


def test_a_path_starts_on_the_belt_and_ends_where_the_table_says() -> None:
    question = Question(asked("quartz", "biotite"), (300.0,), (1.5,))
    result = pull(FINE, question)
    paths = {path.phase: path for path in pull_picture(FINE, question, result).paths}
    _, at = one(result, "quartz")
    sand = paths["quartz"]
    assert (sand.x_m[0], sand.y_m[0]) == pytest.approx((0.0, 0.05035))
    assert at.landing_least_m is not None
    assert at.landing_greatest_m is not None
    assert at.landing_least_m <= sand.x_m[-1] <= at.landing_greatest_m
    assert sand.y_m[-1] == pytest.approx(-0.060)
    round_ = paths["biotite"]
    assert np.hypot(round_.x_m, round_.y_m) == pytest.approx(0.050215)
    assert round_.y_m[-1] == pytest.approx(-0.050215 * cos(0.0))


@pytest.mark.parametrize(
    ("question", "words"),
    [
        (Question(asked("quartz"), (0.5,)), "at least 1 um"),
        (Question(asked("quartz"), (2e5,)), "larger than the roll radius"),
        (Question(belt_speeds_m_s=(0.0,)), "above 0"),
        (Question(belt_speeds_m_s=(16.0,)), "at most 15"),
        (Question((AskedPhase("biotite", 60.0),)), "at most 34.6 wt % Fe"),
        (Question((AskedPhase("biotite", 101.0),)), "0 to 100"),
        (Question((AskedPhase(),)), "a name or a susceptibility"),
        (Question((AskedPhase(None, 12.0, 5e-7),)), "unnamed"),
        (Question((AskedPhase(mass_susceptibility_m3_kg=500.0),)), "Give SI"),
        (Question((AskedPhase("biotite", density_kg_m3=3.0),)), "3000 and not 3"),
        (Question(asked(*["quartz"] * 21)), "At most 20 phases"),
        (Question(side_slope_deg=100.0), "side slope"),
        (Question(heights_m=(1e-6,)), "Heights must be"),
        (Question(probe_m=0.001), "height above the bare"),
        (Question(coverage=1.2), "Coverage"),
    ],
)
def test_what_cannot_be_is_refused_with_what_would_be_right(question: Question, words: str) -> None:
    with pytest.raises(SettingError, match=words):
        pull(FINE, question)


def test_a_group_of_minerals_is_refused_with_its_members() -> None:
    with pytest.raises(UnknownNameError, match="biotite"):
        pull(FINE, Question(asked("mica")))


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ({"roll_radius_mm": 50.0, "magnet_mm": 40.0, "steel_mm": 20.0, "remanence_tesla": 1.2},
         "pitch"),
        ({"roll_radius_mm": 50.0, "magnet_mm": 4.0, "steel_mm": 1.0, "remanence_tesla": 1.2,
          "bore_radius_mm": 48.0}, "never extrapolated"),
        ({"roll_radius_mm": 50.0, "magnet_mm": 4.0, "steel_mm": 1.0, "remanence_tesla": 1.2,
          "belt_mm": 6.0}, "belt"),
        ({"magnet_mm": 4.0}, "missing: roll_radius_mm, steel_mm"),
        ({"roll_radius_mm": 50.0, "magnet_mm": 4.0, "steel_mm": 1.0}, "strength of the magnets"),
        ({"roll_radius_mm": 50.0, "magnet_mm": 4.0, "steel_mm": 1.0, "reading_tesla": 1.0},
         "missing: probe_mm, probe_height_mm"),
        ({"roll_radius_mm": 50.0, "magnet_mm": 4.0, "steel_mm": 1.0, "remanence_tesla": 1.2,
          "reading_tesla": 1.0, "probe_mm": 1.0, "probe_height_mm": 0.3}, "two ways"),
    ],
)  # fmt: skip
def test_a_roll_that_cannot_be_built_is_refused(figures: dict[str, float], words: str) -> None:
    with pytest.raises(SettingError, match=words):
        roll_of_figures(figures)


@pytest.mark.parametrize("size", [1.0, 5.0, 20.0, 10_000.0])
@pytest.mark.parametrize("speed", [0.01, 0.69, 15.0])
def test_extremes_give_numbers_or_none(size: float, speed: float) -> None:
    phases = asked("magnetite", "quartz", "hematite", "biotite")
    result = pull(FINE, Question(phases, (size,), (speed,)))
    for grain in result.grains:
        at = grain.at_speed[0]
        for value in (*vars(grain).values(), *vars(at).values()):
            assert not isinstance(value, float) or np.isfinite(value)
        assert 0.0 <= at.detachment_angle_least_deg <= at.detachment_angle_greatest_deg <= 180.0
        assert (at.carried_round_share is None) == (size < 20.0)


def test_the_isodynamic_current_goes_with_the_root_of_the_sine() -> None:
    """The dividing current goes with the root of the sine of the slope."""
    own = (AskedPhase(mass_susceptibility_m3_kg=4e-7),)
    currents = [
        pull(FINE, Question(own, side_slope_deg=slope)).phases[0].isodynamic_current_a
        for slope in (10.0, 25.0)
    ]
    wanted = (np.sin(radians(25)) / np.sin(radians(10))) ** 0.5
    assert currents[1] / currents[0] == pytest.approx(wanted)
