"""The laboratory order: which bag, how many grams, in which mill, repeated how."""

from __future__ import annotations

from collections.abc import Mapping

from feedchar.results.plan import PlanBag, PlanOrder
from feedchar.sample.assays import HEAD_NAMES
from feedchar.sample.names import fold
from feedchar.sample.records import Limit, Sample

MILL = "agate"
STEEL = "agate, never steel: a steel mill adds iron of the order of what is looked for"
FLOOR_G = 50.0
"""Least that a mill bowl grinds well; common practice, no source. [g]"""
SMALL_G = 20.0
"""Least of a bag of magnetics. [g]"""
MOST_OXIDES = 8


def oxides_asked(limit: Limit | None) -> tuple[str, ...]:
    """Oxides that every bag is assayed for.

    Parameters
    ----------
    limit : Limit or None
        What is asked of the product. [-]

    Returns
    -------
    tuple of str
        Fe2O3 and TiO2 first, then those that are limited. [-]
    """
    asked = ["Fe2O3", "TiO2"]
    if limit is not None:
        asked += [*limit.max_wt_pct, *limit.min_wt_pct]
    return tuple(dict.fromkeys(asked))[:MOST_OXIDES]


def order_of(
    sample: Sample,
    bags: tuple[PlanBag, ...],
    split_g: Mapping[str, float],
    limit: Limit | None,
) -> tuple[PlanOrder, ...]:
    """Lines of the order, the clean bags before the rich ones, blanks at both ends.

    Parameters
    ----------
    sample : Sample
        For what was assayed before. [-]
    bags : tuple of PlanBag
        All bags. [-]
    split_g : mapping of str to float
        Grams that sampling asks for, by `feed`, `product` and `magnetics`. [g]
    limit : Limit or None
        What is asked. [-]

    Returns
    -------
    tuple of PlanOrder
        Numbered from 1. [-]
    """
    oxides = oxides_asked(limit)
    made: list[PlanOrder] = []

    def add(
        bag: str,
        kind: str,
        grams: float,
        words: str,
        repeat_of: str | None = None,
        asked: tuple[str, ...] = oxides,
    ) -> None:
        table = kind not in ("blank", "reference")
        line = len(made) + 1
        made.append(PlanOrder(line, bag, kind, repeat_of, grams, MILL, asked, words, table))

    def split(stream: str) -> float:
        return float(max(FLOOR_G, _rounded(split_g[stream])))

    clear = "clean quartz: the iron of the mill"
    add("blank 1", "blank", FLOOR_G, clear, asked=("Fe2O3",))
    add("control", "reference", 0.0, "certified sand of like iron")
    assayed = [bag for bag in bags if bag.assayed]
    products = sorted(
        (bag for bag in assayed if bag.product == "non-magnetics"),
        key=lambda bag: (bag.expected_Fe2O3_wt_pct or 0.0, bag.bag),
    )
    runs = [bag for bag in bags if bag.product == "non-magnetics" and bag.belt_speed_m_s]
    # The product of the first run's last pass stands for the setting.
    main = next((bag for bag in reversed(runs) if bag.test == runs[0].test and bag.repeat == "1"),
                None)  # fmt: skip

    def add_bag(bag: PlanBag, grams: float, words: str) -> None:
        twin = _twin(assayed, bag)
        if twin is None:
            add(bag.bag, "first", grams, words)
        else:
            add(bag.bag, "new bag", grams, f"as {twin.bag}, new charge", twin.bag)

    for bag in products:
        grams = _held(bag, split("product"))
        add_bag(bag, grams, "product")
        if bag is main:
            add(bag.bag, "reread", 0.0, "same bead, read again", bag.bag, ("Fe2O3",))
            add(bag.bag, "new bead", 0.0, "another bead, same powder", bag.bag, ("Fe2O3",))
            words = "another split, ground apart"
            add(f"{bag.bag}b", "new split", grams, words, bag.bag, ("Fe2O3",))
    known = any(_is_feed(d.bag) and d.oxide == "Fe2O3" for d in sample.determinations)
    if known:
        add("feed H", "new split", split("feed"), "head, another split", "feed")
    else:
        add("feed", "first", split("feed"), "head: it closes the balance")
    for product in ("middlings", "magnetics"):
        for bag in assayed:
            if bag.product == product:
                grams = _held(bag, max(SMALL_G, _rounded(split_g["magnetics"])), 0.5)
                add_bag(bag, grams, product)
    add("blank 2", "blank", FLOOR_G, "same quartz, after the richest", asked=("Fe2O3",))
    return tuple(made)


def _is_feed(name: str) -> bool:
    return fold(name) in HEAD_NAMES


def _twin(assayed: list[PlanBag], bag: PlanBag) -> PlanBag | None:
    """The bag of the first run that a repeated run makes again; None where none is assayed."""
    if bag.repeat == "1":
        return None
    same = [one for one in assayed if _cut(one) == _cut(bag)]
    return next((one for one in same if one.repeat == "1"), None)


def _cut(bag: PlanBag) -> tuple[str, str, str, float | None, float | None]:
    """What two bags of one kind have alike; the edges on both sides of it among them."""
    first, second = bag.splitter_m, bag.splitter_2_m
    inner = None if bag.product == "magnetics" else first if second is None else second
    outer = None if bag.product == "non-magnetics" else first
    return bag.test, bag.step, bag.product, outer, inner


def _held(bag: PlanBag, grams: float, share: float = 1.0) -> float:
    """Grams, as far as the bag has them."""
    if bag.expected_g is None:
        return grams
    return float(min(grams, _rounded(share * bag.expected_g)))


def _rounded(grams: float) -> float:
    """Up to the next figure that one would weigh."""
    steps = ((1.0, 0.1), (20.0, 1.0), (100.0, 5.0), (float("inf"), 50.0))
    step = next(one for most, one in steps if grams <= most)
    return step * -(-grams // step)
