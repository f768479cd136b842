r"""One head assay from its repeats: four kinds of repeat show four different errors.

A reread shows the instrument alone; a new bead also its making; a new split also the sampling and
pulverising of the split; a new bag also the lot. The kinds are nested, so a pair of results apart
by :math:`d` at kind :math:`k` estimates the sum of the variances up to that kind,

.. math:: s_k^2 = \frac{1}{2 n_k} \sum d^2 ,

and the head assay, the mean of means over the nest, has

.. math:: s^2 = \sum_k \sigma_k^2 / m_k , \qquad \sigma_k^2 = s_k^2 - s_{k-1}^2 \ge 0 ,

with :math:`m_k` units of kind :math:`k`. A few pairs say little of a variance, so two pairs of the
default error are added to them. Errors that no repeat shows are still there: unless splits or bags
were repeated, the sd is not below the default's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, sqrt

from feedchar.sample.assay_error import default_assay_sd, least_assay_sd
from feedchar.sample.names import fold
from feedchar.sample.records import Determination, OxideValue

KINDS = ("reread", "new bead", "new split", "new bag")
"""Kinds of repeat, each holding the errors of those before it."""

PRIOR_PAIRS = 2.0
"""Pairs of the default error that stand beside the pairs measured (a guess). [-]"""


@dataclass(frozen=True)
class Repeated:
    """A mean over repeats."""

    value: float
    sd: float
    spread: dict[str, float]
    """Standard deviation of one result as each kind of repeat shows it, before any prior."""


def duplicate_sd(differences: Sequence[float]) -> float:
    """Standard deviation of one result from differences of pairs.

    Parameters
    ----------
    differences : sequence of float
        Second result minus first, at least one. [any]

    Returns
    -------
    float
        Root of the mean square difference over two. [any]

    References
    ----------
    Variance of a difference of two equal errors, closed form; common practice for duplicates.

    Examples
    --------
    >>> round(duplicate_sd([0.01, -0.01, 0.02]), 5)
    0.01
    """
    return sqrt(fsum(d * d for d in differences) / (2.0 * len(differences)))


def nested_sd(spread: dict[str, float], units: dict[str, int]) -> float:
    """Standard deviation of a mean of nested results.

    Parameters
    ----------
    spread : dict of str to float
        Standard deviation of one result that each kind of repeat shows. [any]
    units : dict of str to int
        How many bags, splits, beads and readings went into the mean, by kind. [-]

    Returns
    -------
    float
        Root of the sum of the variance of each kind over its number of units. [any]

    References
    ----------
    Nested (hierarchical) analysis of variance, closed form for balanced designs.

    Examples
    --------
    >>> round(nested_sd({"reread": 0.1, "new split": 0.5}, {"reread": 4, "new split": 2}), 4)
    0.35
    """
    below, total = 0.0, 0.0
    for kind in KINDS:
        if kind in spread:
            variance = max(spread[kind] ** 2, below)
            total += (variance - below) / units[kind]
            below = variance
    return sqrt(total)


def combine(results: Sequence[Determination]) -> Repeated:
    """Mean and error of one oxide of one bag from all its results.

    Parameters
    ----------
    results : sequence of Determination
        Originals and repeats, all found (none below detection). [wt %]

    Returns
    -------
    Repeated
        Mean of means, its standard deviation, and what each kind of repeat shows. [wt %]

    References
    ----------
    The formulae of this module; the two prior pairs are a guess.
    """
    nest = _nest(results)
    means = [_mean(original, nest, len(KINDS)) for original in nest.originals]
    value = fsum(means) / len(means)
    default = default_assay_sd(results[0].oxide, value)
    spread: dict[str, float] = {}
    shrunk: dict[str, float] = {}
    units: dict[str, int] = {}
    for level, kind in enumerate(KINDS):
        pairs = [b.value - a.value for a, b in nest.pairs if b.repeat_kind == kind]
        deeper = [b for _, b in nest.pairs if KINDS.index(b.repeat_kind or "") >= level]
        units[kind] = len(nest.originals) + len(deeper)
        if pairs:
            spread[kind] = duplicate_sd(pairs)
            own, prior = len(pairs) * spread[kind] ** 2, PRIOR_PAIRS * default**2
            shrunk[kind] = sqrt((own + prior) / (len(pairs) + PRIOR_PAIRS))
    sd = nested_sd(shrunk, units) if shrunk else default
    if len(means) > 1:
        free = len(means) - 1
        between = fsum((mean - value) ** 2 for mean in means) + PRIOR_PAIRS * default**2
        sd = max(sd, sqrt(between / (free + PRIOR_PAIRS) / len(means)))
    elif not {"new split", "new bag"} & set(shrunk):
        sd = max(sd, default)
    return Repeated(value, max(sd, least_assay_sd(value)), spread)


@dataclass(frozen=True)
class _Nest:
    originals: tuple[Determination, ...]
    pairs: tuple[tuple[Determination, Determination], ...]
    """A result and one that repeats it."""
    children: dict[int, list[Determination]]
    """Repeats of a result, by its identity."""


def _nest(results: Sequence[Determination]) -> _Nest:
    originals = tuple(r for r in results if r.repeat_kind is None) or tuple(results[:1])
    chosen = {id(original) for original in originals}
    firsts = _firsts(results)
    pairs = []
    children: dict[int, list[Determination]] = {}
    for repeat in results:
        if id(repeat) in chosen:
            continue
        of_bag = firsts.get(fold(repeat.repeat_of or repeat.bag), {})
        parent = of_bag.get(repeat.laboratory) or next(iter(of_bag.values()), originals[0])
        parent = originals[0] if parent is repeat else parent
        pairs.append((parent, repeat))
        children.setdefault(id(parent), []).append(repeat)
    return _Nest(originals, tuple(pairs), children)


def _firsts(
    results: Sequence[Determination],
) -> dict[str, dict[str | None, Determination]]:
    """First result of every bag by laboratory; of a bag that is a repeat, its first repeat."""
    firsts: dict[str, dict[str | None, Determination]] = {}
    for original in (True, False):
        for result in results:
            bag = fold(result.bag)
            leads = result.repeat_kind is None or fold(result.repeat_of or result.bag) != bag
            if leads and original == (result.repeat_kind is None):
                firsts.setdefault(bag, {}).setdefault(result.laboratory, result)
    return firsts


def _mean(result: Determination, nest: _Nest, level: int) -> float:
    """Mean of a result over its repeats of all kinds below a level, level by level."""
    if level == 0:
        return result.value
    below = _mean(result, nest, level - 1)
    kind = KINDS[level - 1]
    repeats = [b for b in nest.children.get(id(result), []) if b.repeat_kind == kind]
    means = [below, *(_mean(b, nest, level - 1) for b in repeats)]
    return fsum(means) / len(means)


def head_assay(results: Sequence[Determination]) -> dict[str, OxideValue]:
    """Head assay from the determinations of the bag as received.

    Parameters
    ----------
    results : sequence of Determination
        Determinations of the whole bag and their repeats. [wt %]

    Returns
    -------
    dict of str to OxideValue
        Oxide to value and standard deviation, in reading order; below detection only where no
        result found it, and then the lowest limit. [wt %]

    References
    ----------
    As `combine`.
    """
    assay: dict[str, OxideValue] = {}
    for oxide in dict.fromkeys(result.oxide for result in results):
        of_it = [result for result in results if result.oxide == oxide]
        found = [result for result in of_it if not result.below_detection]
        if not found:
            lowest = min(of_it, key=lambda r: r.value)
            assay[oxide] = OxideValue(lowest.value, None, True, lowest.place)
            continue
        mean = combine(found)
        sd = mean.sd
        if len(found) < len(of_it):
            # Results left out as below detection pull down: the mean of the rest is that unsure.
            sd = max(sd, default_assay_sd(oxide, mean.value), 0.5 * mean.value)
        alone = len(of_it) == 1
        assay[oxide] = OxideValue(mean.value, None if alone else sd, False, found[0].place)
    return assay
