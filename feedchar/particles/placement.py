"""Where each dark mineral sits: free, joined, included, stained or inside, before any mass.

One precedence: the user's textures of that size class, his textures of the whole bag, his grain
size with a published model, and last the stated defaults.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv, ndtr

from feedchar.particles.classes import SizeClasses
from feedchar.particles.joining import joined_grade_moments
from feedchar.sample.records import Sample, Texture
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]

JOINED_CRUSHED = (0.15, 2.844, 16.117)
"""Typical joined share of crushed rock and a beta of that mean, 95 % below 0.30 (guess)."""
JOINED_OTHER = (0.05, 0.4186, 7.953)
"""The same for sands: mean 0.05, 95 % below 0.20 (guess)."""
TEXTURE_LOGIT_SD = 0.25
"""Spread of a counted texture share, on the logit: about 20 % relative (guess)."""
MODEL_LOGIT_SD = 0.5
"""Spread of a modelled joined share of crushed rock, on the logit (guess)."""


@dataclass(frozen=True)
class Placement:
    """A part of one mineral in one form, on one host or on all pale phases."""

    form: str
    """joined | inclusion | stain | inside"""
    host: str | None
    share: Array
    """(T or 1, S) of the mineral in that size."""
    grain_size_um: float | None
    """Of the mineral before breakage, when given: shapes the grades of joined grains."""
    evidence: str
    """measured | fitted | prior"""


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


def _perturbed(share: Array, deviate: Array, logit_sd: float) -> Array:
    """Shares moved on the logit; 0 and 1 stay, the typical row too."""
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
        return _perturbed(joined, deviate, MODEL_LOGIT_SD)
    return np.asarray(joined * ndtr(deviate)[:, None])


def _covers(texture: Texture, sizes: SizeClasses) -> NDArray[np.bool_]:
    middle = sizes.middle_um
    high = np.inf if texture.passing_um is None else texture.passing_um
    low = -np.inf if texture.retained_um is None else texture.retained_um
    return np.asarray((middle <= high) & (middle > low))


def _is_sized(texture: Texture) -> bool:
    return texture.passing_um is not None or texture.retained_um is not None


def _stated_shares(
    rows: list[Texture], sizes: SizeClasses
) -> tuple[dict[tuple[str, str | None], Array], Array]:
    """Stated shares by (form, host) and size, sized rows over whole-bag rows; NaN: not stated.

    Also the share stated to be free.
    """
    stated: dict[tuple[str, str | None], Array] = {}
    sized_cover = np.zeros(len(sizes), dtype=bool)
    for row in rows:
        if _is_sized(row) and row.share_pct is not None:
            sized_cover |= _covers(row, sizes)
    for row in rows:
        if row.share_pct is None:
            continue
        where = _covers(row, sizes) if _is_sized(row) else ~sized_cover
        share = stated.setdefault((row.form, row.host), np.full(len(sizes), np.nan))
        share[where] = np.nan_to_num(share[where]) + row.share_pct / 100.0
    free = stated.pop(("free", None), None)
    for key in [key for key in stated if key[0] == "free"]:
        other = stated.pop(key)
        free = other if free is None else np.where(np.isnan(free), other, free)
    return stated, np.full(len(sizes), np.nan) if free is None else free


def _grain_size(
    rows: list[Texture], forms: tuple[str, ...], host: str | None = None
) -> float | None:
    """Mean of the grain sizes given for some forms, of one host where one is named. [um]"""
    found = [
        row.grain_size_um
        for row in rows
        if row.grain_size_um is not None and row.form in forms and host in (None, row.host)
    ]
    return float(np.mean(sorted(found))) if found else None


def placements_of(
    mineral: str,
    sample: Sample,
    sizes: SizeClasses,
    volume_fraction: Array,
    removable: bool,
    stain_share: float,
    seed: int,
) -> tuple[Placement, ...]:
    """All parts of one dark mineral that are not free grains.

    Parameters
    ----------
    mineral : str
        Canonical name. [-]
    sample : Sample
        Its textures and origin. [-]
    sizes : SizeClasses
        Size classes, S of them. [um]
    volume_fraction : array, shape (T,)
        Of the mineral in the bag. [-]
    removable : bool
        Whether the stated default of joined grains applies. [-]
    stain_share : float
        Share that sits as stain by diagnostics, where no texture says so. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    tuple of Placement
        Their shares never sum above 1 in any trial and size. [-]

    References
    ----------
    common practice, no source (the defaults)
    """
    trials = len(volume_fraction)
    rows = sorted(
        (row for row in sample.textures if row.mineral == mineral),
        key=lambda row: (row.form, row.host or "", row.passing_um or 0.0, row.share_pct or 0.0),
    )
    grain_size = _grain_size(rows, ("joined", "free"))
    stated, free = _stated_shares(rows, sizes)
    parts: list[Placement] = []
    joined_known = np.zeros(len(sizes), dtype=bool)
    for (form, host), share in stated.items():
        if form == "joined":
            joined_known |= ~np.isnan(share)
        moved = _perturbed(
            np.nan_to_num(np.clip(share, None, 1.0))[None, :],
            deviates(seed, f"{mineral}/{form}/{host or 'pale'} share", trials),
            TEXTURE_LOGIT_SD,
        )
        own = grain_size if form == "joined" else _grain_size(rows, (form,), host)
        parts.append(Placement(form, host, moved, own, "measured"))
    if stain_share > 0.0 and not any(form == "stain" for form, _ in stated):
        fixed = np.full((1, len(sizes)), stain_share)
        parts.append(Placement("stain", None, fixed, None, "fitted"))

    # What is stated free leaves the rest to joined grains, unless other forms already take it.
    free_known = ~np.isnan(free) & ~joined_known
    others = sum((part.share for part in parts), np.zeros((1, len(sizes))))
    rest = np.clip(1.0 - np.nan_to_num(free)[None, :] - others[:1], 0.0, 1.0) * free_known
    if np.any(rest > 0.0):
        moved = _perturbed(
            rest, deviates(seed, f"{mineral}/not free share", trials), TEXTURE_LOGIT_SD
        )
        parts.append(Placement("joined", None, moved, grain_size, "measured"))
    unknown = ~joined_known & ~free_known
    if removable and unknown.any():
        room = np.clip(1.0 - others, 0.0, 1.0) * unknown
        if grain_size is not None:
            deviate = deviates(seed, f"{mineral}/joined model", trials)
            share = modelled_joined_share(
                grain_size, sizes, volume_fraction, sample.origin, deviate
            )
            evidence = "fitted"
        else:
            share = default_joined_share(seed, mineral, sample.origin, trials)[:, None]
            evidence = "prior"
        parts.append(Placement("joined", None, share * room, grain_size, evidence))
    total = sum((part.share for part in parts), np.zeros((1, len(sizes))))
    scale = 1.0 / np.maximum(total, 1.0)
    return tuple(
        Placement(part.form, part.host, part.share * scale, part.grain_size_um, part.evidence)
        for part in parts
    )
