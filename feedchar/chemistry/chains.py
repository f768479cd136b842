"""One Markov chain a trial: moves that keep closure and bounds exact.

Arrays are phase-major, (M, T) and (K, T), so that a move touches whole rows. Every move draws
from the exact normal of the Gaussian rows and is accepted by what that normal leaves out.
"""

from __future__ import annotations

import numpy as np
from scipy.special import log_ndtr, ndtr, ndtri

from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.system import FOUND, Prior, Rows
from feedchar.uncertainty.streams import stream

_LEAST = 1e-9
"""Amounts are kept above this. [wt %]"""


def truncated_normal(mean: Array, sd: Array, low: Array, high: Array, uniform: Array) -> Array:
    """Draws of a normal held between two bounds, accurate in both tails.

    Parameters
    ----------
    mean, sd : array, shape (T,)
        Of the normal before it is cut. [any]
    low, high : array, shape (T,)
        Bounds. [as mean]
    uniform : array, shape (T,)
        Uniform draws. [-]

    Returns
    -------
    array, shape (T,)
        Draws within the bounds. [as mean]

    References
    ----------
    Inverse transform, on the side of the tail that keeps its digits.
    """
    a, b = (low - mean) / sd, (high - mean) / sd
    flip = a > 0
    a, b = np.where(flip, -b, a), np.where(flip, -a, b)
    below, above = ndtr(a), ndtr(b)
    score = ndtri(below + uniform * (above - below))
    score = np.where(np.isfinite(score), score, np.clip(0.0, a, b))
    score = np.where(flip, -score, score)
    return np.clip(mean + sd * score, low, high)


class Chains:
    """State of all chains and the moves they make."""

    def __init__(
        self, prior: Prior, rows: Rows, names: tuple[str, ...], x: Array, z: Array, seed: int
    ) -> None:
        self.prior, self.names = prior, names
        self.phases, self.trials = x.shape
        order = np.argsort(rows.capped, kind="stable")  # Gaussian rows first
        sd = rows.sd[order]
        self.gaussian = int(np.sum(~rows.capped.astype(bool)))
        self.low = rows.low[:, order] / sd[None, :, None]
        self.change = rows.change[:, order] / sd[None, :, None]
        self.target = (rows.value[order] / sd)[:, None]
        self.x, self.z = x.copy(), z.copy()
        self.iron_of = [iron for iron in prior.iron]
        self.t = np.stack([self._place(j, z[j]) for j in range(self.phases)])
        self.variable = [j for j in range(self.phases) if not prior.iron[j].certain]
        self.content = np.ascontiguousarray(
            np.broadcast_to(
                self.low + self.t[:, None, :] * self.change,
                (self.phases, len(sd), self.trials),
            )
        )
        self.gamma, self.shape, self.scale = prior.gamma, prior.shape, prior.scale
        self.all_shapes = float(np.sum(self.shape[self.gamma]))
        means = np.array([a.mean if a.kind in FOUND else 0.0 for a in prior.amounts])
        firm = self.gamma & (self.shape > 2.0)
        self.centre = means
        self.stiff = np.where(firm, self.shape / np.maximum(means, 1e-12) ** 2, 0.0)
        self.small = [
            j for j, a in enumerate(prior.amounts)
            if a.kind not in FOUND or a.shape < 6.0
        ]  # fmt: skip
        self.draw = {name: stream(seed, f"{name}/fit") for name in names}
        self.choose = stream(seed, "fit/partners")
        self.wander = stream(seed, "fit/lines")
        self.refresh()

    def _place(self, phase: int, z: Array) -> Array:
        """Place on the mixing line at an iron score."""
        iron = self.prior.iron[phase]
        span = iron.ceiling_wt_pct - iron.floor_wt_pct
        if iron.certain or span < 1e-12:
            return np.zeros_like(z)
        return (iron.quantile(z) - iron.floor_wt_pct) / span

    def refresh(self) -> None:
        """Recompute what the moves update in place, so that rounding cannot build up."""
        self.residual = self.target - np.einsum("mkt,mt->kt", self.content, self.x)
        self.filled = np.where(self.gamma[:, None], self.x, 0.0).sum(axis=0)
        self.weighed = np.where(self.gamma, 1.0 / self.scale, 0.0) @ self.x
        self.hidden = self.prior.hidden_iron(self.x, self.t)

    def _share(self, phase: int) -> Array:
        return (
            self.prior.iron_oxide_low[phase] + self.t[phase] * self.prior.iron_oxide_change[phase]
        )

    def _joint(self, filled: Array, weighed: Array, hidden: Array) -> Array:
        """Terms of the prior that several phases share."""
        return (
            np.log(filled) - self.all_shapes * np.log(weighed)
            + self.prior.unseen.log_density(hidden)
        )  # fmt: skip

    def _caps(self, change: Array) -> Array | float:
        """Gain of the interval rows when all rows change by `change`."""
        if self.gaussian == len(self.target):
            return 0.0
        now = self.residual[self.gaussian :]
        return np.sum(log_ndtr(now - change[self.gaussian :]) - log_ndtr(now), axis=0)

    def _fit(self, direction: Array) -> tuple[Array, Array]:
        """Precision and slope of the Gaussian rows along a direction."""
        d = direction[: self.gaussian]
        r = self.residual[: self.gaussian]
        return np.einsum("kt,kt->t", d, d), np.einsum("kt,kt->t", d, r)

    def _moved(self, j: int, i: int, step: Array) -> tuple[Array, Array, Array, Array]:
        """Shared terms after `step` goes from i to j, and the gain of the prior."""
        to, back = float(self.gamma[j]), float(self.gamma[i])
        filled = self.filled + step * (to - back)
        weighed = self.weighed + step * (to / self.scale[j] - back / self.scale[i])
        hidden = self.hidden
        if j in self.prior.hidden:
            hidden = hidden + step * self._share(j)
        if i in self.prior.hidden:
            hidden = hidden - step * self._share(i)
        gain = (
            self.prior.log_amount(j, self.x[j] + step) - self.prior.log_amount(j, self.x[j])
            + self.prior.log_amount(i, self.x[i] - step) - self.prior.log_amount(i, self.x[i])
            + self._joint(filled, weighed, hidden)
            - self._joint(self.filled, self.weighed, self.hidden)
        )  # fmt: skip
        return filled, weighed, hidden, gain

    def _accept(
        self, j: int, i: int, step: Array, taken: Array, change: Array,
        shared: tuple[Array, Array, Array],
    ) -> None:  # fmt: skip
        step = np.where(taken, step, 0.0)
        self.x[j] += step
        self.x[i] -= step
        self.residual -= np.where(taken, change, 0.0)
        self.filled = np.where(taken, shared[0], self.filled)
        self.weighed = np.where(taken, shared[1], self.weighed)
        self.hidden = np.where(taken, shared[2], self.hidden)

    def exchange(self, j: int, i: int) -> None:
        """Mass goes between two phases: drawn from the rows' own normal."""
        random = self.draw[self.names[j]]
        uniform, level = random.random(self.trials), random.random(self.trials)
        direction = self.content[j] - self.content[i]
        precision, slope = self._fit(direction)
        q, c = self.stiff, self.centre
        precision = precision + (q[j] + q[i] + 1e-10)
        mean = (slope + q[j] * (c[j] - self.x[j]) - q[i] * (c[i] - self.x[i])) / precision
        sd = 1.0 / np.sqrt(precision)
        low, high = _LEAST - self.x[j], self.x[i] - _LEAST
        step = truncated_normal(mean, sd, low, high, uniform)
        filled, weighed, hidden, gain = self._moved(j, i, step)
        for phase, sign in ((j, 1.0), (i, -1.0)):
            if q[phase] > 0:
                off = self.x[phase] - c[phase]
                gain = gain + 0.5 * q[phase] * ((off + sign * step) ** 2 - off**2)
        change = step * direction
        gain = gain + self._caps(change)
        taken = (np.log(level) < gain) & (high > low)
        self._accept(j, i, step, taken, change, (filled, weighed, hidden))

    def rescale(self, j: int, i: int, width: float) -> None:
        """A small amount is multiplied by a random factor; i gives or takes the difference."""
        random = self.draw[self.names[j]]
        factor = np.exp(width * random.standard_normal(self.trials))
        level = random.random(self.trials)
        step = np.maximum(self.x[j] * factor, _LEAST) - self.x[j]
        possible = step < self.x[i] - _LEAST
        step = np.where(possible, step, 0.0)
        direction = self.content[j] - self.content[i]
        precision, slope = self._fit(direction)
        filled, weighed, hidden, gain = self._moved(j, i, step)
        change = step * direction
        gain = gain + step * slope - 0.5 * precision * step * step + self._caps(change)
        gain = gain + np.log((self.x[j] + step) / self.x[j])
        taken = possible & (np.log(level) < gain)
        self._accept(j, i, step, taken, change, (filled, weighed, hidden))

    def _new_iron(self, j: int, width: float) -> tuple[Array, Array, Array]:
        """A proposal that leaves the prior of the iron as it is."""
        random = self.draw[self.names[j]]
        z = np.sqrt(1.0 - width * width) * self.z[j] + width * random.standard_normal(self.trials)
        return z, self._place(j, z), random.random(self.trials)

    def iron(self, j: int, width: float) -> None:
        """The iron of a phase moves along its line."""
        z, t, level = self._new_iron(j, width)
        moved = self.x[j] * (t - self.t[j])
        change = np.broadcast_to(moved * self.change[j], self.residual.shape)
        hidden = self.hidden
        if j in self.prior.hidden:
            hidden = hidden + moved * self.prior.iron_oxide_change[j]
        self._settle_iron(j, z, t, level, change, hidden, 0.0)

    def _settle_iron(
        self, j: int, z: Array, t: Array, level: Array, change: Array, hidden: Array,
        gain: Array | float, other: tuple[int, int, Array] | None = None,
    ) -> None:  # fmt: skip
        d, r = change[: self.gaussian], self.residual[: self.gaussian]
        gain = gain + np.einsum("kt,kt->t", d, r) - 0.5 * np.einsum("kt,kt->t", d, d)
        gain = gain + self._caps(change)
        if other is None and hidden is not self.hidden:
            density = self.prior.unseen.log_density
            gain = gain + density(hidden) - density(self.hidden)
        taken = np.log(level) < gain
        if other is not None:
            c, h, step = other
            step = np.where(taken, step, 0.0)
            filled, weighed, _, _ = self._moved(c, h, step)
            self.x[c] += step
            self.x[h] -= step
            self.filled, self.weighed = filled, weighed
        self.z[j] = np.where(taken, z, self.z[j])
        self.t[j] = np.where(taken, t, self.t[j])
        self.content[j] = self.low[j] + self.t[j] * self.change[j]
        self.residual -= np.where(taken, change, 0.0)
        self.hidden = np.where(taken, hidden, self.hidden)

    def trade(self, j: int, c: int, h: int, width: float) -> None:
        """Iron of j changes and the mass of c makes up for it; h closes the balance."""
        z, t, level = self._new_iron(j, width)
        moved = self.x[j] * (t - self.t[j])
        gap = self._share(c) - self._share(h)
        gap = np.where(np.abs(gap) < 1e-6, 1e-6, gap)
        step = -moved * self.prior.iron_oxide_change[j] / gap
        possible = (self.x[c] + step > _LEAST) & (self.x[h] - step > _LEAST)
        step = np.where(possible, step, 0.0)
        change = moved * self.change[j] + step * (self.content[c] - self.content[h])
        _, _, hidden, gain = self._moved(c, h, step)
        if j in self.prior.hidden:
            return
        gain = np.where(possible, gain, -np.inf)
        self._settle_iron(j, z, t, level, change, hidden, gain, (c, h, step))

    def along_lines(self) -> None:
        """Each half of the chains moves along differences of the other half."""
        half = self.trials // 2
        if half < 4:
            return
        for active, still in (
            (slice(0, half), slice(half, 2 * half)), (slice(half, 2 * half), slice(0, half)),
        ):  # fmt: skip
            first = self.wander.permutation(half)
            shift = 1 + int(self.wander.integers(half - 1))
            pool = self.x[:, still]
            self._line(active, pool[:, first] - pool[:, np.roll(first, shift)])

    def _line(self, active: slice, d: Array) -> None:
        uniform, level = self.wander.random((2, d.shape[1]))
        x, r = self.x[:, active], self.residual[:, active]
        direction = np.einsum("mkt,mt->kt", self.content[:, :, active], d)
        dg = direction[: self.gaussian]
        q = self.stiff[:, None]
        precision = np.einsum("kt,kt->t", dg, dg) + np.sum(q * d * d, axis=0) + 1e-10
        slope = np.einsum("kt,kt->t", dg, r[: self.gaussian])
        slope = slope + np.sum(q * (self.centre[:, None] - x) * d, axis=0)
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = (_LEAST - x) / d
        low = np.max(np.where(d > 0, reach, -np.inf), axis=0)
        high = np.min(np.where(d < 0, reach, np.inf), axis=0)
        possible = np.isfinite(low) & np.isfinite(high) & (high > low)
        low, high = np.where(possible, low, 0.0), np.where(possible, high, 0.0)
        step = truncated_normal(slope / precision, 1.0 / np.sqrt(precision), low, high, uniform)
        new = np.maximum(x + step * d, _LEAST)
        off, moved = x - self.centre[:, None], step * d
        gain = np.sum(0.5 * q * ((off + moved) ** 2 - off**2), axis=0)
        for j in range(self.phases):
            gain += self.prior.log_amount(j, new[j]) - self.prior.log_amount(j, x[j])
        weight = np.where(self.gamma, 1.0 / self.scale, 0.0)
        filled = np.where(self.gamma[:, None], new, 0.0).sum(axis=0)
        hidden = self.prior.hidden_iron(new, self.t[:, active])
        shared = (filled, weight @ new, hidden)
        before = (self.filled[active], self.weighed[active], self.hidden[active])
        gain += self._joint(*shared) - self._joint(*before)
        change = step * direction
        if self.gaussian < len(self.target):
            now = r[self.gaussian :]
            gain += np.sum(log_ndtr(now - change[self.gaussian :]) - log_ndtr(now), axis=0)
        taken = possible & (np.log(level) < gain)
        self.x[:, active] = np.where(taken, new, x)
        self.residual[:, active] = np.where(taken, r - change, r)
        self.filled[active] = np.where(taken, shared[0], before[0])
        self.weighed[active] = np.where(taken, shared[1], before[1])
        self.hidden[active] = np.where(taken, hidden, before[2])
