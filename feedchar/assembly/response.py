"""What a magnet does with each phase in each form and size, as result records."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.field.setting import Setting
from feedchar.particles.classes import FORMS, ParticleClasses
from feedchar.particles.iron import host_part
from feedchar.results import ResponseLine
from feedchar.separation.records import Grains, Shares
from feedchar.separation.reporting import reporting_of

Array = NDArray[np.float64]


def response_lines(
    setting: Setting,
    classes: ParticleClasses,
    mineralogy: Mineralogy,
    grains: Grains,
    shares: Shares,
    pull_factor: float = 1.0,
) -> tuple[ResponseLine, ...]:
    """One line for each phase, form and size that the typical case holds, or any trial does.

    Grade bins of one form are taken together, weighed by the mass of the mineral in them; what
    rides on a pale grain responds as that grain does.

    Parameters
    ----------
    setting : Setting
        The machine. [SI]
    classes : ParticleClasses
        C classes. [-]
    mineralogy : Mineralogy
        Phases and their roles. [-]
    grains : Grains
        C classes. [SI]
    shares : Shares
        Where each class goes. [-]
    pull_factor : float
        Pull of this machine over that of its construction, as tests taught it. [-]

    Returns
    -------
    tuple of ResponseLine
        In the order of phases, forms and sizes. [-]

    Raises
    ------
    SettingError
        A machine that cannot be.
    """
    pale = np.array([phase.role == "host" for phase in mineralogy.phases])
    inside = FORMS.index("inside")
    form = np.where(pale[classes.mineral] & (classes.form == 0), inside, classes.form)
    sizes = len(classes.sizes)
    key = (classes.mineral * len(FORMS) + form) * sizes + classes.size
    weight = _typical_mass(classes) * (1.0 - host_part(classes))
    held = np.flatnonzero(weight > 0.0)
    groups, group = np.unique(key[held], return_inverse=True)
    if len(groups) == 0:
        return ()
    total = np.bincount(group, weights=weight[held])

    def mean(values: Array) -> Array:
        return np.bincount(group, weights=weight[held] * values[held]) / total

    first = held[np.unique(group, return_index=True)[1]]
    saturation = grains.saturation_field_tesla
    typical = replace(
        grains,
        passing_m=grains.passing_m[first],
        retained_m=grains.retained_m[first],
        is_flake=grains.is_flake[first],
        thickness_ratio=mean(grains.thickness_ratio),
        density_kg_m3=mean(grains.density_kg_m3),
        susceptibility_m3_kg=mean(grains.susceptibility_m3_kg[0])[None, :],
        moment_A_m2_kg=mean(grains.moment_A_m2_kg[0])[None, :],
        order=grains.order[first],
        grain_ln_sd=mean(grains.grain_ln_sd),
        saturation_field_tesla=None if saturation is None else saturation[first],
    )
    to_magnetics = mean(shares.magnetics[0])
    found_of = reporting_of(setting, typical, pull_factor)
    return tuple(
        ResponseLine(
            mineral=classes.phase_names[int(code // sizes // len(FORMS))],
            form=FORMS[int(code // sizes % len(FORMS))],
            passing_um=float(classes.sizes.passing_um[code % sizes]),
            retained_um=float(classes.sizes.retained_um[code % sizes]),
            reports_to=found.reports_to,
            force_product_needed_tesla2_m=found.force_product_needed_tesla2_m,
            flux_density_needed_tesla=found.flux_density_needed_tesla,
            belt_speed_max_m_s=found.belt_speed_max_m_s,
            share_to_magnetics=float(to_magnetics[k]),
        )
        for k, (code, found) in enumerate(zip(groups, found_of, strict=True))
    )


def _typical_mass(classes: ParticleClasses) -> Array:
    """Mass of each class in the typical case; the mean of the trials for a phase not in it."""
    held = np.bincount(classes.mineral, classes.mass[0], minlength=len(classes.phase_names)) > 0.0
    mean = classes.mass.mean(axis=0)
    return np.where(held[classes.mineral], classes.mass[0], mean)
