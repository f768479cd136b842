"""What the feed is made of, as result records."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import OXIDES, UNSEEN, Mineralogy
from feedchar.particles.classes import SizeClasses
from feedchar.particles.iron import FE2O3, IronTable
from feedchar.product.outlets import Outlets
from feedchar.results import (
    AgreementResult,
    AssayResult,
    IronLine,
    MeasuredOxide,
    MineralResult,
    OxideResidual,
    UnseenIron,
)
from feedchar.uncertainty.summary import Uncertain, summarise

Array = NDArray[np.float64]

WORST_SHOWN = 3


def oxide_summaries(table: Array) -> dict[str, Uncertain]:
    """Summary of every oxide.

    Parameters
    ----------
    table : array, shape (T, K)
        Columns OXIDES. [wt %]

    Returns
    -------
    dict of str to Uncertain
        By oxide, in the order of OXIDES. [wt %]
    """
    return {name: summarise(table[:, k]) for k, name in enumerate(OXIDES)}


def assay_result(mineralogy: Mineralogy, measured: dict[str, MeasuredOxide]) -> AssayResult:
    """Predicted, measured and reconciled composition with its agreement.

    Parameters
    ----------
    mineralogy : Mineralogy
        Trials of the feed. [wt %]
    measured : dict of str to MeasuredOxide
        Head assay as the fit used it. [wt %]

    Returns
    -------
    AssayResult
        Worst residuals first. [-]
    """
    fit = mineralogy.agreement
    worst = sorted(fit.residual_sd.items(), key=lambda item: (-abs(item[1]), item[0]))
    return AssayResult(
        predicted_wt_pct=oxide_summaries(mineralogy.predicted_wt_pct),
        measured_wt_pct=measured,
        reconciled_wt_pct=oxide_summaries(mineralogy.reconciled_wt_pct),
        agreement=AgreementResult(
            chi_square=fit.chi_square,
            predictive_probability=fit.predictive_probability,
            worst=tuple(OxideResidual(name, sd) for name, sd in worst[:WORST_SHOWN]),
            degrees_of_freedom=fit.degrees_of_freedom,
            settled=fit.settled,
            doubtful=fit.doubtful,
        ),
    )


def iron_of_phases(mineralogy: Mineralogy) -> Array:
    """Fe2O3 that each phase brings to the dry bag.

    Parameters
    ----------
    mineralogy : Mineralogy
        Trials of the feed. [-]

    Returns
    -------
    array, shape (T, M)
        Iron expressed as Fe2O3. [wt %]
    """
    return np.asarray(mineralogy.mass_fraction * mineralogy.oxides_wt_pct[:, :, FE2O3])


def shares_pct(parts: Array) -> Array:
    """Parts of a whole in per cent, 0 where the whole is 0.

    Parameters
    ----------
    parts : array, shape (T, M)
        Parts that add up along axis 1. [any]

    Returns
    -------
    array, shape (T, M)
        Shares. [%]
    """
    whole = parts.sum(axis=1, keepdims=True)
    return np.asarray(100.0 * np.divide(parts, whole, out=np.zeros_like(parts), where=whole > 0.0))


def unseen_iron(mineralogy: Mineralogy) -> UnseenIron:
    """Iron of the phase `unseen` and its share of all iron.

    Parameters
    ----------
    mineralogy : Mineralogy
        Trials of the feed. [-]

    Returns
    -------
    UnseenIron
        Zero where it does not apply. [wt %]
    """
    place = [phase.name for phase in mineralogy.phases].index(UNSEEN)
    iron = iron_of_phases(mineralogy)
    return UnseenIron(summarise(iron[:, place]), summarise(shares_pct(iron)[:, place]))


def mineral_results(mineralogy: Mineralogy, outlets: Outlets) -> tuple[MineralResult, ...]:
    """One record for each phase, the largest share of the iron first.

    Parameters
    ----------
    mineralogy : Mineralogy
        Trials of the feed. [-]
    outlets : Outlets
        Where each phase goes. [-]

    Returns
    -------
    tuple of MineralResult
        Phases whose mass is nil in every trial are left out. [-]
    """
    iron = iron_of_phases(mineralogy)
    share = shares_pct(iron)
    kept = outlets.non_magnetics.phase_mass
    taken = outlets.magnetics.phase_mass + outlets.middlings.phase_mass
    fed = kept + taken
    left = 100.0 * np.divide(taken, fed, out=np.full_like(fed, np.nan), where=fed > 0.0)
    order = sorted(
        range(len(mineralogy.phases)),
        key=lambda k: (-share[0, k], -mineralogy.mass_fraction[0, k], mineralogy.phases[k].name),
    )
    found = []
    for k in order:
        phase = mineralogy.phases[k]
        mass = 100.0 * mineralogy.mass_fraction[:, k]
        if not mass.any():
            continue
        found.append(
            MineralResult(
                mineral=phase.name,
                mass_pct=summarise(mass),
                density_kg_m3=phase.density_kg_m3,
                Fe2O3_wt_pct=summarise(mineralogy.oxides_wt_pct[:, k, FE2O3]),
                mass_susceptibility_m3_kg=summarise(mineralogy.susceptibility_m3_kg[:, k]),
                share_of_iron_pct=summarise(share[:, k]),
                status=phase.status,
                source=phase.source,
                role=phase.role,
                mass_range_pct=mineralogy.mass_range_pct.get(phase.name),
                to_magnetics_pct=summarise(left[:, k]),
            )
        )
    return tuple(found)


def iron_lines(table: IronTable, sizes: SizeClasses) -> tuple[IronLine, ...]:
    """Iron by mineral, form and size, typical case.

    Parameters
    ----------
    table : IronTable
        Iron of every mineral, form and size. [wt %]
    sizes : SizeClasses
        Bounds of the size classes. [um]

    Returns
    -------
    tuple of IronLine
        In the order of the table; lines without iron in the typical case are left out. [-]
    """
    feed, share = table.of_feed_wt_pct[0], table.of_iron_pct[0]
    return tuple(
        IronLine(
            mineral=table.mineral[k],
            form=table.form[k],
            passing_um=float(sizes.passing_um[table.size[k]]),
            retained_um=float(sizes.retained_um[table.size[k]]),
            Fe2O3_wt_pct_of_feed=float(feed[k]),
            share_of_iron_pct=float(share[k]),
        )
        for k in range(len(table.mineral))
        if feed[k] > 0.0
    )
