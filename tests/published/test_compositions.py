"""Weight per cents of formulae against printed ones.

Sources: printed formula pages, mineral data sheets and a handbook (keys in the file, among them
anthony_2001, webmineral, printed_formula_pages, umd_probe); rows of `computed_here` only guard.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from feedchar.chemistry import element_wt_pct, oxide_wt_pct

TABLE = Path(__file__).parent / "data" / "composition_checks.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
TWO_STATES = {"magnetite": {"Fe2+": 1.0, "Fe3+": 2.0}}


@pytest.mark.parametrize(
    "row", ROWS, ids=[f"{i}-{r['mineral']}-{r['oxide']}" for i, r in enumerate(ROWS)]
)
def test_a_formula_gives_the_printed_weight_per_cent(row):
    formula, what = row["formula"], row["oxide"]
    elements = element_wt_pct(formula)
    iron = TWO_STATES.get(row["mineral"], "FeO" if what == "FeO" else "Fe2O3")
    shares = (
        elements
        | {"Fe": elements.get("Fe", 0.0)}
        | {
            name: value
            for name, value in oxide_wt_pct(formula, iron).items()
            if name not in elements
        }
    )
    assert shares[what] == pytest.approx(
        float(row["wt_pct_printed"]), abs=float(row["tolerance_wt_pct"])
    )


def test_every_row_of_the_table_is_held():
    assert len(ROWS) == 223


def test_stated_molar_masses_agree_with_the_formulae():
    from feedchar.chemistry.formula import molar_mass

    for row in ROWS:
        assert molar_mass(row["formula"]) == pytest.approx(float(row["molar_mass_g_mol"]), abs=2e-3)
