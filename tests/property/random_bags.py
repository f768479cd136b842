"""Random invented bags and machine settings, and the road from one to the other."""

from __future__ import annotations

import random
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import strategies as st

from feedchar import read_sample
from feedchar.assembly.machine import grains_for
from feedchar.chemistry.build import mineralogy_of
from feedchar.chemistry.sizes import size_classes
from feedchar.field.rolls import read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.particles.build import build_classes
from feedchar.particles.classes import SizeClasses
from feedchar.particles.surface import sized_by_surface
from feedchar.product.outlets import outlets
from feedchar.product.stays import iron_that_stays
from feedchar.sample.template import csv_text
from feedchar.separation.parameters import draw_parameters
from feedchar.separation.passes import separate

PALE = ("quartz", "microcline", "albite")
DARK = ("biotite", "muscovite", "ilmenite", "hematite", "magnetite", "goethite", "almandine",
        "rutile", "zircon", "kaolinite", "epidote")  # fmt: skip
EDGES_UM = (710.0, 500.0, 355.0, 250.0, 180.0, 125.0, 90.0, 63.0)
FORMS = ("free", "joined", "inclusion", "stain")


@st.composite
def bags(draw: st.DrawFn) -> dict[str, Any]:
    """Minerals, sieves, textures and an origin; invented."""
    hosts = draw(st.lists(st.sampled_from(PALE), min_size=1, max_size=2, unique=True))
    dark = draw(st.lists(st.sampled_from(DARK), min_size=1, max_size=4, unique=True))
    shares = {name: draw(st.integers(1, 400)) / 100 for name in dark}
    rest = 100.0 - sum(shares.values())
    shares |= {name: rest / len(hosts) for name in hosts}
    count = draw(st.integers(2, 5))
    edges = EDGES_UM[draw(st.integers(0, 2)) :][: count + 1]
    weights = [draw(st.integers(1, 100)) / 2 for _ in edges]
    textures = [
        [name, draw(st.sampled_from(FORMS)), float(draw(st.integers(0, 100)))]
        for name in dark
        if draw(st.booleans())
    ]
    origin = draw(st.sampled_from(["as dug", "washed", "crushed rock", "plant product"]))
    return {
        "minerals": [["mineral", "mass_pct"], *([n, float(f"{v:.6g}")] for n, v in shares.items())],
        "sieves": [
            ["passing_um", "retained_um", "mass_g"],
            *([a, b, w] for a, b, w in zip(edges, (*edges[1:], 0.0), weights, strict=True)),
        ],
        "textures": [["mineral", "form", "share_pct"], *textures] if textures else [],
        "origin": origin,
    }


@st.composite
def machines(draw: st.DrawFn) -> Setting:
    """A roll at some speed, edges and passes."""
    first = draw(st.integers(6, 20)) / 1000
    second = first + draw(st.integers(4, 30)) / 1000 if draw(st.booleans()) else None
    one = Pass(draw(st.integers(12, 28)) / 10, first, second)
    window = draw(st.sampled_from([(None, None), (500.0, 100.0), (None, 75.0)]))
    return Setting(
        roll=_roll(draw(st.sampled_from(["fine-100", "coarse-100", "fine-200"]))),
        passes=(one,) * draw(st.integers(1, 3)),
        drum_first=draw(st.sampled_from([None, "weak", "strong"])),
        treated_passing_um=window[0],
        treated_retained_um=window[1],
    )


@cache
def _roll(name: str):
    return read_roll(name)


def write_bag(folder: Path, bag: dict[str, Any], order: random.Random | None = None) -> Path:
    """The bag as a folder; with `order` its rows stand in some other order."""
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.iterdir():
        old.unlink()
    for stem in ("minerals", "sieves", "textures"):
        if not bag[stem]:
            continue
        heading, *rows = bag[stem]
        if order is not None:
            rows = order.sample(rows, len(rows))
        (folder / f"{stem}.csv").write_text(csv_text([heading, *rows]), "utf-8")
    text = f'name = "invented"\norigin = "{bag["origin"]}"\n' + bag.get("toml", "")
    (folder / "sample.toml").write_text(text, "utf-8")
    return folder


@dataclass(frozen=True)
class Road:
    """Everything between bag and product, over the trials."""

    mineralogy: Any
    sizes: Any
    classes: Any
    shares: Any
    split: Any
    stays: Any


def road(folder: Path, setting: Setting, trials: int, seed: int = 1) -> Road:
    """The steps of the recipe, without search and curves."""
    sample = read_sample(str(folder))
    mineralogy = mineralogy_of(sample, trials, seed)
    sizes = SizeClasses(*size_classes(sample)[:2])
    mineralogy = sized_by_surface(sample, mineralogy, sizes)
    classes, _ = build_classes(sample, mineralogy, sizes, seed)
    grains = grains_for(classes, mineralogy, sample.feed_temperature_c)
    shares = separate(setting, grains, draw_parameters(trials, seed, None))
    window = (setting.treated_passing_um, setting.treated_retained_um)
    split = outlets(classes, shares, mineralogy, *window)
    stays = iron_that_stays(classes, shares, mineralogy, *window)
    return Road(mineralogy, sizes, classes, shares, split, stays)


def near(one: Any, other: Any, tolerance: float = 1e-9) -> bool:
    """Whether two arrays agree, relative to the largest of the second."""
    one, other = np.asarray(one, float), np.asarray(other, float)
    return bool(np.abs(one - other).max() <= tolerance * np.abs(other).max())
