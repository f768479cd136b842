"""One Markov chain a trial: moves that keep closure and bounds exact.

Arrays are phase-major, (M, T) and (K, T), so that a move touches whole rows. Every move draws
from the exact normal of the Gaussian rows and is accepted by what that normal leaves out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, ndtr, ndtri

from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.system import FOUND, Flags, Prior, Rows
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


@dataclass(frozen=True)
class _Proposal:
    """An exchange that may be taken."""

    to: int
    back: int
    x_to: Array
    x_from: Array
    log_to: Array
    log_from: Array
    filled: Array
    weighed: Array
    shared: Array
    hidden: Array
    log_hidden: Array
    gain: Array


class Chains:
    """State of all chains and the moves they make."""

    def __init__(
        self, prior: Prior, rows: Rows, names: tuple[str, ...], x: Array, z: Array, seed: int
    ) -> None:
        self.prior, self.names = prior, names
        self.phases, self.trials = x.shape
        order = np.argsort(rows.capped, kind="stable")  # Gaussian rows first
        sd = rows.sd[order]
        self.gaussian = int(np.sum(~rows.capped))
        self.low = rows.low[:, order] / sd[None, :, None]
        self.change = rows.change[:, order] / sd[None, :, None]
        self.target = (rows.value[order] / sd)[:, None]
        self.x, self.z = x.copy(), z.copy()
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
        self.log_x = np.stack([self.prior.log_amount(j, self.x[j]) for j in range(self.phases)])
        self.shared = self._shared(self.filled, self.weighed)
        self.log_hidden = self.prior.unseen.log_density(self.hidden)

    def _share(self, phase: int) -> Array | float:
        """Fe2O3 of a phase as a fraction."""
        low, change = self.prior.iron_oxide_low[phase], self.prior.iron_oxide_change[phase]
        return low if change == 0.0 else low + self.t[phase] * change

    def _shared(self, filled: Array, weighed: Array) -> Array:
        """Terms of the prior that all gammas share."""
        return np.log(filled) - self.all_shapes * np.log(weighed)

    def _caps(self, change: Array) -> Array | float:
        """Gain of the interval rows when all rows change by `change`."""
        if self.gaussian == len(self.target):
            return 0.0
        now = self.residual[self.gaussian :]
        return np.sum(log_ndtr(now - change[self.gaussian :]) - log_ndtr(now), axis=0)

    def _fit(self, direction: Array) -> tuple[Array, Array]:
        """Precision and slope of the Gaussian rows along a direction."""
        d, r = direction[: self.gaussian], self.residual[: self.gaussian]
        return np.einsum("kt,kt->t", d, d), np.einsum("kt,kt->t", d, r)

    def _propose(self, j: int, i: int, step: Array) -> _Proposal:
        """State after `step` goes from i to j, and what the prior gains by it."""
        x_to, x_from = self.x[j] + step, self.x[i] - step
        log_to = self.prior.log_amount(j, x_to)
        log_from = self.prior.log_amount(i, x_from)
        gain = log_to + log_from - self.log_x[j] - self.log_x[i]
        to, back = float(self.gamma[j]), float(self.gamma[i])
        weigh = to / self.scale[j] - back / self.scale[i]
        filled, weighed, shared = self.filled, self.weighed, self.shared
        if weigh != 0.0 or to != back:
            filled = filled + step * (to - back)
            weighed = weighed + step * weigh
            shared = self._shared(filled, weighed)
            gain += shared - self.shared
        hidden, log_hidden = self.hidden, self.log_hidden
        if j in self.prior.hidden or i in self.prior.hidden:
            if j in self.prior.hidden:
                hidden = hidden + step * self._share(j)
            if i in self.prior.hidden:
                hidden = hidden - step * self._share(i)
            log_hidden = self.prior.unseen.log_density(hidden)
            gain += log_hidden - self.log_hidden
        return _Proposal(
            j, i, x_to, x_from, log_to, log_from, filled, weighed, shared, hidden, log_hidden, gain
        )

    def _take(self, new: _Proposal, taken: Flags, change: Array | None) -> None:
        j, i = new.to, new.back
        np.copyto(self.x[j], new.x_to, where=taken)
        np.copyto(self.x[i], new.x_from, where=taken)
        np.copyto(self.log_x[j], new.log_to, where=taken)
        np.copyto(self.log_x[i], new.log_from, where=taken)
        if new.shared is not self.shared:
            np.copyto(self.filled, new.filled, where=taken)
            np.copyto(self.weighed, new.weighed, where=taken)
            np.copyto(self.shared, new.shared, where=taken)
        if new.hidden is not self.hidden:
            np.copyto(self.hidden, new.hidden, where=taken)
            np.copyto(self.log_hidden, new.log_hidden, where=taken)
        if change is not None:
            change *= taken
            self.residual -= change

    def exchange(self, j: int, i: int) -> None:
        """Mass goes between two phases: drawn from the rows' own normal.

        Parameters
        ----------
        j, i : int
            The two phases. [-]

        References
        ----------
        Metropolis within Gibbs: the normal of the rows, and of firmly known amounts, is the
        proposal; what it leaves out of the prior is the acceptance.
        """
        random = self.draw[self.names[j]]
        uniform, level = random.random((2, self.trials))
        direction = self.content[j] - self.content[i]
        precision, slope = self._fit(direction)
        q, c = self.stiff, self.centre
        precision += q[j] + q[i] + 1e-10
        mean = (slope + q[j] * (c[j] - self.x[j]) - q[i] * (c[i] - self.x[i])) / precision
        low, high = _LEAST - self.x[j], self.x[i] - _LEAST
        step = truncated_normal(mean, 1.0 / np.sqrt(precision), low, high, uniform)
        new = self._propose(j, i, step)
        gain = new.gain
        for phase, sign in ((j, 1.0), (i, -1.0)):
            if q[phase] > 0:
                off = self.x[phase] - c[phase]
                gain = gain + (0.5 * q[phase]) * step * (2.0 * sign * off + step)
        direction *= step
        gain = gain + self._caps(direction)
        self._take(new, (np.log(level) < gain) & (high > low), direction)

    def rescale(self, j: int, i: int, width: float) -> None:
        """A small amount is multiplied by a random factor; i gives or takes the difference.

        Parameters
        ----------
        j, i : int
            The small phase and the one that closes the balance. [-]
        width : float
            sd of ln of the factor. [-]

        References
        ----------
        Metropolis random walk in ln.
        """
        random = self.draw[self.names[j]]
        factor = np.exp(width * random.standard_normal(self.trials))
        level = random.random(self.trials)
        step = np.maximum(self.x[j] * factor, _LEAST) - self.x[j]
        possible = step < self.x[i] - _LEAST
        step *= possible
        direction = self.content[j] - self.content[i]
        precision, slope = self._fit(direction)
        new = self._propose(j, i, step)
        gain = new.gain + step * slope - 0.5 * precision * step * step
        gain += np.log(new.x_to / self.x[j])
        direction *= step
        gain += self._caps(direction)
        self._take(new, possible & (np.log(level) < gain), direction)

    def _new_iron(self, j: int, width: float) -> tuple[Array, Array, Array]:
        """A proposal that leaves the prior of the iron as it is."""
        random = self.draw[self.names[j]]
        z = np.sqrt(1.0 - width * width) * self.z[j] + width * random.standard_normal(self.trials)
        return z, self._place(j, z), np.log(random.random(self.trials))

    def _take_iron(self, j: int, z: Array, t: Array, taken: Flags, change: Array) -> None:
        np.copyto(self.z[j], z, where=taken)
        np.copyto(self.t[j], t, where=taken)
        np.multiply(self.change[j], self.t[j], out=self.content[j])
        self.content[j] += self.low[j]
        change *= taken
        self.residual -= change

    def iron(self, j: int, width: float) -> None:
        """The iron of a phase moves along its line.

        Parameters
        ----------
        j : int
            The phase. [-]
        width : float
            Step of the score, 0 to 1; 1 draws afresh from the prior. [-]

        References
        ----------
        Preconditioned Crank-Nicolson step: the prior is kept, the rows accept.
        """
        z, t, level = self._new_iron(j, width)
        moved = self.x[j] * (t - self.t[j])
        change = moved * self.change[j]
        precision, slope = self._fit(change)
        gain = slope - 0.5 * precision + self._caps(change)
        if j in self.prior.hidden:
            hidden = self.hidden + moved * self.prior.iron_oxide_change[j]
            log_hidden = self.prior.unseen.log_density(hidden)
            gain = gain + log_hidden - self.log_hidden
            taken = level < gain
            np.copyto(self.hidden, hidden, where=taken)
            np.copyto(self.log_hidden, log_hidden, where=taken)
        else:
            taken = level < gain
        self._take_iron(j, z, t, taken, change)

    def trade(self, j: int, c: int, h: int, width: float) -> None:
        """Iron of j changes and the mass of c makes up for it; h closes the balance.

        Parameters
        ----------
        j, c, h : int
            Three phases; the iron of j must not be hidden. [-]
        width : float
            Step of the score, 0 to 1. [-]

        References
        ----------
        As `iron`; the mass follows by a shear, whose Jacobian is 1.
        """
        z, t, level = self._new_iron(j, width)
        moved = self.x[j] * (t - self.t[j])
        gap = self._share(c) - self._share(h)
        step = moved * (-self.prior.iron_oxide_change[j] / np.maximum(gap, 1e-6))
        possible = (self.x[c] + step > _LEAST) & (self.x[h] - step > _LEAST)
        step *= possible
        new = self._propose(c, h, step)
        change = moved * self.change[j] + step * (self.content[c] - self.content[h])
        precision, slope = self._fit(change)
        gain = new.gain + slope - 0.5 * precision + self._caps(change)
        taken = possible & (level < gain)
        self._take(new, taken, None)
        self._take_iron(j, z, t, taken, change)

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
        log_x = np.stack([self.prior.log_amount(j, new[j]) for j in range(self.phases)])
        gain += np.sum(log_x - self.log_x[:, active], axis=0)
        weight = np.where(self.gamma, 1.0 / self.scale, 0.0)
        filled = np.where(self.gamma[:, None], new, 0.0).sum(axis=0)
        weighed, hidden = weight @ new, self.prior.hidden_iron(new, self.t[:, active])
        shared, log_hidden = self._shared(filled, weighed), self.prior.unseen.log_density(hidden)
        gain += shared - self.shared[active] + log_hidden - self.log_hidden[active]
        change = step * direction
        if self.gaussian < len(self.target):
            now = r[self.gaussian :]
            gain += np.sum(log_ndtr(now - change[self.gaussian :]) - log_ndtr(now), axis=0)
        taken = possible & (np.log(level) < gain)
        for state, value in (
            (self.x[:, active], new), (self.log_x[:, active], log_x), (r, r - change),
            (self.filled[active], filled), (self.weighed[active], weighed),
            (self.shared[active], shared), (self.hidden[active], hidden),
            (self.log_hidden[active], log_hidden),
        ):  # fmt: skip
            np.copyto(state, value, where=taken)
