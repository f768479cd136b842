"""Measured shares and assays of the bags on the scale on which a prediction is compared.

Shares are compared as logarithms of their odds and assays as logarithms, so that a small bag counts
by its factor. The non-magnetics' share is what the others leave and is not counted twice.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.testwork.bags import Bags
from feedchar.testwork.campaign import Campaign
from feedchar.testwork.likelihood import ASSAY, SHARE, compared, compared_sd

Array = NDArray[np.float64]


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
            kind = ASSAY
        else:
            (raw, error), kind = share_of(bags, one), SHARE
        value[d], sd[d] = compared(raw, kind), compared_sd(raw, error, kind)
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
