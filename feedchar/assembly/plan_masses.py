"""Masses of the plan, stage by stage, from a wanted sd of the product's iron."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.plan_sampling import GROUND_UM, GrainTable, ground_constant_g
from feedchar.assembly.subset import Trials
from feedchar.product.outlets import Outlets
from feedchar.results.plan import PlanMass
from feedchar.testwork.heterogeneity import sampling_mass_g, sampling_relative_sd

Array = NDArray[np.float64]

STAGES = 4
"""Bag from the lot, charge from the bag, split from the product, bead from the powder; each may
spend the same variance."""
OF_SPREAD, OF_LIMIT = 1.0 / 3.0, 0.1
"""Default sd: a third of the predicted spread, so that sampling adds a ninth of its variance, and
at most a tenth of the limit (guesses). [-]"""
FINEST, COARSEST = 0.02, 0.05
"""Below the first the laboratory hides it; above the second a test tells little. [-]"""
SAFETY = 2.0
"""On the mass taken from the lot, for what the fundamental error leaves out; common practice."""
STEADY_S = 30.0
"""Shortest run that is worth weighing: belt and feeder settle first (guess). [s]"""
LEAST_CHARGE_G = 1000.0
BEAD_G = 1.0
"""Powder of a fused bead; common practice, no source. [g]"""


@dataclass(frozen=True)
class Masses:
    """What the stages are computed from."""

    wanted_sd: float
    feed: GrainTable
    product: GrainTable
    top_um: float
    charge_g: float
    ground_g: float
    used_kg: float
    head_kg: float
    reserve: float


def wanted_sd(product_wt_pct: Array, limit_wt_pct: float | None) -> tuple[float, str]:
    """The relative sd that sampling may add to the product's iron, when none is asked for.

    Parameters
    ----------
    product_wt_pct : array, shape (T,)
        Fe2O3 of the product, row 0 the typical case. [wt %]
    limit_wt_pct : float or None
        Its limit. [wt %]

    Returns
    -------
    sd : float
        Relative standard deviation. [-]
    how : str
        In words. [-]
    """
    typical, draws = float(product_wt_pct[0]), product_wt_pct[1:]
    found = [(COARSEST, "one twentieth, as neither spread nor limit is known")]
    if len(draws) > 1 and np.isfinite(draws).all() and draws.mean() > 0.0:
        spread = float(draws.std() / draws.mean())
        found.append(
            (OF_SPREAD * spread, f"a third of the predicted spread of {100.0 * spread:.0f} %")
        )
    if limit_wt_pct is not None and typical > 0.0:
        found.append((OF_LIMIT * limit_wt_pct / typical, "a tenth of the limit"))
    sd, how = min(found)
    if sd > COARSEST * (1.0 - 1e-9):
        return COARSEST, how if len(found) == 1 else "one twentieth, the most that is let pass"
    if sd < FINEST:
        return FINEST, f"{how}, but not below {100.0 * FINEST:.0f} %"
    return sd, how


def stage_sd(wanted: float) -> float:
    """What one stage may spend when all spend the same variance.

    Parameters
    ----------
    wanted : float
        Of the whole. [-]

    Returns
    -------
    float
        Of one stage. [-]
    """
    return float(wanted / np.sqrt(STAGES))


def least_charge_g(wanted: float, product: GrainTable, split: Outlets, bench_kg_h: float) -> float:
    """Sand of one run: enough grains in its product, and long enough to settle.

    Parameters
    ----------
    wanted : float
        Relative sd of the whole chain. [-]
    product : GrainTable
        Grains of the product. [-]
    split : Outlets
        What the setting does. [-]
    bench_kg_h : float
        Feed rate. [kg h⁻¹]

    Returns
    -------
    float
        Rounded up to half a kilogram. [g]
    """
    kept = max(float(split.yield_pct()[0]) / 100.0, 1e-3)
    needed = float(sampling_mass_g(product.constant_g, stage_sd(wanted))) / kept
    least = max(LEAST_CHARGE_G, needed, 1000.0 * bench_kg_h * STEADY_S / 3600.0)
    return 500.0 * -(-least // 500.0)


def split_grams(
    wanted: float, feed: GrainTable, product: GrainTable, magnetics: GrainTable
) -> dict[str, float]:
    """Grams to pulverise of each kind of bag, before what a mill needs.

    Parameters
    ----------
    wanted : float
        Relative sd of the whole chain. [-]
    feed, product, magnetics : GrainTable
        Grains of each. [-]

    Returns
    -------
    dict of str to float
        By kind. [g]
    """
    tables = {"feed": feed, "product": product, "magnetics": magnetics}
    return {
        name: float(sampling_mass_g(table.constant_g, stage_sd(wanted)))
        for name, table in tables.items()
    }


def assay_sampling_sd(
    trials: Trials, product: GrainTable, split: Outlets, charge_g: float, ground_g: float
) -> float:
    """Relative sd that sampling leaves in an assay of product, from the charge to the bead.

    Parameters
    ----------
    trials : Trials
        The feed, for the powder. [-]
    product : GrainTable
        Grains of the product. [-]
    split : Outlets
        What the setting does. [-]
    charge_g, ground_g : float
        Charge, and split that is pulverised. [g]

    Returns
    -------
    float
        Of the three stages together. [-]
    """
    kept = max(float(split.yield_pct()[0]) / 100.0, 1e-3)
    ground = ground_constant_g(trials, product)
    stages = sampling_relative_sd(
        [product.constant_g / kept, product.constant_g, ground], [charge_g, ground_g, BEAD_G]
    )
    return float(np.sqrt((stages**2).sum()))


def masses_of(known: Masses, trials: Trials, split: Outlets) -> tuple[PlanMass, ...]:
    """The four stages: what sampling needs, what the plan keeps, and what that is worth.

    Parameters
    ----------
    known : Masses
        Tables and masses of the plan. [-]
    trials : Trials
        The feed, for the powder. [-]
    split : Outlets
        What the setting does. [-]

    Returns
    -------
    tuple of PlanMass
        From the lot to the bead. [g]
    """
    sd = stage_sd(known.wanted_sd)
    kept = max(float(split.yield_pct()[0]) / 100.0, 1e-3)
    by_feed = known.feed.constant_g > known.product.constant_g / kept
    lot = known.feed.constant_g if by_feed else known.product.constant_g / kept
    take = max(
        SAFETY * float(sampling_mass_g(lot, sd)) / 1000.0,
        (known.used_kg + known.head_kg) / (1.0 - known.reserve),
    )
    take_g = 500.0 * -(-(1000.0 * take) // 500.0)
    ground = ground_constant_g(trials, known.product)

    def stage(name: str, of: str, top: float, constant: float, keep: float) -> PlanMass:
        return PlanMass(
            stage=name,
            of=of,
            top_size_um=top,
            constant_g=constant,
            needed_g=float(sampling_mass_g(constant, sd)),
            kept_g=keep,
            relative_sd=float(sampling_relative_sd(constant, keep)),
        )

    charge = known.product.constant_g / kept
    return (
        stage("take from the lot", "feed" if by_feed else "product", known.top_um, lot, take_g),
        stage("charge of one run", "product", known.top_um, charge, known.charge_g),
        stage(
            "pulverise of the product", "product", known.top_um, known.product.constant_g,
            known.ground_g,
        ),
        stage("powder of one bead", "product", GROUND_UM, ground, BEAD_G),
    )  # fmt: skip
