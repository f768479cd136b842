"""Slow reference: single grains on a disc roll, one by one in physics, many at once in numpy.

Written apart from the package on purpose; it shares only the harmonics of the roll. Grains are a
Sobol sample over axial position, adhesion, size and grain-to-grain scatter of susceptibility.
Force: all pairs of harmonics with the closed-form averages over sphere or flat flake, tabulated
finely for 96 sizes. Flight: fourth-order Runge-Kutta with short steps, Schiller-Naumann drag in
still air. Release when pull + g cos(angle) + adhesion < v^2/Rc. A grain that meets the belt again
takes its speed and is tested again at that angle, with its own adhesion.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
from scipy.special import j1, ndtri
from scipy.stats import qmc

MU0, G = 4e-7 * pi, 9.81
AIR_DENSITY, AIR_VISCOSITY = 1.204, 1.81e-5
EDGE_BELOW_ROLL = 0.010
CARRIED_ROUND = -1.0


@dataclass(frozen=True)
class Machine:
    """Roll, belt and speed; harmonics are the odd radial ones at the bare surface."""

    harmonics: tuple[float, ...]
    pitch: float
    radius: float
    belt: float
    speed: float


@dataclass(frozen=True)
class Mineral:
    """One mineral of a feed, log-normal in size; susceptibility in m3/kg, moment in A m2/kg."""

    name: str
    mass_pct: float
    iron_pct: float
    d50_um: float
    density: float
    susceptibility: float
    scatter: float = 0.0
    moment: float = 0.0
    flake_ratio: float | None = None


@dataclass(frozen=True)
class Sample:
    """N grains as points of a Sobol sequence."""

    axial: np.ndarray
    adhesion: np.ndarray
    size_score: np.ndarray
    scatter_score: np.ndarray


def sobol_grains(count: int, passes: int = 1, seed: int = 1) -> list[Sample]:
    """The same grains in each pass: size and scatter kept, axial position and adhesion anew.

    Adhesion is 10 nN with ln-sd 1; the axial position is a share of a quarter period.
    """
    points = qmc.Sobol(2 + 2 * passes, seed=seed).random(count)
    size, scatter = ndtri(points[:, 0]), ndtri(points[:, 1])
    return [
        Sample(points[:, 2 + 2 * i], 1e-8 * np.exp(ndtri(points[:, 3 + 2 * i])), size, scatter)
        for i in range(passes)
    ]


def sphere_factor(x):
    """3 (x cosh x - sinh x) / x^3."""
    x = np.asarray(x, dtype=float)
    safe = np.where(x < 1e-2, 1.0, x)
    exact = 3.0 * (safe * np.cosh(safe) - np.sinh(safe)) / safe**3
    return np.where(x < 1e-2, 1.0 + x**2 / 10.0, exact)


def pair_average(machine: Machine, size: float, thickness: float | None):
    """Average of each pair of harmonics over the grain, (N, N)."""
    n = 2.0 * np.arange(len(machine.harmonics)) + 1.0
    k = pi / machine.pitch
    if thickness is None:
        return sphere_factor(k * size * np.sqrt(np.outer(n, n)))
    a = np.add.outer(n, n) * k * thickness / 2.0
    q = np.abs(np.subtract.outer(n, n)) * k * size / 2.0
    safe = np.where(q < 1e-9, 1.0, q)
    return np.sinh(a) / a * np.where(q < 1e-9, 1.0, 2.0 * j1(safe) / safe)


def force(machine: Machine, size: float, thickness: float | None, y, z):
    """Towards the roll, along the axis (half the gradient of B^2), and B^2: exact sum over pairs.

    `y` is the height of the grain centre above the bare roll.
    """
    n = 2.0 * np.arange(len(machine.harmonics)) + 1.0
    k = pi / machine.pitch
    total, apart = np.add.outer(n, n) * k, np.subtract.outer(n, n) * k
    weight = np.outer(machine.harmonics, machine.harmonics)
    weight = weight * pair_average(machine, size, thickness)
    y, z = np.asarray(y, dtype=float), np.asarray(z, dtype=float)
    fall = weight * np.exp(-total * y[..., None, None])
    cosine = np.cos(apart * z[..., None, None])
    sine = np.sin(apart * z[..., None, None])
    round_ = machine.radius / (machine.radius + y)
    inward = (fall * total / 2.0 * cosine).sum(axis=(-1, -2)) * round_
    along = -(fall * apart / 2.0 * sine).sum(axis=(-1, -2)) * round_
    return inward, along, (fall * cosine).sum(axis=(-1, -2)) * round_


class ForceTable:
    """The exact force on a fine grid of height above contact and axial position, by size."""

    def __init__(self, machine, sizes, flake_ratio, heights=220, cells=64, reach=2.2):
        self.pitch = machine.pitch
        n = 2 * np.arange(len(machine.harmonics)) + 1
        k = pi / machine.pitch
        sums, apart = np.add.outer(n, n), np.abs(np.subtract.outer(n, n)) // 2
        weight = np.outer(machine.harmonics, machine.harmonics)
        self.y = np.linspace(0.0, reach * machine.pitch, heights)
        self.z = np.linspace(0.0, machine.pitch / 2.0, cells + 1)
        wave = 2.0 * k * np.arange(len(n))
        cosine, sine = np.cos(np.outer(wave, self.z)), np.sin(np.outer(wave, self.z))
        every_sum = np.arange(sums.max() + 1) * k
        fall = np.exp(-np.outer(every_sum, self.y))
        self.table = np.empty((len(sizes), heights, cells + 1, 3))
        for i, size in enumerate(sizes):
            thickness = None if flake_ratio is None else flake_ratio * size
            contact = machine.belt + (size if thickness is None else thickness) / 2.0
            pairs = weight * pair_average(machine, size, thickness)
            # Pairs with the same difference and the same sum go along and up alike.
            gathered = np.zeros((len(n), len(every_sum)))
            np.add.at(gathered, (apart, sums), pairs * np.exp(-sums * k * contact))
            square, slope = gathered @ fall, (gathered * every_sum / 2.0) @ fall
            round_ = (machine.radius / (machine.radius + contact + self.y))[:, None]
            self.table[i, :, :, 0] = (slope.T @ cosine) * round_
            self.table[i, :, :, 1] = -((square * wave[:, None] / 2.0).T @ sine) * round_
            self.table[i, :, :, 2] = (square.T @ cosine) * round_

    def __call__(self, which, above, z):
        """(N, 3): bilinear in height and axial position, mirrored at both ends of a quarter."""
        folded = np.mod(z, self.pitch)
        mirrored = folded > self.pitch / 2.0
        folded = np.where(mirrored, self.pitch - folded, folded)
        u = np.clip(above / self.y[1], 0.0, len(self.y) - 1.001)
        w = np.clip(folded / self.z[1], 0.0, len(self.z) - 1.001)
        a, b = u.astype(int), w.astype(int)
        fu, fw = (u - a)[:, None], (w - b)[:, None]
        t = self.table
        low = t[which, a, b] * (1 - fu) + t[which, a + 1, b] * fu
        high = t[which, a, b + 1] * (1 - fu) + t[which, a + 1, b + 1] * fu
        value = low * (1 - fw) + high * fw
        value[above > self.y[-1]] = 0.0
        value[:, 1] *= np.where(mirrored, -1.0, 1.0)
        return value


def landing(machine: Machine, mineral: Mineral, sample: Sample, sizes=None, quality=1.0):
    """Distance from the axis at which each grain crosses the plane of the edges; -1: carried round.

    `sizes` replaces the mineral's log-normal sizes of ln-sd 0.5; `quality` above 1 shortens steps.
    """
    d = mineral.d50_um * 1e-6 * np.exp(0.5 * sample.size_score) if sizes is None else sizes
    grid = np.geomspace(d.min() * 0.999, d.max() * 1.001, 96)
    table = ForceTable(machine, grid, mineral.flake_ratio)
    which = np.rint(np.log(d / grid[0]) / np.log(grid[1] / grid[0])).astype(int)
    scatter = np.exp(mineral.scatter * sample.scatter_score)
    chi, moment = mineral.susceptibility * scatter, mineral.moment * scatter
    flat = mineral.flake_ratio is not None
    thickness = d * mineral.flake_ratio if flat else d
    volume = pi / 4 * d**2 * thickness if flat else pi / 6 * d**3
    ball = np.cbrt(6 * volume / pi)
    mass = mineral.density * volume
    path = machine.radius + machine.belt + thickness / 2
    turn = machine.speed / (machine.radius + machine.belt)
    adhesion = sample.adhesion / mass
    stokes = (2.5 if flat else 1.0) * 18 * AIR_VISCOSITY / (mineral.density * ball**2)
    re = AIR_DENSITY * ball / AIR_VISCOSITY
    plane = -(machine.radius + EDGE_BELOW_ROLL)

    def pull(rows, above, z):
        value = table(which[rows], above, z)
        factor = chi[rows] / MU0 + moment[rows] / np.sqrt(np.maximum(value[:, 2], 1e-30))
        return value[:, 0] * factor, value[:, 1] * factor

    def release(rows, angle, z):
        inward, _ = pull(rows, np.zeros(len(rows)), z)
        lift = (turn**2 * path[rows] - inward - adhesion[rows]) / G
        held = np.maximum(np.arccos(np.clip(lift, -1, 1)), angle)
        return np.where(lift < -1, np.nan, held)

    def rate(rows, s):
        distance = np.hypot(s[0], s[1])
        inward, along = pull(rows, np.maximum(distance - path[rows], 0.0), s[2])
        speed = np.sqrt(s[3] ** 2 + s[4] ** 2 + s[5] ** 2)
        drag = stokes[rows] * (1 + 0.15 * (re[rows] * speed) ** 0.687)
        return np.stack(
            [
                s[3], s[4], s[5],
                -inward * s[0] / distance - drag * s[3],
                -inward * s[1] / distance - G - drag * s[4],
                along - drag * s[5],
            ]
        )  # fmt: skip

    count = len(d)
    state = np.zeros((6, count))
    state[2] = sample.axial * machine.pitch / 2
    result = np.full(count, np.nan)

    def launch(rows, angle):
        result[rows[np.isnan(angle)]] = CARRIED_ROUND
        rows, angle = rows[~np.isnan(angle)], angle[~np.isnan(angle)]
        speed = turn * path[rows]
        state[0, rows], state[1, rows] = path[rows] * np.sin(angle), path[rows] * np.cos(angle)
        state[3, rows], state[4, rows] = speed * np.cos(angle), -speed * np.sin(angle)
        state[5, rows] = 0.0

    everyone = np.arange(count)
    launch(everyone, release(everyone, np.zeros(count), state[2]))
    near_step = 0.12 * np.sqrt(machine.radius * machine.pitch / (2 * pi)) / machine.speed / quality
    for _ in range(60000):
        rows = np.flatnonzero(np.isnan(result))
        if not rows.size:
            break
        s = state[:, rows]
        above = np.hypot(s[0], s[1]) - path[rows]
        h = np.where(above < 2 * machine.pitch, near_step, 10 * near_step)
        h = np.minimum(h, 0.4 / stokes[rows])
        k1 = rate(rows, s)
        k2 = rate(rows, s + h / 2 * k1)
        k3 = rate(rows, s + h / 2 * k2)
        k4 = rate(rows, s + h * k3)
        new = s + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
        state[:, rows] = new
        down = new[1] < plane
        share = (plane - s[1]) / np.where(down, new[1] - s[1], 1.0)
        result[rows[down]] = (s[0] + share * (new[0] - s[0]))[down]
        met = (np.hypot(new[0], new[1]) < path[rows] - 1e-9) & ~down
        if met.any():
            again = rows[met]
            angle = np.mod(np.arctan2(state[0, again], state[1, again]), 2 * pi)
            angle = np.where(angle > pi, np.nan, release(again, angle, state[2, again]))
            launch(again, angle)
    result[np.isnan(result)] = CARRIED_ROUND
    return result
