"""The typical case of a test with the machine moved: more missed, damp, overfed, locked."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedchar.assembly.subset import Trials, first_rows
from feedchar.separation.load import UPPER_LAYER_MISSED

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Ladder:
    """One way in which a machine or a feed may differ, and how far it is tried."""

    cause: str
    steps: tuple[float, ...]
    unit: str
    """How a step is told, with `{}` for it."""
    look_at: str
    """What to look at."""


MISSED = Ladder(
    "missed by the machine",
    (0.0, 0.06, 0.10, 0.15, 0.20, 0.30, 0.45, 0.60),
    "about {:.0%} of each pass never meets the field",
    "feeder, spread of the layer on the belt, worn or dead magnets, edges bent",
)
CARRIED = Ladder(
    "sand carried",
    (0.2, 0.5, 2.0, 4.0, 8.0, 16.0),
    "about {:.1f} times the sand carried that is usual",
    "static, fines, the edge set too close",
)
OVERFED = Ladder(
    "overfed",
    (1.5, 2.0, 3.0, 5.0, 8.0),
    "a bed about {:.1f} times as deep as told",
    "feed rate and width of the layer; repeat at a quarter of the rate",
)
PULL = Ladder(
    "pull of the machine",
    (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.12, 1.25, 1.4, 1.7, 2.0),
    "pulls about {:.2f} times as computed",
    "gaussmeter at the belt, belt thickness, temperature of the roll, belt speed",
)
DAMP = Ladder(
    "damp",
    (3.0, 10.0, 30.0, 100.0),
    "fines cling about {:.0f} times as hard as dry",
    "moisture of the roll feed; dry it and repeat",
)
LOCKED = Ladder(
    "locked",
    (0.05, 0.10, 0.20, 0.35, 0.50, 0.70),
    "about {:.0%} of the dark minerals sit in pale grains",
    "polished section or picking of the non-magnetics by size",
)
LADDERS = (CARRIED, DAMP, LOCKED, MISSED, OVERFED, PULL)


def laddered(trials: Trials, ladder: Ladder) -> Trials:
    """The typical case repeated, row 0 as it is and each further row one step of a ladder.

    Parameters
    ----------
    trials : Trials
        The feed; row 0 is used. [-]
    ladder : Ladder
        What is moved. [-]

    Returns
    -------
    Trials
        One row more than the ladder has steps. [-]

    References
    ----------
    Derived here; the amounts of an overfed belt as in `separation.load`.
    """
    rows = len(ladder.steps) + 1
    step = np.array(ladder.steps)
    typical = _repeated(first_rows(trials, 1), rows)
    if ladder is LOCKED:
        return _locked(typical, np.append(0.0, step))
    own = typical.parameters
    bypass, carried = np.array(own.bypass), np.array(own.entrainment)
    pull, held = np.array(own.pull_factor), np.array(own.adhesion_N)
    if ladder is MISSED:
        bypass[1:] = step
    elif ladder is CARRIED:
        carried[1:] = np.minimum(carried[1:] * step, 0.5)
    elif ladder is OVERFED:
        bypass[1:] = 1.0 - (1.0 - bypass[1:]) * (1.0 - UPPER_LAYER_MISSED * (1.0 - 1.0 / step))
        carried[1:] = np.minimum(carried[1:] * step, 0.5)
    elif ladder is PULL:
        pull[1:] *= step
    elif ladder is DAMP:
        held[1:] *= step
    changed = replace(own, bypass=bypass, entrainment=carried, pull_factor=pull, adhesion_N=held)
    return replace(typical, parameters=changed)


def _repeated(typical: Trials, rows: int) -> Trials:
    def again(array: Array) -> Array:
        return np.repeat(array[:1], rows, axis=0)

    mineralogy, grains, own = typical.mineralogy, typical.grains, typical.parameters
    return Trials(
        replace(
            mineralogy,
            mass_fraction=again(mineralogy.mass_fraction),
            iron_wt_pct=again(mineralogy.iron_wt_pct),
            oxides_wt_pct=again(mineralogy.oxides_wt_pct),
            susceptibility_m3_kg=again(mineralogy.susceptibility_m3_kg),
        ),
        replace(typical.classes, mass=again(typical.classes.mass)),
        replace(
            grains,
            susceptibility_m3_kg=again(grains.susceptibility_m3_kg),
            moment_A_m2_kg=again(grains.moment_A_m2_kg),
        ),
        replace(
            own,
            bypass=again(own.bypass),
            entrainment=again(own.entrainment),
            pull_factor=again(own.pull_factor),
            adhesion_N=again(own.adhesion_N),
            air_layer_m=None,
            by_hand=None,
            isodynamic=None,
        ),
    )


def _locked(typical: Trials, share: Array) -> Trials:
    """A share of the free grains of every removable phase rides in the commonest pale grain."""
    classes, grains, mineralogy = typical.classes, typical.grains, typical.mineralogy
    role = np.array([phase.role for phase in mineralogy.phases])
    column = {phase.name: place for place, phase in enumerate(mineralogy.phases)}
    roles = role[[column[name] for name in classes.phase_names]][classes.mineral]
    pure = (classes.host < 0) & (classes.carrier == np.arange(len(classes.mineral)))
    moved = np.flatnonzero((roles == "removable") & pure)
    pale = (roles == "host") & pure
    inside = np.array(
        [
            int(np.argmax(np.where(pale & (classes.size == size), classes.mass[0], -1.0)))
            for size in classes.size[moved]
        ],
        dtype=np.intp,
    )
    every = np.arange(len(classes.mineral))
    from_class, as_grain = np.append(every, moved), np.append(every, inside)
    mass = classes.mass[:, from_class].copy()
    mass[:, moved] *= 1.0 - share[:, None]
    mass[:, len(every) :] *= share[:, None]
    carrier = np.append(classes.carrier, inside)
    return replace(
        typical,
        classes=replace(
            classes,
            mineral=classes.mineral[from_class],
            host=classes.host[from_class],
            form=classes.form[from_class],
            size=classes.size[from_class],
            grade=classes.grade[from_class],
            carrier=carrier,
            mass=mass,
            thickness_ratio=classes.thickness_ratio[from_class],
            acts_as=None if classes.acts_as is None else classes.acts_as[from_class],
        ),
        grains=replace(
            grains,
            passing_m=grains.passing_m[as_grain],
            retained_m=grains.retained_m[as_grain],
            is_flake=grains.is_flake[as_grain],
            thickness_ratio=grains.thickness_ratio[as_grain],
            density_kg_m3=grains.density_kg_m3[as_grain],
            susceptibility_m3_kg=grains.susceptibility_m3_kg[:, as_grain],
            moment_A_m2_kg=grains.moment_A_m2_kg[:, as_grain],
            order=grains.order[as_grain],
            grain_ln_sd=grains.grain_ln_sd[as_grain],
            saturation_field_tesla=None
            if grains.saturation_field_tesla is None
            else grains.saturation_field_tesla[as_grain],
        ),
    )
