"""What the fit of one row with an assay starts from: its prior, its data, least squares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.amounts import Amounts
from feedchar.batch.drawn import Drawn, measured_oxides
from feedchar.batch.rows import ABSENT, ASSUMED, FOUND, INTERVAL, NOT_FOUND, Block
from feedchar.chemistry.agreement import contradict
from feedchar.chemistry.assay import assay_rows
from feedchar.chemistry.diagnosis import diagnosis_of
from feedchar.chemistry.ingredients import Feed
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.sanity_of_feed import feed_notes
from feedchar.chemistry.start import typical_fit
from feedchar.chemistry.system import Prior, Rows
from feedchar.chemistry.traces import missing_carriers
from feedchar.sample.records import OxideValue, Sample

Array = NDArray[np.float64]
Index = NDArray[np.intp]

KIND_WORDS = {
    FOUND: "gamma", ASSUMED: "assumed", NOT_FOUND: "not found", INTERVAL: "interval",
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
    Derived: as feedchar.chemistry.traces.
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
    Derived: as feedchar.chemistry.build.
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
