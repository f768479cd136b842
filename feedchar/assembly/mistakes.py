"""Mistakes of weighing, labelling and assaying that the bags themselves show, and undoing one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from feedchar.results.comparison import MistakeFound
from feedchar.testwork.bags import Bags
from feedchar.testwork.campaign import Campaign
from feedchar.testwork.gross_error import FE2O3_PER_FE, Diagnosis, wrong_way_round
from feedchar.testwork.loss import laboratory_note

MISTAKES_SHOWN = 4
WRONG_WAY_FROM = 2.0
"""By how many sd the magnetics must be the poorer before it is said. [-]"""


def mistakes_of(campaign: Campaign, found: Diagnosis | None) -> tuple[MistakeFound, ...]:
    """Mistakes that the balance, the order of the bags or two laboratories show.

    Parameters
    ----------
    campaign : Campaign
        What was measured. [g, wt %]
    found : Diagnosis or None
        Mistakes of the balance; None where it closes so well that none was looked for. [-]

    Returns
    -------
    tuple of MistakeFound
        Best first; only what is beyond chance is named. [-]
    """
    made = []
    if found is not None and found.alarm:
        near = {(one.kind, one.bags) for one in (found.faults[0], *found.not_told_apart)}
        for one in found.faults[:MISTAKES_SHOWN]:
            named = (one.kind, one.bags) in near
            made.append(
                MistakeFound(
                    one.kind, one.bags, one.detail, one.chi_square_fall, one.score, "balance", named
                )
            )
    bags = campaign.bags
    if "Fe2O3" in bags.oxide:
        k = bags.oxide.index("Fe2O3")
        for node in campaign.splits:
            by_product = {
                row.product: int(i)
                for i in campaign.children(node)
                if (row := campaign.row[int(i)]) is not None and not np.isnan(bags.assay[i, k])
            }
            rich, poor = by_product.get("magnetics"), by_product.get("non-magnetics")
            if rich is None or poor is None:
                continue
            far = wrong_way_round(
                bags.assay[rich, k],
                bags.assay[poor, k],
                bags.assay_sd[rich, k],
                bags.assay_sd[poor, k],
            )
            if far > WRONG_WAY_FROM:
                names = (bags.bag[rich], bags.bag[poor])
                detail = f"the magnetics hold less iron than the non-magnetics, {far:.1f} sd"
                made.append(
                    MistakeFound(
                        "labels swapped", names, detail, 0.0, far, "order of the bags", True
                    )
                )
    for first, second, ratio, count in campaign.pairs:
        note = laboratory_note(first, second, ratio)
        if note is not None:
            detail = f"{note.text} ({count} bags both have)"
            made.append(MistakeFound("iron basis", (), detail, 0.0, 0.0, "two laboratories", True))
    return tuple(made)


def undone(bags: Bags, mistake: MistakeFound) -> Bags | None:
    """Bags with one mistake put right, where that can be done on paper.

    Parameters
    ----------
    bags : Bags
        As measured. [g, wt %]
    mistake : MistakeFound
        Named by the balance. [-]

    Returns
    -------
    Bags or None
        None where only a new weighing or assay can tell. [g, wt %]
    """
    if mistake.found_by != "balance":
        return None
    if mistake.kind == "labels swapped":
        order = np.arange(len(bags.bag))
        i, j = (bags.bag.index(name) for name in mistake.bags)
        order[[i, j]] = j, i
        right = replace(bags, assay=bags.assay[order], assay_sd=bags.assay_sd[order])
        if mistake.detail.startswith("weights"):
            right = replace(right, mass=bags.mass[order], mass_sd=bags.mass_sd[order])
        return right
    if mistake.kind == "iron basis":
        rows = [bags.bag.index(name) for name in mistake.bags]
        factor = FE2O3_PER_FE if " is low by " in mistake.detail else 1.0 / FE2O3_PER_FE
        k = bags.oxide.index("Fe2O3")
        assay, sd = bags.assay.copy(), bags.assay_sd.copy()
        assay[rows, k] *= factor
        sd[rows, k] *= factor
        return replace(bags, assay=assay, assay_sd=sd)
    return None
