"""What is drawn once for a whole table: every named stream, whatever the number of rows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv

from feedchar.batch.columns import TableColumns
from feedchar.chemistry.draws import IRON_BEARING_WT_PCT, line_ends
from feedchar.chemistry.ingredients import Feed, ingredient_of
from feedchar.chemistry.mineral_trials import Amount, not_found_scores, standard_scores
from feedchar.chemistry.mineralogy import OXIDES, UNSEEN
from feedchar.chemistry.oxides import COLUMN
from feedchar.chemistry.phases import Ingredient, susceptibility_at, unseen_ingredient
from feedchar.chemistry.traces import CARRIERS
from feedchar.chemistry.unseen import form_shares
from feedchar.particles.joined_share import default_joined_share
from feedchar.sample.naming import UNIDENTIFIED
from feedchar.sample.records import OxideValue, Sample
from feedchar.uncertainty.streams import stream

Array = NDArray[np.float64]

LN_SHAPE_STEP = 0.1
MOST_SHAPE = 2.0e4
"""A listed amount is never surer than 0.7 %, which diffraction never is. [-]"""
ASSUMED_FOR = ("as dug", "crushed rock")
"""Origins whose lists of likely minerals hold all phases that may be taken for granted."""
ORIGINS = (None, "as dug", "washed", "crushed rock", "plant product")


@dataclass(frozen=True)
class Drawn:
    """Draws of a table: P phases with `unseen` last, T = trials + 1, row 0 typical."""

    seed: int
    trials: int
    ingredients: tuple[Ingredient, ...]
    low: Array
    """(P, K) oxides at the low-iron end of each line, columns OXIDES. [wt %]"""
    change: Array
    """(P, K) high end less low end. [wt %]"""
    scores: Array
    """(P, T) standard normal scores of iron."""
    place: Array
    """(P, T) places on the mixing lines."""
    magnetic_scores: Array
    """(P, T)"""
    susceptibility_m3_kg: Array
    """(P, T)"""
    uniform: Array
    """(P - 1, T) of amounts given by a limit."""
    not_found: Array
    """(P - 1, T) amount over its detection limit of what was not found. [-]"""
    gamma_roots: Array
    """(P - 1, G, T) cube root of a gamma over its shape, on a grid of ln shape. [-]"""
    unseen_uniform: Array
    """(T,) of the total of unseen iron."""
    forms: dict[str | None, Array]
    """(T, 3) how unseen iron sits, by origin. [-]"""
    joined: dict[str | None, Array]
    """(P, T) joined share, 0 for what is not removable, by origin. [-]"""

    @property
    def names(self) -> tuple[str, ...]:
        """Phases in canonical order, `unseen` last."""
        return tuple(ingredient.model.name for ingredient in self.ingredients)

    @property
    def density_kg_m3(self) -> Array:
        """(P,) [kg m⁻³]"""
        return np.array([i.model.density_kg_m3 for i in self.ingredients])

    @property
    def is_host(self) -> NDArray[np.bool_]:
        """(P,) pale phases."""
        return np.array([i.model.role == "host" for i in self.ingredients])

    @property
    def bears_iron(self) -> NDArray[np.bool_]:
        """(P,) phases that could hide iron when they were not found."""
        return np.array([i.iron.typical_wt_pct > IRON_BEARING_WT_PCT for i in self.ingredients])

    def gammas(self, phase: int, shape: Array) -> Array:
        """Trials of a gamma over its mean.

        Parameters
        ----------
        phase : int
            Phase. [-]
        shape : array, shape (N,)
            Gamma shape of each row of the table. [-]

        Returns
        -------
        array, shape (N, T)
            1 in column 0. [-]

        References
        ----------
        Inverse transform of one uniform draw a trial; cube roots of gammas are nearly straight in
        ln shape, from memory of Wilson and Hilferty.
        """
        at = np.log(np.minimum(shape, MOST_SHAPE)) / LN_SHAPE_STEP
        below = np.minimum(at.astype(np.intp), self.gamma_roots.shape[1] - 2)
        part = (at - below)[:, None]
        grid = self.gamma_roots[phase]
        root = grid[below] * (1.0 - part) + grid[below + 1] * part
        return np.asarray(root * root * root)


def phases_of(columns: TableColumns) -> tuple[str, ...]:
    """All phases that a row of the table may hold, `unseen` left out.

    Parameters
    ----------
    columns : TableColumns
        What each column holds. [-]

    Returns
    -------
    tuple of str
        Canonical order: listed ones, `unidentified`, and with assays what may be added. [-]
    """
    names = {column.phase for column in columns.phases} | {UNIDENTIFIED}
    if columns.oxides:
        from feedchar.chemistry.assumed import assumed_minerals

        names |= set(CARRIERS.values())
        for origin in ASSUMED_FOR:
            names |= set(assumed_minerals(Sample("", origin=origin)))
    return tuple(sorted(names))


def draw_table(columns: TableColumns, trials: int, seed: int) -> Drawn:
    """Every draw that the rows of a table share.

    Parameters
    ----------
    columns : TableColumns
        What each column holds. [-]
    trials : int
        Number of draws. [-]
    seed : int
        The run's seed. [-]

    Returns
    -------
    Drawn
        Streams named as for a single bag. [-]

    References
    ----------
    Common random numbers, from memory: rows are compared by the same draws, and a row does not
    depend on the rows beside it.
    """
    listed = phases_of(columns)
    empty = Sample("")
    ingredients = (*(ingredient_of(empty, name) for name in listed), unseen_ingredient())
    names = (*listed, UNSEEN)
    low, change = line_ends(Feed(names, ingredients, (Amount("gamma"),) * len(names), False))
    scores = np.stack([standard_scores(f"{name}/iron", trials, seed) for name in names])
    magnetic = np.stack([standard_scores(f"{name}/susceptibility", trials, seed) for name in names])
    uniform = np.stack([_uniform(f"{name}/mass", trials, seed) for name in listed])
    place = np.stack([places_of(i, z) for i, z in zip(ingredients, scores, strict=True)])
    return Drawn(
        seed=seed,
        trials=trials,
        ingredients=ingredients,
        low=low,
        change=change,
        scores=scores,
        place=place,
        magnetic_scores=magnetic,
        susceptibility_m3_kg=np.stack(
            [
                susceptibility_at(i.model, iron_at(i, t), z)
                for i, t, z in zip(ingredients, place, magnetic, strict=True)
            ]
        ),
        uniform=uniform,
        not_found=np.stack([not_found_scores(1.0, u) for u in uniform]),
        gamma_roots=np.stack([_gamma_roots(u) for u in uniform]),
        unseen_uniform=_uniform(f"{UNSEEN}/mass", trials, seed),
        forms={o: form_shares(o, False, trials, seed) for o in ORIGINS},
        joined={o: _joined(o, ingredients, trials, seed) for o in ORIGINS},
    )


def places_of(ingredient: Ingredient, scores: Array) -> Array:
    """Places on the mixing line at iron scores.

    Parameters
    ----------
    ingredient : Ingredient
        A phase. [-]
    scores : array, any shape
        Standard normal scores. [-]

    Returns
    -------
    array, same shape
        0 at the low-iron end, 1 at the high. [-]
    """
    return np.asarray(ingredient.iron.place(scores))


def iron_at(ingredient: Ingredient, place: Array) -> Array:
    """Iron of a phase at places on its mixing line.

    Parameters
    ----------
    ingredient : Ingredient
        A phase. [-]
    place : array, any shape
        Places. [-]

    Returns
    -------
    array, same shape
        Fe. [wt %]
    """
    iron = ingredient.iron
    if iron.certain:
        return np.full_like(place, iron.typical_wt_pct)
    return np.asarray(iron.floor_wt_pct + place * (iron.ceiling_wt_pct - iron.floor_wt_pct))


def _uniform(name: str, trials: int, seed: int) -> Array:
    return np.concatenate([[0.5], stream(seed, name).random(trials)])


def _gamma_roots(uniform: Array) -> Array:
    count = int(np.ceil(np.log(MOST_SHAPE) / LN_SHAPE_STEP)) + 1
    shape = np.exp(LN_SHAPE_STEP * np.arange(count))[:, None]
    roots = np.cbrt(gammaincinv(shape, uniform[None, :]) / shape)
    roots[:, 0] = 1.0  # the typical case is the mean
    return np.asarray(roots)


def _joined(
    origin: str | None, ingredients: tuple[Ingredient, ...], trials: int, seed: int
) -> Array:
    out = np.zeros((len(ingredients), trials + 1))
    for j, ingredient in enumerate(ingredients):
        if ingredient.model.role == "removable":
            out[j] = default_joined_share(seed, ingredient.model.name, origin, trials + 1)
    return out


def measured_oxides(assay: Array, capped: NDArray[np.bool_]) -> dict[str, OxideValue]:
    """Head assay of one row as the chemistry room takes it.

    Parameters
    ----------
    assay : array, shape (K,)
        NaN where not measured. [wt %]
    capped : array of bool, shape (K,)
        Upper ends. [-]

    Returns
    -------
    dict of str to OxideValue
        In the order of OXIDES. [wt %]
    """
    return {
        name: OxideValue(float(assay[COLUMN[name]]), None, bool(capped[COLUMN[name]]))
        for name in OXIDES[:-1]
        if np.isfinite(assay[COLUMN[name]])
    }
