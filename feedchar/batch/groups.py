"""The samples of a table that stand for the rest, chosen by what the machine makes of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
from numpy.typing import NDArray

from feedchar.batch.alike import alike
from feedchar.batch.told import FEED, PRODUCT, UNSEEN, YIELD
from feedchar.results.batch import BatchGroup, BatchGroups, BatchRow

Array = NDArray[np.float64]
Index = NDArray[np.intp]

ODD = 3
"""Samples named because they are least like any that was chosen."""
MOST_POINTS = 400
"""Rows drawn in the picture of groups."""


class FeedGroups:
    """Feeds that answer alike; the records follow when the names are known."""

    def __init__(self, figures: Array, order: Index, groups: int, seed: int) -> None:
        self.figures = figures
        self.rows = np.sort(order[figures[order, PRODUCT] > 0.0])
        self.found = None
        if groups > 0 and len(self.rows) > groups:
            own = figures[self.rows]
            removal = 100.0 - own[:, PRODUCT] * own[:, YIELD] / np.maximum(own[:, FEED], 1e-300)
            responses = np.stack(
                [np.log(own[:, PRODUCT]), own[:, YIELD], removal, own[:, UNSEEN]], axis=1
            )
            self.found = alike(responses, groups, ODD, seed)

    @property
    def asked(self) -> Iterable[int]:
        """Places of the rows that are named."""
        if self.found is None:
            return ()
        places = [*self.found.chosen, *self.found.odd]
        places += [place for near in self.found.stand_ins for place in near]
        return [int(self.rows[place]) for place in places]

    def records(self, rows: Mapping[int, BatchRow]) -> BatchGroups | None:
        """Groups as the page shows them."""
        found = self.found
        if found is None:
            return None
        iron, kept = self.figures[self.rows, PRODUCT], self.figures[self.rows, YIELD]
        every = max(-(-len(iron) // MOST_POINTS), 1)
        spread = np.argsort(iron, kind="stable")[::every]
        made = []
        for group, place in enumerate(found.chosen):
            own = iron[found.label == group]
            low, middle, high = (float(x) for x in np.quantile(own, (0.05, 0.5, 0.95)))
            near = tuple(rows[int(self.rows[k])] for k in found.stand_ins[group])
            representative = rows[int(self.rows[place])]
            made.append(BatchGroup(representative, len(own), near, low, middle, high))
        return BatchGroups(
            tuple(made),
            found.explained_share,
            tuple(rows[int(self.rows[k])] for k in found.odd),
            tuple((int(found.label[k]), float(iron[k]), float(kept[k])) for k in spread),
        )
