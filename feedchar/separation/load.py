"""What a full belt and damp sand do to the parameters of the machine; every figure here a guess."""

from __future__ import annotations

from dataclasses import replace
from math import log

import numpy as np

from feedchar.errors import SettingError
from feedchar.sample.records import Note
from feedchar.separation.capacity import single_layer_capacity
from feedchar.separation.records import Parameters

FULL_COVERAGE = 0.75
"""Coverage of a full single layer: 2 to 3 t/h per metre of 0.3 mm sand at 1.5 to 2 m/s. [-]"""
UPPER_LAYER_MISSED = 0.5
"""Of the grains that do not touch the belt, the share whose magnetics the pass misses. [-]"""
MAGNETICS_LIMIT = 0.20
"""Share of the belt above which magnetics bury each other: the poles' share at 4:1. [-]"""
DRY_BELOW_PCT = 0.1
DAMP_ABOVE_PCT = 0.3
"""Surface moisture below which sand runs dry, and above which no roll should run. [wt %]"""
DAMP_ADHESION_FACTOR = 5.0
"""Adhesion at the upper of the two over the dry one; above it the factor goes on rising. [-]"""
WETTEST_FACTOR = 1000.0
"""A full capillary bridge of 45 uN over 10 nN is 4500; far below it everything sticks. [-]"""


def layers_of_feed(
    feed_kg_s_m: float, density_kg_m3: float, diameter_m: float, belt_speed_m_s: float
) -> float:
    """How many full single layers deep a feed lies on the belt.

    Parameters
    ----------
    feed_kg_s_m : float
        Feed per metre of belt width. [kg s⁻¹ m⁻¹]
    density_kg_m3 : float
        Grain density. [kg m⁻³]
    diameter_m : float
        Sauter mean of the feed. [m]
    belt_speed_m_s : float
        Belt speed. [m s⁻¹]

    Returns
    -------
    float
        Below 1: a layer with gaps. [-]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Geometry of spheres; the coverage of a full layer is a guess.
    """
    if not feed_kg_s_m >= 0.0:
        message = f"Feed must be 0 or more, found {feed_kg_s_m:g} kg/s per metre of belt"
        raise SettingError(message)
    full = single_layer_capacity(density_kg_m3, diameter_m, FULL_COVERAGE, belt_speed_m_s)
    return float(feed_kg_s_m / full)


def under_load(
    parameters: Parameters,
    layers: float = 1.0,
    magnetics_share: float = 0.0,
    moisture_pct: float = 0.0,
) -> tuple[Parameters, tuple[Note, ...]]:
    """Parameters of a machine that is fed deep, with much magnetics, or damp.

    Parameters
    ----------
    parameters : Parameters
        Of a dry single layer. [SI]
    layers : float
        Depth of the bed in full single layers. [-]
    magnetics_share : float
        Share of the feed's mass that goes to the magnetics. [-]
    moisture_pct : float
        Surface moisture of the feed of the roll. [wt %]

    Returns
    -------
    parameters : Parameters
        Bypass, entrainment and adhesion as the load makes them. [SI]
    notes : tuple of Note
        One for each effect that is on, with the figure that tripped it. [-]

    Raises
    ------
    SettingError
        A figure that cannot be.

    References
    ----------
    Directions: common practice, no source; all amounts are guesses.
    """
    for name, value, most in (
        ("Depth of the bed", layers, np.inf),
        ("Share of magnetics", magnetics_share, 1.0),
        ("Moisture of the roll feed", moisture_pct, 100.0),
    ):
        if not 0.0 <= value <= most:
            message = f"{name} must be from 0 to {most:g}, found {value:g}"
            raise SettingError(message)
    bypass, entrainment = np.asarray(parameters.bypass), np.asarray(parameters.entrainment)
    adhesion = np.asarray(parameters.adhesion_N)
    notes = []
    if layers > 1.0:
        upper = 1.0 - 1.0 / layers
        bypass = 1.0 - (1.0 - bypass) * (1.0 - UPPER_LAYER_MISSED * upper)
        entrainment = np.minimum(entrainment * layers, 0.5)
        text = (
            f"the bed is {layers:.1f} grains deep: {100 * upper:.0f} % of the grains do not touch "
            "the belt, so more is missed and more sand is carried (amounts are guesses)"
        )
        notes.append(Note("bed-too-deep", text, "warning"))
    if magnetics_share > MAGNETICS_LIMIT:
        room = MAGNETICS_LIMIT / magnetics_share
        bypass = 1.0 - (1.0 - bypass) * room**UPPER_LAYER_MISSED
        entrainment = np.minimum(entrainment / room, 0.5)
        text = (
            f"magnetics are {100 * magnetics_share:.0f} % of the belt; above "
            f"{100 * MAGNETICS_LIMIT:.0f} % they bury each other: take them off first, or feed less"
        )
        notes.append(Note("magnetics-bury", text, "warning"))
    if moisture_pct > DRY_BELOW_PCT:
        damp = (moisture_pct - DRY_BELOW_PCT) / (DAMP_ABOVE_PCT - DRY_BELOW_PCT)
        wettest = damp >= log(WETTEST_FACTOR) / log(DAMP_ADHESION_FACTOR)
        factor = WETTEST_FACTOR if wettest else DAMP_ADHESION_FACTOR**damp
        adhesion = adhesion * factor
        wet = moisture_pct > DAMP_ABOVE_PCT
        text = (
            f"roll feed holds {moisture_pct:g} % moisture: fines cling about {factor:.0f} times "
            f"harder than dry below {DRY_BELOW_PCT:g} % (a guess)"
        )
        if wet:
            text += f"; above {DAMP_ABOVE_PCT:g} % dry it before any roll"
        notes.append(Note("damp-feed", text, "warning" if wet else "note"))
    changed = replace(parameters, bypass=bypass, entrainment=entrainment, adhesion_N=adhesion)
    return changed, tuple(notes)
