"""The phases asked of the calculator: named, with their own iron, or wholly of the user's own."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

import numpy as np

from feedchar.chemistry.phases import Measured, mineral_ingredient
from feedchar.errors import SettingError
from feedchar.magnetics.isodynamic import isodynamic_current
from feedchar.magnetics.moment import FERRIMAGNETIC, ORDER_CODES, apparent_susceptibility
from feedchar.magnetics.saturation import saturation_flux_density
from feedchar.magnetics.susceptibility import at_temperature
from feedchar.results.pull import PhasePull
from feedchar.separation.isodynamic_stage import WORKING_TESLA
from feedchar.separation.pull_law import PullLaw
from feedchar.tables.minerals import mineral
from feedchar.tables.names import shown_word

OWN = "own grain"
"""Name of a phase given by its susceptibility alone."""
SAND_DENSITY_KG_M3 = 2650.0
THICKNESS_RATIO = 0.1
"""Thickness of a flake over its sieve size (guess). [-]"""
LARGEST_SUSCEPTIBILITY = 2e-3
"""Above that of elongated magnetite; a larger figure is in another unit. [m³ kg⁻¹]"""
LEAST_DENSITY, GREATEST_DENSITY = 500.0, 25000.0


@dataclass(frozen=True)
class AskedPhase:
    """One phase as asked for."""

    mineral: str | None = None
    """Name or alias; None for a phase of the user's own, which needs a susceptibility."""
    iron_wt_pct: float | None = None
    mass_susceptibility_m3_kg: float | None = None
    """At 20 degrees Celsius."""
    density_kg_m3: float | None = None
    lies_flat: bool | None = None
    """None: as the mineral does; a phase of the user's own is a round grain."""


@dataclass(frozen=True)
class ReadyPhase:
    """A phase with what the separation room needs."""

    told: PhasePull
    law: PullLaw
    grain_ln_sd: float = 0.3


def ready_phase(asked: AskedPhase, feed_temperature_c: float, side_slope_deg: float) -> ReadyPhase:
    """A phase from the tables, from its iron, or from a measured susceptibility.

    Parameters
    ----------
    asked : AskedPhase
        What is asked for. [SI]
    feed_temperature_c : float
        Temperature of the grains. [°C]
    side_slope_deg : float
        Side slope of the isodynamic separator. [°]

    Returns
    -------
    ReadyPhase
        Magnetic character at that temperature. [SI]

    Raises
    ------
    SettingError
        Iron the mineral cannot hold, a susceptibility in another unit, a density that cannot be,
        or a phase without name and susceptibility.
    UnknownNameError
        An unknown mineral or a group word.
    """
    _check(asked)
    if asked.mineral is None:
        return _own(asked, feed_temperature_c, side_slope_deg)
    record = mineral(asked.mineral)
    measured = Measured(asked.iron_wt_pct, asked.mass_susceptibility_m3_kg)
    model = mineral_ingredient(record, None, measured).model
    iron = asked.iron_wt_pct
    if iron is not None and abs(model.iron_typical_wt_pct - iron) > 1e-6 + 1e-3 * iron:
        side = "at most" if iron > model.iron_typical_wt_pct else "at least"
        message = (
            f"{model.name} holds {side} {model.iron_typical_wt_pct:.3g} wt % Fe, found {iron:g}. "
            "Give iron as the element: FeO times 0.7773, Fe2O3 times 0.6994."
        )
        raise SettingError(message)
    density = asked.density_kg_m3 or model.density_kg_m3
    moment = model.saturation_moment_A_m2_kg
    order = ORDER_CODES[model.order] if moment > 0.0 else 0
    chi = model.susceptibility_m3_kg
    moved = model.iron_typical_wt_pct - model.susceptibility_iron_wt_pct
    chi += model.susceptibility_per_iron_m3_kg * moved
    saturation = 0.0
    if order == FERRIMAGNETIC and model.name != "magnetite":
        saturation = float(saturation_flux_density(moment, model.density_kg_m3))
    told = [f"{iron:g} % Fe"] if iron is not None else []
    if asked.mass_susceptibility_m3_kg is not None:
        told.append(f"{1e9 * asked.mass_susceptibility_m3_kg:.4g}e-9 m3/kg")
    return _ready(
        label=", ".join([model.name, *told]),
        mineral_name=model.name,
        status=model.status,
        source=model.source,
        density=density,
        flat=(model.shape == "flake") if asked.lies_flat is None else asked.lies_flat,
        iron=model.iron_typical_wt_pct,
        law=PullLaw(chi, moment, order, saturation),
        temperature=feed_temperature_c,
        slope=side_slope_deg,
        grain_ln_sd=model.grain_ln_sd,
    )


def _own(asked: AskedPhase, temperature: float, slope: float) -> ReadyPhase:
    chi = asked.mass_susceptibility_m3_kg
    if chi is None:
        message = (
            "A phase needs a name or a susceptibility. Give --mineral biotite, or "
            "--susceptibility 5e-7 in m3/kg."
        )
        raise SettingError(message)
    if asked.iron_wt_pct is not None:
        message = (
            "Iron alone does not tell the susceptibility of an unnamed phase. Give --mineral with "
            "--iron-wt-pct, or --susceptibility without it."
        )
        raise SettingError(message)
    return _ready(
        label=f"{OWN}, {1e9 * chi:.4g}e-9 m3/kg",
        mineral_name=None,
        status="measured",
        source="user",
        density=asked.density_kg_m3 or SAND_DENSITY_KG_M3,
        flat=bool(asked.lies_flat),
        iron=None,
        law=PullLaw(chi),
        temperature=temperature,
        slope=slope,
        grain_ln_sd=0.3,
    )


def _ready(
    *,
    label: str,
    mineral_name: str | None,
    status: str,
    source: str,
    density: float,
    flat: bool,
    iron: float | None,
    law: PullLaw,
    temperature: float,
    slope: float,
    grain_ln_sd: float,
) -> ReadyPhase:
    chi = law.susceptibility_m3_kg
    if law.order == 0:  # an ordered mineral's high-field slope does not follow Curie's law
        chi = float(at_temperature(chi, density, temperature))
    law = PullLaw(chi, law.moment_A_m2_kg, law.order, law.saturation_field_tesla)
    names = {code: name for name, code in ORDER_CODES.items()}
    told = PhasePull(
        phase=label,
        mineral=mineral_name,
        status=status,
        source=source,
        density_kg_m3=density,
        lies_flat=flat,
        iron_wt_pct=iron,
        mass_susceptibility_m3_kg=chi,
        moment=names[law.order],
        saturation_moment_A_m2_kg=law.moment_A_m2_kg if law.order else 0.0,
        isodynamic_current_a=_isodynamic(law, slope),
    )
    return ReadyPhase(told, law, grain_ln_sd)


def _isodynamic(law: PullLaw, slope_deg: float) -> float | None:
    """Dividing current; none for ferrimagnets, which must never enter the instrument."""
    if law.order == FERRIMAGNETIC:
        return None
    chi = law.susceptibility_m3_kg
    if law.moment_A_m2_kg > 0.0:
        chi = float(apparent_susceptibility(chi, law.moment_A_m2_kg, WORKING_TESLA))
    current = float(isodynamic_current(chi, radians(slope_deg)))
    return current if np.isfinite(current) else None


def _check(asked: AskedPhase) -> None:
    iron, chi, density = asked.iron_wt_pct, asked.mass_susceptibility_m3_kg, asked.density_kg_m3
    if iron is not None and not 0.0 <= iron <= 100.0:
        message = f"Iron must be from 0 to 100 wt % of the mineral, found {iron:g}"
        raise SettingError(message)
    if chi is not None and not abs(chi) <= LARGEST_SUSCEPTIBILITY:
        message = (
            f"A susceptibility of {chi:g} m3/kg is more than magnetite's. Give SI, such as 5e-7 "
            "(500e-9 m3/kg), or write the unit behind the number, such as 40e-6cm3/g."
        )
        raise SettingError(message)
    if density is not None and not LEAST_DENSITY <= density <= GREATEST_DENSITY:
        what = f"of {shown_word(asked.mineral)} " if asked.mineral else ""
        message = f"The density {what}must be in kg/m3, such as 3000 and not 3; found {density:g}"
        raise SettingError(message)
