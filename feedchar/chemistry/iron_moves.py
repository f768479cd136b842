"""Moves of the chains that change the iron of a phase."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.chains import LEAST, Chains
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.system import Flags


def _new_iron(chains: Chains, j: int, width: float) -> tuple[Array, Array, Array]:
    """A proposal that leaves the prior of the iron as it is."""
    random = chains.draw[chains.names[j]]
    z = np.sqrt(1.0 - width * width) * chains.z[j] + width * random.standard_normal(chains.trials)
    return z, chains.prior.iron[j].place(z), np.log(random.random(chains.trials))


def _take_iron(chains: Chains, j: int, z: Array, t: Array, taken: Flags, change: Array) -> None:
    np.copyto(chains.z[j], z, where=taken)
    np.copyto(chains.t[j], t, where=taken)
    np.multiply(chains.change[j], chains.t[j], out=chains.content[j])
    chains.content[j] += chains.low[j]
    change *= taken
    chains.residual -= change


def move_iron(chains: Chains, j: int, width: float) -> None:
    """The iron of a phase moves along its line.

    Parameters
    ----------
    chains : Chains
        The chains, changed in place. [-]
    j : int
        The phase. [-]
    width : float
        Step of the score, 0 to 1; 1 draws afresh from the prior. [-]

    References
    ----------
    Preconditioned Crank-Nicolson step, from memory: the prior is kept, the rows accept.
    """
    z, t, level = _new_iron(chains, j, width)
    moved = chains.x[j] * (t - chains.t[j])
    change = moved * chains.change[j]
    precision, slope = chains.along(change)
    gain = slope - 0.5 * precision + chains.caps(change)
    if j in chains.prior.hidden:
        hidden = chains.hidden + moved * chains.prior.iron_oxide_change[j]
        log_hidden = chains.prior.unseen.log_density(hidden)
        gain = gain + log_hidden - chains.log_hidden
        taken = level < gain
        np.copyto(chains.hidden, hidden, where=taken)
        np.copyto(chains.log_hidden, log_hidden, where=taken)
    else:
        taken = level < gain
    _take_iron(chains, j, z, t, taken, change)


def trade(chains: Chains, j: int, c: int, h: int, width: float) -> None:
    """Iron of j changes and the mass of c makes up for it; h closes the balance.

    Parameters
    ----------
    chains : Chains
        The chains, changed in place. [-]
    j, c, h : int
        Three phases; the iron of j must not be hidden. [-]
    width : float
        Step of the score, 0 to 1. [-]

    References
    ----------
    As `move_iron`; the mass follows by a shear, whose Jacobian is 1.
    """
    z, t, level = _new_iron(chains, j, width)
    moved = chains.x[j] * (t - chains.t[j])
    gap = chains.oxide_share(c) - chains.oxide_share(h)
    step = moved * (-chains.prior.iron_oxide_change[j] / np.maximum(gap, 1e-6))
    possible = (chains.x[c] + step > LEAST) & (chains.x[h] - step > LEAST)
    step *= possible
    new = chains.propose(c, h, step)
    change = moved * chains.change[j] + step * (chains.content[c] - chains.content[h])
    precision, slope = chains.along(change)
    gain = new.gain + slope - 0.5 * precision + chains.caps(change)
    taken = possible & (level < gain)
    chains.take(new, taken, None)
    _take_iron(chains, j, z, t, taken, change)
