"""How much of a mineral is joined where nobody counted it: a default by origin, or a model."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv, ndtr

from feedchar.particles.classes import SizeClasses
from feedchar.particles.joining import joined_grade_moments
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]


JOINED_CRUSHED = (0.15, 2.844, 16.117)
"""Typical joined share of crushed rock and a beta of that mean, 95 % below 0.30 (guess)."""


JOINED_OTHER = (0.05, 0.4186, 7.953)
"""The same for sands: mean 0.05, 95 % below 0.20 (guess)."""


MODEL_LOGIT_SD = 0.5
"""Spread of a modelled joined share of crushed rock, on the logit (guess)."""


def deviates(seed: int, name: str, trials: int) -> Array:
    """Standard normal deviates of one quantity, 0 in the typical row.

    Parameters
    ----------
    seed : int
        The run's seed. [-]
    name : str
        Name of the stream. [-]
    trials : int
        Rows T, the typical one included. [-]

    Returns
    -------
    array, shape (T,)
        Deviates. [-]

    References
    ----------
    salmon_2011 for the streams
    """
    out = np.zeros(trials)
    out[1:] = stream(seed, name).standard_normal(trials - 1)
    return out


def perturbed(share: Array, deviate: Array, logit_sd: float) -> Array:
    """Shares moved on the logit; 0 and 1 stay, the typical row too.

    Parameters
    ----------
    share : array, shape (S,) or (T, S)
        Shares. [-]
    deviate : array, shape (T,)
        Standard normal deviates, 0 in the typical row. [-]
    logit_sd : float
        Spread on the logit. [-]

    Returns
    -------
    array, shape (T, S)
        Shares from 0 to 1. [-]

    References
    ----------
    Logit-normal, derived here.
    """
    factor = np.exp(logit_sd * deviate)[:, None]
    return np.asarray(share * factor / (1.0 - share + share * factor))


def default_joined_share(seed: int, mineral: str, origin: str | None, trials: int) -> Array:
    """Joined share of a removable mineral when nothing is known.

    Half of the variance (on the normal scale) is common to all minerals of the sample, since
    weathering and crushing meet them alike.

    Parameters
    ----------
    seed : int
        The run's seed. [-]
    mineral : str
        Name of the mineral. [-]
    origin : str or None
        `crushed rock` or anything else. [-]
    trials : int
        Rows T, the typical one included. [-]

    Returns
    -------
    array, shape (T,)
        Share of the mineral. [-]

    References
    ----------
    common practice, no source (guess)
    """
    typical, a, b = JOINED_CRUSHED if origin == "crushed rock" else JOINED_OTHER
    common = deviates(seed, "joined/share", trials)
    own = deviates(seed, f"{mineral}/joined share", trials)
    # Quantiles from a fine table: the inverse itself costs 2 us a draw.
    node = np.linspace(-8.0, 8.0, 2001)
    table = np.log(betaincinv(a, b, ndtr(node)))
    share = np.exp(np.interp((common + own) / np.sqrt(2.0), node, table))
    share[0] = typical
    return share


def modelled_joined_share(
    grain_size_um: float,
    sizes: SizeClasses,
    volume_fraction: Array,
    origin: str | None,
    deviate: Array,
) -> Array:
    """Joined share of a mineral by size from its grain size, random breakage.

    In crushed rock the model is a first guess; of a sand it is a pessimistic bound, so the share
    lies evenly between 0 and the model, half of it typically.

    Parameters
    ----------
    grain_size_um : float
        Size of the mineral's grains before breakage. [um]
    sizes : SizeClasses
        Size classes, S of them. [um]
    volume_fraction : array, shape (T,)
        Of the mineral in the bag. [-]
    origin : str or None
        `crushed rock` or anything else. [-]
    deviate : array, shape (T,)
        Standard normal deviates, 0 in the typical row. [-]

    Returns
    -------
    array, shape (T, S)
        Joined share. [-]

    References
    ----------
    wiegel_li_1967; common practice, no source (the bound for sands)
    """
    ratio = grain_size_um / sizes.middle_um
    joined = 1.0 - joined_grade_moments(ratio[None, :], volume_fraction[:, None])[0]
    if origin == "crushed rock":
        return perturbed(joined, deviate, MODEL_LOGIT_SD)
    return np.asarray(joined * ndtr(deviate)[:, None])
