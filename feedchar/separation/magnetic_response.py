"""How the grains of a feed answer the fields of one machine: one number, and the moment's part."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedchar.constants import VACUUM_PERMEABILITY_T_M_A
from feedchar.field.force import mean_force_product
from feedchar.field.series import roll_flux_density
from feedchar.field.working import WorkingField
from feedchar.magnetics.moment import ordered_fraction
from feedchar.separation.capture import Reference
from feedchar.separation.grain_nodes import ClassSpread, Kind, kinds_of
from feedchar.separation.landing import axial_nodes
from feedchar.separation.records import Grains, Parameters

Array = NDArray[np.float64]

REFERENCE_HEIGHT_M = 1e-4
"""Height above the belt at which pulls of different laws are made equal."""


@dataclass(frozen=True)
class MagneticResponse:
    """C classes over T trials, on the axis of one reference."""

    reference: Reference
    total_m3_kg: Array = field(repr=False)
    """(T, C) susceptibility with the moment counted in."""
    moment_m3_kg: Array = field(repr=False)
    """(T, C) the moment's part of it, where it is pulled in a way of its own."""
    moment_kinds: tuple[Kind, ...]
    """Kinds of grain on which such moments occur."""
    flown_kinds: tuple[Kind, ...]
    """Those of them that fly in a way of their own: none in a gap of steady flux density, where a
    moment is pulled as a susceptibility is."""

    @property
    def with_moment(self) -> bool:
        """Whether tables need an axis of the moment's part."""
        return bool(self.moment_kinds)


def magnetic_response(
    work: WorkingField,
    belt_speed_m_s: float,
    grains: Grains,
    spread: ClassSpread,
    parameters: Parameters,
    *,
    other_fields: bool,
) -> MagneticResponse:
    """Susceptibilities and moments of a feed on one axis.

    Parameters
    ----------
    work : WorkingField
        What the machine offers. [SI]
    belt_speed_m_s : float
        Sets the scale of the response axis. [m s⁻¹]
    grains : Grains
        C classes over T trials. [SI]
    spread : ClassSpread
        The same classes on the grain nodes. [-]
    parameters : Parameters
        For the pull. [-]
    other_fields : bool
        True where a drum or another separator may stand before or after: there a moment is pulled
        by that field, not by the gap of an induced roll. [-]

    Returns
    -------
    MagneticResponse
        For the tables and their look-up. [SI]

    References
    ----------
    Derived here.
    """
    reference, flux = response_reference(work, belt_speed_m_s)
    steady = work.background_tesla > 0.0
    apart = other_fields or not steady
    moves = np.any(grains.moment_A_m2_kg > 0.0, axis=0) & apart
    kinds = kinds_of(spread, moves)
    saturation = grains.saturation_field_tesla
    share = ordered_fraction(grains.order, flux, 0.0 if saturation is None else saturation)
    pull = np.asarray(parameters.pull_factor, dtype=float)[:, None]
    moment = pull * share * grains.moment_A_m2_kg * reference.susceptibility_per_moment
    return MagneticResponse(
        reference=reference,
        total_m3_kg=pull * grains.susceptibility_m3_kg + moment,
        moment_m3_kg=np.where(moves, moment, 0.0),
        moment_kinds=kinds,
        flown_kinds=() if steady else kinds,
    )


def response_reference(field: WorkingField, belt_speed_m_s: float) -> tuple[Reference, float]:
    """How susceptibility and moment count in a field, at one height above the belt.

    Parameters
    ----------
    field : WorkingField
        What the machine offers. [SI]
    belt_speed_m_s : float
        Sets the scale of the response axis. [m s⁻¹]

    Returns
    -------
    reference : Reference
        Scale of the response axis. [SI]
    flux_density_tesla : float
        Flux density that magnetises there: of the gap, or the root mean square of the roll's. [T]

    References
    ----------
    Derived here.
    """
    height = field.belt_thickness_m + REFERENCE_HEIGHT_M
    place = (field.harmonics, field.pitch_m, field.roll_radius_m, height)
    product = float(mean_force_product(*place))
    radial, along = roll_flux_density(*place, axial_nodes(field.pitch_m))
    flux = field.background_tesla or float(np.sqrt(np.mean(radial**2 + along**2)))
    balance = belt_speed_m_s**2 / field.roll_radius_m
    scale = product / VACUUM_PERMEABILITY_T_M_A / balance
    return Reference(scale, VACUUM_PERMEABILITY_T_M_A / flux), flux
