"""Rows with an assay: the mineralogy that honours minerals and assay together, many at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.batch import folded_prior as folded
from feedchar.batch.amounts import Amounts
from feedchar.batch.drawn import Drawn, places_of
from feedchar.batch.folded import FoldedChains
from feedchar.batch.folded_prior import FoldedPrior, FoldedRows, FoldedUnseen
from feedchar.batch.product import FeedTrials, nodes_of
from feedchar.batch.row_fit import Pattern, RowFit, row_fit
from feedchar.batch.rows import Block
from feedchar.batch.sweeps import settle
from feedchar.batch.tiled import Streams
from feedchar.chemistry.agreement import WARN_SD, misfit_of
from feedchar.chemistry.fit import Fit
from feedchar.chemistry.start import _line_places, amount_spreads
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]
Index = NDArray[np.intp]

CHAINS_AT_ONCE = 2000
"""Rows times trials that are swept together."""
CODES = {
    "gamma": folded.GAMMA, "assumed": folded.GAMMA, "not found": folded.NOT_FOUND,
    "interval": folded.INTERVAL, "unseen": folded.UNSEEN,
}  # fmt: skip


def fitted_feed(block: Block, rows: Index, amounts: Amounts, drawn: Drawn) -> FeedTrials:
    """Trials of the feed of rows with an assay.

    Parameters
    ----------
    block : Block
        Rows; their notes grow. [-]
    rows : array of int, shape (N,)
        Rows to take, each with an assay. [-]
    amounts : Amounts
        Their trials before it. [wt %]
    drawn : Drawn
        Draws of the table. [-]

    Returns
    -------
    FeedTrials
        After the assay. [wt %]

    References
    ----------
    Derived: as feedchar.chemistry.fit, rows of one pattern at once.
    """
    wt_pct = np.zeros_like(amounts.wt_pct)
    scores = np.repeat(drawn.scores[:, None], len(rows), axis=1)
    fits = [row_fit(block, int(row), n, amounts, drawn) for n, row in enumerate(rows)]
    patterns: dict[Pattern, list[int]] = {}
    for n, fit in enumerate(fits):
        patterns.setdefault(fit.pattern, []).append(n)
    most = max(CHAINS_AT_ONCE // max(drawn.trials, 1), 1)
    for places in patterns.values():
        for start in range(0, len(places), most):
            some = places[start : start + most]
            _fit_together(
                block, rows, some, [fits[n] for n in some], amounts, drawn, wt_pct, scores
            )
    place = np.stack([places_of(i, z) for i, z in zip(drawn.ingredients, scores, strict=True)])
    disagree = np.array([fit.disagree for fit in fits])
    return FeedTrials(wt_pct, place, nodes_of(scores), disagree)


def _fit_together(
    block: Block, rows: Index, places: list[int], fits: list[RowFit], amounts: Amounts,
    drawn: Drawn, wt_pct: Array, scores: Array,
) -> None:  # fmt: skip
    """Rows of one pattern: amounts and iron scores filled in place."""
    first, trials = fits[0], drawn.trials
    for n, fit in zip(places, fits, strict=True):
        wt_pct[fit.phases, n, 0] = fit.best
        for j, iron in enumerate(fit.prior.iron):
            if not iron.certain:
                value = iron.floor_wt_pct + fit.place[j] * (iron.ceiling_wt_pct - iron.floor_wt_pct)
                scores[fit.phases[j], n, 0] = float(iron.score(np.asarray(value)))
    if trials == 0:
        return
    starts = [_starts(fit, n, amounts, drawn) for n, fit in zip(places, fits, strict=True)]
    x = np.concatenate([s[0] for s in starts], axis=1)
    z = np.concatenate([s[1] for s in starts], axis=1)
    names = first.feed.names
    biggest = int(first.pattern[-1])  # type: ignore[call-overload]
    streams = Streams.of(names, drawn.seed, trials)
    chains = FoldedChains(
        _folded_prior(fits, trials), _folded_rows(fits, trials), names, x, z, streams, trials,
        biggest,
    )  # fmt: skip
    x, z, settled = settle(chains)
    x = x / x.sum(axis=0) * 100.0
    for k, (n, fit) in enumerate(zip(places, fits, strict=True)):
        own = slice(k * trials, (k + 1) * trials)
        wt_pct[fit.phases, n, 1:], scores[fit.phases, n, 1:] = x[:, own], z[:, own]
        _note_misfit(block, int(rows[n]), fit, x[:, own], z[:, own], bool(settled[k]))


def _note_misfit(block: Block, row: int, fit: RowFit, x: Array, z: Array, settled: bool) -> None:
    notes = block.notes[row]
    if not settled:
        notes.append("the chains of the fit had not settled: take its figures as rough")
    place = [places_of(i, own) for i, own in zip(fit.feed.ingredients, z, strict=True)]
    trials = Fit(
        np.vstack([fit.best, x.T]),
        np.vstack([fit.place, np.array(place).T]),
        True,
        np.zeros(len(x)),
    )
    what, score = misfit_of(fit.prior, fit.rows, fit.feed.names, trials).worst
    block.misfit_sd[row] = abs(score)
    if fit.disagree or abs(score) > WARN_SD:
        head = "the data disagree beyond 4 sd: " if fit.disagree else ""
        notes.append(f"{head}{what} is {abs(score):.1f} sd from what all else says")


def _starts(fit: RowFit, n: int, amounts: Amounts, drawn: Drawn) -> tuple[Array, Array]:
    """Where the chains of one row start: the prior's draws moved onto the data by one linear step.

    Perturbed least squares for each trial would start nearer, at four times the cost of a row.
    """
    prior, rows, phases = fit.prior, fit.rows, fit.phases
    wanted, place = amounts.wt_pct[phases, n, 1:], drawn.place[phases, 1:]
    _, below, above = _line_places(prior)
    spread, place_sd = amount_spreads(prior), np.maximum(below, above)
    free = np.array([not iron.certain for iron in prior.iron])
    low, change = rows.low[:, :, 0], rows.change[:, :, 0]
    by_amount = low + fit.place[:, None] * change
    by_place = fit.best[:, None] * change * free[:, None]
    noise = np.stack([stream(drawn.seed, f"{n}/assay").standard_normal(drawn.trials)
                      for n in rows.names])  # fmt: skip
    uniform = np.stack([stream(drawn.seed, f"{n}/limit").random(drawn.trials) for n in rows.names])
    sd = np.where(rows.capped, np.abs(rows.value) / 3.5 + rows.sd, rows.sd)
    value = np.where(
        rows.capped[:, None], rows.value[:, None] * uniform,
        rows.value[:, None] + rows.sd[:, None] * noise,
    )  # fmt: skip
    reach_amount, reach_place = spread[:, None] ** 2 * by_amount, place_sd[:, None] ** 2 * by_place
    covariance = by_amount.T @ reach_amount + by_place.T @ reach_place + np.diag(sd**2)
    fitted = low.T @ wanted + change.T @ (wanted * place)
    step = np.linalg.solve(covariance, value - fitted)
    x = np.maximum(wanted + reach_amount @ step, 1e-3 * wanted + 1e-7)
    x *= 100.0 / x.sum(axis=0)
    for j, amount in enumerate(prior.amounts):
        if amount.kind == "interval":
            x[j] = np.minimum(x[j], 0.99 * amount.limit)
    if prior.unseen.kind == "log-uniform":
        x[-1] = np.minimum(x[-1], 0.5 * prior.unseen.high_wt_pct)
    x[int(np.argmax(fit.best))] += 100.0 - x.sum(axis=0)
    t = np.clip(place + reach_place @ step, 0.0, 1.0)
    z = drawn.scores[phases, 1:].copy()
    for j, iron in enumerate(prior.iron):
        if not iron.certain:
            z[j] = iron.score(iron.floor_wt_pct + t[j] * (iron.ceiling_wt_pct - iron.floor_wt_pct))
    return x, z


def _folded_prior(fits: list[RowFit], trials: int) -> FoldedPrior:
    first = fits[0].prior
    many = [fit.prior for fit in fits]

    def spread(values: list[list[float]]) -> Array:
        return np.repeat(np.array(values).T, trials, axis=1)

    def along(values: list[float]) -> Array:
        return np.repeat(np.array(values), trials)

    return FoldedPrior(
        np.repeat(
            np.array([[CODES[a.kind] for a in p.amounts] for p in many], dtype=np.int8).T,
            trials,
            axis=1,
        ),
        spread([[a.mean for a in p.amounts] for p in many]),
        spread([[a.shape for a in p.amounts] for p in many]),
        spread([[a.limit for a in p.amounts] for p in many]),
        spread([[float(j in p.hidden) for j in range(len(p.amounts))] for p in many]),
        first.iron,
        FoldedUnseen(
            first.unseen.kind == "log-uniform",
            along([np.log(max(p.unseen.median_wt_pct, 1e-12)) for p in many]),
            along([p.unseen.ln_sd for p in many]),
            along([p.unseen.high_wt_pct for p in many]),
        ),
        first.iron_oxide_low,
        first.iron_oxide_change,
    )


def _folded_rows(fits: list[RowFit], trials: int) -> FoldedRows:
    first = fits[0].rows
    order = np.argsort(first.capped, kind="stable")
    sd = np.stack([fit.rows.sd[order] for fit in fits], axis=1)
    value = np.stack([fit.rows.value[order] for fit in fits], axis=1)
    return FoldedRows(
        int(np.sum(~first.capped)),
        np.repeat(first.low[:, order] / sd, trials, axis=2),
        np.repeat(first.change[:, order] / sd, trials, axis=2),
        np.repeat(value / sd, trials, axis=1),
    )
