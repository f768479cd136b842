"""From the difference of measured and predicted bags to its likely cause."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from math import exp, log

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc

from feedchar.assembly.shifted import LADDERS, Ladder, laddered
from feedchar.assembly.subset import Trials
from feedchar.assembly.tested import PredictedBag
from feedchar.chemistry.mineralogy import UNSEEN
from feedchar.results.comparison import Cause
from feedchar.sample.names import fold
from feedchar.testwork.bags import Bags
from feedchar.testwork.explained import Misfit, misfit, score_of, slope_over_trials
from feedchar.testwork.figures import Figure, measured
from feedchar.testwork.gross_error import FE2O3_PER_FE
from feedchar.testwork.likelihood import ASSAY, SHARE, compared

Array = NDArray[np.float64]

NAMED_SCORE = 3.0
"""Log odds that a cause must reach to be named: 20 to 1 (a guess). [-]"""
TOLD_APART = 2.0
"""Causes whose score is nearer than this to the best cannot be told from it. [-]"""
SHOWN = 6
FARTHEST_WEIGHT_LN = log(2.0)
"""More than twice a weight, or half of it, is no slip of a balance or a lost bag. [-]"""
FARTHEST_LN = log(10.0)
"""More than ten times a mineral's share, or a tenth, is no explanation. [-]"""


@dataclass(frozen=True)
class Difference:
    """Measured and predicted figures of a campaign, D of them."""

    bags: Bags
    figures: tuple[Figure, ...]
    predicted: Array
    """(T, D) on the scale of comparison."""
    misfit: Misfit


def predicted_figures(
    bags: Bags, figures: tuple[Figure, ...], predicted: tuple[PredictedBag, ...]
) -> tuple[tuple[Figure, ...], Array]:
    """The figures that are predicted, and the trials of each on the scale of comparison.

    Parameters
    ----------
    bags : Bags
        The forest of bags. [-]
    figures : tuple of Figure
        Those that were measured. [-]
    predicted : tuple of PredictedBag
        The prediction. [-]

    Returns
    -------
    figures : tuple of Figure
        D of those given. [-]
    values : array, shape (T, D)
        Trials. [-]

    References
    ----------
    Definition of the odds.
    """
    by_name = {fold(one.bag): one for one in predicted}
    kept, columns = [], []
    for figure in figures:
        one = by_name.get(fold(bags.bag[figure.bag]))
        if one is None or one.share is None:
            continue
        if figure.oxide < 0:
            column = compared(one.share, SHARE)
        else:
            column = compared(one.oxide(bags.oxide[figure.oxide]), ASSAY)
        if np.all(np.isfinite(column)):
            kept.append(figure)
            columns.append(column)
    return tuple(kept), np.array(columns).T if columns else np.empty((1, 0))


def difference_of(
    bags: Bags, figures: tuple[Figure, ...], predicted: tuple[PredictedBag, ...]
) -> Difference:
    """Measured and predicted figures together.

    Parameters
    ----------
    bags : Bags
        Weights and assays, mistakes undone. [g, wt %]
    figures : tuple of Figure
        Those that were measured. [-]
    predicted : tuple of PredictedBag
        The prediction. [-]

    Returns
    -------
    Difference
        Only figures that are predicted. [-]

    References
    ----------
    As `explained.misfit`.
    """
    kept, values = predicted_figures(bags, figures, predicted)
    value, sd = measured(bags, kept)
    return Difference(bags, kept, values, misfit(value, sd, values))


def causes_of(
    difference: Difference,
    trials: Trials,
    predict: Callable[[Trials], tuple[PredictedBag, ...]],
) -> tuple[Cause, ...]:
    """Changes that would explain the difference, best first.

    Machine: the typical case is computed again with one thing moved. Feed: how the figures move
    with each mineral over the trials. Mistakes: two labels exchanged, iron for its oxide, one
    weight, one assay.

    Parameters
    ----------
    difference : Difference
        D figures. [-]
    trials : Trials
        What was predicted from. [-]
    predict : callable
        The prediction of the same tests from other trials. [-]

    Returns
    -------
    tuple of Cause
        The best few that explain anything; none is named that chance could have given. [-]

    References
    ----------
    Generalised likelihood ratio after narasimhan_2000; thresholds are guesses.
    """
    if not difference.figures:
        return ()
    found = [
        *_machine(difference, trials, predict),
        *_feed(difference, trials),
        *_mistakes(difference),
    ]
    count = len(difference.figures)
    causes = []
    for name, detail, gain, freedom, rivals, look_at in found:
        score = score_of(gain, freedom, rivals, count)
        left = max(difference.misfit.chi_square - 2.0 * gain, 0.0)
        chance = float(chdtrc(max(count - freedom, 1), left))
        causes.append(Cause(name, detail, gain, score, False, look_at, chance))
    causes.sort(key=lambda one: (-one.score, one.cause, one.detail))
    causes = [one for one in causes if one.ln_likelihood_gain > 0.5][:SHOWN]
    if not causes or causes[0].score < NAMED_SCORE:
        return tuple(causes)
    least = max(NAMED_SCORE, causes[0].score - TOLD_APART)
    return tuple(replace(one, named=one.score >= least) for one in causes)


_Found = tuple[str, str, float, int, int, str]


def _machine(
    difference: Difference,
    trials: Trials,
    predict: Callable[[Trials], tuple[PredictedBag, ...]],
) -> Iterator[_Found]:
    for ladder in LADDERS:
        _, values = predicted_figures(
            difference.bags, difference.figures, predict(laddered(trials, ladder))
        )
        moves = values[1:] - values[0]
        gains = [difference.misfit.gain_at(move) for move in moves]
        best = int(np.argmax(gains))
        if gains[best] > 0.0:
            yield (
                _name(ladder, best), ladder.unit.format(ladder.steps[best]), gains[best], 1,
                len(LADDERS), ladder.look_at,
            )  # fmt: skip


def _name(ladder: Ladder, step: int) -> str:
    typical = {"missed by the machine": 0.03, "sand carried": 1.0, "pull of the machine": 1.0}
    if ladder.cause not in typical:
        return ladder.cause
    more = ladder.steps[step] > typical[ladder.cause]
    words = {
        "missed by the machine": ("missed by the machine", "less missed than usual"),
        "sand carried": ("more sand carried", "less sand carried"),
        "pull of the machine": ("stronger pull", "weaker pull"),
    }
    return words[ladder.cause][0 if more else 1]


def _feed(difference: Difference, trials: Trials) -> Iterator[_Found]:
    mineralogy = trials.mineralogy
    inputs = []
    for place, phase in enumerate(mineralogy.phases):
        amount = mineralogy.mass_fraction[:, place]
        if phase.role != "host" and np.all(amount > 0.0):
            what = "iron that no method has named" if phase.name == UNSEEN else phase.name
            inputs.append(("wrong mineral list", what, "as listed", np.log(amount)))
        pull = mineralogy.susceptibility_m3_kg[:, place]
        if phase.role == "removable" and np.all(pull > 0.0):
            words = f"susceptibility of {phase.name}"
            inputs.append(("other susceptibility", words, "as taken", np.log(pull)))
    for name, what, than, cause in inputs:
        slope = slope_over_trials(difference.predicted, cause)
        if slope is None:
            continue
        gain, far = difference.misfit.gain_along(slope)
        if abs(far) > FARTHEST_LN:
            far = FARTHEST_LN if far > 0.0 else -FARTHEST_LN
            gain = difference.misfit.gain_at(far * slope)
        look = "count it again, by size and fraction" if name[0] == "w" else "measure it apart"
        yield name, f"{what} about {exp(far):.2g} times {than}", gain, 1, len(inputs), look


def _mistakes(difference: Difference) -> Iterator[_Found]:
    bags, figures, base = difference.bags, difference.figures, difference.misfit
    whole = set().union(*(set(one.whole) for one in figures), {one.bag for one in figures})
    now = measured(bags, figures)[0]

    def gain_of(changed: Bags) -> float:
        value = measured(changed, figures)[0]
        return base.gain_at(now - value) if np.all(np.isfinite(value)) else -np.inf

    told = sorted({one.bag for one in figures if one.oxide >= 0})
    pairs = list(combinations(told, 2))
    for i, j in pairs:
        order = np.arange(len(bags.bag))
        order[[i, j]] = j, i
        assays = replace(bags, assay=bags.assay[order], assay_sd=bags.assay_sd[order])
        both = replace(assays, mass=bags.mass[order], mass_sd=bags.mass_sd[order])
        for changed, words in ((assays, "assays exchanged"), (both, "whole bags exchanged")):
            detail = f"{bags.bag[i]} and {bags.bag[j]}: {words}"
            look = "the labels of both; assay both again"
            yield "swapped labels", detail, gain_of(changed), 0, 2 * len(pairs), look
    for name in sorted({lab for lab in bags.laboratory if lab}):
        rows = np.array([lab == name for lab in bags.laboratory])
        if "Fe2O3" not in bags.oxide or not rows.any():
            continue
        k = bags.oxide.index("Fe2O3")
        for factor, words in ((FE2O3_PER_FE, "too low"), (1.0 / FE2O3_PER_FE, "too high")):
            assay = bags.assay.copy()
            assay[rows, k] *= factor
            detail = f"iron of {name} {words} by 1.43, as Fe is against Fe2O3"
            gain = gain_of(replace(bags, assay=assay))
            yield "factor between laboratories", detail, gain, 0, 2, "ask what the figure is"
    seen = [d for d, one in enumerate(figures) if one.oxide >= 0]
    for d in seen:
        unit = np.zeros(len(figures))
        unit[d] = 1.0
        gain, far = base.gain_along(unit)
        what = f"{bags.oxide[figures[d].oxide]} of {bags.bag[figures[d].bag]}"
        side = "high" if far > 0.0 else "low"
        detail = f"{what} about {exp(min(abs(far), 20.0)):.2g} times too {side}"
        yield "one assay", detail, gain, 1, len(seen), "assay that bag again"
    weighed = sorted(i for i in whole if np.isfinite(bags.mass[i]))
    for i in weighed:
        mass = bags.mass.copy()
        mass[i] *= 1.02
        line = (measured(replace(bags, mass=mass), figures)[0] - now) / log(1.02)
        gain, far = base.gain_along(line)
        if abs(far) > FARTHEST_WEIGHT_LN:
            far = FARTHEST_WEIGHT_LN if far > 0.0 else -FARTHEST_WEIGHT_LN
            gain = base.gain_at(far * line)
        detail = f"weight of {bags.bag[i]} about {exp(far):.2g} times what it should be"
        yield "one weight or a lost bag", detail, gain, 1, len(weighed), "weigh that bag again"
