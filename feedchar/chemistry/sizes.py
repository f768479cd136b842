"""Size classes of the bag, and how each phase is spread over them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from feedchar.chemistry.mineralogy import Array
from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.assays import HEAD_NAMES
from feedchar.sample.names import fold
from feedchar.sample.records import Sample

DEFAULT_D50_UM, DEFAULT_LN_SD = 200.0, 0.5
"""Log-normal taken when no sieves are given (guess)."""
DEFAULT_SIEVES_UM = (500.0, 355.0, 250.0, 180.0, 125.0, 90.0, 63.0, 45.0)
"""R20/3 sieves, 45 to 500 um."""


def log_normal_classes(d50_um: float, ln_sd: float, sieves_um: Array) -> Array:
    """Share of mass between sieves of a log-normal size distribution.

    Parameters
    ----------
    d50_um : float
        Size that half the mass passes. [um]
    ln_sd : float
        Standard deviation of ln size. [-]
    sieves_um : array, shape (S + 1,)
        Apertures from coarse to fine. [um]

    Returns
    -------
    array, shape (S,)
        Shares, the tails left out, summing to 1. [-]

    References
    ----------
    Log-normal passing, Phi(ln(d/d50)/ln-sd): textbook (derived).
    """
    passing = ndtr(np.log(np.asarray(sieves_um) / d50_um) / ln_sd)
    share = passing[:-1] - passing[1:]
    return np.asarray(share / share.sum())


def size_classes(sample: Sample) -> tuple[Array, Array, Array]:
    """Size classes of the bag from coarse to fine.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]

    Returns
    -------
    tuple of array
        Passing and retained size, and share of the mass summing to 1, each shape (S,). Without
        sieves a log-normal of d50 200 um and ln-sd 0.5 on R20/3 sieves. [um, um, -]

    References
    ----------
    The default is a guess; R20/3 from iso_565.
    """
    rows = sorted(sample.sieves, key=lambda row: (-row.passing_um, -row.retained_um))
    rows = [row for row in rows if row.mass_pct > 0]
    if rows:
        passing = np.array([row.passing_um for row in rows])
        retained = np.array([row.retained_um for row in rows])
        share = np.array([row.mass_pct for row in rows])
        return passing, retained, share / share.sum()
    sieves = np.array(DEFAULT_SIEVES_UM)
    share = log_normal_classes(DEFAULT_D50_UM, DEFAULT_LN_SD, sieves)
    return sieves[:-1], sieves[1:], share


def inside(
    passing_um: Array, retained_um: Array, passing: float, retained: float
) -> NDArray[np.bool_]:
    """Which classes lie inside a coarser class.

    Parameters
    ----------
    passing_um, retained_um : array, shape (S,)
        Classes of the bag. [um]
    passing, retained : float
        The coarser class. [um]

    Returns
    -------
    array, shape (S,)
        True for classes inside it. [-]

    References
    ----------
    A slack of 1e-4 for sizes that were converted (derived).
    """
    slack = 1e-4
    return np.asarray(
        (passing_um <= passing * (1 + slack)) & (retained_um >= retained * (1 - slack))
    )


@dataclass(frozen=True)
class ClassAssay:
    """One oxide of one size class."""

    oxide: str
    value: float
    sd: float
    below_detection: bool
    members: tuple[bool, ...]
    """Which classes of the bag it covers."""
    share: float
    """Their share of the mass."""
    passing_um: float
    retained_um: float


def class_assays(sample: Sample) -> tuple[ClassAssay, ...]:
    """All assays of size classes of the bag, from the sieve sheet and from determinations.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]

    Returns
    -------
    tuple of ClassAssay
        From coarse to fine, by oxide; several results of one class are averaged. [wt %]

    References
    ----------
    sd from memory of trade practice.
    """
    passing, retained, share = size_classes(sample)
    names = HEAD_NAMES | {fold(sample.name)}
    results: dict[tuple[float, float, str], list[tuple[float, bool]]] = {}
    for row in sample.sieves:
        for oxide, value in row.oxides_wt_pct.items():
            key = (row.passing_um, row.retained_um, oxide)
            results.setdefault(key, []).append((value, oxide in row.below_detection))
    for item in sample.determinations:
        if item.passing_um is not None and fold(item.bag) in names:
            key = (item.passing_um, item.retained_um or 0.0, item.oxide)
            results.setdefault(key, []).append((item.value, item.below_detection))
    found = []
    for (top, bottom, oxide), values in sorted(results.items(), key=lambda r: (-r[0][0], r[0])):
        members = inside(passing, retained, top, bottom)
        seen = [value for value, below in values if not below] if sample.sieves else []
        if not members.any() or not sample.sieves:
            continue
        below = not seen
        value = min(v for v, _ in values) if below else sum(sorted(seen)) / len(seen)
        sd = max(0.1 * value, 1e-6) if below else default_assay_sd(oxide, value) / len(seen) ** 0.5
        found.append(
            ClassAssay(
                oxide,
                value,
                sd,
                below,
                tuple(bool(m) for m in members),
                float(share[members].sum()),
                top,
                bottom,
            )
        )
    return tuple(found)
