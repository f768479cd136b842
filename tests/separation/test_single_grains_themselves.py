"""The slow reference is checked too: its flights by a general solver, its force by averaging."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from feedchar.field.force import local_force_product
from feedchar.field.harmonics import roll_harmonics


@pytest.fixture(scope="module")
def machine(direct):
    harmonics = roll_harmonics(0.004, 0.001, 0.05, 0.01, 1.25, 2.1)[:12]
    return direct.Machine(tuple(harmonics), 0.005, 0.05, 0.0002, 1.5)


def test_force_on_a_speck_is_that_of_the_field_of_the_cylinder(direct, machine):
    y, z = np.array([0.25e-3, 0.5e-3, 1e-3]), np.array([0.3e-3, 1.9e-3, 2.4e-3])
    inward, along, _ = direct.force(machine, 1e-7, None, y, z)
    exact_in, exact_along = local_force_product(np.array(machine.harmonics), 0.005, 0.05, y, z)
    # R/(R+y) stands for the Bessel ratios, whose next term is 1/(2kR) = 1.6 % of the fundamental.
    error = np.hypot(inward - exact_in, along - exact_along)
    assert np.all(error < 0.02 * np.hypot(exact_in, exact_along))


@pytest.mark.parametrize("ratio", [None, 0.1])
def test_force_on_a_grain_is_the_mean_over_its_volume(direct, machine, ratio):
    size, y, z = 3e-4, 0.45e-3, 1.6e-3
    thickness = None if ratio is None else ratio * size
    inside = np.random.default_rng(1).uniform(-0.5, 0.5, (400_000, 3)) * size
    if ratio is None:
        inside = inside[(inside**2).sum(axis=1) < size**2 / 4]
    else:
        inside = inside[(inside[:, 1:] ** 2).sum(axis=1) < size**2 / 4] * [ratio, 1.0, 1.0]
    inside = inside[:100_000]
    points = direct.force(
        direct.Machine(machine.harmonics[:5], 0.005, 1e3, 0.0, 1.0),
        1e-9, None, y + inside[:, 0], z + inside[:, 1],
    )  # fmt: skip
    flat = direct.Machine(machine.harmonics[:5], 0.005, 1e3, 0.0, 1.0)
    mean = direct.force(flat, size, thickness, y, z)
    for part, whole in zip(points, mean, strict=True):
        error = 5 * part.std() / np.sqrt(len(part))
        assert float(whole) == pytest.approx(part.mean(), abs=error)


def test_flights_agree_with_a_general_solver(direct, machine, feed):
    """Landing by solve_ivp at rtol 1e-9 with the exact sum over pairs, no table."""
    muscovite = next(mineral for mineral in feed if mineral.name == "muscovite")
    (sample,) = direct.sobol_grains(16)
    landed = direct.landing(machine, muscovite, sample, quality=2.0)
    errors = []
    for i in np.flatnonzero(landed > 0.055):
        size = muscovite.d50_um * 1e-6 * np.exp(0.5 * sample.size_score[i])
        thickness = 0.1 * size
        chi = muscovite.susceptibility * np.exp(muscovite.scatter * sample.scatter_score[i])
        ball = np.cbrt(1.5 * size**2 * thickness)
        path = machine.radius + machine.belt + thickness / 2
        turn = machine.speed / (machine.radius + machine.belt)
        mass = 2940 * np.pi / 4 * size**2 * thickness
        z = sample.axial[i] * machine.pitch / 2
        height = machine.belt + thickness / 2
        pull = direct.force(machine, size, thickness, height, z)[0] * chi / direct.MU0
        lift = (turn**2 * path - pull - sample.adhesion[i] / mass) / 9.81
        angle = np.arccos(np.clip(lift, -1, 1))
        stokes = 2.5 * 18 * 1.81e-5 / (2940 * ball**2)

        def rate(_, s, size=size, thickness=thickness, chi=chi, ball=ball, stokes=stokes):
            distance = np.hypot(s[0], s[1])
            here = (max(distance - machine.radius, 0.0), s[2])
            inward, along, _ = direct.force(machine, size, thickness, *here)
            inward, along = inward * chi / direct.MU0, along * chi / direct.MU0
            v = np.sqrt(s[3] ** 2 + s[4] ** 2 + s[5] ** 2)
            drag = stokes * (1 + 0.15 * (1.204 * ball * v / 1.81e-5) ** 0.687)
            x_pull, y_pull = -inward * s[0] / distance, -inward * s[1] / distance
            return [s[3], s[4], s[5], x_pull - drag * s[3], y_pull - 9.81 - drag * s[4],
                    along - drag * s[5]]  # fmt: skip

        def crosses(_, s):
            return s[1] + machine.radius + 0.010

        def touches(t, s, path=path):
            return np.hypot(s[0], s[1]) - path if t > 1e-4 else 1.0

        crosses.terminal = touches.terminal = True
        speed = turn * path
        start = [path * np.sin(angle), path * np.cos(angle), z,
                 speed * np.cos(angle), -speed * np.sin(angle), 0.0]  # fmt: skip
        out = solve_ivp(
            rate, (0, 10), start, "DOP853", events=(crosses, touches), rtol=1e-9, atol=1e-12
        )
        if len(out.y_events[0]):  # one that meets the belt again is no single flight
            errors.append(abs(out.y_events[0][0][0] - landed[i]))
    assert len(errors) >= 3
    assert np.median(errors) < 5e-5
    assert np.max(errors) < 1e-3
