"""Sizes beyond which nothing is read: each cap is refused with its number, at once."""

from __future__ import annotations

import pytest

from feedchar.errors import InputError
from feedchar.sample.naming import PHASES_MAX
from feedchar.sample.read import read_sample
from feedchar.sample.sieves import CLASSES_MAX
from feedchar.sample.table import CELL_MAX_CHARACTERS, COLUMNS_MAX, ROWS_MAX
from feedchar.sample.template import workbook_bytes

HEAD = "mineral,mass_pct\n"


def test_too_many_rows_are_refused_in_a_file_and_in_a_workbook(refused, tmp_path):
    error = refused(minerals=HEAD + "quartz,1\n" * (ROWS_MAX + 1))
    assert str(ROWS_MAX) in error.problem
    rows = [("mineral", "mass_pct"), *[("quartz", 1.0)] * (ROWS_MAX + 1)]
    path = tmp_path / "bag.xlsx"
    path.write_bytes(workbook_bytes({"minerals": rows}))
    with pytest.raises(InputError, match=f"more than {ROWS_MAX} rows"):
        read_sample(path)


@pytest.mark.parametrize("columns", [COLUMNS_MAX + 1, 5 * COLUMNS_MAX])
def test_too_many_columns_are_refused(refused, columns):
    heading = "mineral,mass_pct" + "," * columns
    assert str(COLUMNS_MAX) in refused(minerals=heading + "\nquartz,100\n").problem


@pytest.mark.parametrize("length", [CELL_MAX_CHARACTERS + 1, 200_000])
def test_a_cell_far_too_long_is_refused(refused, length):
    text = HEAD.replace("\n", ",colour\n") + "quartz,100," + "x" * length + "\n"
    error = refused(minerals=text)
    assert error.row == 2
    assert len(str(error)) < 400


def test_too_many_classes_and_phases_are_refused(refused):
    rows = "".join(f"{n + 1},{n},1\n" for n in range(CLASSES_MAX + 1))
    error = refused({"sieves.csv": "passing_um,retained_um,mass_g\n" + rows})
    assert str(CLASSES_MAX) in error.problem
    rows = "".join(f"slag {n},3000\n" for n in range(PHASES_MAX + 1))
    error = refused({"phases.csv": "phase,density_kg_m3\n" + rows})
    assert str(PHASES_MAX) in error.problem


@pytest.mark.parametrize(
    "row", ["feed,Fe2O3,0.1,%,,reread", "b{n},Fe2O3,0.1,%,b{m},new split", "b{n},Fe2O3,0.1,%,,"]
)
def test_as_many_repeats_as_may_stand_are_read(read, row):
    head = "bag,oxide,value,unit,repeat_of,repeat_kind\nfeed,Fe2O3,0.1,%,,\nb0,Fe2O3,0.1,%,,\n"
    rows = "\n".join(row.format(n=n, m=n - 1) for n in range(1, ROWS_MAX - 5))
    assert len(read({"assays.csv": head + rows + "\n"}).determinations) == ROWS_MAX - 4


@pytest.mark.parametrize("text", [",,\n,,\n", " , \n", ";;\n"])
def test_a_file_of_separators_alone_is_empty(refused, text):
    assert refused(minerals=text).problem == "is empty"
