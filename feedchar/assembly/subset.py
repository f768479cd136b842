"""The first rows of every trial array: the typical case alone, or a few trials for a search."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.particles.classes import ParticleClasses
from feedchar.separation.records import BenchMagnet, Grains, Parameters

Array = NDArray[np.float64]
Index = NDArray[np.intp]


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
    parameters = trials.parameters
    kept = slice(0, rows)
    return _taken(
        trials,
        lambda array: array[kept],
        replace(
            parameters,
            bypass=parameters.bypass[kept],
            entrainment=parameters.entrainment[kept],
            pull_factor=parameters.pull_factor[kept],
            adhesion_N=parameters.adhesion_N[kept],
            air_layer_m=None if parameters.air_layer_m is None else parameters.air_layer_m[kept],
            by_hand=_some(parameters.by_hand, lambda array: array[kept]),
            isodynamic=_some(parameters.isodynamic, lambda array: array[kept]),
        ),
    )


def chosen_rows(trials: Trials, rows: Index, parameters: Parameters) -> Trials:
    """Feeds of chosen rows, met by other machines.

    Parameters
    ----------
    trials : Trials
        T rows, or one where all are alike. [-]
    rows : array of int, shape (N,)
        Rows of the feed, any of them as often as it is named. [-]
    parameters : Parameters
        N machines; the small magnets of a row go with its feed, no machine tells of them. [SI]

    Returns
    -------
    Trials
        N rows. [-]
    """

    def take(array: Array) -> Array:
        return array if len(array) == 1 else array[rows]

    own = trials.parameters
    met = replace(
        parameters, by_hand=_some(own.by_hand, take), isodynamic=_some(own.isodynamic, take)
    )
    return _taken(trials, take, met)


def _some(magnet: BenchMagnet | None, take: Callable[[Array], Array]) -> BenchMagnet | None:
    if magnet is None:
        return None
    return BenchMagnet(take(magnet.bypass), take(magnet.entrainment), take(magnet.pull_factor))


def _taken(trials: Trials, take: Callable[[Array], Array], parameters: Parameters) -> Trials:
    mineralogy, grains = trials.mineralogy, trials.grains
    return Trials(
        mineralogy=replace(
            mineralogy,
            mass_fraction=take(mineralogy.mass_fraction),
            size_share=take(mineralogy.size_share),
            iron_wt_pct=take(mineralogy.iron_wt_pct),
            oxides_wt_pct=take(mineralogy.oxides_wt_pct),
            susceptibility_m3_kg=take(mineralogy.susceptibility_m3_kg),
            predicted_wt_pct=take(mineralogy.predicted_wt_pct),
            reconciled_wt_pct=take(mineralogy.reconciled_wt_pct),
            unseen_form_share=take(mineralogy.unseen_form_share),
        ),
        classes=replace(trials.classes, mass=take(trials.classes.mass)),
        grains=replace(
            grains,
            susceptibility_m3_kg=take(grains.susceptibility_m3_kg),
            moment_A_m2_kg=take(grains.moment_A_m2_kg),
        ),
        parameters=parameters,
    )
