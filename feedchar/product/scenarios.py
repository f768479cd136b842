"""What else could be done to the feed: scrub it or wash off the fines.

Each takes particle classes and gives particle classes, masses still as fractions of the dry bag,
so that the same separation and the same outlets answer for the treated feed. What leaves (stain
in the scrub water, slimes) leaves the bag, and the yield says so.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedchar.particles.classes import ParticleClasses
from feedchar.particles.columns import FREE, NOT_FOUND, STAIN
from feedchar.product.outlets import treated_share
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]

SCRUB_TAKES = 0.7
"""Share of the stain that a good scrub takes off, typical (guess). [-]"""
SCRUB_A, SCRUB_B = 4.2, 1.8
"""Beta of that mean for the draws (guess). [-]"""


def acting_form(classes: ParticleClasses) -> NDArray[np.intp]:
    """How each class sits: its form, or what iron that was not found is taken to be.

    Parameters
    ----------
    classes : ParticleClasses
        C classes. [-]

    Returns
    -------
    array of int, shape (C,)
        Index into FORMS. [-]

    References
    ----------
    computed_here
    """
    if classes.acts_as is not None:
        return classes.acts_as
    rides = classes.carrier != np.arange(len(classes.carrier))
    guess = np.where(rides, STAIN, FREE)
    return np.asarray(np.where(classes.form == NOT_FOUND, guess, classes.form))


def scrub_shares(seed: int, trials: int) -> Array:
    """Share of the stain that a scrub takes off, drawn, since nobody has tried it on this sand.

    Parameters
    ----------
    seed : int
        The run's seed. [-]
    trials : int
        Rows T, the typical one included. [-]

    Returns
    -------
    array, shape (T,)
        0.7 in the typical row; a beta of that mean, 0.35 to 0.95 as 5 and 95 %. [-]

    References
    ----------
    common practice, no source (guess)
    """
    share = np.full(trials, SCRUB_TAKES)
    share[1:] = stream(seed, "scrub/share").beta(SCRUB_A, SCRUB_B, trials - 1)
    return share


def scrubbed(classes: ParticleClasses, takes: float | Array = SCRUB_TAKES) -> ParticleClasses:
    """The feed after scrubbing: a share of the stain is gone with the water.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]
    takes : float or array, shape (T,)
        Share of the stain that comes off. [-]

    Returns
    -------
    ParticleClasses
        Only the masses of stain differ. [-]

    References
    ----------
    common practice, no source (the share is a guess)
    """
    stain = acting_form(classes) == STAIN
    left = np.broadcast_to(np.atleast_1d(1.0 - np.asarray(takes))[:, None], (len(classes.mass), 1))
    return replace(classes, mass=np.where(stain, classes.mass * left, classes.mass))


def deslimed(classes: ParticleClasses, cut_um: float) -> ParticleClasses:
    """The feed without what is finer than a cut.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]
    cut_um : float
        Size of the cut. [um]

    Returns
    -------
    ParticleClasses
        A class that the cut divides loses its share evenly in the logarithm of size. [-]

    References
    ----------
    common practice, no source
    """
    kept = treated_share(classes.sizes, None, cut_um)[classes.size]
    return replace(classes, mass=classes.mass * kept)
