"""Assays as rows of the fit: the head, separated fractions, and all rows put together."""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.assay_weight import assay_sd
from feedchar.chemistry.draws import line_ends
from feedchar.chemistry.ingredients import Feed
from feedchar.chemistry.mineralogy import OXIDES, Array
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.system import Rows
from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.records import OxideValue, Sample

_UNMODELLED_SD = {"LOI": 0.10, "MnO": 0.03}
"""What no listed mineral carries: organic matter and adsorbed water, manganese skins (guesses)."""


def assay_rows(feed: Feed, assay: dict[str, OxideValue]) -> Rows:
    """Rows of the fit from the head assay.

    Parameters
    ----------
    feed : Feed
        M phases. [-]
    assay : dict of str to OxideValue
        Head assay of the dry bag; oxides that no column stands for are left out. [wt %]

    Returns
    -------
    Rows
        One row an oxide, in the order of OXIDES. [wt %]

    References
    ----------
    By definition of the records of this room.
    """
    names = tuple(name for name in OXIDES[:-1] if name in assay)
    low, change = line_ends(feed)
    columns = [COLUMN[name] for name in names]
    value = np.array([assay[name].value for name in names])
    sd = np.array([np.hypot(assay_sd(n, assay[n]), _UNMODELLED_SD.get(n, 0.0)) for n in names])
    return Rows(
        names,
        value,
        sd,
        low[:, columns, None] / 100.0,
        change[:, columns, None] / 100.0,
        np.array([assay[name].below_detection for name in names], dtype=bool),
        _spread(feed)[:, columns] / 100.0,
    )


def _spread(feed: Feed) -> Array:
    return np.stack([ingredient.spread for ingredient in feed.ingredients])


def fraction_rows(feed: Feed, sample: Sample, typical: Array) -> Rows | None:
    """Rows of the fit from assays of separated fractions.

    Parameters
    ----------
    feed : Feed
        M phases. [-]
    sample : Sample
        Fractions with their weights, assays and minerals. [-]
    typical : array, shape (M,)
        Typical amounts of the bag before the assay. [wt %]

    Returns
    -------
    Rows or None
        One row an oxide of each fraction of the bag whose minerals are listed; the share of each
        mineral that went into the fraction is held at its typical value, for which 10 % is added
        to the sd. [wt %]

    References
    ----------
    Mass balance; the 10 % is a guess.
    """
    low, change = line_ends(feed)
    names: list[str] = []
    values: list[tuple[float, float, bool]] = []
    lows: list[Array] = []
    changes: list[Array] = []
    for fraction in sorted(sample.fractions, key=lambda f: f.fraction):
        rows = [r for r in sample.minerals if r.fraction == fraction.fraction and r.value > 0]
        if fraction.passing_um is not None or not rows or fraction.mass_pct <= 0:
            continue
        listed = {r.mineral: r.value for r in rows if not r.below_detection}
        total = sum(value for _, value in sorted(listed.items()))
        share = np.zeros(len(feed.names))
        for j, name in enumerate(feed.names):
            if name in listed and typical[j] > 0:
                inside = listed[name] / total * fraction.mass_pct
                share[j] = min(inside / typical[j], 1.0)
        for oxide in OXIDES[:-1]:
            if oxide not in fraction.oxides_wt_pct:
                continue
            value = fraction.oxides_wt_pct[oxide]
            sd = (default_assay_sd(oxide, value) ** 2 + (0.1 * value) ** 2) ** 0.5
            names.append(f"{oxide} of {fraction.fraction}")
            values.append((value, sd, oxide in fraction.below_detection))
            scale = share / fraction.mass_pct
            lows.append(low[:, COLUMN[oxide]] * scale)
            changes.append(change[:, COLUMN[oxide]] * scale)
    if not names:
        return None
    return Rows(
        tuple(names),
        np.array([v for v, _, _ in values]),
        np.array([s for _, s, _ in values]),
        np.stack(lows, axis=1)[:, :, None],
        np.stack(changes, axis=1)[:, :, None],
        np.array([c for _, _, c in values], dtype=bool),
        np.zeros((len(feed.names), len(names))),
    )


def joined(parts: list[Rows]) -> Rows:
    """Several sets of rows as one.

    Parameters
    ----------
    parts : list of Rows
        Over the same phases. [-]

    Returns
    -------
    Rows
        All rows, in the order given. [-]

    References
    ----------
    By definition of the records of this room.
    """
    trials = max(part.low.shape[2] for part in parts)
    low = [np.broadcast_to(p.low, (*p.low.shape[:2], trials)) for p in parts]
    change = [np.broadcast_to(p.change, (*p.change.shape[:2], trials)) for p in parts]
    return Rows(
        tuple(name for part in parts for name in part.names),
        np.concatenate([part.value for part in parts]),
        np.concatenate([part.sd for part in parts]),
        np.concatenate(low, axis=1),
        np.concatenate(change, axis=1),
        np.concatenate([part.capped for part in parts]),
        np.concatenate([part.spread for part in parts], axis=1),
    )
