"""Moves of the chains along differences of other chains: they follow any correlation."""

from __future__ import annotations

import numpy as np
from scipy.special import log_ndtr

from feedchar.chemistry.chains import LEAST, Chains
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.truncated import truncated_normal


def along_lines(chains: Chains) -> None:
    """Each half of the chains moves along differences of the other half.

    Parameters
    ----------
    chains : Chains
        The chains, changed in place; fewer than eight do not move. [-]

    References
    ----------
    Hit and run along directions of an ensemble, from memory: the half that gives the directions
    stands still, so that detailed balance holds.
    """
    half = chains.trials // 2
    if half < 4:
        return
    for active, still in (
        (slice(0, half), slice(half, 2 * half)), (slice(half, 2 * half), slice(0, half)),
    ):  # fmt: skip
        first = chains.wander.permutation(half)
        shift = 1 + int(chains.wander.integers(half - 1))
        pool = chains.x[:, still]
        _line(chains, active, pool[:, first] - pool[:, np.roll(first, shift)])


def _line(chains: Chains, active: slice, d: Array) -> None:
    uniform, level = chains.wander.random((2, d.shape[1]))
    x, r = chains.x[:, active], chains.residual[:, active]
    direction = np.einsum("mkt,mt->kt", chains.content[:, :, active], d)
    dg = direction[: chains.gaussian]
    q = chains.stiff[:, None]
    precision = np.einsum("kt,kt->t", dg, dg) + np.sum(q * d * d, axis=0) + 1e-10
    slope = np.einsum("kt,kt->t", dg, r[: chains.gaussian])
    slope = slope + np.sum(q * (chains.centre[:, None] - x) * d, axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = (LEAST - x) / d
    low = np.max(np.where(d > 0, reach, -np.inf), axis=0)
    high = np.min(np.where(d < 0, reach, np.inf), axis=0)
    possible = np.isfinite(low) & np.isfinite(high) & (high > low)
    low, high = np.where(possible, low, 0.0), np.where(possible, high, 0.0)
    step = truncated_normal(slope / precision, 1.0 / np.sqrt(precision), low, high, uniform)
    new = np.maximum(x + step * d, LEAST)
    off, moved = x - chains.centre[:, None], step * d
    gain = np.sum(0.5 * q * ((off + moved) ** 2 - off**2), axis=0)
    log_x = np.stack([chains.prior.log_amount(j, new[j]) for j in range(chains.phases)])
    gain += np.sum(log_x - chains.log_x[:, active], axis=0)
    weight = np.where(chains.gamma, 1.0 / chains.scale, 0.0)
    filled = np.where(chains.gamma[:, None], new, 0.0).sum(axis=0)
    weighed, hidden = weight @ new, chains.prior.hidden_iron(new, chains.t[:, active])
    shared, log_hidden = (
        chains.shared_terms(filled, weighed),
        chains.prior.unseen.log_density(hidden),
    )
    gain += shared - chains.shared[active] + log_hidden - chains.log_hidden[active]
    change = step * direction
    now = r[chains.gaussian :]
    gain += np.sum(log_ndtr(now - change[chains.gaussian :]) - log_ndtr(now), axis=0)
    taken = possible & (np.log(level) < gain)
    for state, value in (
        (chains.x[:, active], new), (chains.log_x[:, active], log_x), (r, r - change),
        (chains.filled[active], filled), (chains.weighed[active], weighed),
        (chains.shared[active], shared), (chains.hidden[active], hidden),
        (chains.log_hidden[active], log_hidden),
    ):  # fmt: skip
        np.copyto(state, value, where=taken)
