"""The first rows of every trial array: the typical case alone, or a few trials for a search."""

from __future__ import annotations

from dataclasses import dataclass, replace

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import ParticleClasses
from feedchar.separation.records import Grains, Parameters


@dataclass(frozen=True)
class Trials:
    """The four things a separation is computed from, over the same trials."""

    mineralogy: Mineralogy
    classes: ParticleClasses
    grains: Grains
    parameters: Parameters


def first_rows(trials: Trials, rows: int) -> Trials:
    """The first rows of all trial arrays.

    Parameters
    ----------
    trials : Trials
        T rows. [-]
    rows : int
        Rows to keep; 1 is the typical case alone. [-]

    Returns
    -------
    Trials
        At most `rows` rows, views of the same numbers. [-]
    """
    kept = slice(0, rows)
    mineralogy, grains, parameters = trials.mineralogy, trials.grains, trials.parameters
    return Trials(
        mineralogy=replace(
            mineralogy,
            mass_fraction=mineralogy.mass_fraction[kept],
            size_share=mineralogy.size_share[kept],
            iron_wt_pct=mineralogy.iron_wt_pct[kept],
            oxides_wt_pct=mineralogy.oxides_wt_pct[kept],
            susceptibility_m3_kg=mineralogy.susceptibility_m3_kg[kept],
            predicted_wt_pct=mineralogy.predicted_wt_pct[kept],
            reconciled_wt_pct=mineralogy.reconciled_wt_pct[kept],
            unseen_form_share=mineralogy.unseen_form_share[kept],
        ),
        classes=replace(trials.classes, mass=trials.classes.mass[kept]),
        grains=replace(
            grains,
            susceptibility_m3_kg=grains.susceptibility_m3_kg[kept],
            moment_A_m2_kg=grains.moment_A_m2_kg[kept],
        ),
        parameters=replace(
            parameters,
            bypass=parameters.bypass[kept],
            entrainment=parameters.entrainment[kept],
            pull_factor=parameters.pull_factor[kept],
            adhesion_N=parameters.adhesion_N[kept],
            air_layer_m=None if parameters.air_layer_m is None else parameters.air_layer_m[kept],
        ),
    )
