"""A feed on its classes, and the streams that it makes in a circuit, typical case."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import ParticleClasses
from feedchar.plant.circuit import Circuit
from feedchar.plant.flow import Link
from feedchar.separation.records import Grains, Parameters

Array = NDArray[np.float64]

_OVER_TRIALS = (
    "mass_fraction", "size_share", "iron_wt_pct", "oxides_wt_pct", "susceptibility_m3_kg",
    "predicted_wt_pct", "reconciled_wt_pct", "unseen_form_share",
)  # fmt: skip
"""Fields of a mineralogy whose first axis is the trial."""


@dataclass(frozen=True)
class Feed:
    """A feed on its classes, cut where the circuit cuts."""

    classes: ParticleClasses
    mineralogy: Mineralogy
    grains: Grains
    parameters: Parameters


@dataclass(frozen=True)
class Streams:
    """All streams of a circuit, typical case."""

    mass: dict[Link, Array]
    """(C,) by class, over a feed of 1."""
    oxides: dict[Link, Array]
    """(K,) wt % of the feed that each oxide makes there."""
    feed: dict[str, Array]
    """(C,) into each step, recycles included."""
    closure_t_h: float
    """Largest imbalance of mass or of an oxide, over steps and the whole. [t h⁻¹]"""


def first_rows(feed: Feed, rows: int) -> Feed:
    """The typical case of a feed, with a few of its trials.

    Parameters
    ----------
    feed : Feed
        T trials. [-]
    rows : int
        Rows to keep; 1 is the typical case alone. [-]

    Returns
    -------
    Feed
        At most so many rows. [-]

    References
    ----------
    computed_here
    """

    def kept(record: Any, *names: str) -> Any:
        values = {name: getattr(record, name) for name in names}
        cut = {name: value[:rows] for name, value in values.items() if value is not None}
        return replace(record, **cut)

    return Feed(
        kept(feed.classes, "mass"),
        kept(feed.mineralogy, *_OVER_TRIALS),
        kept(feed.grains, "susceptibility_m3_kg", "moment_A_m2_kg"),
        kept(feed.parameters, "bypass", "entrainment", "pull_factor", "adhesion_N", "air_layer_m"),
    )


def streams_of(
    circuit: Circuit, links: Mapping[Link, Array], feed: Feed, feed_t_h: float
) -> Streams:
    """Mass and oxides of every stream, with the balance of each step.

    Parameters
    ----------
    circuit : Circuit
        Steps and routes. [-]
    links : mapping of (step, outlet) to array, shape (C,)
        Streams over the mass of each class in the feed. [-]
    feed : Feed
        The typical case. [-]
    feed_t_h : float
        Dry feed. [t h⁻¹]

    Returns
    -------
    Streams
        With the largest imbalance found. [-]

    References
    ----------
    computed_here (mass balance)
    """
    head = feed.classes.mass[0]
    oxide = class_oxides(feed)
    mass = {link: head * share for link, share in links.items()}
    into = {step.name: np.zeros_like(head) for step in circuit.steps}
    into[circuit.entry] = into[circuit.entry] + head
    out = np.zeros_like(head)
    for step in circuit.steps:
        for outlet, target in step.routes.items():
            if target in into:
                into[target] = into[target] + mass[step.name, outlet]
            else:
                out = out + mass[step.name, outlet]
    gaps = [out - head]
    for step in circuit.steps:
        left = sum((mass[step.name, outlet] for outlet in step.outlets), np.zeros_like(head))
        gaps.append(left - into[step.name])
    worst = max(
        max(abs(float(gap.sum())), float(np.abs(gap @ oxide).max()) / 100.0) for gap in gaps
    )
    return Streams(
        mass, {link: part @ oxide for link, part in mass.items()}, into, worst * feed_t_h
    )


def class_oxides(feed: Feed) -> Array:
    """Composition of each class, its host counted in, typical case.

    Parameters
    ----------
    feed : Feed
        Its first row is used. [-]

    Returns
    -------
    array, shape (C, K)
        Columns OXIDES. [wt %]

    References
    ----------
    computed_here (mass balance)
    """
    classes, content = feed.classes, feed.mineralogy.oxides_wt_pct[0]
    own = np.where(classes.host >= 0, classes.grade, 1.0)[:, None]
    return np.asarray(
        own * content[classes.mineral]
        + (1.0 - own) * content[np.where(classes.host >= 0, classes.host, 0)]
    )
