"""Measurements that one can order, each with what it would show in every trial."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import UNSEEN, Mineralogy
from feedchar.particles.classes import FORMS, ParticleClasses
from feedchar.particles.iron import FE2O3
from feedchar.product.measure import Candidate
from feedchar.product.outlets import OUTLETS, Outlets
from feedchar.product.scenarios import acting_form, scrub_shares
from feedchar.sample.assay_error import IRON_SD_WT_PCT, default_assay_sd
from feedchar.separation.records import Parameters

Array = NDArray[np.float64]

GRAINS_COUNTED = 300
MICROPROBE_SD_WT_PCT = 0.3
"""Mean iron of some thirty grains (guess). [wt %]"""
PROBED_PHASES = 3
WEIGHED_RELATIVE_SD, WEIGHED_SD_PCT = 0.02, 0.05
"""Magnetics of a roll, splitting and weighing (guess)."""
MISSED_SD_PCT = 1.0
"""What a second run of the same bag tells of the grains that were missed (guess)."""
SINKS_RELATIVE_SD = 0.10
"""Heavy-liquid sinks of one split (guess). [-]"""


def candidates_of(
    mineralogy: Mineralogy,
    classes: ParticleClasses,
    outlets: Outlets,
    magnetics_at_speeds_pct: dict[float, Array] | None = None,
    parameters: Parameters | None = None,
    with_product_assay: bool = False,
    seed: int = 1,
) -> tuple[Candidate, ...]:
    """Measurements that one can order, as the trials see them.

    Parameters
    ----------
    mineralogy : Mineralogy
        Trials of the feed. [-]
    classes : ParticleClasses
        Trials of its grains. [-]
    outlets : Outlets
        What the setting does. [-]
    magnetics_at_speeds_pct : dict of float to array, shape (T,), or None
        Magnetics of the roll feed at other belt speeds [m s⁻¹], when they were computed. [%]
    parameters : Parameters or None
        Trials of the machine, for what a second run of the same bag shows. [-]
    with_product_assay : bool
        Whether the test itself, its product assayed, is among them. [-]
    seed : int
        The run's seed, for how much a scrub takes. [-]

    Returns
    -------
    tuple of Candidate
        Only those that could show something on this feed; hours of work are common practice,
        no source. [-]

    References
    ----------
    common practice, no source
    """
    found = [
        *_assays(mineralogy, classes, outlets, seed),
        *_grains(mineralogy, classes),
        *_roll(outlets, magnetics_at_speeds_pct or {}, parameters, with_product_assay),
    ]
    return tuple(c for c in found if _varies(c.quantity[1:]))


def _varies(draws: Array) -> bool:
    """True unless all draws are one figure; their sd is no sign, rounding leaves it above zero."""
    return len(draws) > 0 and bool(np.any(np.nanmax(draws, axis=0) > np.nanmin(draws, axis=0)))


def _assays(
    mineralogy: Mineralogy, classes: ParticleClasses, outlets: Outlets, seed: int
) -> list[Candidate]:
    iron = mineralogy.oxides_wt_pct[:, :, FE2O3]
    head = (mineralogy.mass_fraction * iron).sum(axis=1)
    sd = default_assay_sd("Fe2O3", float(head[0]))
    name = "head assay again, new split" if mineralogy.has_assay else "head assay of the dry bag"
    out = [Candidate(name, "Fe2O3_wt_pct", sd, head, 2.0)]

    pale = outlets.is_pale
    mass = mineralogy.mass_fraction[:, pale]
    if pale.any():
        whole = np.maximum(mass.sum(axis=1), 1e-300)
        clear = (mass * iron[:, pale]).sum(axis=1) / whole
        floor = 0.05 * float(clear[0]) + 0.001
        out.append(Candidate("hand-picked clear grains assayed", "Fe2O3_wt_pct", floor, clear, 6.0))

    stain = np.flatnonzero(acting_form(classes) == FORMS.index("stain"))
    coats = (classes.mass[:, stain] * iron[:, classes.mineral[stain]]).sum(axis=1)
    coats = coats * scrub_shares(seed, len(coats))
    # The slimes are weighed and assayed too, so the iron that came off is measured by itself.
    error = 0.05 * float(coats[0]) + IRON_SD_WT_PCT
    out.append(Candidate("scrub 500 g and assay both", "Fe2O3_wt_pct", error, coats, 3.0))

    middle = classes.sizes.middle_um
    fine = middle < np.exp(np.mean(np.log(middle)))
    if fine.any():
        bag = sum((getattr(outlets, one).phase_size for one in OUTLETS), np.zeros(1))
        held = np.einsum("tms,tm->ts", bag, iron)
        mass = bag.sum(axis=1)
        halves = [
            held[:, part].sum(axis=1) / np.maximum(mass[:, part].sum(axis=1), 1e-300)
            for part in (fine, ~fine)
        ]
        both = np.stack(halves, axis=1)
        out.append(Candidate("fine and coarse half assayed", "Fe2O3_wt_pct", sd, both, 4.0))
    return out


def _grains(mineralogy: Mineralogy, classes: ParticleClasses) -> list[Candidate]:
    phases = mineralogy.phases
    out = []
    removable = np.array([p.role == "removable" for p in phases])[classes.mineral]
    joined = removable & (classes.form == FORMS.index("joined"))
    free = removable & (classes.form == FORMS.index("free"))
    locked = classes.mass[:, joined] @ classes.grade[joined]
    whole = locked + classes.mass[:, free].sum(axis=1)
    share = np.divide(locked, whole, out=np.zeros_like(whole), where=whole > 0.0)
    p = float(np.clip(share[0], 0.01, 0.99))
    out.append(
        Candidate(
            f"{GRAINS_COUNTED} dark grains looked at: free or joined", "joined_share",
            float(np.sqrt(p * (1.0 - p) / GRAINS_COUNTED)), share, 4.0,
        )
    )  # fmt: skip

    dark = [k for k, p in enumerate(phases) if p.role != "host" and p.name != UNSEEN]
    sinks = 100.0 * mineralogy.mass_fraction[:, dark].sum(axis=1)
    out.append(
        Candidate(
            "heavy-liquid sinks weighed", "mass_pct", SINKS_RELATIVE_SD * float(sinks[0]) + 1e-4,
            sinks, 3.0,
        )
    )  # fmt: skip

    strong = [k for k, p in enumerate(phases) if p.order == "ferrimagnetic"]
    if strong:
        loose = np.isin(classes.mineral, strong) & (classes.form == FORMS.index("free"))
        pulled = 100.0 * classes.mass[:, loose].sum(axis=1)
        out.append(
            Candidate(
                "hand magnet, its bag weighed", "mass_pct", 0.1 * float(pulled[0]) + 5e-4,
                pulled, 0.5,
            )
        )  # fmt: skip

    weight = mineralogy.mass_fraction[0] * mineralogy.iron_wt_pct[0]
    varied = [k for k in dark if _varies(mineralogy.iron_wt_pct[1:, k])]
    for k in sorted(varied, key=lambda k: (-weight[k], k))[:PROBED_PHASES]:
        out.append(
            Candidate(
                f"iron in {phases[k].name} by microprobe", "Fe_wt_pct", MICROPROBE_SD_WT_PCT,
                mineralogy.iron_wt_pct[:, k], 4.0,
            )
        )  # fmt: skip
    return out


def _roll(
    outlets: Outlets,
    at_speeds: dict[float, Array],
    parameters: Parameters | None,
    with_product_assay: bool,
) -> list[Candidate]:
    def weighed(percent: float) -> float:
        return WEIGHED_RELATIVE_SD * abs(percent) + WEIGHED_SD_PCT

    product = outlets.non_magnetics.oxide("Fe2O3")
    out = []
    if with_product_assay and np.isfinite(product[0]):
        sd = default_assay_sd("Fe2O3", float(product[0]))
        out.append(
            Candidate("roll at this setting, product assayed", "Fe2O3_wt_pct", sd, product, 4.0)
        )
    if at_speeds:
        ends = [at_speeds[min(at_speeds)], at_speeds[max(at_speeds)]]
        words = " / ".join(f"{speed:g}" for speed in sorted(at_speeds))
        name, hours = f"roll at {words} m/s, magnetics weighed", 3.0
        pulled = np.stack(ends, axis=1)
    else:
        name, hours = "roll at this setting, magnetics weighed", 1.0
        pulled = outlets.yield_of_roll_feed_pct("magnetics")
    if np.isfinite(pulled[0]).all():
        sd = weighed(float(np.mean(pulled[0])))
        out.append(Candidate(name, "pct_of_roll_feed", sd, pulled, hours))
    if parameters is not None:
        missed = 100.0 * parameters.bypass
        name = "same bag over the roll twice, what it missed weighed"
        out.append(Candidate(name, "pct_of_magnetics", MISSED_SD_PCT, missed, 2.0))
    return out
