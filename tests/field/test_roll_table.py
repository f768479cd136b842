"""The table of field solutions: against fresh finite-element solutions, and as a table."""

from __future__ import annotations

import importlib.util

import numpy as np
import pytest

from feedchar.field import mean_force_product, roll_harmonics
from feedchar.field.solutions import AXES, solution_table
from feedchar.tables.locate import tables_folder

HEIGHTS_M = np.array([0.25e-3, 0.5e-3, 1e-3])
RADIUS_M = 0.05


@pytest.fixture(scope="module")
def maker():
    """The script beside the table."""
    pytest.importorskip("skfem")
    path = tables_folder() / "make_roll_harmonics.py"
    spec = importlib.util.spec_from_file_location("make_roll_harmonics", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def random_rolls(count: int, seed: int):
    """Ratios anywhere within the table: steel, saturation, pitch and bore."""
    rng = np.random.default_rng(seed)
    nodes = solution_table().nodes
    for _ in range(count):
        yield (
            float(np.exp(rng.uniform(np.log(nodes[0][0]), np.log(nodes[0][-1])))),
            float(rng.uniform(nodes[1][0], nodes[1][-1])),
            float(np.exp(rng.uniform(np.log(nodes[2][0]), np.log(nodes[2][-1])))),
            float(rng.uniform(nodes[3][0], nodes[3][-1])),
        )


def misfits(maker, ratios: tuple[float, float, float, float], fineness: float):
    """Relative difference of B1 and of the mean force at 0.25, 0.5 and 1 mm over R = 50 mm."""
    magnet_to_steel, remanence, pitch_to_radius, bore = ratios
    pitch = pitch_to_radius * RADIUS_M
    steel = pitch / (1 + magnet_to_steel)
    found = roll_harmonics(pitch - steel, steel, RADIUS_M, bore * RADIUS_M, 1.25, 1.25 / remanence)
    fresh = 1.25 * maker.solve_roll(*ratios, count=len(found), fineness=fineness)
    force = [mean_force_product(h, pitch, RADIUS_M, HEIGHTS_M) for h in (found, fresh)]
    return abs(found[0] / fresh[0] - 1), np.abs(force[0] / force[1] - 1).max()


@pytest.mark.parametrize("ratios", list(random_rolls(4, seed=11)))
def test_a_roll_between_the_nodes_agrees_with_a_fresh_solution(maker, ratios):
    first, force = misfits(maker, ratios, fineness=1.0)
    assert first < 0.01
    assert force < 0.015


@pytest.mark.slow
def test_forty_random_rolls_agree_with_fresh_solutions_on_a_finer_grid(maker):
    found = np.array([misfits(maker, ratios, fineness=2.0) for ratios in random_rolls(40, seed=7)])
    assert found[:, 0].max() < 0.01
    assert found[:, 1].max() < 0.015


def test_the_solver_meets_the_bare_magnet_when_steel_and_recoil_are_taken_away(maker, monkeypatch):
    # Steel that saturates at nothing and recoil 1: the closed form of the magnets alone.
    monkeypatch.setattr(maker, "RECOIL_PERMEABILITY", 1.0)
    fresh = maker.solve_roll(4.0, 1e6, 0.1, 0.2, count=24)
    bare = roll_harmonics(0.004, 0.001, RADIUS_M, 0.010, 1.0, 0.0)[:24]
    assert np.abs(fresh - bare).max() < 2e-4
    assert fresh[0] == pytest.approx(bare[0], rel=2e-4)


def test_the_solution_settles_as_the_grid_is_refined(maker):
    coarse, fine = (maker.solve_roll(4.0, 0.6, 0.1, 0.2, 24, fineness) for fineness in (1.0, 2.0))
    assert coarse[0] == pytest.approx(fine[0], rel=1e-3)
    assert np.abs(coarse - fine).max() < 1e-3


def test_the_first_harmonics_printed_in_the_table_are_those_of_its_potentials(maker):
    table = (tables_folder() / "roll_harmonics.csv").read_text(encoding="utf-8").splitlines()
    heading = table[0].split(",")
    assert heading[:4] == [axis.column for axis in AXES]
    for line in table[5::997]:
        row = dict(zip(heading, map(float, line.split(",")), strict=True))
        potential = np.array([row[name] for name in heading if name.startswith("potential")])
        printed = [row[f"b{n}_over_remanence"] for n in (1, 3, 5)]
        found = maker.harmonics_of_potential(
            potential, row["magnet_to_steel"], row["pitch_to_radius"], 3
        )
        assert found == pytest.approx(printed, rel=1e-4, abs=2e-5)


def test_fields_scale_with_remanence_at_a_fixed_ratio_to_the_saturation_of_the_steel():
    once = roll_harmonics(0.004, 0.001, 0.05, 0.010, 1.0, 1.8)
    more = roll_harmonics(0.004, 0.001, 0.05, 0.010, 1.2, 1.8 * 1.2)
    assert more == pytest.approx(1.2 * once, rel=1e-12)


def test_only_ratios_of_lengths_matter():
    once = roll_harmonics(0.004, 0.001, 0.05, 0.010, 1.25, 2.1)
    twice = roll_harmonics(0.008, 0.002, 0.10, 0.020, 1.25, 2.1)
    assert twice == pytest.approx(once, rel=1e-12)


def test_every_figure_of_the_roll_moves_its_field_the_way_it_should():
    def b1(magnet=0.004, steel=0.001, radius=0.05, bore=0.010, remanence=1.25, saturation=2.1):
        return roll_harmonics(magnet, steel, radius, bore, remanence, saturation)[0]

    assert b1(remanence=1.35) > b1() > b1(remanence=1.1)
    assert b1(saturation=2.3) > b1() > b1(saturation=1.9)
    assert b1() > b1(bore=0.035) > b1(bore=0.042)
    # A bore of 35 mm takes 2.5 %, one of 42 mm 10.6 % (finite-volume model, see published).
    assert b1(bore=0.035) / b1() == pytest.approx(0.975, abs=0.005)
    assert b1(bore=0.042) / b1() == pytest.approx(0.894, abs=0.01)
    assert b1(saturation=1.9) / b1() == pytest.approx(1.063 / 1.095, abs=0.005)
    assert b1(saturation=2.3) / b1() == pytest.approx(1.125 / 1.095, abs=0.005)


def test_pitch_hardly_matters_until_it_nears_the_radius():
    # Surface B1 at pitch 2.5, 5, 10 and 30 mm on a roll of 50 mm radius, 4:1 (published).
    for pitch, b1 in ((2.5e-3, 1.118), (5e-3, 1.114), (10e-3, 1.101), (30e-3, 1.012)):
        found = roll_harmonics(0.8 * pitch, 0.2 * pitch, 0.05, 0.010, 1.25, 2.1)[0]
        assert found == pytest.approx(b1, rel=0.005)
