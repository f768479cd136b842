"""The head assay that the fit uses: what was assayed, put right by blanks and class sums."""

from __future__ import annotations

from dataclasses import replace

from feedchar.chemistry.assay_weight import assay_sd
from feedchar.chemistry.diagnosis import Diagnosis
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.sizes import class_assays
from feedchar.sample.records import Note, OxideValue, Sample

_COVERED = 0.98
"""Share of the mass that assayed classes must hold to stand for the bag. [-]"""


def head_assay(
    sample: Sample, diagnosis: Diagnosis
) -> tuple[dict[str, OxideValue], tuple[Note, ...]]:
    """Head assay for the fit, and what was done to it.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    diagnosis : Diagnosis
        Mill blank, burn-off, iron of the feed before a treatment. [-]

    Returns
    -------
    tuple
        Oxides of the dry bag with sd, and notes. An oxide that only the size classes have is
        their weighted sum; iron that only a treatment has is its figure before. [wt %]

    References
    ----------
    Mass balances; common practice, no source.
    """
    assay = {name: sample.assay[name] for name in OXIDES[:-1] if name in sample.assay}
    notes: list[Note] = []
    for oxide, (value, sd) in class_sums(sample).items():
        if oxide not in assay:
            assay[oxide] = OxideValue(value, sd)
            text = f"{oxide} of the bag, {value:.4g} %, is the sum of its size classes"
            notes.append(Note("head-from-classes", text))
    if "Fe2O3" not in assay and diagnosis.feed_iron is not None:
        assay["Fe2O3"] = OxideValue(diagnosis.feed_iron.value, diagnosis.feed_iron.sd)
        text = "Fe2O3 of the bag is taken from the treatment that assayed it first"
        notes.append(Note("head-from-treatment", text))
    iron, tool = assay.get("Fe2O3"), diagnosis.tool_iron
    if iron is not None and tool is not None and tool.value > 0 and not iron.below_detection:
        sd = (assay_sd("Fe2O3", iron) ** 2 + tool.sd**2) ** 0.5
        value = max(iron.value - tool.value, 0.0)
        assay["Fe2O3"] = replace(iron, value=value, sd=sd)
        text = f"{tool.value:.4g} % Fe2O3 from the mill (blank) is taken off the iron of the bag"
        notes.append(Note("tool-iron", text))
    loi = assay.get("LOI")
    if loi is not None and diagnosis.organics_wt_pct > 0:
        burned = diagnosis.organics_wt_pct
        value = max(loi.value - 0.5 * burned, 0.0)
        sd = (assay_sd("LOI", loi) ** 2 + (0.3 * burned) ** 2) ** 0.5
        assay["LOI"] = replace(loi, value=value, sd=sd)
        text = (
            f"{burned:.3g} % burned off: between none and all of it is organic matter, the rest "
            "water of clay; LOI of the minerals is lowered by half of it and less certain"
        )
        notes.append(Note("organics", text))
    return assay, tuple(notes)


def class_sums(sample: Sample) -> dict[str, tuple[float, float]]:
    """Oxides of the bag as the weighted sum of its size classes.

    Parameters
    ----------
    sample : Sample
        Sieves with oxides, or determinations by class. [-]

    Returns
    -------
    dict of str to tuple of float
        Value and sd of each oxide assayed in classes that hold at least 98 % of the mass. [wt %]

    References
    ----------
    Mass balance (derived).
    """
    found = class_assays(sample)
    sums: dict[str, tuple[float, float]] = {}
    for oxide in OXIDES[:-1]:
        rows = [row for row in found if row.oxide == oxide]
        covered = sum(row.share for row in rows)
        if covered < _COVERED or any(row.below_detection for row in rows):
            continue
        value = sum(row.share * row.value for row in rows) / covered
        sd = sum((row.share * row.sd) ** 2 for row in rows) ** 0.5 / covered
        sums[oxide] = (value, sd)
    return sums
