"""What small treatments say of the iron: each replaces an assumption by a measurement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feedchar.chemistry.mineral_trials import standard_scores
from feedchar.chemistry.mineralogy import Array
from feedchar.sample.assay_error import default_assay_sd
from feedchar.sample.records import Diagnostic, Sample

STRONG = ("magnetite", "titanomagnetite", "maghemite", "martite", "pyrrhotite", "metallic iron")
"""Minerals that a hand magnet takes."""
_LEAST_SHARE = 0.01


@dataclass(frozen=True)
class Reading:
    """A figure and its standard deviation, wt % Fe2O3 of the feed unless said otherwise."""

    value: float
    sd: float


@dataclass(frozen=True)
class Diagnosis:
    """Everything diagnostics.csv says, None where a treatment was not made."""

    feed_iron: Reading | None = None
    """Fe2O3 of the feed, as the treatments found it before they began."""
    scrubbed: Reading | None = None
    """Fe2O3 that scrubbing took off: stain."""
    leached: Reading | None = None
    """Fe2O3 that hot acid took: stain and free oxide."""
    floor: Reading | None = None
    """Fe2O3 of hand-picked clear grains, wt % of these grains: crystal and inclusions."""
    tool_iron: Reading | None = None
    """Fe2O3 that the mill adds to what it pulverises, by the blank."""
    organics_wt_pct: float = 0.0
    """Mass that burned off, which belongs to LOI and to no mineral."""
    hand_magnet_wt_pct: float | None = None
    """Mass that a hand magnet took, wt % of what it was passed over."""


def diagnosis_of(sample: Sample) -> Diagnosis:
    """Figures of all treatments of a bag.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]

    Returns
    -------
    Diagnosis
        Means where a treatment was repeated. [wt %]

    References
    ----------
    Mass balances; the assay sd are those of the trade, from memory.
    """
    head = sample.assay.get("Fe2O3")
    before = head.value if head is not None and not head.below_detection else None
    by_kind: dict[str, list[Diagnostic]] = {}
    for row in sample.diagnostics:
        by_kind.setdefault(row.treatment, []).append(row)
    fed = [
        Reading(row.Fe2O3_in_wt_pct, default_assay_sd("Fe2O3", row.Fe2O3_in_wt_pct))
        for kind in ("scrub", "hot acid")
        for row in by_kind.get(kind, [])
        if row.Fe2O3_in_wt_pct is not None and "Fe2O3_in_wt_pct" not in row.below_detection
    ]
    picked = [row.Fe2O3_out_wt_pct for row in by_kind.get("hand-picked clear grains", [])]
    magnet = [_taken(row) for row in by_kind.get("hand magnet", [])]
    burned = [_lost(row) for row in by_kind.get("burn-off", [])]
    blank = [
        row.Fe2O3_out_wt_pct - (row.Fe2O3_in_wt_pct or 0.0)
        for row in by_kind.get("mill blank", [])
        if row.Fe2O3_out_wt_pct is not None
    ]
    return Diagnosis(
        feed_iron=_mean(fed),
        scrubbed=_mean([_removed(row, before) for row in by_kind.get("scrub", [])]),
        leached=_mean([_removed(row, before) for row in by_kind.get("hot acid", [])]),
        floor=_mean([Reading(v, default_assay_sd("Fe2O3", v)) for v in picked if v is not None]),
        tool_iron=_mean([Reading(max(v, 0.0), 0.3 * max(v, 0.0) + 0.001) for v in blank]),
        organics_wt_pct=sum(burned) / max(len(burned), 1),
        hand_magnet_wt_pct=max((v for v in magnet if v is not None), default=None),
    )


def _taken(row: Diagnostic) -> float | None:
    if row.mass_in_g is None or row.mass_out_g is None or row.mass_in_g <= 0:
        return None
    return 100.0 * row.mass_out_g / row.mass_in_g


def _lost(row: Diagnostic) -> float:
    taken = _taken(row)
    return max(100.0 - taken, 0.0) if taken is not None else 0.0


def _removed(row: Diagnostic, head_wt_pct: float | None) -> Reading | None:
    before = row.Fe2O3_in_wt_pct if row.Fe2O3_in_wt_pct is not None else head_wt_pct
    after = row.Fe2O3_out_wt_pct
    if before is None or after is None:
        return None
    left = (_taken(row) or 100.0) / 100.0
    sd = (
        default_assay_sd("Fe2O3", before) ** 2 + (left * default_assay_sd("Fe2O3", after)) ** 2
    ) ** 0.5
    return Reading(max(before - left * after, 0.0), sd)


def _mean(readings: list[Reading] | list[Reading | None]) -> Reading | None:
    known = [reading for reading in readings if reading is not None]
    if not known:
        return None
    value = sum(sorted(r.value for r in known)) / len(known)
    return Reading(value, (sum(sorted(r.sd**2 for r in known)) ** 0.5) / len(known))


def forms_by_treatment(
    shares: Array, unseen: Array, diagnosis: Diagnosis, named: dict[str, Array], seed: int
) -> Array:
    """Forms of the unseen iron after the treatments have spoken.

    Parameters
    ----------
    shares : array, shape (T, 3)
        Assumed shares of stain, inclusion and fine free oxide. [-]
    unseen : array, shape (T,)
        Unseen Fe2O3 of the feed. [wt %]
    diagnosis : Diagnosis
        What was measured. [wt %]
    named : dict of str to array
        Fe2O3 that listed phases already give: `stain`, `soluble` (oxides an acid takes), `lattice`
        (inside pale grains), each shape (T,) [wt %], and `pale`, their mass share [-].
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (T, 3)
        Rows sum to 1; forms that no treatment measures share the rest as assumed. [-]

    References
    ----------
    Mass balances; what each treatment takes is common practice, no source.
    """
    trials = shares.shape[0] - 1
    total = np.maximum(unseen, 1e-9)
    known: dict[int, Array] = {}
    if diagnosis.scrubbed is not None:
        stain = _drawn(diagnosis.scrubbed, "scrub", trials, seed) - named["stain"]
        known[0] = stain / total
    if diagnosis.floor is not None:
        inside = _drawn(diagnosis.floor, "clear grains", trials, seed) * named["pale"]
        known[1] = (inside - named["lattice"]) / total
    if diagnosis.leached is not None:
        taken = _drawn(diagnosis.leached, "acid", trials, seed) - named["soluble"]
        if 0 in known:
            known[2] = taken / total - known[0]
        elif 1 not in known:
            known[1] = 1.0 - taken / total
    if not known:
        return shares
    out = shares.copy()
    fixed = np.zeros(trials + 1)
    for form, share in known.items():
        out[:, form] = np.clip(share, _LEAST_SHARE, 1.0)
        fixed = fixed + out[:, form]
    free = [form for form in range(3) if form not in known]
    if free:
        rest = np.maximum(1.0 - fixed, _LEAST_SHARE)
        assumed = shares[:, free].sum(axis=1)
        for form in free:
            out[:, form] = rest * shares[:, form] / assumed
    return out / out.sum(axis=1, keepdims=True)


def _drawn(reading: Reading, name: str, trials: int, seed: int) -> Array:
    return reading.value + reading.sd * standard_scores(f"diagnosis/{name}", trials, seed)
