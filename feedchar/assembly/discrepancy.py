"""The stated discrepancy between model and machine, let into what a setting does.

Tests narrow the parameters of a machine, never what no parameter describes. So where a machine is
known by tests, the odds of every dark grain to stay are moved by one factor a trial; mass and
every oxide are kept. Without tests the priors are so wide that it would not be seen.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import ParticleClasses
from feedchar.separation.records import Shares
from feedchar.testwork.likelihood import DISCREPANCY_LN
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]


def with_discrepancy(
    shares: Shares, classes: ParticleClasses, mineralogy: Mineralogy, seed: int
) -> Shares:
    """Shares of a machine that differs from the model by what is stated.

    Parameters
    ----------
    shares : Shares
        (T, C) each, as the model gives them. [-]
    classes : ParticleClasses
        The grains. [-]
    mineralogy : Mineralogy
        Tells pale phases from the others. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    Shares
        Row 0 as it was, the others with odds of dark grains to stay moved by a factor. [-]
    """
    pale = np.array([phase.role == "host" for phase in mineralogy.phases])
    grain = classes.mineral[classes.carrier]
    dark = ~pale[grain]
    trials = len(shares.non_magnetics)
    noise = stream(seed, "machine/discrepancy").standard_normal(trials - 1)
    factor = np.exp(DISCREPANCY_LN * np.append(0.0, noise))[:, None]
    kept = shares.non_magnetics
    moved = np.where(dark, kept * factor / (1.0 - kept + kept * factor), kept)
    taken = 1.0 - kept
    left = np.divide(1.0 - moved, taken, out=np.ones_like(kept), where=taken > 0.0)
    stayed = np.divide(moved, kept, out=np.ones_like(kept), where=kept > 0.0)
    middlings = shares.middlings * left
    return Shares(
        magnetics=np.maximum(1.0 - moved - middlings, 0.0),
        middlings=middlings,
        non_magnetics=moved,
        missed=np.minimum(shares.missed * stayed, moved),
    )


def circuit_with_discrepancy(
    shares: Shares, classes: ParticleClasses, mineralogy: Mineralogy, seed: int
) -> Shares:
    """The same for a circuit, whose dust is let fall by screens and not by magnets.

    Parameters
    ----------
    shares : Shares
        (T, C) each: product as non_magnetics, dust as middlings, reject as magnetics. [-]
    classes : ParticleClasses
        The grains. [-]
    mineralogy : Mineralogy
        Tells pale phases from the others. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    Shares
        Row 0 and the dust as they were; of the rest the odds of dark grains to be product moved by
        one factor a trial, for all passes together. [-]
    """
    dust = shares.middlings
    rest = 1.0 - dust
    kept = np.divide(shares.non_magnetics, rest, out=np.zeros_like(rest), where=rest > 0.0).clip(
        0.0, 1.0
    )
    nothing = np.zeros_like(kept)
    moved = with_discrepancy(
        Shares(1.0 - kept, nothing, kept, np.minimum(shares.missed, kept)),
        classes,
        mineralogy,
        seed,
    )
    product = moved.non_magnetics * rest
    return Shares(
        magnetics=np.maximum(rest - product, 0.0),
        middlings=dust,
        non_magnetics=product,
        missed=np.minimum(moved.missed, product),
    )
