"""Size classes cut where a circuit cuts, so that no class lies on both sides of a screen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedchar.particles.classes import ParticleClasses, SizeClasses

Array = NDArray[np.float64]

PAN_RATIO = 4.0
"""A pan is taken to reach down to its upper end over this, as where a window is treated."""


def cut_classes(classes: ParticleClasses, cuts_um: tuple[float, ...]) -> ParticleClasses:
    """The same feed with every size class divided at the cuts.

    Parameters
    ----------
    classes : ParticleClasses
        C classes over T trials. [-]
    cuts_um : tuple of float
        Sizes to divide at. [um]

    Returns
    -------
    ParticleClasses
        Mass is spread evenly over the logarithm of size within a class; all of it is kept. [-]

    References
    ----------
    common practice, no source (even in the logarithm of size)
    """
    sizes = classes.sizes
    passing: list[float] = []
    retained: list[float] = []
    pieces: list[list[tuple[int, float]]] = []
    for top, bottom in zip(sizes.passing_um, sizes.retained_um, strict=True):
        floor = bottom if bottom > 0.0 else top / PAN_RATIO
        inner = sorted({cut for cut in cuts_um if floor < cut < top}, reverse=True)
        ends = [float(top), *inner, float(bottom)]
        span = [float(top), *inner, float(floor)]
        share = np.diff(np.log(span)) / (np.log(span[-1]) - np.log(span[0]))
        pieces.append([(len(passing) + k, float(part)) for k, part in enumerate(share)])
        passing += ends[:-1]
        retained += ends[1:]
    if len(passing) == len(sizes):
        return classes
    source: list[int] = []
    place: list[int] = []
    part: list[float] = []
    index: dict[tuple[int, int], int] = {}
    for c, size in enumerate(classes.size):
        for number, (new, share_) in enumerate(pieces[size]):
            index[c, number] = len(source)
            source.append(c)
            place.append(new)
            part.append(share_)
    of = np.array(source, dtype=np.intp)
    # A rider has the size of the grain that carries it, so both are cut into equal pieces.
    carrier = [index[int(classes.carrier[c]), number] for c, number in index]
    return replace(
        classes,
        sizes=SizeClasses(np.array(passing), np.array(retained)),
        mineral=classes.mineral[of],
        host=classes.host[of],
        form=classes.form[of],
        size=np.array(place, dtype=np.intp),
        grade=classes.grade[of],
        carrier=np.array(carrier, dtype=np.intp),
        mass=classes.mass[:, of] * np.array(part),
        thickness_ratio=classes.thickness_ratio[of],
        acts_as=None if classes.acts_as is None else classes.acts_as[of],
    )
