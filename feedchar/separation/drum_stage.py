"""A drum before the roll: what its force product carries round its shell."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from feedchar.constants import GRAVITY_M_S2, VACUUM_PERMEABILITY_T_M_A
from feedchar.field.drum import Drum, drum_flux_density, drum_force_product
from feedchar.separation.capture import MOMENT_SHARES, RESPONSE, RESPONSE_SCALE, Reference
from feedchar.separation.grain_nodes import GrainNodes

Array = NDArray[np.float64]


def drum_capture(
    drum: Drum, nodes: GrainNodes, reference: Reference, adhesions: int, with_moment: bool
) -> Array:
    """Share of each grain node that a drum carries under its shell.

    Held to the bottom of the shell: pull >= v^2/R + g, the grain one half-height above the shell.

    Parameters
    ----------
    drum : Drum
        Its poles. [SI]
    nodes : GrainNodes
        Grain nodes. [SI]
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

    References
    ----------
    Radial balance, derived here; speed of the shell and spread are guesses.
    """
    product = drum_force_product(drum, nodes.half_height_m)
    radial, along = drum_flux_density(drum, nodes.half_height_m, 0.0)
    gradient = product / np.hypot(radial, along)
    speed = drum.shell_speed_m_s
    needed = speed**2 / (drum.drum_radius_m + nodes.half_height_m) + GRAVITY_M_S2
    response = np.sinh(RESPONSE) * RESPONSE_SCALE / reference.pull_per_susceptibility
    shares = np.array(MOMENT_SHARES if with_moment else MOMENT_SHARES[:1])
    by_linear = product / VACUUM_PERMEABILITY_T_M_A
    by_moment = gradient / reference.susceptibility_per_moment
    unit = by_linear[:, None] * (1.0 - shares) + by_moment[:, None] * shares
    pull = unit[:, :, None] * response
    tiny = np.finfo(float).tiny
    ratio = np.maximum(pull / needed[:, None, None], tiny)
    taken = ndtr(np.log(ratio) / drum.hold_ln_sd)
    return np.repeat(taken[:, None], adhesions, axis=1)
