"""The door of scikit-learn for tables: feeds that answer alike, and who stands for them.

Nearest neighbours and k-means over the response of each feed, not over its minerals: two feeds of
different minerals that give the same product at the same yield need one test, not two.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

MOST_FITTED = 20_000
"""Rows that the groups are made from; the others join the nearest group."""
WIDEST = 6.0
"""Scaled responses beyond this count as this, so that one odd feed is no group of its own. [sd]"""
LEAST_ODD = 3.0
"""A row nearer than this to the one chosen for it is not odd. [sd]"""
STAND_INS = 2
STARTS = 4


@dataclass(frozen=True)
class Alike:
    """Groups of N rows, the largest first."""

    label: Index
    """(N,) group of each row."""
    chosen: Index
    """(G,) row that stands for each group."""
    stand_ins: tuple[tuple[int, ...], ...]
    """Nearest neighbours of the chosen row within its group."""
    odd: tuple[int, ...]
    """Rows farthest from the row chosen for them, farthest first."""
    explained_share: float
    """Of the differences between rows, what lies between groups. [-]"""


def scaled(responses: Array) -> Array:
    """Responses about their median in units of their spread over the rows.

    Parameters
    ----------
    responses : array, shape (N, D)
        One row a feed. [any]

    Returns
    -------
    array, shape (N, D)
        0 where a response is the same in all rows. [-]

    References
    ----------
    common practice, no source (median and interquartile range for a normal spread)
    """
    low, middle, high = np.quantile(responses, (0.25, 0.5, 0.75), axis=0)
    spread = (high - low) / 1.349
    spread = np.where(spread > 0.0, spread, responses.std(axis=0))
    out = (responses - middle) / np.where(spread > 0.0, spread, 1.0)
    return np.clip(out, -WIDEST, WIDEST)


def alike(responses: Array, groups: int, odd: int, seed: int) -> Alike:
    """Groups of feeds by response, and the feeds to test for them.

    Parameters
    ----------
    responses : array, shape (N, D)
        One row a feed, N at least 1. [any]
    groups : int
        How many groups are wanted; fewer come back where fewer rows differ. [-]
    odd : int
        How many odd ones are named. [-]
    seed : int
        Of the starts of k-means. [-]

    Returns
    -------
    Alike
        The same whatever the order of the rows, but for rows that are alike to the last digit. [-]

    References
    ----------
    k-means, from memory of Lloyd (1982) and of Arthur and Vassilvitskii (2007) for its starts;
    common practice, no source (the chosen row is the one nearest to the middle of its group).
    """
    from sklearn.cluster import KMeans
    from threadpoolctl import threadpool_limits

    space = np.round(scaled(responses), 9)
    order = np.lexsort(space.T[::-1])
    ordered = space[order]
    every = max(-(-len(ordered) // MOST_FITTED), 1)
    fitted = ordered[::every]
    groups = min(groups, len(np.unique(fitted, axis=0)))
    with threadpool_limits(1):
        means = KMeans(groups, n_init=STARTS, random_state=seed % 2**32).fit(fitted)
        found = means.predict(ordered).astype(np.intp)
    centres = np.stack([ordered[found == g].mean(axis=0) for g in range(groups)])
    sizes = np.bincount(found, minlength=groups)
    rank = np.argsort(np.lexsort((*centres.T[::-1], -sizes)))
    centres = centres[np.argsort(rank)]
    label = np.empty(len(space), dtype=np.intp)
    label[order] = rank[found]
    nearest = [_nearest(space, order[label[order] == g], centres[g]) for g in range(groups)]
    chosen = np.array([rows[0] for rows in nearest], dtype=np.intp)
    away = np.sqrt(((space - space[chosen][label]) ** 2).sum(axis=1))
    far = [int(row) for row in np.lexsort((*space.T, -away))[:odd] if away[row] > LEAST_ODD]
    within = float(((space - centres[label]) ** 2).sum())
    whole = float(((space - space.mean(axis=0)) ** 2).sum())
    return Alike(
        label,
        chosen,
        tuple(tuple(rows[1:]) for rows in nearest),
        tuple(far),
        1.0 - within / whole if whole > 0.0 else 1.0,
    )


def _nearest(space: Array, members: Index, centre: Array) -> list[int]:
    """The member nearest to the middle, then its own nearest neighbours."""
    from sklearn.neighbors import NearestNeighbors

    neighbours = NearestNeighbors(algorithm="kd_tree").fit(space[members])
    first = int(neighbours.kneighbors(centre[None], 1, return_distance=False)[0, 0])
    count = min(STAND_INS + 1, len(members))
    near = neighbours.kneighbors(space[members[first]][None], count, return_distance=False)[0]
    others = [int(members[place]) for place in near if place != first]
    return [int(members[first]), *others[:STAND_INS]]
