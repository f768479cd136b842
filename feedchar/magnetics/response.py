"""The magnetic character of every particle class, from its minerals by mass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedchar.chemistry.mineralogy import Mineralogy
from feedchar.constants import REFERENCE_TEMPERATURE_C, VACUUM_PERMEABILITY_T_M_A
from feedchar.magnetics.moment import FERRIMAGNETIC, ORDER_CODES
from feedchar.magnetics.saturation import saturation_flux_density
from feedchar.magnetics.susceptibility import at_temperature
from feedchar.particles.classes import ParticleClasses

Array = NDArray[np.float64]
Index = NDArray[np.intp]

WORKING_FLUX_DENSITY_TESLA = 0.7
"""Field at which the spreads of a linear part and a moment are weighed against each other. [T]"""


@dataclass(frozen=True)
class ClassResponse:
    """Magnetic character of C grain classes over T trials."""

    susceptibility_m3_kg: Array
    """(T, C) linear mass susceptibility at the temperature of the grains."""
    moment_A_m2_kg: Array
    """(T, C) ordered moment at saturation."""
    order: Index
    """(C,) 0 none, 1 canted (constant with field), 2 ferrimagnetic."""
    density_kg_m3: Array
    """(C,)"""
    grain_ln_sd: Array
    """(C,) grain-to-grain ln-sd of the response. [-]"""
    saturation_field_tesla: Array
    """(C,) field that saturates the ferrimagnetic part as spheres; 0: magnetite's curve, or no
    ferrimagnetic part."""


def grains_of(
    classes: ParticleClasses,
    mineralogy: Mineralogy,
    feed_temperature_c: float = REFERENCE_TEMPERATURE_C,
) -> ClassResponse:
    """Susceptibility, moment, density and spread of every class.

    Joined grains and grains with inclusions add up by mass; what rides on another grain (stain,
    unseen iron on or in pale grains) answers as its carrier does, its own mass left out.

    Parameters
    ----------
    classes : ParticleClasses
        Particle classes. [-]
    mineralogy : Mineralogy
        Trials of the minerals, in the order of `classes.phase_names`. [-]
    feed_temperature_c : float
        Temperature of the grains. [°C]

    Returns
    -------
    ClassResponse
        Arrays over trials and classes. [SI]

    Raises
    ------
    SettingError
        A temperature outside -50 to 300 °C.

    References
    ----------
    Mixture by mass, exact for linear parts and for dilute moments.
    """
    names = {phase.name: place for place, phase in enumerate(mineralogy.phases)}
    column = np.array([names[name] for name in classes.phase_names], dtype=np.intp)
    phases = [mineralogy.phases[place] for place in column]
    density = np.array([phase.density_kg_m3 for phase in phases])
    moment = np.array([phase.saturation_moment_A_m2_kg for phase in phases])
    order = np.array([ORDER_CODES[phase.order] for phase in phases], dtype=np.intp)
    spread = np.array([phase.grain_ln_sd for phase in phases])
    linear = mineralogy.susceptibility_m3_kg[:, column]
    # An ordered mineral's high-field slope does not follow Curie's law.
    linear = np.where(order == 0, at_temperature(linear, density, feed_temperature_c), linear)

    mineral = classes.mineral[classes.carrier]
    host = classes.host[classes.carrier]
    grade = np.where(host >= 0, classes.grade[classes.carrier], 1.0)
    other = np.where(host >= 0, host, mineral)
    rest = 1.0 - grade

    susceptibility = grade * linear[:, mineral] + rest * linear[:, other]
    class_moment = grade * moment[mineral] + rest * moment[other]
    class_order = np.where(
        (grade * moment[mineral] >= rest * moment[other]), order[mineral], order[other]
    )
    class_order = np.where(class_moment > 0.0, class_order, 0)
    return ClassResponse(
        susceptibility_m3_kg=susceptibility,
        moment_A_m2_kg=np.broadcast_to(class_moment, susceptibility.shape),
        order=class_order.astype(np.intp),
        density_kg_m3=1.0 / (grade / density[mineral] + rest / density[other]),
        grain_ln_sd=_joint_spread(linear[0], moment, spread, mineral, other, grade),
        saturation_field_tesla=_saturation_field(phases, mineral, other, grade, class_order),
    )


def _joint_spread(
    linear: Array, moment: Array, spread: Array, mineral: Index, other: Index, grade: Array
) -> Array:
    """ln-sd of the sum of two independent parts, each with its own, at the working field.

    The sizes of the parts are added, so that a part which nearly cancels the other does not blow
    the spread up beyond the larger of the two.
    """
    strength = np.abs(linear + VACUUM_PERMEABILITY_T_M_A * moment / WORKING_FLUX_DENSITY_TESLA)
    first = grade * strength[mineral]
    second = (1.0 - grade) * strength[other]
    total = np.maximum(first + second, np.finfo(float).tiny)
    joint = np.sqrt((first * spread[mineral]) ** 2 + (second * spread[other]) ** 2) / total
    return np.where(other == mineral, spread[mineral], joint)


def _saturation_field(
    phases: list, mineral: Index, other: Index, grade: Array, order: Index
) -> Array:
    """Field of saturation of the stronger ferrimagnetic part; 0 for magnetite and for none."""
    moment = np.array([phase.saturation_moment_A_m2_kg for phase in phases])
    own = np.array(
        [
            saturation_flux_density(phase.saturation_moment_A_m2_kg, phase.density_kg_m3)
            if phase.order == "ferrimagnetic"
            and phase.name != "magnetite"
            and phase.saturation_moment_A_m2_kg > 0.0
            else 0.0
            for phase in phases
        ]
    )
    stronger = np.where(grade * moment[mineral] >= (1.0 - grade) * moment[other], mineral, other)
    return np.where(order == FERRIMAGNETIC, own[stronger], 0.0)
