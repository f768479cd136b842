"""Make roll_harmonics.csv: finite-element solutions of rolls of magnet and steel discs.

    python reference_tables/make_roll_harmonics.py [--workers 2]

About 20 minutes of one core. It needs scikit-fem (`pip install feedchar[field]`).

The cell runs from mid-magnet to mid-steel and from the axis to 0.6 pitches above the roll;
Q2 elements on a grid graded towards the pole edge; scalar potential with h = mu0 H = -grad psi.
Magnet: B = mu_recoil h + Br e_z. Steel: J = Js h/(a + h), a = Js/(mu_i - 1). Bore: not magnetic.
Mid-magnet is an equipotential, no flux crosses mid-steel, and above the grid each odd harmonic
goes on as the modified Bessel function of the outside of a cylinder (an exact condition, so that
nothing is cut off). The energy is convex, so Newton's method with a line search always arrives.

The table keeps the surface potential at the stations of `feedchar.field.surface`, from which every
harmonic follows, and the first three harmonics for people to read. Lengths are in pitches,
remanence is 1: all fields scale with remanence at a fixed ratio of remanence to steel saturation.
"""

from __future__ import annotations

import argparse
import csv
from itertools import product
from math import pi
from multiprocessing import Pool
from pathlib import Path

import numpy as np
import scipy.sparse as sparse
from numpy.typing import NDArray
from scipy.sparse.linalg import splu
from skfem import Basis, ElementQuad2, MeshQuad

from feedchar.field.surface import (
    MAGNET_STATIONS,
    STEEL_STATIONS,
    harmonics_of_potential,
    outside_slope,
    station_positions,
)

Array = NDArray[np.float64]

MAGNET_TO_STEEL = (0.7, 0.95, 1.3, 1.8, 2.5, 3.4, 4.7, 6.5, 9.0, 12.5)
REMANENCE_TO_SATURATION = (0.08, 0.2, 0.3, 0.38, 0.46, 0.55, 0.65, 0.8, 1.0)
PITCH_TO_RADIUS = (0.01, 0.03, 0.07, 0.14, 0.25, 0.42, 0.66, 1.0)
BORE_TO_RADIUS = (0.0, 0.2, 0.4, 0.55, 0.68, 0.78, 0.85, 0.9)

INITIAL_PERMEABILITY = 1500.0
RECOIL_PERMEABILITY = 1.05
AIR = 0.6
OUTSIDE_HARMONICS = 24
TABLE = Path(__file__).resolve().parent / "roll_harmonics.csv"


def graded(length: float, first: float, growth: float, cap: float, slope: float = 0.0) -> Array:
    """Distances from 0 to `length` in growing steps, none above cap + slope x distance."""
    distance, step = [0.0], first
    while distance[-1] < length:
        distance.append(distance[-1] + step)
        step = min(step * growth, cap + slope * distance[-1])
    return np.array(distance) * length / distance[-1]


class Cell:
    """The grid of one roll, on which several ratios of remanence to saturation are solved.

    `fineness` divides the steps of the grid; 2 gives a control solution on four times the cells.
    """

    def __init__(
        self,
        magnet_to_steel: float,
        pitch_to_radius: float,
        bore_to_radius: float,
        fineness: float = 1.0,
    ) -> None:
        self.magnet_to_steel, self.pitch_to_radius = magnet_to_steel, pitch_to_radius
        self.radius = 1.0 / pitch_to_radius
        bore = bore_to_radius * self.radius
        edge = 0.5 * magnet_to_steel / (1.0 + magnet_to_steel)
        first = 0.003 / fineness * min(1.0, 5.0 * (0.5 - edge))
        growth = 1.0 + 0.5 / fineness
        cap = 1.0 / (6.0 * fineness)
        self.z = np.concatenate(
            [
                edge - graded(edge, first, growth, edge * cap)[::-1],
                edge + graded(0.5 - edge, first, growth, (0.5 - edge) * cap)[1:],
            ]
        )
        depth = graded(self.radius - bore, first, growth, 0.1 / fineness, 0.5 / fineness)
        above = graded(AIR, first, growth, 0.15 / fineness)
        r = np.concatenate([self.radius - depth[::-1], self.radius + above[1:]])
        if bore > 0.0:
            inside = graded(bore, 0.08, growth, 0.3 / fineness, 0.8 / fineness)
            r = np.concatenate([bore - inside[::-1], r[1:]])
        mesh = MeshQuad.init_tensor(r, self.z)
        self.basis = Basis(mesh, ElementQuad2(), intorder=4)
        middle = mesh.p[:, mesh.t].mean(axis=1)
        solid = (middle[0] > bore) & (middle[0] < self.radius)
        magnet = (solid & (middle[1] < edge))[:, None]
        self.steel = (solid & (middle[1] > edge))[:, None].astype(float)
        self.permeability = np.where(magnet, RECOIL_PERMEABILITY, 1.0)
        self.gradient = np.array([np.asarray(self.basis.basis[i][0].grad) for i in range(9)])
        radius_at = np.asarray(self.basis.global_coordinates())[0]
        self.weight = radius_at * self.basis.dx
        self.dofs = self.basis.element_dofs
        self.rows = np.repeat(self.dofs[:, None, :], 9, axis=1).ravel()
        self.columns = np.repeat(self.dofs[None, :, :], 9, axis=0).ravel()
        self.source = self._gather((self.gradient[:, 1] * self.weight * magnet).sum(axis=-1))
        self.outside = self._outside()
        self.free = np.flatnonzero(np.abs(self.basis.doflocs[1]) > 1e-12)
        self.potential = np.zeros(self.basis.N)

    def solve(self, remanence_to_saturation: float) -> Array:
        """Potential at every node, starting from the solution before."""
        js = 1.0 / remanence_to_saturation
        a = js / (INITIAL_PERMEABILITY - 1.0)
        x = self.potential
        g, h = self._field(x)
        energy = self._energy(x, h, js, a)
        for _ in range(200):
            permeability = self.permeability + self.steel * js / (a + h)
            bend = -self.steel * js / ((a + h) ** 2 * np.maximum(h, 1e-14))
            flux = permeability * g * self.weight
            residual = self._gather(np.einsum("deq,ideq->ie", flux, self.gradient))
            residual += self.outside @ x - self.source
            step = np.zeros_like(x)
            matrix = self._matrix(g, permeability, bend)[self.free][:, self.free].tocsc()
            factors = splu(
                matrix,
                permc_spec="MMD_AT_PLUS_A",
                diag_pivot_thresh=0.0,
                options={"SymmetricMode": True},
            )
            step[self.free] = -factors.solve(residual[self.free])
            slope, share = residual @ step, 1.0
            while True:
                new = x + share * step
                new_g, new_h = self._field(new)
                new_energy = self._energy(new, new_h, js, a)
                if new_energy <= energy + 1e-4 * share * slope or share < 1e-4:
                    break
                share /= 2.0
            x, g, h, energy = new, new_g, new_h, new_energy
            if -slope < 1e-10 * abs(energy):
                self.potential = x
                return x
        message = f"no convergence at Br/Js {remanence_to_saturation}"
        raise RuntimeError(message)

    def surface_potential(self, potential: Array, z: Array) -> Array:
        """Potential along the bare roll surface at distances z from mid-magnet."""
        nodes = potential[self._line(self.radius)]
        cell = np.clip(np.searchsorted(self.z, z, side="right") - 1, 0, len(self.z) - 2)
        t = (z - self.z[cell]) / (self.z[cell + 1] - self.z[cell])
        shape = _shapes(t)
        return sum(nodes[2 * cell + i] * shape[i] for i in range(3))

    def harmonics(self, potential: Array, count: int) -> Array:
        """Odd radial harmonics over remanence, straight from the nodes (no stations)."""
        n_pi, modes = self._modes(self.radius, count)
        return outside_slope(n_pi, self.pitch_to_radius) * 4.0 * (modes @ potential)

    def _field(self, x: Array) -> tuple[Array, Array]:
        g = np.einsum("ideq,ie->deq", self.gradient, x[self.dofs])
        return g, np.sqrt(g[0] ** 2 + g[1] ** 2)

    def _energy(self, x: Array, h: Array, js: float, a: float) -> float:
        density = self.permeability * h**2 / 2 + self.steel * js * (h - a * np.log1p(h / a))
        return float((density * self.weight).sum() - self.source @ x + x @ (self.outside @ x) / 2)

    def _matrix(self, g: Array, permeability: Array, bend: Array) -> sparse.csr_matrix:
        tensor = bend * np.einsum("ceq,deq->cdeq", g, g)
        tensor[0, 0] += permeability
        tensor[1, 1] += permeability
        tensor *= self.weight
        cells, points = g.shape[1:]
        left = self.gradient.transpose(2, 0, 3, 1).reshape(cells, 9, points * 2)
        right = np.einsum("cdeq,ideq->eqci", tensor, self.gradient).reshape(cells, points * 2, 9)
        entries = np.matmul(left, right).transpose(1, 2, 0).ravel()
        shape = (self.basis.N, self.basis.N)
        return sparse.coo_matrix((entries, (self.rows, self.columns)), shape).tocsr() + self.outside

    def _outside(self) -> sparse.csr_matrix:
        """The field above the grid, as a condition on the potential along its upper edge."""
        radius = self.radius + AIR
        n_pi, modes = self._modes(radius, OUTSIDE_HARMONICS)
        slope = 4.0 * radius * outside_slope(n_pi, 1.0 / radius)
        modes = sparse.csr_matrix(modes)
        return (modes.T @ sparse.diags(slope) @ modes).tocsr()

    def _modes(self, radius: float, count: int) -> tuple[Array, Array]:
        """Integrals of each shape function along a line of the grid with sin(n pi z)."""
        line = self._line(radius)
        z = self.basis.doflocs[1][line]
        points, weights = np.polynomial.legendre.leggauss(10)
        t, weights = 0.5 * (points + 1.0), 0.5 * weights
        length = np.diff(z[::2])
        n_pi = pi * (2.0 * np.arange(count) + 1.0)
        at = z[:-1:2, None] + length[:, None] * t
        wave = np.sin(n_pi[:, None, None] * at)
        modes = np.zeros((count, self.basis.N))
        for i, shape in enumerate(_shapes(t)):
            nodes = line[i : len(line) - 2 + i : 2]
            np.add.at(modes, (slice(None), nodes), (wave * (shape * weights)).sum(axis=-1) * length)
        return n_pi, modes

    def _line(self, radius: float) -> NDArray[np.intp]:
        """Nodes at a radius, from mid-magnet to mid-steel."""
        nodes = np.flatnonzero(np.abs(self.basis.doflocs[0] - radius) < 1e-9 * radius)
        return nodes[np.argsort(self.basis.doflocs[1][nodes])]

    def _gather(self, by_cell: Array) -> Array:
        return np.bincount(self.dofs.ravel(), by_cell.ravel(), minlength=self.basis.N)


def _shapes(t: Array) -> tuple[Array, Array, Array]:
    """Quadratic shape functions of a line from 0 to 1: first end, middle, last end."""
    return (1 - t) * (1 - 2 * t), 4 * t * (1 - t), t * (2 * t - 1)


def solve_roll(
    magnet_to_steel: float,
    remanence_to_saturation: float,
    pitch_to_radius: float,
    bore_to_radius: float,
    count: int = 48,
    fineness: float = 1.0,
) -> Array:
    """Odd surface harmonics over remanence of one roll, by a fresh solution."""
    cell = Cell(magnet_to_steel, pitch_to_radius, bore_to_radius, fineness)
    return cell.harmonics(cell.solve(remanence_to_saturation), count)


def rows_of_cell(ratios: tuple[float, float, float]) -> list[list[float]]:
    """All rows of one grid: every ratio of remanence to saturation."""
    magnet_to_steel, pitch_to_radius, bore_to_radius = ratios
    cell = Cell(*ratios)
    stations = station_positions(magnet_to_steel)
    rows = []
    for remanence_to_saturation in reversed(REMANENCE_TO_SATURATION):
        potential = cell.surface_potential(cell.solve(remanence_to_saturation), stations)
        first = harmonics_of_potential(potential, magnet_to_steel, pitch_to_radius, 3)
        point = [magnet_to_steel, remanence_to_saturation, pitch_to_radius, bore_to_radius]
        rows.append([*point, *first, *potential])
    return rows


def main() -> None:
    """Solve the whole grid and write the table."""
    parser = argparse.ArgumentParser(description="Make roll_harmonics.csv (about 20 core minutes)")
    parser.add_argument("--workers", type=int, default=1, help="processes")
    workers = parser.parse_args().workers
    grids = list(product(MAGNET_TO_STEEL, PITCH_TO_RADIUS, BORE_TO_RADIUS))
    with Pool(workers) as pool:
        rows = []
        for done, part in enumerate(pool.imap_unordered(rows_of_cell, grids), 1):
            rows.extend(part)
            if done % 64 == 0:
                print(f"{done} of {len(grids)} grids")
    heading = ["magnet_to_steel", "remanence_to_saturation", "pitch_to_radius", "bore_to_radius"]
    heading += [f"b{n}_over_remanence" for n in (1, 3, 5)]
    heading += [f"potential_magnet_{i}" for i in range(1, MAGNET_STATIONS + 1)]
    heading += [f"potential_steel_{i}" for i in range(1, STEEL_STATIONS + 1)]
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(heading)
        writer.writerows([f"{value:.6g}" for value in row] for row in sorted(rows))


if __name__ == "__main__":
    main()
