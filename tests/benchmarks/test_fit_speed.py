"""Time of the fit: 2000 trials of 15 phases against 11 oxides on one core."""

from __future__ import annotations

import time

import pytest

from feedchar.chemistry.build import mineralogy_of
from feedchar.sample.records import MineralAmount, OxideValue, Sample

pytestmark = pytest.mark.benchmark

LISTED = {
    "quartz": 60.0, "k-feldspar": 15.0, "albite": 8.0, "oligoclase": 6.0, "muscovite": 3.5,
    "biotite": 2.0, "kaolinite": 1.6, "hornblende": 1.0, "almandine": 0.8, "ilmenite": 0.5,
    "goethite": 0.5, "hematite": 0.4, "rutile": 0.4, "magnetite": 0.3,
}  # fmt: skip
ASSAY = {
    "SiO2": 82.5, "TiO2": 0.75, "Al2O3": 8.6, "Fe2O3": 2.6, "MnO": 0.04, "MgO": 0.45, "CaO": 0.45,
    "Na2O": 1.6, "K2O": 3.0, "P2O5": 0.01, "LOI": 0.5,
}  # fmt: skip


def test_two_thousand_trials_take_less_than_a_second():
    sample = Sample(
        "bench",
        origin="as dug",
        minerals=tuple(
            MineralAmount(name, "mass_pct", x, method="diffraction") for name, x in LISTED.items()
        ),
        assay={name: OxideValue(x, None) for name, x in ASSAY.items()},
    )
    mineralogy_of(sample, 10, 1)
    start = time.process_time()
    mineralogy = mineralogy_of(sample, 2000, 1, thorough=False)
    taken = time.process_time() - start
    assert mineralogy.agreement.settled
    assert taken < 1.0
