"""How each phase is spread over the size classes, tied exactly to bag and sieves.

The table of mass by phase and class has both margins fixed: the amount of each phase in the bag,
and the mass of each class. Minerals counted by class shape it; assays of classes move each phase
between the classes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feedchar.chemistry.amounts import amount_of, grain_volumes
from feedchar.chemistry.ingredients import Feed
from feedchar.chemistry.mineral_trials import Amount, gamma_amounts, small_amounts
from feedchar.chemistry.mineralogy import Array
from feedchar.chemistry.size_assays import conditioned_table
from feedchar.chemistry.sizes import class_assays, inside, size_classes
from feedchar.chemistry.system import FOUND, Flags
from feedchar.chemistry.table_margins import fitted_table
from feedchar.sample.records import Sample

ALIKE_LN_SD = 0.5
"""How far a phase may differ from the sieves' own spread when only class assays tell (guess)."""
UNSEEN_LN_SD = 1.0
"""The same for unseen iron, which often sits in the fines (guess)."""
KNOWN_LN_SD = 0.3
"""The same for a phase that was looked for in classes (guess)."""
_LEAST = 1e-15


@dataclass(frozen=True)
class _Shape:
    """Relative content of each phase in each class, before it is tied to the bag."""

    content: Array
    """(T, M, S)"""
    known: Flags
    """(M,) True where rows by class speak of the phase."""


def size_shares(
    sample: Sample, feed: Feed, mass_fraction: Array, oxides_wt_pct: Array, seed: int
) -> Array:
    """Spread of every phase over the size classes.

    Parameters
    ----------
    sample : Sample
        Sieves, minerals and assays by class. [-]
    feed : Feed
        M phases. [-]
    mass_fraction : array, shape (T, M)
        Trials of the bag. [-]
    oxides_wt_pct : array, shape (T, M, K)
        Trials of the composition of each phase. [wt %]
    seed : int
        The run's seed. [-]

    Returns
    -------
    array, shape (T or 1, M, S)
        Sums to 1 over S; all phases alike where nothing is known by class. [-]

    References
    ----------
    Iterative proportional fitting; randomised maximum likelihood for class assays (derived).
    """
    _, _, share = size_classes(sample)
    alike = np.broadcast_to(share, (1, len(feed.names), len(share))).copy()
    if len(share) < 2 or not sample.sieves:
        return alike
    shape = _by_class(sample, feed, mass_fraction.shape[0] - 1, seed)
    assays = class_assays(sample)
    if shape is None and not assays:
        return alike
    content = np.ones((1, *alike.shape[1:])) if shape is None else shape.content
    known = np.zeros(len(feed.names), dtype=bool) if shape is None else shape.known
    content = np.broadcast_to(content, (mass_fraction.shape[0], *content.shape[1:]))
    table = fitted_table(content * mass_fraction[:, :, None] * share, mass_fraction, share)
    if assays:
        ln_sd = np.where(known, KNOWN_LN_SD, ALIKE_LN_SD)
        ln_sd[-1] = UNSEEN_LN_SD
        table = conditioned_table(table, assays, oxides_wt_pct, ln_sd, seed)
    sums = table.sum(axis=2, keepdims=True)
    return np.where(sums > _LEAST, table / np.maximum(sums, _LEAST), share)


def _by_class(sample: Sample, feed: Feed, trials: int, seed: int) -> _Shape | None:
    passing, retained, _ = size_classes(sample)
    models = {n: i.model for n, i in zip(feed.names, feed.ingredients, strict=True)}
    volumes = grain_volumes(sample, models)
    groups: dict[tuple[float, float], dict[str, Amount]] = {}
    for row in sample.minerals:
        if row.passing_um is not None and row.fraction is None:
            key = (row.passing_um, row.retained_um or 0.0)
            amount = amount_of(row, models[row.mineral], volumes[row.mineral])
            groups.setdefault(key, {})[row.mineral] = amount
    if not groups:
        return None
    place = {name: j for j, name in enumerate(feed.names)}
    content = np.full((trials + 1, len(feed.names), len(passing)), np.nan)
    for (top, bottom), amounts in groups.items():
        members = inside(passing, retained, top, bottom)
        drawn = np.zeros((trials + 1, len(feed.names)))
        for name, amount in sorted(amounts.items()):
            make = gamma_amounts if amount.kind in FOUND else small_amounts
            drawn[:, place[name]] = make(amount, f"{name}/{top:g}-{bottom:g}", trials, seed)
        drawn /= np.maximum(drawn.sum(axis=1, keepdims=True), _LEAST)
        content[:, :, members] = drawn[:, :, None]
    measured = ~np.isnan(content[0, 0])
    size = np.log(np.sqrt(passing * np.where(retained > 0, retained, passing / 2)))
    for s in np.flatnonzero(~measured):
        nearest = np.flatnonzero(measured)[np.argmin(np.abs(size[measured] - size[s]))]
        content[:, :, s] = content[:, :, nearest]
    seen = {name for amounts in groups.values() for name in amounts}
    known = np.array([name in seen for name in feed.names])
    content[:, ~known, :] = 1.0
    return _Shape(np.maximum(content, 1e-12), known)
