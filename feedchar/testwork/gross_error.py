"""Which single mistake would explain a balance that does not close?

Each candidate fault is undone and the balance fitted again; the fault that then fits best, after
its freedom and the number of its rivals are charged for, is named (a generalised likelihood
ratio). One fault at a time: two at once may be found one after the other, or not at all.

A swap of two bags from one split, weights and assays together, leaves every balance closed. Only
`wrong_way_round` can see it, from what each bag is supposed to be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.errors import InputError
from feedchar.testwork.bags import Bags, split_bags
from feedchar.testwork.bilinear import BagBalance, chi_square_of, reconcile_bags

Array = NDArray[np.float64]

FE2O3_PER_FE = 1.42974
"""Fe2O3 over Fe by mass, 159.688/(2 x 55.845). [-]"""

ALARM_SCORE = 6.0
"""Log of the odds that a fault must reach to be named; a guess, checked on synthetic tests. [-]"""

TOLD_APART = 3.0
"""Faults whose score is nearer than this to the best cannot be told from it. [-]"""

USUAL_LOSS = 0.003
SMALLEST_LOSS = 0.01
"""Handling loss of a split that is as usual, and that is worth a word; common practice. [-]"""

LOSS_BEYOND = 3.5
"""By how many sd of the weights a loss must exceed the usual one before a bag is missed. [-]"""


@dataclass(frozen=True)
class Fault:
    """One candidate mistake and how well undoing it mends the balance."""

    kind: str
    """labels swapped | mass missing | iron basis | weight wrong | assay wrong"""
    bags: tuple[str, ...]
    """The pair, the bag that was split, the laboratory's bags, or the one bag."""
    detail: str
    """What exactly, in words."""
    chi_square_fall: float
    """Fall of chi-square when the fault is undone. [-]"""
    score: float
    """Half that fall less what the fault's freedom and its rivals cost; log odds. [-]"""


@dataclass(frozen=True)
class Diagnosis:
    """What a tree of bags says about its own mistakes."""

    balance: BagBalance
    """The balance with nothing undone."""
    faults: tuple[Fault, ...]
    """Best first; only those whose undoing mends the balance at all."""
    alarm: bool
    """True when the best fault is beyond chance."""
    not_told_apart: tuple[Fault, ...]
    """Other faults that explain the data about as well as the best."""


@dataclass(frozen=True)
class _Candidate:
    kind: str
    bags: tuple[str, ...]
    detail: str
    undone: Bags
    freedom: int
    rivals: int


def weighing_sd_g(
    mass_g: ArrayLike, balance_sd_g: float = 0.05, handling_share: float = USUAL_LOSS
) -> float | Array:
    """Standard deviation of a bag's mass, with what handling costs.

    Parameters
    ----------
    mass_g : float or array
        Mass of the bag. [g]
    balance_sd_g : float
        Of the balance. [g]
    handling_share : float
        Usual loss of a split as a share of the mass; a guess. [-]

    Returns
    -------
    float or array
        Standard deviation. [g]

    Raises
    ------
    InputError
        A share or a balance sd below 0, or both 0.

    References
    ----------
    common practice, no source
    """
    if balance_sd_g < 0.0 or handling_share < 0.0 or balance_sd_g + handling_share == 0.0:
        msg = "the sd of the balance and the handling share must be 0 or more, not both"
        raise InputError(msg)
    sd = np.hypot(balance_sd_g, handling_share * np.asarray(mass_g, dtype=float))
    return float(sd) if np.ndim(sd) == 0 else sd


def find_gross_error(bags: Bags, iron_oxides: tuple[str, ...] = ("Fe2O3",)) -> Diagnosis:
    """The single mistake that explains best why a tree of bags does not close.

    Candidates: two labels swapped (assays only, or weights and assays), mass missing after a split
    (a lost bag), one laboratory's iron on another basis (factor 1.43), one weight, one assay.

    Parameters
    ----------
    bags : Bags
        The tree with weights, assays and laboratories; sds must include handling. [g, wt %]
    iron_oxides : tuple of str
        Oxides that a laboratory may have reported as metal. [-]

    Returns
    -------
    Diagnosis
        The faults in order, and whether the best is beyond chance. [-]

    Raises
    ------
    InputError
        No bag was weighed.

    References
    ----------
    narasimhan_2000, generalised likelihood ratio; the penalty for freedom after Schwarz 1978, from
    memory.
    """
    balance = reconcile_bags(bags)
    data = int((~np.isnan(bags.mass)).sum() + (~np.isnan(bags.assay)).sum())
    best: dict[tuple[str, tuple[str, ...]], Fault] = {}
    for candidate in _candidates(bags):
        _keep_best(best, _judge(candidate, balance.chi_square, data))
    for candidate in _basis_candidates(bags, iron_oxides):
        _keep_best(best, _judge(candidate, balance.chi_square, data))
    for fault in _missing_mass(bags, balance.chi_square, data):
        _keep_best(best, fault)
    faults = sorted(best.values(), key=lambda fault: (-fault.score, fault.kind, fault.bags))
    mending = tuple(fault for fault in faults if fault.chi_square_fall > 0.0)
    alarm = bool(mending) and mending[0].score > ALARM_SCORE
    near = tuple(f for f in mending[1:] if f.score > mending[0].score - TOLD_APART)
    return Diagnosis(balance, mending, alarm, near if alarm else ())


def wrong_way_round(richer: float, poorer: float, richer_sd: float, poorer_sd: float) -> float:
    """By how many sd a bag that should be richer is the poorer one.

    Parameters
    ----------
    richer, poorer : float
        Iron of the magnetics, and of the non-magnetics of the same split. [wt %]
    richer_sd, poorer_sd : float
        Their standard deviations, not both 0. [wt %]

    Returns
    -------
    float
        Positive when the labels look exchanged; above 2 say so. [-]

    Raises
    ------
    InputError
        Sds that are both 0 or negative.

    References
    ----------
    common practice, no source
    """
    sd = float(np.hypot(richer_sd, poorer_sd))
    if not sd > 0.0 or min(richer_sd, poorer_sd) < 0.0:
        msg = "the sds of two assays must be 0 or more and not both 0"
        raise InputError(msg)
    return (poorer - richer) / sd


def _judge(candidate: _Candidate, before: float, data: int) -> Fault:
    fall = before - chi_square_of(candidate.undone, worth=before)
    cost = 0.5 * candidate.freedom * np.log(data) + np.log(candidate.rivals)
    return Fault(candidate.kind, candidate.bags, candidate.detail, fall, float(0.5 * fall - cost))


def _keep_best(best: dict[tuple[str, tuple[str, ...]], Fault], fault: Fault) -> None:
    key = (fault.kind, fault.bags)
    if key not in best or fault.score > best[key].score:
        best[key] = fault


def _candidates(bags: Bags) -> Iterator[_Candidate]:
    """Swapped labels, one assay, one weight (those that no missing mass explains)."""
    assayed = np.flatnonzero(~np.isnan(bags.assay).all(axis=1))
    pairs = list(combinations(assayed.tolist(), 2))
    for i, j in pairs:
        names = (bags.bag[i], bags.bag[j])
        order = np.arange(len(bags.bag))
        order[[i, j]] = j, i
        assays = replace(
            bags,
            assay=bags.assay[order],
            assay_sd=bags.assay_sd[order],
            laboratory=tuple(bags.laboratory[k] for k in order),
        )
        yield _Candidate("labels swapped", names, "assays exchanged", assays, 0, 2 * len(pairs))
        both = replace(assays, mass=bags.mass[order], mass_sd=bags.mass_sd[order])
        detail = "weights and assays exchanged"
        yield _Candidate("labels swapped", names, detail, both, 0, 2 * len(pairs))
    seen = np.argwhere(~np.isnan(bags.assay)).tolist()
    for i, k in seen:
        assay = bags.assay.copy()
        assay[i, k] = np.nan
        undone = replace(bags, assay=assay)
        yield _Candidate("assay wrong", (bags.bag[i],), bags.oxide[k], undone, 1, len(seen))
    inner = [i for i in split_bags(bags.parent).tolist() if bags.parent[i] >= 0]
    weighed = [i for i in inner if not np.isnan(bags.mass[i])]
    for i in weighed:
        undone = _unweighed(bags, i)
        yield _Candidate("weight wrong", (bags.bag[i],), "mass", undone, 1, len(weighed))


def _basis_candidates(bags: Bags, iron_oxides: tuple[str, ...]) -> Iterator[_Candidate]:
    """One laboratory gives Fe where the others give Fe2O3, or the other way about."""
    columns = [k for k, name in enumerate(bags.oxide) if name in iron_oxides]
    names = sorted({name for name in bags.laboratory if name})
    if len(names) < 2:
        return
    for name in names:
        rows = np.array([name == other for other in bags.laboratory])
        cells = np.ix_(np.flatnonzero(rows), np.asarray(columns, dtype=np.intp))
        for factor, word in ((FE2O3_PER_FE, "low"), (1.0 / FE2O3_PER_FE, "high")):
            assay, sd = bags.assay.copy(), bags.assay_sd.copy()
            assay[cells] *= factor
            sd[cells] *= factor
            undone = replace(bags, assay=assay, assay_sd=sd)
            detail = f"iron of {name} is {word} by 1.43 against the others"
            theirs = tuple(bag for bag, his in zip(bags.bag, rows, strict=True) if his)
            yield _Candidate("iron basis", theirs, detail, undone, 0, 2 * len(names))


def _missing_mass(bags: Bags, before: float, data: int) -> Iterator[Fault]:
    """A split whose bags weigh too little: cut there, the missing part is free in all it holds.

    What is missing may also be like one of the bags that remain, or like the feed itself: then a
    single weight explains it, and the fault is the same to the person who looks for a bag.
    """
    nodes = split_bags(bags.parent).tolist()
    for node in nodes:
        children = np.flatnonzero(bags.parent == node)
        parent = bags.parent.copy()
        parent[children] = -1
        cut = replace(bags, parent=parent)
        if np.isnan(bags.mass[[node, *children]]).any():
            continue
        bag, parts = float(bags.mass[node]), bags.mass[children]
        lost = bag - float(parts.sum())
        sd = float(np.linalg.norm(bags.mass_sd[[node, *children]]))
        if lost < SMALLEST_LOSS * bag or lost - USUAL_LOSS * bag < LOSS_BEYOND * sd:
            continue  # as weighed: the losses of later splits must not add up to this one
        share = lost / bag
        name = (bags.bag[node],)
        detail = f"{100.0 * share:.2f} % of its mass is not in the bags split from it"
        freedom = 1 + int((~np.isnan(bags.assay[[node, *children]]).any(axis=0)).sum())
        free = _Candidate("mass missing", name, detail, cut, freedom, len(nodes))
        yield _judge(free, before, data)
        leaves = [int(i) for i in children if i not in nodes]
        roots = [node] if bags.parent[node] < 0 else []
        for i in leaves + roots:
            like = _Candidate("mass missing", name, detail, _unweighed(bags, i), 1, len(nodes))
            yield _judge(like, before, data)


def _unweighed(bags: Bags, row: int) -> Bags:
    mass = bags.mass.copy()
    mass[row] = np.nan
    return replace(bags, mass=mass)
