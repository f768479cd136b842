"""Where each dark mineral sits: free, joined, included, stained or inside, before any mass.

One precedence: the user's textures of that size class, his textures of the whole bag, his grain
size with a published model, and last the stated defaults.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.particles.classes import SizeClasses
from feedchar.particles.joined_share import (
    default_joined_share,
    deviates,
    modelled_joined_share,
    perturbed,
)
from feedchar.sample.records import Sample, Texture

Array = NDArray[np.float64]

TEXTURE_LOGIT_SD = 0.25
"""Spread of a counted texture share, on the logit: about 20 % relative (guess)."""


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
        moved = perturbed(
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
        moved = perturbed(
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
