"""One Markov chain a trial: moves that keep closure and bounds exact.

Arrays are phase-major, (M, T) and (K, T), so that a move touches whole rows. Every move draws
from the exact normal of the Gaussian rows and is accepted by what that normal leaves out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr

from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.system import FOUND, Flags, Prior, Rows
from feedchar.chemistry.truncated import truncated_normal
from feedchar.uncertainty.streams import stream

LEAST = 1e-9
"""Amounts are kept above this. [wt %]"""
IMPOSSIBLE = -1e30
"""Log density of what cannot be: finite, so that the difference of two of them is a number."""


@dataclass(frozen=True)
class Proposal:
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
        self.t = np.stack([iron.place(z[j]) for j, iron in enumerate(prior.iron)])
        self.variable = [j for j in range(self.phases) if not prior.iron[j].certain]
        self.content = np.array(
            np.broadcast_to(
                self.low + self.t[:, None, :] * self.change,
                (self.phases, len(sd), self.trials),
            )
        )
        self.gamma, self.shape, self.scale = prior.gamma, prior.shape, prior.scale
        self.all_shapes = float(np.sum(self.shape[self.gamma]))
        means = np.array([a.mean for a in prior.amounts])
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

    def refresh(self) -> None:
        """Recompute what the moves update in place, so that rounding cannot build up."""
        self.residual = self.target - np.einsum("mkt,mt->kt", self.content, self.x)
        self.filled = np.where(self.gamma[:, None], self.x, 0.0).sum(axis=0)
        self.weighed = np.where(self.gamma, 1.0 / self.scale, 0.0) @ self.x
        self.hidden = self.prior.hidden_iron(self.x, self.t)
        self.log_x = np.stack([self.prior.log_amount(j, self.x[j]) for j in range(self.phases)])
        self.shared = self.shared_terms(self.filled, self.weighed)
        self.log_hidden = self.unseen_terms(self.hidden)

    def oxide_share(self, phase: int) -> Array:
        """Fe2O3 of a phase as a fraction."""
        change = self.t[phase] * self.prior.iron_oxide_change[phase]
        return self.prior.iron_oxide_low[phase] + change

    def shared_terms(self, filled: Array, weighed: Array) -> Array:
        """Terms of the prior that all gammas share."""
        return np.log(filled) - self.all_shapes * np.log(weighed)

    def unseen_terms(self, hidden: Array) -> Array:
        """Term of the unseen iron; a start where it cannot be is left at the first way out."""
        return np.maximum(self.prior.unseen.log_density(hidden), IMPOSSIBLE)

    def caps(self, change: Array) -> Array:
        """Gain of the interval rows when all rows change by `change`."""
        now = self.residual[self.gaussian :]
        after = log_ndtr(now - change[self.gaussian :])
        return np.asarray(np.sum(after - log_ndtr(now), axis=0))

    def along(self, direction: Array) -> tuple[Array, Array]:
        """Precision and slope of the Gaussian rows along a direction."""
        d, r = direction[: self.gaussian], self.residual[: self.gaussian]
        return np.einsum("kt,kt->t", d, d), np.einsum("kt,kt->t", d, r)

    def propose(self, j: int, i: int, step: Array) -> Proposal:
        """State after `step` goes from i to j, and what the prior gains by it."""
        x_to, x_from = self.x[j] + step, self.x[i] - step
        log_to = self.prior.log_amount(j, x_to)
        log_from = self.prior.log_amount(i, x_from)
        gain = log_to + log_from - self.log_x[j] - self.log_x[i]
        to, back = float(self.gamma[j]), float(self.gamma[i])
        weigh = to / self.scale[j] - back / self.scale[i]
        filled, weighed, shared = self.filled, self.weighed, self.shared
        if weigh != 0.0:
            filled = filled + step * (to - back)
            weighed = weighed + step * weigh
            shared = self.shared_terms(filled, weighed)
            gain += shared - self.shared
        hidden, log_hidden = self.hidden, self.log_hidden
        if j in self.prior.hidden or i in self.prior.hidden:
            if j in self.prior.hidden:
                hidden = hidden + step * self.oxide_share(j)
            if i in self.prior.hidden:
                hidden = hidden - step * self.oxide_share(i)
            log_hidden = self.unseen_terms(hidden)
            gain += log_hidden - self.log_hidden
        return Proposal(
            j, i, x_to, x_from, log_to, log_from, filled, weighed, shared, hidden, log_hidden, gain
        )

    def take(self, new: Proposal, taken: Flags, change: Array | None) -> None:
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
        precision, slope = self.along(direction)
        q, c = self.stiff, self.centre
        precision += q[j] + q[i] + 1e-10
        mean = (slope + q[j] * (c[j] - self.x[j]) - q[i] * (c[i] - self.x[i])) / precision
        low, high = LEAST - self.x[j], self.x[i] - LEAST
        step = truncated_normal(mean, 1.0 / np.sqrt(precision), low, high, uniform)
        new = self.propose(j, i, step)
        gain = new.gain
        for phase, sign in ((j, 1.0), (i, -1.0)):
            off = self.x[phase] - c[phase]
            gain = gain + (0.5 * q[phase]) * step * (2.0 * sign * off + step)
        direction *= step
        gain = gain + self.caps(direction)
        self.take(new, (np.log(level) < gain) & (high > low), direction)

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
        step = np.maximum(self.x[j] * factor, LEAST) - self.x[j]
        possible = step < self.x[i] - LEAST
        step *= possible
        direction = self.content[j] - self.content[i]
        precision, slope = self.along(direction)
        new = self.propose(j, i, step)
        gain = new.gain + step * slope - 0.5 * precision * step * step
        gain += np.log(new.x_to / self.x[j])
        direction *= step
        gain += self.caps(direction)
        self.take(new, possible & (np.log(level) < gain), direction)
