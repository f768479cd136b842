"""Size classes: what was sieved, else a stated default."""

from __future__ import annotations

import numpy as np
import pytest

from feedchar.chemistry.size_split import fitted_table
from feedchar.chemistry.sizes import class_assays, log_normal_classes, size_classes
from feedchar.sample.records import Determination, Sample, SieveClass


def test_without_sieves_a_log_normal_on_standard_sieves():
    passing, retained, share = size_classes(Sample("x"))
    assert (passing[0], retained[-1]) == (500.0, 45.0)
    assert share.sum() == pytest.approx(1.0)
    assert passing[np.argmax(share)] in (250.0, 180.0, 355.0)


def test_a_log_normal_sand_is_the_published_fit():
    # thanheiser_2023, sieve sheet read; log-normal d50 164.2 um, sigma_g 1.342 (derived).
    sieves = np.array([425.0, 300.0, 212.0, 150.0, 106.0, 75.0, 53.0])
    share = 100.0 * log_normal_classes(164.2, np.log(1.342), sieves)
    passing = 100.0 - np.cumsum(share)
    assert passing[:5] == pytest.approx([97.8, 83.1, 35.6, 6.8, 0.4], abs=3.0)


def test_sieves_come_from_coarse_to_fine_whatever_their_order():
    rows = (SieveClass(63, 0, 10.0), SieveClass(500, 250, 30.0), SieveClass(250, 63, 60.0))
    passing, retained, share = size_classes(Sample("x", sieves=rows))
    assert passing.tolist() == [500.0, 250.0, 63.0]
    assert retained.tolist() == [250.0, 63.0, 0.0]
    assert share == pytest.approx([0.3, 0.6, 0.1])


def test_assays_of_classes_come_from_both_sheets():
    sample = Sample(
        "x",
        sieves=(SieveClass(500, 250, 40.0, {"Fe2O3": 0.2}), SieveClass(250, 63, 60.0)),
        determinations=(
            Determination("feed", 250.0, 63.0, "Fe2O3", 0.4, False),
            Determination("other bag", 250.0, 63.0, "Fe2O3", 9.0, False),
            Determination("feed", 500.0, 250.0, "TiO2", 0.01, True),
        ),
    )
    found = {(a.oxide, a.passing_um): a for a in class_assays(sample)}
    assert found["Fe2O3", 250.0].value == 0.4
    assert found["Fe2O3", 500.0].share == pytest.approx(0.4)
    assert found["TiO2", 500.0].below_detection


def test_a_table_is_fitted_to_both_margins():
    rng = np.random.default_rng(1)
    rows = rng.dirichlet(np.ones(5), size=3)
    columns = np.array([0.2, 0.3, 0.5])
    table = fitted_table(rng.random((3, 5, 3)), rows, columns)
    assert table.sum(axis=2) == pytest.approx(rows, abs=1e-12)
    assert table.sum(axis=1) == pytest.approx(np.broadcast_to(columns, (3, 3)), abs=1e-9)
