"""Weighted non-negative least squares of amounts and iron contents, laid out once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from feedchar.chemistry.mineralogy import Array

Index = NDArray[np.intp]
_CLOSURE_SD = 1e-3
"""Closure enters as one more row this tight and is then made exact. [wt %]"""


class LeastSquares:
    """Weighted non-negative least squares of amounts and iron contents together.

    A phase whose iron matters enters as two columns, the ends of its mixing line; their sum is its
    amount and their ratio its iron, so that the problem stays linear. The matrix is laid out once
    and filled for each solution.
    """

    def __init__(self, phases: int, split: Index, rows: int) -> None:
        self.phases, self.split, self.rows = phases, split, rows
        extra = len(split)
        columns = phases + extra
        self.matrix = np.zeros((rows + columns + 1, columns))
        self.amounts = np.zeros((phases, columns))
        self.amounts[np.arange(phases), np.arange(phases)] = 1.0
        self.upper = phases + np.arange(extra)
        self.amounts[split, self.upper] = 1.0
        self.iron = rows + phases + np.arange(extra)
        self.matrix[-1] = 1.0 / _CLOSURE_SD
        self.target = np.zeros(rows + columns + 1)
        self.target[-1] = 100.0 / _CLOSURE_SD

    def amount_rows(self, wanted: Array, spread: Array) -> None:
        """Draw each amount to a wanted value.

        Parameters
        ----------
        wanted, spread : array, shape (M,)
            Amount, and how firmly. [wt %]

        References
        ----------
        Prior rows of a weighted least-squares problem.
        """
        end = self.rows + self.phases
        self.matrix[self.rows : end] = self.amounts / spread[:, None]
        self.target[self.rows : end] = wanted / spread

    def iron_rows(self, place: Array, firm: Array) -> None:
        """Draw the place of each split phase to a wanted one.

        Parameters
        ----------
        place : array, shape (M,)
            Place on the line. [-]
        firm : array, shape (M,)
            sd of the place times a rough amount. [wt %]

        References
        ----------
        As `amount_rows`; linear because the row is weighed by a rough amount.
        """
        width = np.maximum(firm[self.split], 1e-9)
        self.matrix[self.iron, self.split] = -place[self.split] / width
        self.matrix[self.iron, self.upper] = (1.0 - place[self.split]) / width

    def solve(
        self, start: Array, end: Array, value: Array, sd: Array, place: Array
    ) -> tuple[Array, Array]:
        """Amounts and places.

        Parameters
        ----------
        start : array, shape (M, K)
            Content of the lower column of each phase. [-]
        end : array, shape (V, K)
            Content of the upper column of each split phase. [-]
        value, sd : array, shape (K,)
            Measured rows. [wt %]
        place : array, shape (M,)
            Place of the phases that are not split, and of those that come out as nothing. [-]

        Returns
        -------
        tuple of array
            Amounts, shape (M,), at or above zero, summing to 100 [wt %], and places, shape (M,).

        References
        ----------
        Whiten 2007 and Zhang 2000: weighted non-negative least squares with added rows.
        """
        top = self.matrix[: self.rows]
        top[:, : self.phases] = start.T / sd[:, None]
        top[:, self.phases :] = end.T / sd[:, None]
        self.target[: self.rows] = value / sd
        solved, _ = nnls(self.matrix, self.target)
        amounts = solved[: self.phases].copy()
        amounts[self.split] += solved[self.upper]
        places = place.copy()
        real = np.maximum(amounts[self.split], 1e-9)
        part = solved[self.upper] / real
        places[self.split] = np.where(amounts[self.split] > 1e-9, part, place[self.split])
        return amounts * (100.0 / amounts.sum()), places
