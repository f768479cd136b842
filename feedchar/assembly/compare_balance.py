"""The balance side of a comparison: what closes, what is lost, where each oxide went."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import OXIDES, Mineralogy
from feedchar.results.comparison import Balance, ClosedBag, ClosedFigure, MassLoss, Recovery
from feedchar.sample.records import Note
from feedchar.testwork.bilinear import BagBalance
from feedchar.testwork.campaign import Campaign
from feedchar.testwork.loss import loss_note, mass_loss

Array = NDArray[np.float64]

CLOSES_FROM = 0.01
"""Chance below which a balance does not close. [-]"""
CARRIES = 0.9
"""Share of an oxide of the feed that one mineral must carry to be told by it. [-]"""


def balance_result(campaign: Campaign, found: BagBalance) -> Balance:
    """The reconciled tree as the document shows it.

    Parameters
    ----------
    campaign : Campaign
        What was measured. [g, wt %]
    found : BagBalance
        How it closes. [g, wt %]

    Returns
    -------
    Balance
        In the order of the tree. [-]
    """
    bags, made = campaign.bags, []
    for i, name in enumerate(bags.bag):
        row, parent = campaign.row[i], int(bags.parent[i])
        columns = [
            (
                "mass_g",
                bags.mass[i],
                bags.mass_sd[i],
                found.mass[i],
                found.mass_sd[i],
                found.mass_adjustment[i],
            )
        ]
        for k, oxide in enumerate(bags.oxide):
            measured = (bags.assay[i, k], bags.assay_sd[i, k])
            closing = (found.assay[i, k], found.assay_sd[i, k], found.assay_adjustment[i, k])
            columns.append((oxide, *measured, *closing))
        made.append(
            ClosedBag(
                name,
                row.test if row else None,
                row.step if row else None,
                row.repeat if row else None,
                bags.bag[parent] if parent >= 0 else None,
                row.product if row else "feed",
                bags.laboratory[i] or None,
                tuple(
                    ClosedFigure(one[0], *(_known(value) for value in one[1:])) for one in columns
                ),
            )
        )
    return Balance(
        found.chi_square,
        found.degrees_of_freedom,
        found.p_value,
        found.p_value >= CLOSES_FROM,
        found.to_doubt,
        found.doubt_p_value,
        tuple(made),
    )


def mass_losses(campaign: Campaign) -> tuple[tuple[MassLoss, ...], tuple[Note, ...]]:
    """Mass lost at each split whose feed was weighed.

    Parameters
    ----------
    campaign : Campaign
        The forest of bags. [g]

    Returns
    -------
    losses, notes
        One a split, and the rule of the trade where it trips. [-]
    """
    losses, notes, bags = [], [], campaign.bags
    for node in campaign.splits:
        dust = campaign.dust_g[node]
        parts = np.append(bags.mass[campaign.children(node)], dust)
        screened = any(
            row is not None and row.product == "screened"
            for row in (campaign.row[int(i)] for i in campaign.children(node))
        )
        if np.isnan(bags.mass[node]) or np.isnan(parts).any() or (screened and len(parts) == 2):
            continue
        # The dust of a feed was taken off its weight; see `Campaign`.
        fed = float(bags.mass[node]) + (dust if bags.parent[node] < 0 else 0.0)
        note = loss_note(bags.bag[node], fed, parts)
        losses.append(
            MassLoss(
                bags.bag[node],
                fed,
                float(parts.sum()),
                100.0 * mass_loss(fed, parts),
                note.severity if note else "as usual",
            )
        )
        notes += [note] if note else []
    return tuple(losses), tuple(notes)


def recoveries(campaign: Campaign, found: BagBalance, mineralogy: Mineralogy) -> list[Recovery]:
    """Where each assayed oxide went, and the minerals that alone carry one.

    Parameters
    ----------
    campaign : Campaign
        What was measured. [g, wt %]
    found : BagBalance
        How it closes. [g, wt %]
    mineralogy : Mineralogy
        Which mineral carries an oxide of the feed, typical case. [-]

    Returns
    -------
    list of Recovery
        Of the feed of the first machine of each test; iron first. [%]
    """
    bags, made = campaign.bags, []
    oxides = sorted(bags.oxide, key=lambda name: (name != "Fe2O3", name))
    carriers = {oxide: carrier_of(oxide, mineralogy) for oxide in oxides}
    for oxide in oxides:
        k = bags.oxide.index(oxide)
        for i, row in enumerate(campaign.row):
            root = campaign.root(i)
            if row is None or root == i or np.isnan(bags.assay[i, k]):
                continue
            content = found.mass * found.assay[:, k]
            if not np.isfinite([content[i], content[root]]).all() or content[root] <= 0.0:
                continue
            share = float(content[i] / content[root])
            # Its own error, and that of the rest of the feed, as if they were independent.
            own = np.hypot(bags.mass_sd[i] / bags.mass[i], bags.assay_sd[i, k] / found.assay[i, k])
            rest = found.assay_sd[root, k] / found.assay[root, k]
            sd = share * abs(1.0 - share) * float(np.hypot(own, np.nan_to_num(rest)))
            names = [oxide] + ([carriers[oxide]] if carriers[oxide] else [])
            made += [
                Recovery(
                    bags.bag[i], row.test, row.product, str(of), oxide, 100.0 * share, 100.0 * sd
                )
                for of in names
            ]
    return made


def carrier_of(oxide: str, mineralogy: Mineralogy) -> str | None:
    """The mineral that alone tells an oxide, if one does.

    Parameters
    ----------
    oxide : str
        Oxide. [-]
    mineralogy : Mineralogy
        The feed, typical case. [-]

    Returns
    -------
    str or None
        A mineral that carries nearly all of it. [-]
    """
    held = mineralogy.mass_fraction[0] * mineralogy.oxides_wt_pct[0][:, OXIDES.index(oxide)]
    most = int(np.argmax(held))
    return mineralogy.phases[most].name if held[most] > CARRIES * held.sum() else None


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
