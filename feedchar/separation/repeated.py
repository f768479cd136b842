"""The same pass once, twice, three times: one flight serves every number of passes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import comb

import numpy as np
from numpy.typing import NDArray

from feedchar.field.setting import Setting
from feedchar.separation.passes import separate, taken_again_and_again
from feedchar.separation.records import Grains, Parameters, Shares

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Repeated:
    """One pass of a setting, ready to be repeated; see `repeated`."""

    setting: Setting
    """With one pass."""
    grains: Grains
    taken: tuple[Array, ...] | None
    """(T, C) chance to land inside the edge in 1, 2 ... flights; None where passes must be
    computed one by one: a second edge, a drum before them, air that the belt drags."""
    adhesion_N: Array
    """For which it holds."""

    def shares(self, passes: int, parameters: Parameters) -> Shares:
        """Shares after a number of passes, as `separate` gives them.

        Parameters
        ----------
        passes : int
            At least 1, at most the number asked for before. [-]
        parameters : Parameters
            Over the same trials. [SI]

        Returns
        -------
        Shares
            (T, C) each. [-]

        References
        ----------
        Derived here: with e carried along and b missed, a grain stays with the non-magnetics in n
        passes with (1-e)^n times the mean of (1 - (1-b) C)^n, multiplied out.
        """
        if self.taken is None or not np.array_equal(parameters.adhesion_N, self.adhesion_N):
            setting = replace(self.setting, passes=self.setting.passes * passes)
            return separate(setting, self.grains, parameters)
        kept = (1.0 - np.asarray(parameters.entrainment)[:, None]) ** passes
        met = 1.0 - np.asarray(parameters.bypass)[:, None]
        stays, missed = np.ones_like(self.taken[0]), np.zeros_like(self.taken[0])
        for k, chance in enumerate(self.taken[:passes], start=1):
            part = (-1) ** k * comb(passes, k) * chance
            stays += part * met**k
            missed += part * (met**k - 1.0)
        non_magnetics = np.clip(stays * kept, 0.0, 1.0)
        return Shares(
            magnetics=np.maximum(1.0 - non_magnetics, 0.0),
            middlings=np.zeros_like(non_magnetics),
            non_magnetics=non_magnetics,
            missed=np.clip(missed * kept, 0.0, 1.0),
        )


def repeated(setting: Setting, grains: Grains, parameters: Parameters, most: int) -> Repeated:
    """Fly the grains once, to know what any number of equal passes does.

    Parameters
    ----------
    setting : Setting
        With one pass. [SI]
    grains : Grains
        C classes over T trials. [SI]
    parameters : Parameters
        Machine parameters over the trials. [SI]
    most : int
        Greatest number of passes that will be asked for. [-]

    Returns
    -------
    Repeated
        Ready for any number up to that. [-]

    Raises
    ------
    SettingError
        A setting or a grain that cannot be.

    References
    ----------
    Derived here.
    """
    air = parameters.air_layer_m
    alone = (
        setting.passes[0].splitter_2_m is None
        and setting.drum_first is None
        and (air is None or not np.any(air > 0.0))
    )
    taken = tuple(taken_again_and_again(setting, grains, parameters, most)) if alone else None
    return Repeated(setting, grains, taken, np.asarray(parameters.adhesion_N))
