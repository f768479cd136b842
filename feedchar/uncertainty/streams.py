"""One counter-based random stream for each named quantity.

A stream depends on the seed and the name alone, so row order, or one mineral more, changes
nothing in the draws of the others.
"""

from __future__ import annotations

import hashlib

import numpy as np
from numpy.random import Generator, Philox


def stream(seed: int, name: str) -> Generator:
    """Random generator of one named quantity.

    Parameters
    ----------
    seed : int
        The run's seed, 0 or more. [-]
    name : str
        What is drawn, such as "quartz/mass". [-]

    Returns
    -------
    numpy.random.Generator
        Philox 4x64 keyed by SHA-256 of seed and name. [-]

    References
    ----------
    salmon_2011 for the generator; numpy's documentation for its use as keyed streams.
    """
    digest = hashlib.sha256(f"{seed}\x00{name}".encode()).digest()
    return Generator(Philox(key=np.frombuffer(digest[:16], dtype=np.uint64)))
