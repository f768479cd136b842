"""All unconditional draws of a bag: amounts, iron and magnetism before any assay."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feedchar.chemistry.ingredients import Feed
from feedchar.chemistry.mineral_trials import gamma_amounts, small_amounts, standard_scores
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.own_phases import UNIDENTIFIED
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.system import FOUND, Prior
from feedchar.chemistry.unseen import (
    FE2O3_SHARE,
    UnseenPrior,
    unseen_prior,
    unseen_totals,
)

IRON_BEARING_WT_PCT = 1.0
"""A mineral below this hides no iron worth counting when it is not found (guess). [wt %]"""
_FE2O3, _AL2O3 = COLUMN["Fe2O3"], COLUMN["Al2O3"]


@dataclass(frozen=True)
class Draws:
    """Trials before the assay, T rows (row 0 typical), M phases."""

    amounts: Array
    """(T, M) wt % of the bag, rows sum to 100."""
    scores: Array
    """(T, M) standard normal score of the iron of each phase."""
    magnetic_scores: Array
    """(T, M) standard normal score of what iron does not explain of susceptibility."""
    unseen: UnseenPrior
    hidden: tuple[int, ...]
    """Phases whose iron counts towards the unseen total."""


def places(feed: Feed, scores: Array) -> Array:
    """Place of each phase on its mixing line.

    Parameters
    ----------
    feed : Feed
        Phases. [-]
    scores : array, shape (T, M)
        Standard normal scores of iron. [-]

    Returns
    -------
    array, shape (T, M)
        0 at the low-iron end, 1 at the high. [-]

    References
    ----------
    By definition of the records of this room.
    """
    each = [i.iron.place(scores[:, column]) for column, i in enumerate(feed.ingredients)]
    return np.stack(each, axis=1)


def line_ends(feed: Feed) -> tuple[Array, Array]:
    """Oxides at the low end of each mixing line, and their change to the high end.

    Parameters
    ----------
    feed : Feed
        M phases. [-]

    Returns
    -------
    tuple of array
        Low end and change, each shape (M, K), columns OXIDES. [wt %]

    References
    ----------
    By definition of the records of this room.
    """
    low = np.stack([i.model.oxides_low_wt_pct for i in feed.ingredients])
    high = np.stack([i.model.oxides_high_wt_pct for i in feed.ingredients])
    return low, high - low


def hidden_phases(feed: Feed) -> tuple[int, ...]:
    """Phases whose iron counts towards the unseen total.

    Parameters
    ----------
    feed : Feed
        M phases. [-]

    Returns
    -------
    tuple of int
        `unidentified`, minerals with more than 1 % iron that were looked for and not found or
        found only as a limit, and `unseen` itself. [-]

    References
    ----------
    The precedence stated in feedchar.chemistry.unseen (derived).
    """
    chosen = []
    for column, (name, amount) in enumerate(zip(feed.names, feed.amounts, strict=True)):
        undetected = amount.kind in ("not found", "interval")
        iron = feed.ingredients[column].iron.typical_wt_pct > IRON_BEARING_WT_PCT
        if amount.kind == "unseen" or name == UNIDENTIFIED or (undetected and iron):
            chosen.append(column)
    return tuple(chosen)


def draw(
    feed: Feed, origin: str | None, assayed_Fe2O3_wt_pct: float | None, trials: int, seed: int
) -> Draws:
    """Trials of amounts and iron before the assay.

    Parameters
    ----------
    feed : Feed
        Phases with amounts, M of them. [-]
    origin : str or None
        Origin of the bag, which rules the prior of unseen iron. [-]
    assayed_Fe2O3_wt_pct : float or None
        Head assay of iron, when there is one. [wt %]
    trials : int
        Number of draws; row 0 is the typical case. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    Draws
        T = trials + 1 rows. [wt %]

    References
    ----------
    vermeesch_2015 for counts, hillier_2000 for diffraction, smith_2013 for unseen iron.
    """
    names, phases = feed.names[:-1], len(feed.names)
    amounts = np.zeros((trials + 1, phases))
    found = np.zeros(phases, dtype=bool)
    for column, name in enumerate(names):
        amount = feed.amounts[column]
        found[column] = amount.kind in FOUND
        make = gamma_amounts if found[column] else small_amounts
        amounts[:, column] = make(amount, name, trials, seed)
    scores = np.stack([standard_scores(f"{n}/iron", trials, seed) for n in feed.names], axis=1)
    magnetic = [standard_scores(f"{n}/susceptibility", trials, seed) for n in feed.names]
    place = places(feed, scores)
    low, change = line_ends(feed)
    iron = (low[:, _FE2O3] + place * change[:, _FE2O3]) / 100.0
    small = amounts[:, ~found].sum(axis=1)
    amounts[:, found] *= ((100.0 - small) / amounts[:, found].sum(axis=1))[:, None]
    alumina = float(amounts[0] @ (low[:, _AL2O3] + place[0] * change[:, _AL2O3])) / 100.0
    prior = unseen_prior(
        origin, feed.counted, alumina, float(amounts[0] @ iron[0]), assayed_Fe2O3_wt_pct
    )
    hidden = hidden_phases(feed)
    total = unseen_totals(prior, trials, seed)
    named = np.zeros(trials + 1)
    if UNIDENTIFIED in names:
        column = names.index(UNIDENTIFIED)
        named = amounts[:, column] * iron[:, column]
    undetected = [c for c in hidden if not found[c] and c != phases - 1]
    if undetected:
        # Together they hold no more iron than the unseen total leaves them.
        carried = np.sum(amounts[:, undetected] * iron[:, undetected], axis=1)
        room = np.maximum(total - named, 0.0)
        amounts[:, undetected] *= np.minimum(1.0, room / np.maximum(carried, 1e-12))[:, None]
        named = named + np.minimum(carried, room)
        small = amounts[:, ~found].sum(axis=1) - amounts[:, -1]
        amounts[:, found] *= ((100.0 - small) / amounts[:, found].sum(axis=1))[:, None]
    left = np.maximum(total - named, 1e-6)
    amounts[:, -1] = np.minimum(left / FE2O3_SHARE, 0.9 * (100.0 - small))
    amounts[:, found] *= ((100.0 - small - amounts[:, -1]) / (100.0 - small))[:, None]
    return Draws(amounts, scores, np.stack(magnetic, axis=1), prior, hidden)


def prior_of(feed: Feed, draws: Draws) -> Prior:
    """The prior that the draws came from, for the fit.

    Parameters
    ----------
    feed : Feed
        Phases with amounts. [-]
    draws : Draws
        Their draws. [-]

    Returns
    -------
    Prior
        Amounts, iron and the unseen total. [-]

    References
    ----------
    By definition of the records of this room.
    """
    low, change = line_ends(feed)
    return Prior(
        feed.amounts,
        tuple(ingredient.iron for ingredient in feed.ingredients),
        draws.unseen,
        low[:, _FE2O3] / 100.0,
        change[:, _FE2O3] / 100.0,
        draws.hidden,
    )
