"""The phases of a bag in canonical order, each with its amount and the prior of its iron."""

from __future__ import annotations

from dataclasses import dataclass, replace

from feedchar.chemistry.amounts import bag_amounts
from feedchar.chemistry.mineral_trials import Amount
from feedchar.chemistry.mineralogy import UNSEEN
from feedchar.chemistry.phases import (
    UNIDENTIFIED,
    Ingredient,
    Measured,
    mineral_ingredient,
    own_phase_ingredient,
    unidentified_ingredient,
    unseen_ingredient,
)
from feedchar.errors import InputError, UnknownNameError
from feedchar.sample.records import Sample
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


def feed_of(sample: Sample) -> Feed:
    """Phases of the bag with their amounts, before trials.

    Parameters
    ----------
    sample : Sample
        What was measured; minerals in at least one row. [-]

    Returns
    -------
    Feed
        Canonical order. [-]

    Raises
    ------
    InputError
        No mineral has an amount above zero.
    UnknownNameError
        A phase is not known.
    """
    names = sorted({row.mineral for row in sample.minerals} - {UNSEEN})
    ingredients = {name: ingredient_of(sample, name) for name in names}
    models = {name: ingredient.model for name, ingredient in ingredients.items()}
    amounts = bag_amounts(sample, models)
    if not any(amount.mean > 0 for amount in amounts.by_phase.values()):
        raise InputError(
            "no mineral has an amount above zero", file="minerals.csv", remedy="Give at least one."
        )
    listed = tuple(amounts.by_phase[name] for name in names)
    return Feed(
        (*names, UNSEEN),
        (*(ingredients[name] for name in names), unseen_ingredient()),
        (*listed, Amount("unseen", text="unseen iron")),
        amounts.counted,
    )


def with_amount(feed: Feed, name: str, amount: Amount) -> Feed:
    """The same feed with another amount of one phase.

    Parameters
    ----------
    feed : Feed
        Phases and amounts. [-]
    name : str
        Phase to change. [-]
    amount : Amount
        Its new amount. [wt %]

    Returns
    -------
    Feed
        A changed copy. [-]
    """
    amounts = tuple(
        amount if n == name else a for n, a in zip(feed.names, feed.amounts, strict=True)
    )
    return replace(feed, amounts=amounts)
