"""What the picture of the calculator shows: field lines above the roll, paths of grains beside."""

from __future__ import annotations

import numpy as np

from feedchar.assembly.pull import Question, ready_phases
from feedchar.assembly.pull_field import flux_density_map
from feedchar.assembly.pull_grains import is_dust
from feedchar.assembly.pull_nodes import grain_set
from feedchar.field.setting import Setting
from feedchar.field.working import WorkingField, working_field
from feedchar.results.pull import PullResult
from feedchar.results.pull_picture import GrainPath, PullPicture
from feedchar.separation.fine_flight import fine_flights
from feedchar.separation.landing import axial_nodes
from feedchar.separation.thrower import Thrower

PLACES, LEVELS = 161, 97
REACH_PITCHES = 0.8
"""The lines are drawn up to this height, where the field has fallen to 8 %. [-]"""


def pull_picture(setting: Setting, question: Question, result: PullResult) -> PullPicture:
    """Field on a grid above the surface and one path a grain and speed.

    Parameters
    ----------
    setting : Setting
        Machine and temperatures. [SI]
    question : Question
        Phases, sizes, speeds. [SI]
    result : PullResult
        What `pull` gave for the same two. [SI]

    Returns
    -------
    PullPicture
        Each grain flies from the position along the axis whose pull is nearest to the mean. [SI]
    """
    field = working_field(setting)
    axial = np.linspace(-field.pitch_m, field.pitch_m, PLACES)
    # The corner of the steel has no bound, so the lines begin a little above it.
    height = np.linspace(0.01, REACH_PITCHES, LEVELS) * field.pitch_m
    radial, along = flux_density_map(setting, field, height[:, None], axial[None, :])
    return PullPicture(axial, height, along, radial, _paths(setting, question, result, field))


def _paths(
    setting: Setting, question: Question, result: PullResult, field: WorkingField
) -> tuple[GrainPath, ...]:
    """One path a grain and speed; dust has none."""
    if not result.grains:
        return ()
    factor = 1.0 if result.calibration is None else result.calibration.pull_factor
    own = grain_set(field, ready_phases(setting, question), question.sizes_um, factor)
    places = axial_nodes(field.pitch_m)
    on_belt = own.pulls.at_contact(places)
    nearest = np.argmin(np.abs(on_belt - on_belt.mean(axis=1, keepdims=True)), axis=1)
    shown = np.flatnonzero(~is_dust(own.nodes.diameter_m))
    paths = []
    for turn, speed in enumerate(question.belt_speeds_m_s):
        thrower = Thrower(field.roll_radius_m, field.belt_thickness_m, field.pitch_m, speed)
        axial = places[nearest[shown]]
        flown = fine_flights(thrower, own.nodes, own.pulls, shown, axial, with_paths=True)
        for p, path in zip(shown, flown.paths_m, strict=True):
            grain = result.grains[p]
            at = grain.at_speed[turn]
            paths.append(
                GrainPath(
                    grain.phase,
                    grain.size_um,
                    speed,
                    path[0],
                    path[1],
                    at.landing_least_m,
                    at.landing_greatest_m,
                )
            )
    return tuple(paths)
