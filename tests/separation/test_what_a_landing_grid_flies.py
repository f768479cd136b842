"""Which grains a landing grid lets fly, how they leave, and where their landings are put down.

The flights themselves are replaced by a count, so that each landing tells which release it was.
"""

from __future__ import annotations

from math import acos, cos, pi, sin

import numpy as np
import pytest

from feedchar.separation import landing
from feedchar.separation.grain_nodes import Kind
from feedchar.separation.landing import PULL_RATIOS, axial_nodes, landing_grid
from feedchar.separation.pull_map import LINEAR, MOMENT, pull_map
from feedchar.separation.thrower import Thrower

RADIUS, BELT, PITCH, G, MU0 = 0.047, 3e-4, 0.0061, 9.81, 4e-7 * pi
HARMONICS = (0.57, -0.23)
KINDS = (Kind(False, 2710.0), Kind(True, 2830.0, 0.3))
SIZES = (9e-5, 3.7e-4)


def masses():
    balls = [2710.0 * pi / 6.0 * d**3 for d in SIZES]
    return [*balls, *(2830.0 * pi / 4.0 * 0.3 * d**3 for d in SIZES)]


def paths():
    return [RADIUS + BELT + 0.5 * d * ratio for ratio in (1.0, 0.3) for d in SIZES]


@pytest.mark.parametrize("law", [LINEAR, MOMENT])
@pytest.mark.parametrize(("speed", "hardest"), [(0.6, 0), (0.9, 1), (1.5, 2), (3.0, 3)])
def test_every_release_is_that_of_the_balance(monkeypatch, law, speed, hardest):
    """Earliest without adhesion, later midway to the side; none past it, none of a micronewton."""
    seen = []

    def counted(_thrower, _nodes, _pulls, release):
        seen.append(release)
        return 1.0 + np.arange(float(len(release.node)))

    monkeypatch.setattr(landing, "landing_positions", counted)
    thrower = Thrower(RADIUS, BELT, PITCH, speed)
    grid = landing_grid.__wrapped__(HARMONICS, thrower, KINDS, SIZES, law)
    pulls = pull_map(HARMONICS, PITCH, RADIUS, BELT, KINDS, SIZES, law)
    axial = axial_nodes(PITCH)
    on_belt = pulls.at_contact(axial)
    turn = speed / (RADIUS + BELT)
    slowest = turn**2 * min(paths())
    assert np.sum(PULL_RATIOS * slowest < -G) == hardest
    early, late = [], []
    shape = (4, 6, len(PULL_RATIOS))
    earliest_m, late_m = np.zeros(shape), np.zeros(shape)
    for p, z, at in np.ndindex(*shape):
        path, mass = paths()[p], masses()[p]
        ratio, throws = PULL_RATIOS[at], turn**2 * paths()[p]
        surplus = throws * (1.0 - ratio)
        first = acos(max(-1.0, min(1.0, surplus / G)))
        # What is let go at the side or later only drops, from its place on the belt.
        earliest_m[p, z, at] = late_m[p, z, at] = path * (sin(first) if first > pi / 2 else 1.0)
        if ratio >= 1.0 or at < hardest:
            continue
        spare = max(surplus - G * cos(first), 0.0)
        told = (p, ratio * throws / on_belt[p, z], axial[z])
        early.append((*told, first, min(1e-8 / mass, 0.7 * spare), (p, z, at)))
        if spare * mass < 1e-6:
            midway = 0.5 * (first + pi / 2)
            late.append((*told, midway, surplus - G * cos(midway), (p, z, at)))
    (release,) = seen
    columns = (release.node, release.scale, release.axial_m, release.angle_rad)
    wanted = early + late
    for place, column in enumerate((*columns, release.adhesion_m_s2)):
        assert column == pytest.approx([one[place] for one in wanted], rel=1e-9, abs=1e-9)
    for count, one in enumerate(wanted, start=1):
        (earliest_m if count <= len(early) else late_m)[one[-1]] = count
    for found, told in ((grid.earliest_m, earliest_m), (grid.late_m, late_m)):
        # Pushes harder than the weight count as the hardest that is flown.
        told[:, :, :hardest] = told[:, :, hardest : hardest + 1]
        assert found == pytest.approx(told, rel=1e-12, abs=1e-12)
    assert len(late) < len(early) or speed < 3.0
    assert grid.centrifugal_m_s2 == pytest.approx([turn**2 * path for path in paths()])
    assert grid.path_radius_m == pytest.approx(paths())
    unit = on_belt / MU0 if law == LINEAR else on_belt
    assert grid.pull_per_unit == pytest.approx(unit, rel=1e-12)


def test_pulls_are_flown_in_steps_fine_enough_to_find_where_a_grain_is_caught():
    """A tenth of v^2/Rc up to 0.35, a sixteenth to the balance at 1, a twelfth to beyond it."""
    steps = np.diff(PULL_RATIOS)
    assert np.all(steps > 0.0)
    assert {0.0, 1.0} <= set(PULL_RATIOS.tolist())
    for least, most, step in ((0.0, 0.35, 1.0 / 10.0), (0.35, 1.0, 1.0 / 16.0), (1.0, 9.0, 1 / 12)):
        here = (PULL_RATIOS[1:] > least) & (PULL_RATIOS[1:] <= most)
        assert steps[here].max() <= step + 1e-12
    # From sand pushed off as hard as it is thrown to grains that are carried round.
    assert PULL_RATIOS[0] < -1.0
    assert PULL_RATIOS[-1] > 1.2
