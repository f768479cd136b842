"""Quantities and figures before and after tests, as result records."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.feed import iron_of_phases
from feedchar.assembly.tested_figures import TestedFeed, observed_of
from feedchar.chemistry.mineralogy import UNSEEN, Mineralogy
from feedchar.results.taught import Narrowed, TestedFigure
from feedchar.sample.records import Note
from feedchar.testwork.calibrate import Learned
from feedchar.testwork.likelihood import ASSAY, Observed
from feedchar.testwork.scores import parameters_of
from feedchar.uncertainty.summary import QUANTILES, Uncertain, summarise

Array = NDArray[np.float64]

FAR_OFF_SD = 3.0
"""A figure farther off than this is one that feed and machine cannot both explain. [-]"""
PHASES_SHOWN = 4
MACHINE = (
    ("missed by the machine", "%", "bypass", 100.0),
    ("sand carried", "%", "entrainment", 100.0),
    ("pull, of that computed", "-", "pull_factor", 1.0),
    ("adhesion of a grain", "nN", "adhesion_N", 1e9),
)
"""Words, unit, field and factor of each parameter of the machine."""


def machine_narrowed(before: Array, after: Array) -> tuple[Narrowed, ...]:
    """Parameters of the machine before and after.

    Parameters
    ----------
    before, after : array, shape (N, 4)
        Scores. [-]

    Returns
    -------
    tuple of Narrowed
        In the units of the trade. [-]
    """
    first, second = parameters_of(before), parameters_of(after)
    return tuple(
        narrowed(words, unit, factor * getattr(first, name), factor * getattr(second, name))
        for words, unit, name, factor in MACHINE
    )


def narrowed(quantity: str, unit: str, before: Array, after: Array) -> Narrowed:
    """One quantity before and after.

    Parameters
    ----------
    quantity, unit : str
        Words. [-]
    before, after : array, shape (N,)
        Draws, without a typical case. [unit]

    Returns
    -------
    Narrowed
        Typical values are medians. [unit]
    """
    first, second = _middle_first(before), _middle_first(after)
    width = [
        float(np.diff(np.nanquantile(one, (QUANTILES[0], QUANTILES[-1])))[0])
        for one in (before, after)
    ]
    share = 1.0 - width[1] / width[0] if width[0] > 0.0 else None
    return Narrowed(quantity, unit, first, second, share)


def figures_told(feeds: Sequence[TestedFeed], learned: Learned) -> tuple[TestedFigure, ...]:
    """Every measured figure beside what was said of it before and after.

    Parameters
    ----------
    feeds : sequence of TestedFeed
        As learned from. [-]
    learned : Learned
        N trials. [-]

    Returns
    -------
    tuple of TestedFigure
        Weights in per cent of the outlets of their step. [%, wt %]
    """
    observed = observed_of(feeds)
    off = _off_sd(observed, learned.predicted)
    told = []
    at = 0
    for feed in feeds:
        for one in feed.figures:
            share = one.kind != ASSAY
            told.append(
                TestedFigure(
                    sample=feed.sample.name,
                    test=one.test,
                    bag=one.bag,
                    product=one.product,
                    quantity=one.quantity,
                    unit="%" if share else "wt %",
                    measured=100.0 * one.value if share else one.value,
                    before=_middle_first(_unscaled(learned.before[at], share)),
                    after=_middle_first(_unscaled(learned.predicted[at], share)),
                    off_sd=float(off[at]) if np.isfinite(off[at]) else None,
                )
            )
            at += 1
    return tuple(told)


def feed_narrowed(before: Mineralogy, after: Mineralogy) -> tuple[Narrowed, ...]:
    """Iron of the bag, and the phases that carry most of it, before and after.

    Parameters
    ----------
    before, after : Mineralogy
        Trials. [-]

    Returns
    -------
    tuple of Narrowed
        Row 0 left out. [wt %]
    """
    iron = iron_of_phases(after)
    carried = [
        (float(iron[1:, k].mean()), phase.name)
        for k, phase in enumerate(after.phases)
        if phase.name == UNSEEN or phase.role == "removable"
    ]
    carried.sort(key=lambda one: (-one[0], one[1]))
    names = [phase.name for phase in after.phases]
    rows = [
        narrowed(
            "Fe2O3 of the bag",
            "wt %",
            iron_of_phases(before).sum(axis=1)[1:],
            iron.sum(axis=1)[1:],
        )
    ]
    for _, name in carried[:PHASES_SHOWN]:
        k = names.index(name)
        first, second = (100.0 * one.mass_fraction[1:, k] for one in (before, after))
        if first.any():
            rows.append(narrowed(name, "% of the bag", first, second))
    return tuple(rows)


def far_off(figures: Sequence[TestedFigure]) -> tuple[Note, ...]:
    """What to know of figures that neither feed nor machine explains.

    Parameters
    ----------
    figures : sequence of TestedFigure
        All of them. [-]

    Returns
    -------
    tuple of Note
        None, or a warning that names the worst. [-]
    """
    far = [one for one in figures if one.off_sd is not None and abs(one.off_sd) > FAR_OFF_SD]
    if not far:
        return ()
    worst = max(far, key=lambda one: (abs(one.off_sd or 0.0), one.bag))
    text = (
        f"{len(far)} of {len(figures)} figures of the tests lie more than {FAR_OFF_SD:g} sd from "
        f"what any feed and machine of the trials gives; the worst is {worst.quantity} of bag "
        f"{worst.bag}, {worst.off_sd:+.1f} sd: see feedchar compare"
    )
    return (Note("tests-far-off", text, "warning"),)


def _off_sd(observed: Observed, predicted: Array) -> Array:
    spread = np.sqrt(observed.total_sd**2 + np.nanvar(predicted, axis=1))
    return np.asarray((observed.value - np.nanmedian(predicted, axis=1)) / spread)


def _unscaled(scaled: Array, share: bool) -> Array:
    value = np.exp(scaled)
    return 100.0 * value / (1.0 + value) if share else value


def _middle_first(draws: Array) -> Uncertain:
    return summarise(np.append(np.nanmedian(draws), draws))
