"""What would remove the iron that stays, what that costs, and what each line rests on.

Advice, not a promise: what a treatment does to this sand is known after it was tried.
"""

from __future__ import annotations

import numpy as np

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.product.stays import (
    INCLUSION,
    INSIDE,
    JOINED,
    MISSED,
    NOT_FOUND,
    REASONS,
    SIZE,
    STAIN,
    WEAK,
    IronThatStays,
)
from feedchar.sample.records import Sample

REMEDIES = {
    REASONS[INSIDE]: "no magnet and no scrubbing takes it; a cleaner bed or a blend does; "
    "hand-picked clear grains show this floor",
    REASONS[INCLUSION]: "only finer grinding frees part of it, at the cost of fines and of the "
    "grain size",
    REASONS[STAIN]: "scrub wet and wash off the slimes; costs water, drying and about 1 to 3 % of "
    "the sand",
    REASONS[JOINED]: "a slower belt or a closer edge takes the richer of them, with more sand; "
    "crushing finer frees part, with more fines",
    REASONS[WEAK]: "a slower belt, a stronger roll or a finer pitch; costs pale sand in the "
    "magnetics",
    REASONS[SIZE]: "treat narrow sizes apart or screen this size out; costs what is in that size",
    REASONS[MISSED]: "another pass of the non-magnetics, fed one grain deep; costs belt width",
    REASONS[NOT_FOUND]: "find it first: scrub and assay both parts, look at the sinks, count dark "
    "grains",
}
"""What would remove the iron of each reason, with its cost in yield or trouble; common practice,
no source."""


def evidence_of(sample: Sample, mineralogy: Mineralogy, calibrated: bool = False) -> dict[str, str]:
    """What each line of the iron that stays rests on.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    mineralogy : Mineralogy
        Whether an assay was honoured. [-]
    calibrated : bool
        Whether the machine's parameters come from tests. [-]

    Returns
    -------
    dict of str to str
        measured, fitted or prior, by reason. [-]

    References
    ----------
    common practice, no source
    """
    pale = {phase.name for phase in mineralogy.phases if phase.role == "host"}
    forms = {row.form for row in sample.textures if row.share_pct is not None}
    treated = {row.treatment for row in sample.diagnostics}
    has_iron = mineralogy.has_assay and "Fe2O3" in sample.assay
    pale_iron = any(row.mineral in pale and row.iron_wt_pct is not None for row in sample.minerals)
    dark_measured = any(
        row.mineral not in pale
        and (row.iron_wt_pct is not None or row.mass_susceptibility_m3_kg is not None)
        for row in sample.minerals
    )
    grain_size = any(row.grain_size_um is not None for row in sample.textures)

    def first(measured: bool, fitted: bool) -> str:
        return "measured" if measured else "fitted" if fitted else "prior"

    found = (
        first(pale_iron or "hand-picked clear grains" in treated, has_iron),
        first("inclusion" in forms, False),
        first("stain" in forms or "scrub" in treated, False),
        first(bool({"joined", "free"} & forms), grain_size),
        first(dark_measured, calibrated),
        first(False, bool(sample.sieves)),
        first(False, calibrated),
        first(False, has_iron),
    )
    return dict(zip(REASONS, found, strict=True))


def spread_by_reason(stays: IronThatStays) -> dict[str, float]:
    """Share of the spread of product iron that comes with each reason, adding up to 1.

    The covariance of a line with the sum over the variance of the sum. A line that shrinks when
    the sum grows has a negative share.

    Parameters
    ----------
    stays : IronThatStays
        Lines over the trials. [ppm]

    Returns
    -------
    dict of str to float
        By reason, the largest first; empty without trials or spread. [-]

    References
    ----------
    common practice, no source (covariance decomposition)
    """
    draws = stays.ppm[1:]
    draws = draws[np.isfinite(draws).all(axis=1)]
    if len(draws) < 2:
        return {}
    deviation = draws - draws.mean(axis=0)
    whole = deviation.sum(axis=1)
    variance = float(whole @ whole)
    if variance <= 0.0:
        return {}
    shares = {REASONS[k]: float(deviation[:, k] @ whole) / variance for k in range(len(REASONS))}
    return dict(sorted(shares.items(), key=lambda item: (-item[1], item[0])))
