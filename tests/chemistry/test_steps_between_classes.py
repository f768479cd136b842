"""Steps by which assays of classes move phases between them, against slopes by differences."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from feedchar.chemistry import size_assays
from feedchar.chemistry.mineralogy import OXIDES
from feedchar.chemistry.size_assays import conditioned_table
from feedchar.chemistry.sizes import ClassAssay, log_normal_classes
from feedchar.chemistry.table_margins import fitted_table
from feedchar.uncertainty.streams import stream

CLASSES = np.array([0.2, 0.5, 0.3])
PHASES = np.array([0.93, 0.05, 0.02])
ODDS = np.array([[1.0, 1.0, 1.0], [0.6, 1.0, 1.8], [1.3, 0.7, 1.0]])
TABLE = fitted_table((ODDS * PHASES[:, None] * CLASSES)[None], PHASES[None], CLASSES)[0]
LN_SD = np.array([0.11, 0.37, 0.83])
FE, K = OXIDES.index("Fe2O3"), OXIDES.index("K2O")
CONTENT = np.zeros((3, len(OXIDES)))
CONTENT[:, FE], CONTENT[:, K] = [0.1, 20.0, 90.0], [1.7, 9.0, 0.0]
MEMBERS = np.array([[True, False, False], [False, True, True], [False, True, False]])
OXIDE = np.array([FE, FE, K])
SHARE = MEMBERS @ CLASSES
SD = np.array([0.11, 0.13, 0.07])


def assays(value, capped=(False, False, False)):
    return tuple(
        ClassAssay(
            OXIDES[OXIDE[a]], value[a], SD[a], capped[a], tuple(MEMBERS[a]), SHARE[a], 9.0, 0
        )
        for a in range(3)
    )


def found(table):
    """What each assay would find: oxide over mass of its classes."""
    return np.array([(CONTENT[:, OXIDE[a]] @ table[:, MEMBERS[a]]).sum() / SHARE[a]
                     for a in range(3)])  # fmt: skip


def moved_by(table, z):
    """Cells grow by z in ln while each phase keeps its sum."""
    grown = table * np.exp(z)
    return grown * (table.sum(axis=1) / grown.sum(axis=1))[:, None]


def slopes(table):
    out = np.zeros((3, 9))
    for cell in range(9):
        z = np.zeros(9)
        z[cell] = 1e-6
        z = z.reshape(3, 3)
        out[:, cell] = (found(moved_by(table, z)) - found(moved_by(table, -z))) / 2e-6
    return out


def wanted(z, start, value, tells=(True, True, True)):
    """Most likely ln of the cells where assays are linear about z: between start and assays."""
    table = fitted_table((TABLE * np.exp(z))[None], PHASES[None], CLASSES)[0]
    slope = slopes(table) * np.array(tells)[:, None]
    gap = np.where(tells, value - found(table), 0.0)
    prior = np.repeat(LN_SD**2, 3)
    cover = slope @ np.diag(prior) @ slope.T + np.diag(SD**2)
    weight = np.linalg.solve(cover, gap + slope @ (z - start).ravel())
    return np.clip(prior * (slope.T @ weight), -3.0, 3.0).reshape(3, 3) + start


def conditioned(monkeypatch, value, rounds, trials=0, capped=(False,) * 3):
    monkeypatch.setattr(size_assays, "ROUNDS", rounds)
    table = np.repeat(TABLE[None], trials + 1, axis=0)
    content = np.repeat(CONTENT[None], trials + 1, axis=0)
    return conditioned_table(table, assays(value, capped), content, LN_SD, 5)


def table_at(z):
    return fitted_table((TABLE * np.exp(z))[None], PHASES[None], CLASSES)[0]


VALUE = found(TABLE) + np.array([0.9, -0.5, 0.4]) * np.array([1.1, 0.9, 0.6])


def test_the_first_step_is_that_of_linear_assays(monkeypatch):
    z = np.zeros((3, 3))
    step = wanted(z, z, VALUE)
    assert np.abs(step).max() > 0.2
    assert conditioned(monkeypatch, VALUE, 1)[0] == pytest.approx(table_at(step), rel=1e-5)


def test_the_second_step_is_taken_in_the_part_at_which_the_last_two_would_have_met(monkeypatch):
    z = np.zeros((3, 3))
    for off, whole in (([3.0, -0.9, 0.4], False), ([-2.0, 2.0, 2.0], False),
                       ([2.0, -1.2, -0.6], True)):  # fmt: skip
        value = found(TABLE) + np.array(off)
        first = wanted(z, z, value)
        second = wanted(first, z, value) - first
        change = second - first
        part = -(first * change).sum() / (change * change).sum()
        assert (part > 1.0) == whole  # never more than the whole step
        expected = table_at(first + min(part, 1.0) * second)
        assert conditioned(monkeypatch, value, 2)[0] == pytest.approx(expected, rel=1e-5)


def test_no_cell_moves_by_more_than_e_cubed_at_once(monkeypatch):
    z = np.zeros((3, 3))
    far = found(TABLE) + np.array([60.0, 0.0, 0.0])
    step = wanted(z, z, far)
    assert np.abs(step).max() == 3.0
    assert conditioned(monkeypatch, far, 1)[0] == pytest.approx(table_at(step), rel=1e-5)


def test_every_trial_starts_from_its_own_table_and_its_own_figures(monkeypatch):
    """Spread by the ln-sd of each phase; figures by their errors, a limit by none."""
    spread = stream(5, "sizes/spread").standard_normal((4, 3, 3)) * LN_SD[:, None]
    errors = stream(5, "sizes/assays").standard_normal((4, 3)) * SD
    capped = (False, True, False)
    made = conditioned(monkeypatch, VALUE, 1, 4, capped)
    for trial in range(5):
        z = spread[trial - 1] if trial else np.zeros((3, 3))
        error = errors[trial - 1] * [1.0, 0.0, 1.0] if trial else np.zeros(3)
        tells = (True, found(table_at(z))[1] > VALUE[1], True)
        step = wanted(z, z, VALUE + error, tells)
        assert made[trial] == pytest.approx(table_at(step), rel=1e-5), trial


def test_a_limit_that_is_kept_tells_nothing(monkeypatch):
    z = np.zeros((3, 3))
    value = VALUE.copy()
    for off, tells in ((0.01, False), (-0.01, True)):
        value[1] = found(TABLE)[1] + off
        step = wanted(z, z, value, (True, tells, True))
        made = conditioned(monkeypatch, value, 1, capped=(False, True, False))
        assert made[0] == pytest.approx(table_at(step), rel=1e-5)


def test_trials_are_the_same_in_blocks_of_any_size(monkeypatch):
    whole = conditioned(monkeypatch, VALUE, 4, 6)
    monkeypatch.setattr(size_assays, "BLOCK", 2)
    assert conditioned(monkeypatch, VALUE, 4, 6) == pytest.approx(whole, rel=1e-9)


def test_a_trial_rests_once_its_assays_move_by_less_than_a_twentieth_of_their_errors(monkeypatch):
    """All rounds after that change nothing to the last digit."""
    settled = conditioned(monkeypatch, VALUE, 12)
    assert np.array_equal(conditioned(monkeypatch, VALUE, 40), settled)
    before = conditioned(monkeypatch, VALUE, 2)
    assert np.abs((found(before[0]) - found(settled[0])) / SD).max() < 1.0
    tables = [conditioned(monkeypatch, VALUE, rounds)[0] for rounds in range(1, 13)]
    moves = [np.abs((found(b) - found(a)) / SD).max()
             for a, b in pairwise(tables)]  # fmt: skip
    last = next(k for k, move in enumerate(moves) if move == 0.0)
    # One more step is taken after the last move that was felt, then none.
    assert moves[last - 1] <= 0.05 < moves[last - 2]


def test_margins_are_scaled_in_turn_phases_last():
    """Two rounds by hand of a table that no two rounds settle."""
    table = np.array([[5.0, 1.0], [2.0, 7.0]]) / 15.0
    rows, columns = np.array([0.7, 0.3]), np.array([0.45, 0.55])
    made = fitted_table(table[None], rows[None], columns)[0]
    expected = table.copy()
    for _ in range(200):
        expected *= columns / expected.sum(axis=0)
        expected *= (rows / expected.sum(axis=1))[:, None]
    assert made == pytest.approx(expected, rel=1e-12)
    assert made.sum(axis=1) == pytest.approx(rows, rel=1e-15)
    odds = table[0, 0] * table[1, 1] / table[0, 1] / table[1, 0]
    assert made[0, 0] * made[1, 1] / made[0, 1] / made[1, 0] == pytest.approx(odds)
    empty = fitted_table(np.array([[[0.5, 0.0], [0.5, 0.0]]]), rows[None], np.array([1.0, 0.0]))
    assert np.array_equal(empty[0], [[0.7, 0.0], [0.3, 0.0]])


def test_shares_of_a_log_normal_leave_out_the_tails():
    from scipy import stats

    share = log_normal_classes(310.0, 0.7, np.array([900.0, 400.0, 120.0]))
    law = stats.lognorm(0.7, scale=310.0).cdf([900.0, 400.0, 120.0])
    assert share == pytest.approx(-np.diff(law) / (law[0] - law[2]))
