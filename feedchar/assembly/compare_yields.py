"""Yields by assay beside yields by weight, split by split."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from feedchar.errors import InputError
from feedchar.results.comparison import AssayYield
from feedchar.testwork.bags import Bags
from feedchar.testwork.balance import two_product, two_product_sd
from feedchar.testwork.campaign import Campaign
from feedchar.testwork.figures import Figure, share_of
from feedchar.testwork.three_product import (
    LARGEST_CONDITION,
    three_product,
    three_product_condition,
    three_product_sd,
)

FAR_ENOUGH = 4.0
"""By how many sd two assays must differ to share a mass. [-]"""


def assay_yields(campaign: Campaign) -> tuple[AssayYield, ...]:
    """Yields by assay beside those by weight, of every split that has the assays.

    Parameters
    ----------
    campaign : Campaign
        The forest of bags. [g, wt %]

    Returns
    -------
    tuple of AssayYield
        Two products from each oxide, three from the pair of oxides that tells them best. [-]
    """
    made: list[AssayYield] = []
    for node in campaign.splits:
        outlets: dict[str, list[int]] = {}
        for i in campaign.children(node).tolist():
            row = campaign.row[i]
            if row is not None and row.product in ("magnetics", "middlings", "non-magnetics"):
                outlets.setdefault(row.product, []).append(i)
        if any(len(same) > 1 for same in outlets.values()) or "non-magnetics" not in outlets:
            continue
        order = [
            outlets[name][0]
            for name in ("magnetics", "middlings", "non-magnetics")
            if name in outlets
        ]
        made += _two(campaign, node, order) if len(order) == 2 else []
        made += _three(campaign, node, order) if len(order) == 3 else []
    return tuple(made)


def _two(campaign: Campaign, node: int, order: list[int]) -> list[AssayYield]:
    bags, made = campaign.bags, []
    product = campaign.row[order[0]].product  # type: ignore[union-attr]
    weighed, weighed_sd = _weighed(bags, order[0], order)
    for k, oxide in enumerate(bags.oxide):
        assays, sds = (table[[node, *order], k] for table in (bags.assay, bags.assay_sd))
        if np.isnan(assays).any():
            continue
        far = abs(assays[1] - assays[2]) / np.hypot(sds[1], sds[2])
        found: tuple[float | None, float | None] = (None, None)
        reason = "" if far >= FAR_ENOUGH else f"both products hold much the same {oxide}"
        if not reason:
            try:
                share = float(two_product(*assays)[0])
                found = (100.0 * share, 100.0 * float(two_product_sd(*assays, *sds)[0]))
            except InputError as problem:
                reason = problem.problem
        made.append(
            _yield(
                bags, node, product, "two-product", (oxide,), (weighed, weighed_sd), found, reason
            )
        )
    return made


def _three(campaign: Campaign, node: int, order: list[int]) -> list[AssayYield]:
    bags, rows = campaign.bags, [node, *order]
    known = [k for k in range(len(bags.oxide)) if not np.isnan(bags.assay[rows, k]).any()]
    pairs = {
        pair: float(three_product_condition(*(bags.assay[i, list(pair)] for i in order)))
        for pair in combinations(known, 2)
    }
    if not pairs:
        return []
    best = min(pairs, key=lambda pair: (_error_of(bags, rows, pair), pair))
    oxides, reason = tuple(bags.oxide[k] for k in best), ""
    shares = sds = np.full(3, np.nan)
    if pairs[best] > LARGEST_CONDITION:
        reason = f"{' and '.join(oxides)} ride on one mineral here"
    else:
        streams = [bags.assay[i, list(best)] for i in rows]
        errors = [bags.assay_sd[i, list(best)] for i in rows]
        try:
            shares = three_product(*streams)
            sds = three_product_sd(*streams, *errors)
        except InputError as problem:
            reason = problem.problem
    made = []
    for place, i in enumerate(order):
        product = campaign.row[i].product  # type: ignore[union-attr]
        found = (_known(100.0 * shares[place]), _known(100.0 * sds[place]))
        weighed = _weighed(bags, i, order)
        made.append(_yield(bags, node, product, "three-product", oxides, weighed, found, reason))
    return made


def _error_of(bags: Bags, rows: list[int], pair: tuple[int, int]) -> float:
    columns = list(pair)
    try:
        sds = three_product_sd(
            *(bags.assay[i, columns] for i in rows), *(bags.assay_sd[i, columns] for i in rows)
        )
    except InputError:
        return np.inf
    return float(np.nan_to_num(np.linalg.norm(sds), nan=np.inf))


def _weighed(bags: Bags, one: int, order: list[int]) -> tuple[float, float]:
    return share_of(bags, Figure(one, -1, tuple(order)))


def _yield(
    bags: Bags,
    node: int,
    product: str,
    method: str,
    oxides: tuple[str, ...],
    weighed: tuple[float, float],
    found: tuple[float | None, float | None],
    reason: str,
) -> AssayYield:
    share, sd = 100.0 * weighed[0], 100.0 * weighed[1]
    z = None
    if found[0] is not None and found[1] is not None:
        z = (found[0] - share) / float(np.hypot(found[1], sd))
    return AssayYield(bags.bag[node], product, method, oxides, share, sd, *found, z, reason)


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
