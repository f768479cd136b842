"""Rows with an assay: the mineralogy that honours minerals and assay together, many at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.batch import folded
from feedchar.batch.amounts import Amounts
from feedchar.batch.drawn import Drawn, measured_oxides, places_of
from feedchar.batch.folded import FoldedChains, FoldedPrior, FoldedRows, FoldedUnseen, Streams
from feedchar.batch.product import FeedTrials, nodes_of
from feedchar.batch.rows import ABSENT, ASSUMED, FOUND, INTERVAL, NOT_FOUND, Block
from feedchar.batch.sweeps import settle
from feedchar.chemistry.agreement import WARN_SD, contradict, misfit_of
from feedchar.chemistry.assay import assay_rows
from feedchar.chemistry.diagnosis import diagnosis_of
from feedchar.chemistry.fit import Fit
from feedchar.chemistry.ingredients import Feed
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.sanity_of_feed import feed_notes
from feedchar.chemistry.start import _line_places, amount_spreads, typical_fit
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.traces import missing_carriers
from feedchar.sample.records import OxideValue, Sample
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]
Index = NDArray[np.intp]

CHAINS_AT_ONCE = 2000
"""Rows times trials that are swept together."""
KIND_WORDS = {
    FOUND: "gamma", ASSUMED: "assumed", NOT_FOUND: "not found", INTERVAL: "interval",
}  # fmt: skip
CODES = {
    "gamma": folded.GAMMA, "assumed": folded.GAMMA, "not found": folded.NOT_FOUND,
    "interval": folded.INTERVAL, "unseen": folded.UNSEEN,
}  # fmt: skip
_FE2O3 = COLUMN["Fe2O3"]

Pattern = tuple[object, ...]


@dataclass(frozen=True)
class RowFit:
    """What the fit of one row starts from."""

    phases: Index
    """(M,) phases of the row among those of the table, `unseen` last."""
    feed: Feed
    prior: Prior
    rows: Rows
    best: Array
    """(M,) least-squares amounts. [wt %]"""
    place: Array
    """(M,) least-squares places on the mixing lines. [-]"""
    disagree: bool

    @property
    def pattern(self) -> Pattern:
        """What rows must share to be swept together."""
        amounts = self.prior.amounts
        means = [a.mean if a.kind in ("gamma", "assumed") else 0.0 for a in amounts]
        return (
            tuple(self.phases.tolist()),
            self.rows.names,
            tuple(self.rows.capped.tolist()),
            self.prior.unseen.kind,
            int(np.argmax(means)),
        )


def add_carriers(block: Block, chosen: Index, drawn: Drawn) -> None:
    """Phases below detection for oxides that no listed phase of a row can hold.

    Parameters
    ----------
    block : Block
        Rows, changed in place. [-]
    chosen : array of int
        Rows with an assay. [-]
    drawn : Drawn
        Phases of the table. [-]

    References
    ----------
    As feedchar.chemistry.traces.
    """
    names = drawn.names[:-1]
    most = np.maximum(drawn.low, drawn.low + drawn.change)
    most = most + 2.0 * np.stack([i.spread for i in drawn.ingredients])
    for row in chosen:
        kind = block.kind[:, row]
        found = (kind == FOUND) | (kind == ASSUMED)
        mean = block.mean[:, row]
        high = np.where(found, mean * (1.0 + 2.0 / np.sqrt(block.shape[:, row])), 0.0)
        supplied = (high[:, None] / 100.0 * most[:-1]).sum(axis=0)
        listed = frozenset(names[j] for j in np.flatnonzero(kind != ABSENT))
        assay = measured_oxides(block.assay[:, row], block.capped[:, row])
        for name, amount in sorted(missing_carriers(assay, supplied, listed, False).items()):
            at = names.index(name)
            block.kind[at, row], block.limit[at, row] = NOT_FOUND, amount.limit
            block.notes[row].append(f"added below the detection limit: {amount.text}")


def row_fit(block: Block, row: int, n: int, amounts: Amounts, drawn: Drawn) -> RowFit:
    """Prior, measured rows and least squares of one row of the table.

    Parameters
    ----------
    block : Block
        Rows; notes of the sanity rules are added. [-]
    row : int
        Row of the block. [-]
    n : int
        Its place among the amounts. [-]
    amounts : Amounts
        Trials before the assay. [wt %]
    drawn : Drawn
        Phases of the table. [-]

    Returns
    -------
    RowFit
        Ready for the chains. [-]

    References
    ----------
    As feedchar.chemistry.build.
    """
    kind = block.kind[:, row]
    phases = np.append(np.flatnonzero(kind != ABSENT), len(kind))
    listed = [
        Amount(
            KIND_WORDS[int(kind[j])], float(block.mean[j, row]), float(block.shape[j, row]),
            float(block.limit[j, row]),
        )
        for j in phases[:-1]
    ]  # fmt: skip
    feed = Feed(
        tuple(drawn.names[j] for j in phases),
        tuple(drawn.ingredients[j] for j in phases),
        (*listed, Amount("unseen")),
        False,
    )
    prior = Prior(
        feed.amounts,
        tuple(i.iron for i in feed.ingredients),
        amounts.priors[n],
        drawn.low[phases, _FE2O3] / 100.0,
        drawn.change[phases, _FE2O3] / 100.0,
        tuple(np.flatnonzero(amounts.hidden[phases, n]).tolist()),
    )
    assay = measured_oxides(block.assay[:, row], block.capped[:, row])
    typical = amounts.wt_pct[phases, n, 0]
    rows = assay_rows(feed, assay)
    rows = rows.widened(typical_fit(prior, rows.widened(typical), typical)[0])
    best, place = typical_fit(prior, rows, typical)
    disagree = contradict(prior, rows, typical, False)
    disagree |= _rules(block, row, feed, assay)
    return RowFit(phases, feed, prior, rows, best, place, disagree)


def _rules(block: Block, row: int, feed: Feed, assay: dict[str, OxideValue]) -> bool:
    """Notes of the sanity rules; True when one says stop."""
    sample = Sample("", origin=block.origin[row], assay=assay)
    stop = False
    for note in feed_notes(sample, feed, assay, diagnosis_of(sample)):
        if note.severity != "note":
            block.notes[row].append(note.text)
        stop |= note.severity == "stop"
    return stop


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
    As feedchar.chemistry.fit, rows of one pattern at once.
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
