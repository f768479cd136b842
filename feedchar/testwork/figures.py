"""Measured shares and assays of the bags on the scale on which a prediction is compared.

Shares are compared as logarithms of their odds and assays as logarithms, so that a small bag counts
by its factor. The non-magnetics' share is what the others leave and is not counted twice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from feedchar.testwork.bags import Bags
from feedchar.testwork.campaign import Campaign

Array = NDArray[np.float64]

LEAST = 1e-6
"""Shares and assays below this count as this, so that a logarithm exists. [-, wt %]"""
DISCREPANCY_LN = 0.15
"""Difference between the model and a machine that no parameter explains, as ln-sd (guess). [-]"""


@dataclass(frozen=True)
class Figure:
    """One measured figure of one bag."""

    bag: int
    """Index into the campaign's bags."""
    oxide: int
    """Index into the oxides; -1 for the share of mass."""
    whole: tuple[int, ...]
    """Bags whose mass makes the whole of a share; empty for an assay."""


def figures_of(campaign: Campaign) -> tuple[Figure, ...]:
    """Every figure that a prediction can be held against.

    Parameters
    ----------
    campaign : Campaign
        The forest of bags. [-]

    Returns
    -------
    tuple of Figure
        Shares of magnetics, middlings and screened bags, and all assays but those of feeds, in the
        order of the bags. [-]

    References
    ----------
    common practice, no source
    """
    bags, found = campaign.bags, []
    for i, row in enumerate(campaign.row):
        if row is None or row.product == "feed":
            continue
        whole = _whole(campaign, i)
        if row.product in ("magnetics", "middlings", "screened") and whole:
            found.append(Figure(i, -1, whole))
        if row.product != "dust":
            found += [
                Figure(i, k, ())
                for k in range(len(bags.oxide))
                if bags.assay[i, k] > 0.0 and np.isfinite(bags.assay[i, k])
            ]
    return tuple(found)


def _whole(campaign: Campaign, bag: int) -> tuple[int, ...]:
    """The outlets of the step that made a bag, or the bag that was screened."""
    row, parent = campaign.row[bag], int(campaign.bags.parent[bag])
    if row is None:
        return ()
    if row.product == "screened":
        return (parent,) if np.isfinite(campaign.bags.mass[parent]) else ()
    same = []
    for other in campaign.children(parent).tolist():
        its = campaign.row[other]
        if its is None or its.product not in ("magnetics", "middlings", "non-magnetics"):
            continue
        if (its.step, its.repeat, its.test) == (row.step, row.repeat, row.test):
            same.append(other)
    complete = any(
        its is not None and its.product == "non-magnetics"
        for its in (campaign.row[i] for i in same)
    )
    return tuple(same) if complete and len(same) > 1 else ()


def measured(bags: Bags, figures: tuple[Figure, ...]) -> tuple[Array, Array]:
    """Values and errors of the figures on the scale of comparison.

    Parameters
    ----------
    bags : Bags
        Weights and assays. [g, wt %]
    figures : tuple of Figure
        D of them. [-]

    Returns
    -------
    value, sd : array, shape (D,)
        Logarithm of the odds or of the assay, and its standard deviation. [-]

    References
    ----------
    First-order propagation, derived here.
    """
    value, sd = np.empty(len(figures)), np.empty(len(figures))
    for d, one in enumerate(figures):
        if one.oxide >= 0:
            raw, error = bags.assay[one.bag, one.oxide], bags.assay_sd[one.bag, one.oxide]
            value[d], sd[d] = np.log(max(raw, LEAST)), error / max(raw, LEAST)
            continue
        share, error = share_of(bags, one)
        value[d] = odds(share)
        sd[d] = error / max(share * (1.0 - share), LEAST)
    return value, sd


def share_of(bags: Bags, figure: Figure) -> tuple[float, float]:
    """Share of mass that a figure stands for, with its error.

    Parameters
    ----------
    bags : Bags
        Weights. [g]
    figure : Figure
        A share. [-]

    Returns
    -------
    share, sd : float
        Of the mass of its whole. [-]

    References
    ----------
    First-order propagation, derived here.
    """
    whole = list(figure.whole)
    total = float(bags.mass[whole].sum())
    own, own_sd = float(bags.mass[figure.bag]), float(bags.mass_sd[figure.bag])
    rest_sd = float(np.linalg.norm([bags.mass_sd[i] for i in whole if i != figure.bag]))
    share = own / total
    if figure.bag not in whole:
        return share, share * float(np.hypot(own_sd / own, rest_sd / total))
    return share, float(np.hypot((1.0 - share) * own_sd, share * rest_sd)) / total


def odds(share: ArrayLike) -> Array:
    """Logarithm of the odds of a share.

    Parameters
    ----------
    share : array_like
        Share, 0 to 1. [-]

    Returns
    -------
    array
        ln(s / (1 - s)). [-]

    References
    ----------
    Definition of the odds.
    """
    kept = np.clip(np.asarray(share, dtype=float), LEAST, 1.0 - LEAST)
    return np.asarray(np.log(kept) - np.log1p(-kept))
