"""The phases of a bag in canonical order, each with its amount and the prior of its iron."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from feedchar.chemistry.amounts import bag_amounts, scaled
from feedchar.chemistry.assumed import assumed_minerals, only_fractions
from feedchar.chemistry.diagnosis import STRONG
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.mineralogy import OXIDES, UNSEEN, Array
from feedchar.chemistry.own_phases import (
    UNIDENTIFIED,
    own_phase_ingredient,
    unidentified_ingredient,
)
from feedchar.chemistry.phases import (
    Ingredient,
    Measured,
    mineral_ingredient,
    unseen_ingredient,
)
from feedchar.chemistry.system import FOUND
from feedchar.chemistry.traces import missing_carriers
from feedchar.errors import InputError, UnknownNameError
from feedchar.sample.records import Note, OxideValue, Sample
from feedchar.tables.minerals import minerals


@dataclass(frozen=True)
class Feed:
    """What the bag is thought to hold before any trial."""

    names: tuple[str, ...]
    """Phases sorted by name, `unseen` last."""
    ingredients: tuple[Ingredient, ...]
    amounts: tuple[Amount, ...]
    counted: bool
    """True when the minerals were counted."""


def measured_on(sample: Sample, name: str) -> Measured:
    """Iron and susceptibility that the user measured on one phase.

    Parameters
    ----------
    sample : Sample
        What was measured. [-]
    name : str
        Phase. [-]

    Returns
    -------
    Measured
        Mean of the rows that give a figure. [wt %, m³ kg⁻¹]

    References
    ----------
    By definition of the records of this room.
    """
    rows = [row for row in sample.minerals if row.mineral == name]
    iron = sorted(row.iron_wt_pct for row in rows if row.iron_wt_pct is not None)
    chi = sorted(
        row.mass_susceptibility_m3_kg for row in rows if row.mass_susceptibility_m3_kg is not None
    )
    return Measured(sum(iron) / len(iron) if iron else None, sum(chi) / len(chi) if chi else None)


def ingredient_of(sample: Sample, name: str) -> Ingredient:
    """One phase of the bag by its name.

    Parameters
    ----------
    sample : Sample
        For phases of the user's own, the rock, and what was measured. [-]
    name : str
        Canonical mineral name, a user's phase or `unidentified`. [-]

    Returns
    -------
    Ingredient
        The phase and the prior of its iron. [-]

    Raises
    ------
    UnknownNameError
        The name is neither a mineral nor a phase of the user's own.

    References
    ----------
    By definition of the records of this room.
    """
    own = {phase.phase: phase for phase in sample.phases}
    measured = measured_on(sample, name)
    if name == UNIDENTIFIED:
        return unidentified_ingredient(own.get(name))
    if name in own:
        return own_phase_ingredient(own[name], measured, sample.rock)
    if name not in minerals():
        message = f'"{name}" is not a mineral of the tables nor a phase of phases.csv'
        raise UnknownNameError(message)
    return mineral_ingredient(minerals()[name], sample.rock, measured)


def feed_of(
    sample: Sample, assay: dict[str, OxideValue], hand_magnet_wt_pct: float | None = None
) -> tuple[Feed, tuple[Note, ...]]:
    """Phases of the bag with their amounts, before trials.

    Parameters
    ----------
    sample : Sample
        What was measured: minerals, an assay, or both. [-]
    assay : dict of str to OxideValue
        Head assay that the fit will use. [wt %]
    hand_magnet_wt_pct : float or None
        Mass that a hand magnet took. [wt %]

    Returns
    -------
    tuple
        The feed in canonical order, and notes on what was assumed. [-]

    Raises
    ------
    InputError
        There is neither an assay nor a mineral with an amount above zero.
    UnknownNameError
        A phase is not known.

    References
    ----------
    What a hand magnet takes is about 0.6 magnetite, 0.3 to 1 (guess).
    """
    notes: list[Note] = []
    names = {row.mineral for row in sample.minerals} - {UNSEEN}
    models = {name: ingredient_of(sample, name).model for name in sorted(names)}
    listed = bag_amounts(sample, models)
    amounts = listed.by_phase
    found = {name: a for name, a in amounts.items() if a.kind in FOUND}
    if not found and not assay:
        problem = "no mineral has an amount above zero"
        raise InputError(problem, file="minerals.csv", remedy="Give at least one, or an assay.")
    if not found or only_fractions(sample.minerals):
        amounts, note = _with_assumed(sample, amounts, found)
        notes.append(note)
    amounts, magnet = _with_hand_magnet(amounts, hand_magnet_wt_pct)
    supplied = _most_supplied({name: ingredient_of(sample, name) for name in amounts}, amounts)
    traces = missing_carriers(assay, supplied, frozenset(amounts), listed.counted)
    if traces:
        what = "; ".join(trace.text for _, trace in sorted(traces.items()))
        notes.append(Note("traces-assumed", f"added below the detection limit: {what}"))
    amounts = amounts | traces
    order = sorted(amounts)
    feed = Feed(
        (*order, UNSEEN),
        (*(ingredient_of(sample, name) for name in order), unseen_ingredient()),
        (*(amounts[name] for name in order), Amount("unseen", text="unseen iron")),
        listed.counted,
    )
    return feed, (*notes, *magnet)


def _most_supplied(ingredients: dict[str, Ingredient], amounts: dict[str, Amount]) -> Array:
    """Oxides that the found phases can give: amounts and compositions 2 sd high."""
    total = np.zeros(len(OXIDES))
    for name, ingredient in sorted(ingredients.items()):
        if amounts[name].kind in FOUND:
            model = ingredient.model
            most = np.maximum(model.oxides_low_wt_pct, model.oxides_high_wt_pct)
            amount = amounts[name].mean + 2.0 * amounts[name].sd
            total += amount / 100.0 * (most + 2.0 * ingredient.spread)
    return total


def _with_assumed(
    sample: Sample, amounts: dict[str, Amount], found: dict[str, Amount]
) -> tuple[dict[str, Amount], Note]:
    """Assumed minerals fill what nobody looked at."""
    guess = {n: a for n, a in assumed_minerals(sample).items() if n not in amounts}
    rest = 100.0 - sum(a.mean for _, a in sorted(found.items()))
    scale = rest / sum(a.mean for _, a in sorted(guess.items()))
    added = {name: replace(a, mean=a.mean * scale) for name, a in guess.items()}
    text = f"nobody looked for minerals in the bag: assumed {', '.join(sorted(added))}"
    return scaled(amounts | added), Note("minerals-assumed", text, "warning")


def _with_hand_magnet(
    amounts: dict[str, Amount], taken: float | None
) -> tuple[dict[str, Amount], tuple[Note, ...]]:
    """Strong minerals by what a hand magnet took, in place of what was listed of them."""
    if taken is None or taken <= 0:
        return amounts, ()
    strong = {n: a for n, a in amounts.items() if n in STRONG and a.kind in FOUND}
    names = sorted(strong) or ["magnetite"]
    whole = sum(strong[n].mean for n in names) if strong else 1.0
    new = dict(amounts)
    for name in names:
        part = (strong[name].mean / whole if strong else 1.0) * 0.6 * taken
        new[name] = Amount("gamma", mean=part, shape=9.0, text=f"{name} by hand magnet")
    what = ", ".join(names)
    text = f"the hand magnet took {taken:.3g} %: this sets {what} to about 0.6 of it (0.3 to 1)"
    return scaled(new), (Note("hand-magnet", text),)
