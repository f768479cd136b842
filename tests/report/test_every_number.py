"""Page, workbook and terminal, number by number: each is one of the document's, rounded.

A number may only come from the part of the document that its block tells of, or be a sum that the
block says it makes; so few wrong ones would pass, which the last test measures.
"""

from __future__ import annotations

import io
import json
import random
import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from feedchar import characterise, read_sample
from feedchar.report.assess_report import assess_report
from feedchar.report.document import plain, to_json
from feedchar.report.html import page
from feedchar.report.report import CUSTOMER, Report
from feedchar.report.terminal import Screen, render
from feedchar.report.workbook import workbook
from feedchar.results import Characterisation

EXAMPLES = Path(__file__).parents[2] / "examples"
TRIALS = 60
AT_GRADE, AT_YIELD = 0.04, 95.0

TOKEN = re.compile(r"(?<![\w.])<?[+-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?(?![\w.]*[A-Za-z_])")
NOT_RESULTS = re.compile(
    r"9 in 10|9 of 10|of 100|in 100|each 100|/?100 g\b|>250 \S?m|[<>]99|<1 in|0\.1 % moisture|"
    r"cc?hi-square [\d.]+ on \d+|and \d+ more|\d+ (?:more|pale|of \d+ settings)|\d+ tried|"
    r"\d+ of \d+ settings that none of \d+|\d+ trials|\b0 to|\bof 3\b|seed \d+|"
    r"scrub \d+ g|1/d|feedchar [\d.]+|<0\.00001|"
    r"trials from [\d.]+ to [\d.]+, of 100 \| [\d.]+"
)
"""Cases, bases, counts of lines, words of the trade that hold a number, the least that is shown,
and the bins of the distribution, which are counted again in a test of their own."""
PLAIN, SHARE, KILOGAUSS, MILLI, PPM = 1.0, 100.0, 10.0, 1000.0, 1e4
SCALES = {
    "balance": (PLAIN,),
    "made of": (PLAIN,),
    "iron": (PLAIN,),
    "stays": (PLAIN,),
    "response": (PLAIN, SHARE, KILOGAUSS),
    "setting": (PLAIN, SHARE, KILOGAUSS, MILLI),
    "could be": (PLAIN, PPM),
    "what-if": (PLAIN, SHARE, MILLI),
}
"""As shown: the document's unit, per cent of a share, and other units that a block uses."""
ANYWHERE = ("received_kg", "moisture_pct", "sample_note", "feed_t_h")

TOLD_OF = {
    "answer": ("answer", "basis", "product"),
    "product": ("product", "answer", "assay"),
    "balance": ("product", "assay"),
    "feed": ("assay", "unseen_iron"),
    "agreement": ("assay",),
    "made of": ("minerals",),
    "iron": ("minerals", "iron"),
    "response": ("response", "setting", "minerals"),
    "stays": ("iron_that_stays",),
    "could be": ("best_possible", "dirtiest_feed", "product", "answer"),
    "setting": ("setting", "searched", "machines"),
    "doubt": ("doubt", "product", "answer"),
    "next": ("measure_next", "best_pair"),
    "checks": ("notes",),
    "what-if": (),
}
"""Parts of the document by block; the cautions hold no results."""


def numbers(tree: Any) -> Iterator[float]:
    if isinstance(tree, bool) or tree is None:
        return
    if isinstance(tree, int | float):
        yield float(tree)
    elif isinstance(tree, str):
        yield from (abs(float(token)) for token in TOKEN.findall(tree.replace("-", " ")))
    elif isinstance(tree, dict):
        for key, value in tree.items():
            yield from numbers(key)
            yield from numbers(value)
    else:
        for value in tree:
            yield from numbers(value)


def sums(tree: dict[str, Any], key: str) -> Iterator[float]:
    """What a block makes of the document's numbers: totals, differences, shares of a total."""
    product, minerals = tree["product"], tree["minerals"]
    mean = {phase["mineral"]: phase["mass_pct"]["mean"] for phase in minerals}
    iron = {phase["mineral"]: phase["share_of_iron_pct"]["mean"] for phase in minerals}
    outlets = [product[k] for k in ("non_magnetics", "magnetics", "middlings", "untreated")]
    if key == "iron":
        for chosen in (
            [p for p in minerals if p["role"] == "host"],
            [p for p in minerals if p["role"] != "host" and iron[p["mineral"]] < 0.5],
        ):
            mass = sum(mean[p["mineral"]] for p in chosen)
            leaving = sum(mean[p["mineral"]] * p["to_magnetics_pct"]["mean"] for p in chosen)
            yield from (mass, sum(iron[p["mineral"]] for p in chosen), leaving / (mass or 1.0))
        for kind in ("form", "mineral"):
            totals: dict[Any, float] = {}
            for line in tree["iron"]:
                for of in (line[kind], (line["mineral"], line["form"])):
                    totals[of] = totals.get(of, 0.0) + line["share_of_iron_pct"]
            yield from totals.values()
            small = [v for k, v in totals.items() if isinstance(k, str)]
            yield from (sum(sorted(small)[:n]) for n in range(1, len(small)))
        yield from by_size(tree)
    if key == CUSTOMER:
        rate = (tree["feed_t_h"] or 100.0) / 100.0
        yield from (rate * (o["yield_pct"]["mean"] or 0.0) for o in outlets)
    if key in ("balance", "product"):
        yield from (100.0, sum(o["yield_pct"]["mean"] or 0.0 for o in outlets))
        yield sum((o["iron_share_pct"] or {"mean": 0.0})["mean"] or 0.0 for o in outlets)
    if key == "balance":
        told = [o for o in outlets if o["yield_pct"]["mean"]]
        irons = [o["Fe2O3_wt_pct_of_bag"]["mean"] for o in told]
        yield sum(irons)
        yield from (100.0 * iron / sum(irons) for iron in irons)
        yield from (
            100.0 * iron / o["yield_pct"]["mean"] for iron, o in zip(irons, told, strict=True)
        )
    if key == "feed":
        yield (
            tree["assay"]["reconciled_wt_pct"]["Fe2O3"]["mean"]
            - (tree["unseen_iron"]["Fe2O3_wt_pct"]["mean"])
        )
    if key == "stays":
        for which in ("Fe2O3_ppm_of_product", "mean_Fe2O3_ppm_of_product"):
            lines = [line[which] for line in tree["iron_that_stays"]]
            for least in (0.0, *sorted(lines)):  # the smallest lines may be left out
                told_lines = [line for line in lines if line >= least]
                yield sum(told_lines)
                yield from (100.0 * line / sum(told_lines) for line in told_lines if line)
    if key == "could be":
        here = [v for v in tree["best_possible"]["at_product_yield"].values() if v is not None]
        yield from (b - a for a, b in pairwise(here))
        yield from (AT_GRADE, AT_YIELD, 70.0, 80.0, 85.0)


def by_size(tree: dict[str, Any]) -> Iterator[float]:
    """Iron of each size, what of it leaves, and the pale grains lost; the whole bag is treated."""
    assert tree["setting"]["treated_retained_um"] is None
    taken = {
        (line["mineral"], line["form"], line["passing_um"]): line["share_to_magnetics"] or 0.0
        for line in tree["response"]
    }
    pale = {p["mineral"]: p["mass_pct"]["typical"] for p in tree["minerals"] if p["role"] == "host"}
    for size in {line["passing_um"] for line in tree["iron"]}:
        lines = [line for line in tree["iron"] if line["passing_um"] == size]
        total = sum(line["share_of_iron_pct"] for line in lines)
        leaves = sum(
            line["share_of_iron_pct"] * taken.get((line["mineral"], line["form"], size), 0.0)
            for line in lines
        )
        yield from (total, leaves, total - leaves)
        lost = [
            (pale[mineral], share)
            for (mineral, form, at), share in taken.items()
            if at == size and mineral in pale and form in ("free", "inside")
        ]
        if lost:
            yield 100.0 * sum(m * s for m, s in lost) / sum(m for m, _ in lost)


@dataclass
class Media:
    """One result in the three media, cut into blocks."""

    tree: dict[str, Any]
    report: Report
    what_if: list[Any]
    trials: list[float]
    """Product iron, trial by trial."""
    shown: dict[str, dict[str, str]] = field(default_factory=dict)
    """Medium to block to all its text."""


class Sections(HTMLParser):
    """Text of each section of a page; drawings, whose ticks are no results, are left out."""

    def __init__(self) -> None:
        super().__init__()
        self.at, self.silent = [""], 0
        self.texts: dict[str, list[str]] = {}

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        known = dict(attrs)
        if tag == "section":
            self.at.append(known.get("id") or known.get("class") or "")
        self.silent += tag in ("svg", "style", "script")

    def handle_endtag(self, tag: str) -> None:
        if tag == "section":
            self.at.pop()
        self.silent -= tag in ("svg", "style", "script")

    def handle_data(self, data: str) -> None:
        if not self.silent and data.strip():
            self.texts.setdefault(self.at[-1], []).append(data)


def page_blocks(text: str, report: Report) -> dict[str, str]:
    reader = Sections()
    reader.feed(text)
    keys = {block.key.replace(" ", "-"): block.key for block in report.findings.blocks}
    return {keys.get(at, at): " | ".join(parts) for at, parts in reader.texts.items()}


def terminal_blocks(text: str, report: Report) -> dict[str, str]:
    found: dict[str, list[str]] = {"engineer": []}
    at, heads = "engineer", {block.heading: block.key for block in report.findings.blocks}
    for line in text.splitlines():
        at = next((key for head, key in heads.items() if line.startswith(head)), at)
        found.setdefault(at, []).append(line)
    return {key: " ".join(" ".join(lines).split()) for key, lines in found.items()}


def workbook_blocks(data: bytes, report: Report) -> dict[str, str]:
    found: dict[str, list[str]] = {}
    book = openpyxl.load_workbook(io.BytesIO(data))
    for sheet, at in (("customer", CUSTOMER), ("findings", "engineer")):
        heads = {block.heading: block.key for block in report.findings.blocks}
        for row in book[sheet].iter_rows():
            at = heads.get(row[0].value, at)
            for cell in row:
                if isinstance(cell.value, float | int):
                    decimals = len(cell.number_format.partition(".")[2])
                    found.setdefault(at, []).append(f"{cell.value:.{decimals}f}")
                elif cell.value is not None:
                    found.setdefault(at, []).append(str(cell.value))
    return {key: " | ".join(parts) for key, parts in found.items()}


@cache
def media_of(example: str) -> Media:
    sample = read_sample(str(EXAMPLES / example))
    result: Characterisation = characterise(sample, trials=TRIALS, other_settings=True)
    report = assess_report(result, at_grade=AT_GRADE, at_yield=AT_YIELD)
    made = Media(
        json.loads(to_json(result)),
        report,
        plain(result.what_if.points) if result.what_if else [],
        [float(value) for value in result.trial_values["product_Fe2O3_wt_pct"][1:]],
    )
    made.shown = {
        "page": page_blocks(page(report), report),
        "terminal": terminal_blocks(render(report.findings, Screen(width=200)), report),
        "workbook": workbook_blocks(workbook(report), report),
    }
    return made


def known_of(made: Media, key: str) -> list[float]:
    """Every number that a block may show, sorted."""
    tree = made.tree
    if key in (CUSTOMER, "engineer"):
        parts: list[Any] = [tree]
    else:
        parts = [tree[part] for part in (*TOLD_OF[key], *ANYWHERE)]
    found = [abs(value) for part in parts for value in numbers(part)]
    found += [abs(value) for value in sums(tree, key)]
    if key == "what-if":
        found += [abs(value) for value in numbers(made.what_if)]
    return sorted(found)


def explained(token: str, known: list[float], key: str) -> bool:
    """Whether a number, scaled as reports do, rounds to the token with the digits shown."""
    shown = abs(float(token.lstrip("<")))
    if token.startswith("<"):  # a bound: something of the document lies below it
        scales = SCALES.get(key, (PLAIN, SHARE))
        return bool(known) and any(known[0] * scale < shown for scale in scales)
    if shown == 0.0 and "." not in token:
        return True  # nothing at all, or below the last digit
    half = 0.5 * 10.0 ** -len(token.partition(".")[2])
    if "." not in token and shown >= 100:
        half = max(half, 0.05 * 10 ** (len(str(int(shown))) - 1))  # counts have two digits
    for scale in SCALES.get(key, (PLAIN, SHARE)):
        low, high = (shown - half) / scale, (shown + half) / scale
        place = bisect_left(known, low * (1 - 1e-9))
        if place < len(known) and known[place] <= high * (1 + 1e-9):
            return True
    return False


def tokens_of(text: str) -> list[str]:
    flat = " ".join(text.replace("\u00a0", " ").split())
    flat = re.sub(r"(?<=[\d>])-(?=\d)", " ", flat)  # a size class is no difference
    return TOKEN.findall(NOT_RESULTS.sub(" ", flat))


@pytest.mark.parametrize("example", ["glass_sand", "feldspar"])
def test_every_number_of_page_workbook_and_terminal_is_the_documents(example: str) -> None:
    made = media_of(example)
    unknown, walked = [], dict.fromkeys(made.shown, 0)
    for medium, blocks in made.shown.items():
        assert set(TOLD_OF) - {"what-if", "agreement", "made of"} <= set(blocks), medium
        for key, text in blocks.items():
            if key in ("cautions", ""):
                continue
            known = known_of(made, key)
            for token in tokens_of(text):
                walked[medium] += 1
                if not explained(token, known, key):
                    unknown.append((medium, key, token))
    assert unknown == []
    assert walked["page"] > walked["workbook"] > 300
    assert walked["terminal"] > 300


def test_the_bins_of_the_distribution_are_counted_right() -> None:
    made = media_of("glass_sand")
    text = made.shown["page"][CUSTOMER].replace("\u00a0", " ")
    bins = re.findall(r"trials from ([\d.]+) to ([\d.]+), of 100 \| ([\d.]+)", text)
    assert sum(float(part) for *_, part in bins) == pytest.approx(100.0, abs=0.1 * len(bins))
    for low, high, part in bins:
        digits = 0.5 * 10.0 ** -len(low.partition(".")[2])
        # An end is told rounded, so a trial next to it may count on either side.
        widest = sum(float(low) - digits <= one <= float(high) + digits for one in made.trials)
        least = sum(float(low) + digits < one < float(high) - digits for one in made.trials)
        assert least - 0.06 <= float(part) / 100.0 * TRIALS <= widest + 0.06


def test_most_wrong_numbers_would_be_seen() -> None:
    """Digits of the numbers shown, changed at random: in their own block most belong to nothing."""
    made = media_of("glass_sand")
    draw = random.Random(1)
    missed = tried = 0
    for key, text in made.shown["terminal"].items():
        if key not in TOLD_OF:
            continue
        known = known_of(made, key)
        for token in tokens_of(text):
            if len(re.sub(r"^0\.?0*|\D", "", token)) < 3:
                continue  # two digits and fewer are too few to tell by chance
            for _ in range(5):
                wrong = re.sub(r"[1-9]", lambda _: str(draw.randint(1, 9)), token)
                tried += wrong != token
                missed += wrong != token and explained(wrong, known, key)
    assert tried > 500
    assert missed < 0.3 * tried
