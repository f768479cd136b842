"""The isodynamic laboratory separator as a step: mass susceptibility against current and slope."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from feedchar.constants import GRAVITY_M_S2, VACUUM_PERMEABILITY_T_M_A
from feedchar.magnetics.isodynamic import isodynamic_force_product
from feedchar.separation.capture import MOMENT_SHARES, RESPONSE, RESPONSE_SCALE, Reference

Array = NDArray[np.float64]

SHARPNESS_LN_SD = 0.15
"""Spread of the susceptibility at which grains of one pass divide (guess). [-]"""
WORKING_TESLA = 0.7
"""Flux density between the poles at which a saturated moment is pulled (from memory)."""
MOST_CURRENT_A = 1.5
"""Above it the poles saturate, and more current pulls no more (from memory)."""


def isodynamic_capture(
    current_a: float,
    side_slope_rad: float,
    nodes: int,
    reference: Reference,
    adhesions: int,
    with_moment: bool,
) -> Array:
    """Share of each grain node that climbs the side slope to the magnetics.

    The pull along the slope against g sin(slope), whatever the size of the grain.

    Parameters
    ----------
    current_a : float
        Coil current, counted to where the poles saturate. [A]
    side_slope_rad : float
        Side slope of the chute. [rad]
    nodes : int
        Number of grain nodes P. [-]
    reference : Reference
        Of the response axis. [SI]
    adhesions : int
        Length of the adhesion axis, along which nothing changes here. [-]
    with_moment : bool
        False: the first moment share only. [-]

    Returns
    -------
    array, shape (P, A, F, U)
        As `capture_table` gives it for a roll. [-]

    Raises
    ------
    SettingError
        A current that is not positive.

    References
    ----------
    Derived from the calibration of `magnetics.isodynamic` (from memory); the spread is a guess.
    """
    product = float(isodynamic_force_product(min(current_a, MOST_CURRENT_A)))
    needed = GRAVITY_M_S2 * float(np.sin(side_slope_rad))
    response = np.sinh(RESPONSE) * RESPONSE_SCALE / reference.pull_per_susceptibility
    shares = np.array(MOMENT_SHARES if with_moment else MOMENT_SHARES[:1])
    by_linear = product / VACUUM_PERMEABILITY_T_M_A
    by_moment = product / WORKING_TESLA / reference.susceptibility_per_moment
    pull = (by_linear * (1.0 - shares) + by_moment * shares)[:, None] * response
    ratio = np.maximum(pull / needed, np.finfo(float).tiny)
    taken = ndtr(np.log(ratio) / SHARPNESS_LN_SD)
    return np.broadcast_to(taken, (nodes, adhesions, *taken.shape)).copy()
