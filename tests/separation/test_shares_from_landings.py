"""From landings that are made up to the table of shares of a pass, one place after another."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from feedchar.separation import capture
from feedchar.separation.capture import (
    FINE_RATIOS,
    RESPONSE,
    RESPONSE_SCALE,
    Reference,
    _refined,
    _share_inside,
    capture_table,
)
from feedchar.separation.grain_nodes import Kind, grain_nodes
from feedchar.separation.landing import PULL_RATIOS, LandingGrid
from feedchar.separation.pull_map import LINEAR, MOMENT
from feedchar.separation.thrower import Thrower

THROWER = Thrower(0.047, 3e-4, 0.0061, 1.37)
KINDS = (Kind(False, 2710.0), Kind(True, 2830.0, 0.3), Kind(False, 4900.0))
SIZES = (9e-5, 3.7e-4)
EDGE = 0.061
REFERENCE = Reference(pull_per_susceptibility=2.3e6, susceptibility_per_moment=1.7e-6)


def made_up(kinds, seed):
    """Landings around the edge, and pulls of one unit that differ along the roll."""
    rng = np.random.default_rng(seed)
    nodes = grain_nodes(kinds, SIZES)
    shape = (len(nodes), 2, len(PULL_RATIOS))
    path = THROWER.path_radius_m(nodes)
    earliest, late = (path[:, None, None] + rng.uniform(0.0, 0.03, shape) for _ in range(2))
    throws = THROWER.turn_rad_s**2 * path
    return LandingGrid(nodes, earliest, late, throws, path, rng.uniform(20.0, 60.0, shape[:2]))


@pytest.mark.parametrize("moment_kinds", [None, (KINDS[1],), KINDS])
def test_a_share_of_moment_blends_two_flights_by_their_part_of_the_pull(monkeypatch, moment_kinds):
    """Kinds that no class with a moment has keep their linear flights in every column."""
    asked = []

    def grids(harmonics, thrower, kinds, sizes, law):
        asked.append((harmonics, thrower, kinds, sizes, law))
        grid = made_up(kinds, len(law))
        if law == MOMENT:
            scaled = grid.pull_per_unit * 1e-2
            grid = LandingGrid(*list(vars(grid).values())[:-1], scaled)
        return grid

    monkeypatch.setattr(capture, "landing_grid", grids)
    adhesions = (1e-8, 6e-8)
    table = capture_table.__wrapped__(
        (0.6,), THROWER, KINDS, SIZES, EDGE, adhesions, REFERENCE, True, moment_kinds
    )
    again = KINDS if moment_kinds is None else moment_kinds
    assert asked == [
        ((0.6,), THROWER, KINDS, SIZES, LINEAR),
        ((0.6,), THROWER, again, SIZES, MOMENT),
    ]
    assert table.shape == (6, 2, 3, len(RESPONSE))
    linear, constant = grids((0.6,), THROWER, KINDS, SIZES, LINEAR), made_up(again, len(MOMENT))
    inside, inside_moment = (_share_inside(g, EDGE, adhesions) for g in (linear, constant))
    chi = np.sinh(RESPONSE) * RESPONSE_SCALE / 2.3e6
    flown = 0
    for p in range(6):
        own = KINDS[p // 2] in again
        q = flown if own else p
        flown += own
        for f, share in enumerate((0.0, 0.5, 1.0)):
            wanted = np.zeros((2, len(RESPONSE)))
            for z in range(2):
                unit = linear.pull_per_unit[p, z] / linear.centrifugal_m_s2[p]
                by_moment, other = unit, inside[p]
                if own:
                    by_moment = constant.pull_per_unit[q, z] * 1e-2 / 1.7e-6
                    by_moment, other = by_moment / constant.centrifugal_m_s2[q], inside_moment[q]
                pull = (1.0 - share) * unit + share * by_moment
                part = share * by_moment / pull
                for a in range(2):
                    for weight, landed in ((1.0 - part, inside[p]), (part, other)):
                        found = np.interp(pull * chi, FINE_RATIOS, landed[z, a])
                        wanted[a] += weight * found / 2.0
            assert table[p, :, f] == pytest.approx(wanted, abs=2e-3), (p, share)
            middle = np.abs(pull * chi) < 1.0
            assert table[p, :, f, middle] == pytest.approx(wanted[:, middle].T, abs=1e-9)


def test_without_moments_one_column_is_made_and_nothing_flown_twice(monkeypatch):
    asked = []
    monkeypatch.setattr(capture, "landing_grid", lambda *a: asked.append(a) or made_up(a[2], 6))
    table = capture_table.__wrapped__(
        (0.6,), THROWER, KINDS, SIZES, EDGE, (1e-8,), REFERENCE, False
    )
    assert len(asked) == 1
    with_moment = capture_table.__wrapped__(
        (0.6,), THROWER, KINDS, SIZES, EDGE, (1e-8,), REFERENCE, True
    )
    assert table.shape == (6, 1, 1, len(RESPONSE))
    assert np.array_equal(table, with_moment[:, :, :1])


def test_the_axes_reach_from_sand_that_is_pushed_off_to_what_any_magnet_holds():
    """Pushed as hard as the belt throws, to pulled five thousand times as hard."""
    ratio = np.sinh(RESPONSE[[0, -1]]) * RESPONSE_SCALE
    assert ratio == pytest.approx([-1.0, 5000.0], rel=1e-9)
    assert FINE_RATIOS[[0, -1]].tolist() == PULL_RATIOS[[0, -1]].tolist()


def test_landings_between_the_pulls_flown_lie_on_a_straight_line():
    position = np.random.default_rng(3).random((2, 3, len(PULL_RATIOS)))
    wanted = [[np.interp(FINE_RATIOS, PULL_RATIOS, row) for row in rows] for rows in position]
    assert _refined(position) == pytest.approx(np.array(wanted), abs=1e-12)


def test_a_grain_without_delay_lands_where_the_earliest_does_and_one_stuck_fast_inside():
    """Adhesion of a millionth of what lets go, and a million times it, at every pull."""
    grid = made_up(KINDS[:1], 5)
    loose, stuck = 1e-18, 1e-2
    inside = _share_inside(grid, EDGE, (loose, stuck))
    earliest = _refined(grid.earliest_m)
    throws = grid.centrifugal_m_s2[:, None, None] * (1.0 - FINE_RATIOS)
    # Between the release at once and that at the side all is flown; past it a grain drops inside.
    flies = np.broadcast_to(throws > 0.05, earliest.shape)
    assert inside[:, :, 0][flies] == pytest.approx(
        (earliest <= EDGE)[flies].astype(float), abs=1e-6
    )
    assert inside[:, :, 1] == pytest.approx(np.ones_like(earliest), abs=1e-6)
    held = np.broadcast_to(throws < -1e-9, earliest.shape)
    assert np.all(inside[:, :, 0][held] == 1.0)


def test_a_belt_that_runs_inside_its_own_path_lands_nothing_beyond_an_edge_on_it():
    """Edge nearer than the face of the belt: what is let go at the side is beyond it as well."""
    grid = made_up(KINDS[:1], 5)
    near = float(grid.path_radius_m.min()) - 1e-4
    inside = _share_inside(grid, near, (1e-8,))
    flies = FINE_RATIOS < 0.99
    # Only what is held past the side by adhesion still lands inside.
    weight = grid.nodes.mass_kg[:, None] * grid.centrifugal_m_s2[:, None] * (1.0 - FINE_RATIOS)
    for p in range(2):
        wanted = 1.0 - ndtr(np.log(weight[p, flies] / 1e-8))
        for z in range(2):
            assert inside[p, z, 0, flies] == pytest.approx(wanted, abs=1e-9)
