"""The chains of many rows at once: rows of a table folded into the trial axis of the fit.

Rows of one pattern (which phases in which way, which oxides) go through the moves of
feedchar.chemistry.chains together. Every row meets the same random numbers, so that it does not
depend on the rows beside it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from feedchar.batch.folded_prior import GAMMA, FoldedPrior, FoldedRows
from feedchar.batch.tiled import Streams, Tiled
from feedchar.chemistry.chains import LEAST, Chains, Proposal
from feedchar.chemistry.truncated import truncated_normal

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

SMALL_SHAPE = 6.0
"""Gammas below this also move by factors, as in feedchar.chemistry.fit. [-]"""


class FoldedChains(Chains):
    """Chains of several rows; moves that Chains has for one row's figures take arrays here."""

    def __init__(
        self, prior: FoldedPrior, rows: FoldedRows, names: tuple[str, ...], x: Array, z: Array,
        streams: Streams, trials_a_row: int, biggest: int,
    ) -> None:  # fmt: skip
        self.folded = prior
        self.prior = cast(Any, prior)
        self.names, self.rows, self.streams = names, rows, streams
        self.trials_a_row, self.biggest = trials_a_row, biggest
        self.phases, self.trials = x.shape
        self.gaussian = rows.gaussian
        self.low, self.change, self.target = rows.low, rows.change, rows.target
        self.x, self.z = x.copy(), z.copy()
        self.t = np.stack([iron.place(z[j]) for j, iron in enumerate(prior.iron)])
        self.variable = [j for j in range(self.phases) if not prior.iron[j].certain]
        self.content = self.low + self.t[:, None, :] * self.change
        own = prior.kind == GAMMA
        self.is_gamma = own.astype(float)
        shape = np.where(own, prior.shape, 1.0)
        self.weight = np.where(own, shape / np.where(own, prior.mean, 1.0), 0.0)
        self.summed_shapes = np.where(own, shape, 0.0).sum(axis=0)
        self.centre = np.where(own, prior.mean, 0.0)
        firm = own & (shape > 2.0)
        self.stiff = np.where(firm, shape / np.maximum(self.centre, 1e-12) ** 2, 0.0)
        self.takes_factors = ~own | (shape < SMALL_SHAPE)
        self.draw = cast(Any, streams.draw)
        self.choose, self.wander = streams.choose, streams.wander
        self.halves = _halves(self.trials, trials_a_row)
        self.half_priors = tuple(prior.at(half) for half in self.halves)
        self.refresh()

    def refresh(self) -> None:
        """Recompute what the moves update in place, so that rounding cannot build up."""
        self.residual = self.target - np.einsum("mkt,mt->kt", self.content, self.x)
        self.filled = (self.is_gamma * self.x).sum(axis=0)
        self.weighed = (self.weight * self.x).sum(axis=0)
        self.hidden = self.folded.hidden_iron(self.x, self.t)
        self.log_x = np.stack([self.folded.log_amount(j, self.x[j]) for j in range(self.phases)])
        self.shared = self.shared_terms(self.filled, self.weighed)
        self.log_hidden = self.folded.unseen.log_density(self.hidden)

    def shared_terms(self, filled: Array, weighed: Array) -> Array:
        """Terms of the prior that all gammas share."""
        return np.asarray(np.log(filled) - self.summed_shapes * np.log(weighed))

    def propose(self, j: int, i: int, step: Array) -> Proposal:
        """State after `step` goes from i to j, and what the prior gains by it."""
        x_to, x_from = self.x[j] + step, self.x[i] - step
        log_to, log_from = self.folded.log_amount(j, x_to), self.folded.log_amount(i, x_from)
        gain = log_to + log_from - self.log_x[j] - self.log_x[i]
        filled = self.filled + step * (self.is_gamma[j] - self.is_gamma[i])
        weighed = self.weighed + step * (self.weight[j] - self.weight[i])
        shared = self.shared_terms(filled, weighed)
        gain += shared - self.shared
        hidden, log_hidden = self.hidden, self.log_hidden
        hides, hiding = self.folded.hides, self.folded.hidden
        if j in hiding or i in hiding:
            if j in hiding:
                hidden = hidden + step * hides[j] * self.oxide_share(j)
            if i in hiding:
                hidden = hidden - step * hides[i] * self.oxide_share(i)
            log_hidden = self.folded.unseen.log_density(hidden)
            gain += log_hidden - self.log_hidden
        return Proposal(
            j, i, x_to, x_from, log_to, log_from, filled, weighed, shared, hidden, log_hidden, gain
        )

    def exchange(self, j: int, i: int) -> None:
        """Mass goes between two phases, as in `Chains.exchange`.

        Parameters
        ----------
        j, i : int
            The two phases. [-]

        References
        ----------
        Derived: as `Chains.exchange`.
        """
        uniform, level = self.draw[self.names[j]].random((2, self.trials))
        direction = self.content[j] - self.content[i]
        precision, slope = self.along(direction)
        q, c = self.stiff, self.centre
        precision += q[j] + q[i] + 1e-10
        off_to, off_from = self.x[j] - c[j], self.x[i] - c[i]
        mean = (slope - q[j] * off_to + q[i] * off_from) / precision
        low, high = LEAST - self.x[j], self.x[i] - LEAST
        step = truncated_normal(mean, 1.0 / np.sqrt(precision), low, high, uniform)
        new = self.propose(j, i, step)
        gain = new.gain + 0.5 * step * (
            q[j] * (2.0 * off_to + step) + q[i] * (step - 2.0 * off_from)
        )
        direction *= step
        gain = gain + self.caps(direction)
        self.take(new, (np.log(level) < gain) & (high > low), direction)

    def factor(self, j: int, i: int, width: float) -> None:
        """A small amount is multiplied by a random factor, in the rows where it is small.

        Parameters
        ----------
        j, i : int
            The small phase and the one that closes the balance. [-]
        width : float
            sd of ln of the factor. [-]

        References
        ----------
        Derived: as `Chains.rescale`.
        """
        random = self.streams.factors[self.names[j]]
        factor = np.exp(width * random.standard_normal(self.trials))
        level = random.random(self.trials)
        step = np.maximum(self.x[j] * factor, LEAST) - self.x[j]
        possible = (step < self.x[i] - LEAST) & self.takes_factors[j]
        step *= possible
        direction = self.content[j] - self.content[i]
        precision, slope = self.along(direction)
        new = self.propose(j, i, step)
        gain = new.gain + step * slope - 0.5 * precision * step * step
        gain += np.log(new.x_to / self.x[j])
        direction *= step
        gain += self.caps(direction)
        self.take(new, possible & (np.log(level) < gain), direction)

    def iron(self, j: int, width: float, with_mass: bool) -> None:
        """The iron of a phase moves; where it is not hidden, unseen mass may make up for it.

        Parameters
        ----------
        j : int
            The phase. [-]
        width : float
            Step of the score, 0 to 1. [-]
        with_mass : bool
            Whether unseen mass makes up for it. [-]

        References
        ----------
        Derived: as feedchar.chemistry.iron_moves.
        """
        random = self.draw[self.names[j]]
        kept = np.sqrt(1.0 - width * width)
        z = kept * self.z[j] + width * random.standard_normal(self.trials)
        t, level = self.prior.iron[j].place(z), np.log(random.random(self.trials))
        moved = self.x[j] * (t - self.t[j])
        change = moved * self.change[j]
        iron, c, h = self.folded.iron_oxide_change[j], self.phases - 1, self.biggest
        trades = with_mass and h not in (j, c)
        hides = self.folded.hides[j]
        possible = np.ones(self.trials, dtype=bool)
        hidden, new = self.hidden, None
        gain = np.zeros(self.trials)
        if trades:
            gap = self.oxide_share(c) - self.oxide_share(h)
            step = moved * (1.0 - hides) * (-iron / np.maximum(gap, 1e-6))
            possible = (self.x[c] + step > LEAST) & (self.x[h] - step > LEAST)
            step *= possible
            new = self.propose(c, h, step)
            change += step * (self.content[c] - self.content[h])
            hidden = new.hidden
            gain += new.gain - (new.log_hidden - self.log_hidden)
        hidden = hidden + moved * iron * hides
        log_hidden = self.folded.unseen.log_density(hidden)
        precision, slope = self.along(change)
        gain += slope - 0.5 * precision + self.caps(change) + log_hidden - self.log_hidden
        taken = possible & (level < gain)
        if new is not None:
            self.take(replace(new, hidden=hidden, log_hidden=log_hidden), taken, None)
        else:
            np.copyto(self.hidden, hidden, where=taken)
            np.copyto(self.log_hidden, log_hidden, where=taken)
        np.copyto(self.z[j], z, where=taken)
        np.copyto(self.t[j], t, where=taken)
        np.multiply(self.change[j], self.t[j], out=self.content[j])
        self.content[j] += self.low[j]
        change *= taken
        self.residual -= change

    def along_lines(self) -> None:
        """Each half of a row's chains moves along differences of its other half.

        References
        ----------
        Derived: as feedchar.chemistry.line_moves.
        """
        half = self.trials_a_row // 2
        if half < 4:
            return
        for k, active in enumerate(self.halves):
            order = self.wander.permutation(half)
            shift = 1 + int(self.wander.integers(half - 1))
            still = self.halves[1 - k].reshape(-1, half)
            one, other = still[:, order].ravel(), still[:, np.roll(order, shift)].ravel()
            self._line(active, self.half_priors[k], self.x[:, one] - self.x[:, other])

    def _line(self, active: Index, prior: FoldedPrior, d: Array) -> None:
        half = self.trials_a_row // 2
        uniform, level = Tiled(self.wander, half).random((2, d.shape[1]))
        x, r, q = self.x[:, active], self.residual[:, active], self.stiff[:, active]
        direction = np.einsum("mkt,mt->kt", self.content[:, :, active], d)
        dg = direction[: self.gaussian]
        off = x - self.centre[:, active]
        precision = np.einsum("kt,kt->t", dg, dg) + np.sum(q * d * d, axis=0) + 1e-10
        slope = np.einsum("kt,kt->t", dg, r[: self.gaussian]) - np.sum(q * off * d, axis=0)
        with np.errstate(divide="ignore", invalid="ignore"):
            reach = (LEAST - x) / d
        low = np.max(np.where(d > 0, reach, -np.inf), axis=0)
        high = np.min(np.where(d < 0, reach, np.inf), axis=0)
        possible = np.isfinite(low) & np.isfinite(high) & (high > low)
        low, high = np.where(possible, low, 0.0), np.where(possible, high, 0.0)
        step = truncated_normal(slope / precision, 1.0 / np.sqrt(precision), low, high, uniform)
        moved = step * d
        new = np.maximum(x + moved, LEAST)
        gain = np.sum(0.5 * q * moved * (2.0 * off + moved), axis=0)
        log_x = np.stack([prior.log_amount(j, new[j]) for j in range(self.phases)])
        gain += np.sum(log_x - self.log_x[:, active], axis=0)
        filled = (self.is_gamma[:, active] * new).sum(axis=0)
        weighed = (self.weight[:, active] * new).sum(axis=0)
        hidden = prior.hidden_iron(new, self.t[:, active])
        shared = np.log(filled) - self.summed_shapes[active] * np.log(weighed)
        log_hidden = prior.unseen.log_density(hidden)
        gain += shared - self.shared[active] + log_hidden - self.log_hidden[active]
        change = step * direction
        if self.gaussian < len(self.target):
            now = r[self.gaussian :]
            gain += np.sum(log_ndtr(now - change[self.gaussian :]) - log_ndtr(now), axis=0)
        taken = possible & (np.log(level) < gain)
        at = active[taken]
        self.x[:, at], self.log_x[:, at] = new[:, taken], log_x[:, taken]
        self.residual[:, at] -= change[:, taken]
        for state, value in (
            (self.filled, filled), (self.weighed, weighed), (self.shared, shared),
            (self.hidden, hidden), (self.log_hidden, log_hidden),
        ):  # fmt: skip
            state[at] = value[taken]

    def of_rows(self, kept: Flags) -> FoldedChains:
        """Chains of some of the rows, with the same streams.

        Parameters
        ----------
        kept : array of bool, shape (N,)
            Rows to go on with. [-]

        Returns
        -------
        FoldedChains
            A copy. [-]
        """
        chosen = np.flatnonzero(np.repeat(kept, self.trials_a_row))
        return FoldedChains(
            self.folded.at(chosen), self.rows.at(chosen), self.names, self.x[:, chosen],
            self.z[:, chosen], self.streams, self.trials_a_row, self.biggest,
        )  # fmt: skip


def _halves(chains: int, trials: int) -> tuple[Index, Index]:
    """First and second half of the chains of every row."""
    start, half = np.arange(0, chains, trials)[:, None], trials // 2
    first = start + np.arange(half)
    return first.ravel(), (first + half).ravel()
