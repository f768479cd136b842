"""Why the curves lie apart: the gap between neighbours, in words."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from feedchar.product.best_possible import BestPossible
from feedchar.units import PPM_PER_WT_PCT

WHY = {
    "every grain sorted": "dark grains with too weak a pull and joined grains "
    "that pull like sand: another property than magnetism would have to part them",
    "ideal magnet": "grains missed, fines and flakes that fly with the sand, and "
    "sand thrown out to make up for it: more passes and narrower sizes come nearer",
    "this roll": "what another speed or edge of the same roll would do better",
}
"""What makes the gap above each curve, common practice, no source."""


@dataclass(frozen=True)
class Gap:
    """Product iron that one curve has more than the next better one, at one yield."""

    better: str
    worse: str
    Fe2O3_ppm: float
    words: str


def gaps(best: BestPossible, yield_pct: float, product_wt_pct: float) -> tuple[Gap, ...]:
    """Gaps between sorting by hand, an ideal magnet, this roll at its best, and this setting.

    Parameters
    ----------
    best : BestPossible
        Curves of the typical case. [wt %]
    yield_pct : float
        Yield of the product, of the dry bag. [%]
    product_wt_pct : float
        Fe2O3 of the product at this setting, typical case. [wt %]

    Returns
    -------
    tuple of Gap
        Best first; a curve that does not reach this yield is left out. A gap may be below zero:
        a roll also throws out iron-rich fines that no pull selects. [ppm]

    References
    ----------
    common practice, no source
    """
    levels = [
        ("every grain sorted", best.at_yield("every_grain_sorted", yield_pct)),
        ("ideal magnet", best.at_yield("ideal_magnet", yield_pct)),
        ("this roll", best.at_yield("this_roll", yield_pct)),
        ("this setting", product_wt_pct),
    ]
    known = [(name, value) for name, value in levels if value is not None]
    found = []
    for (better, low), (worse, high) in pairwise(known):
        found.append(Gap(better, worse, (high - low) * PPM_PER_WT_PCT, WHY[better]))
    return tuple(found)
