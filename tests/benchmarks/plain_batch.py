"""The calculation of a batch without assays as a plain script: a loop over rows, over trials.

It starts from the same draws and the same shares that stay, so that it must give the same figures;
it is the yardstick of what computing rows and trials together saves.
"""

from __future__ import annotations

from math import exp, log

from feedchar.batch.capture import HOST_PER_JOINED
from feedchar.batch.rows import FOUND, INTERVAL, NOT_FOUND
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.unseen import (
    FE2O3_SHARE,
    INTERCEPT,
    LEAST_ALUMINA,
    RESIDUAL_LN_SD,
    SLOPE,
)
from feedchar.particles.build import (
    HOST_ROOM,
    HOSTS_OF_JOINED,
    HOSTS_OF_RIDERS,
    LEAST_HOST_OF_JOINED,
    LEAST_HOST_OF_RIDERS,
)

FE2O3, AL2O3 = OXIDES.index("Fe2O3"), OXIDES.index("Al2O3")


class Plain:
    """Draws and shares of a table as nested lists; rows as dug, default sizes, no assay."""

    def __init__(self, table, gamma_of):
        drawn, machine = table.drawn, table.machine
        kept = table.kept(None, "as dug", False)
        self.names, self.gamma_of = drawn.names, gamma_of
        self.trials = drawn.trials + 1
        self.low, self.change = drawn.low.tolist(), drawn.change.tolist()
        self.place, self.uniform = drawn.place.tolist(), drawn.uniform.tolist()
        self.not_found, self.score = drawn.not_found.tolist(), gamma_of.score
        self.joined = drawn.joined["as dug"].tolist()
        self.density = drawn.density_kg_m3.tolist()
        self.bears_iron = drawn.bears_iron.tolist()
        self.hosts, self.removable = machine.hosts.tolist(), machine.removable.tolist()
        self.free = kept.free[0].tolist()
        self.joined_mineral = kept.joined_mineral[0].tolist()
        self.joined_host = kept.joined_host[0].tolist()
        self.riding, self.fine = kept.riding.tolist(), kept.unseen_fine.tolist()

    def trial(self, kind, mean, shape, limit, t, hosting, riding):
        """Amounts and what stays of them in one trial of one row."""
        last = len(self.names) - 1
        own = self.names.index("unidentified")
        iron = [
            (self.low[p][FE2O3] + self.place[p][t] * self.change[p][FE2O3]) / 100.0
            for p in range(last + 1)
        ]
        wt = [0.0] * (last + 1)
        for p in range(last):
            if kind[p] == FOUND:
                wt[p] = mean[p] * self.gamma_of(p, shape[p], t)
            elif kind[p] == NOT_FOUND:
                wt[p] = limit[p] * self.not_found[p][t]
            elif kind[p] == INTERVAL:
                wt[p] = limit[p] * self.uniform[p][t]
        found = [p for p in range(last) if kind[p] == FOUND]
        rest = [p for p in range(last) if kind[p] in (NOT_FOUND, INTERVAL)]
        self.fill(wt, found, rest)
        total = self.median * exp(RESIDUAL_LN_SD * self.score[t])
        named = wt[own] * iron[own]
        bearing = [p for p in rest if self.bears_iron[p]]
        carried = sum(wt[p] * iron[p] for p in bearing)
        room = max(total - named, 0.0)
        for p in bearing:
            wt[p] *= min(1.0, room / max(carried, 1e-12))
        small = self.fill(wt, found, rest)
        left = max(total - named - min(carried, room), 1e-6)
        wt[last] = min(left / FE2O3_SHARE, 0.9 * (100.0 - small))
        for p in found:
            wt[p] *= (100.0 - small - wt[last]) / (100.0 - small)
        return wt, self.stays(wt, t, hosting, riding)

    def fill(self, wt, found, rest):
        small = sum(wt[p] for p in rest)
        whole = sum(wt[p] for p in found)
        for p in found:
            wt[p] *= (100.0 - small) / whole
        return small

    def stays(self, wt, t, hosting, riding):
        last = len(wt) - 1
        joined = {p: self.joined[p][t] * wt[p] for p in self.removable}
        asked = sum(joined.values())
        whole = sum(wt[self.hosts[h]] for h in hosting)
        free, out = list(wt), [0.0] * len(wt)
        for h in hosting:
            host = self.hosts[h]
            split = wt[host] / whole
            need = HOST_PER_JOINED * split * asked
            scale = split * min(1.0, HOST_ROOM * wt[host] / max(need, 1e-300))
            free[host] -= HOST_PER_JOINED * scale * asked
            for r, p in enumerate(self.removable):
                free[p] -= scale * joined[p]
                out[p] += scale * joined[p] * self.joined_mineral[r][h][t]
                out[host] += scale * joined[p] * self.joined_host[r][h][t]
        for p in range(last):
            out[p] += max(free[p], 0.0) * self.free[p][t]
        volume = sum(free[self.hosts[h]] / self.density[self.hosts[h]] for h in riding)
        rides = sum(
            free[self.hosts[h]] / self.density[self.hosts[h]] * self.riding[h][t] for h in riding
        )
        out[last] = wt[last] * (rides / volume + self.fine[t])
        return out

    def content(self, wt, t, oxide):
        return sum(
            wt[p] * (self.low[p][oxide] + self.place[p][t] * self.change[p][oxide]) / 100.0
            for p in range(len(wt))
        )

    def row(self, kind, mean, shape, limit):
        """Predicted Fe2O3, product Fe2O3 and yield: percentiles 5, 50 and 95 of each oxide too."""
        large = self.largest(kind, mean)
        hosting = self.some(large, HOSTS_OF_JOINED, LEAST_HOST_OF_JOINED)
        riding = self.some(large, HOSTS_OF_RIDERS, LEAST_HOST_OF_RIDERS)
        self.median = 1.0
        typical, _ = self.trial(kind, mean, shape, limit, 0, hosting, riding)
        typical[-1] = 0.0
        whole = sum(typical)
        alumina = self.content([100.0 * x / whole for x in typical], 0, AL2O3)
        self.median = exp(INTERCEPT + SLOPE * log(max(alumina, LEAST_ALUMINA)))
        oxides = [[] for _ in OXIDES[:-1]]
        product, mass = [], []
        for t in range(1, self.trials):
            wt, stays = self.trial(kind, mean, shape, limit, t, hosting, riding)
            for k in range(len(OXIDES) - 1):
                oxides[k].append(self.content(wt, t, k))
            mass.append(sum(stays))
            product.append(100.0 * self.content(stays, t, FE2O3) / mass[-1])
        points = [[percentile(values, q) for q in (0.05, 0.5, 0.95)] for values in oxides]
        return points, percentile(product, 0.5), percentile(mass, 0.5)

    def largest(self, kind, mean):
        amounts = [(mean[p] if kind[p] == FOUND else 0.0) for p in self.hosts]
        return sorted(((x, -h) for h, x in enumerate(amounts) if x > 0), reverse=True)

    def some(self, large, most, least):
        whole = sum(x for x, _ in large)
        chosen = [-h for x, h in large if x >= least * whole] or [-large[0][1]]
        return sorted(chosen[:most])


def percentile(values, point):
    """Linear between order statistics."""
    ordered = sorted(values)
    place = point * (len(ordered) - 1)
    below = min(int(place), len(ordered) - 2)
    return ordered[below] + (place - below) * (ordered[below + 1] - ordered[below])


class Gammas:
    """Gammas over their mean, interpolated as the batch does, one at a time."""

    def __init__(self, drawn, step, most, unseen_score):
        self.grid, self.step, self.most = drawn.gamma_roots.tolist(), step, most
        self.score = unseen_score

    def __call__(self, phase, shape, t):
        at = log(min(shape, self.most)) / self.step
        below = min(int(at), len(self.grid[phase]) - 2)
        part = at - below
        root = self.grid[phase][below][t] * (1.0 - part) + self.grid[phase][below + 1][t] * part
        return root**3
