"""Assays: iron in its three statements, units, bases, intervals, determinations."""

from __future__ import annotations

import pytest

HEAD = "bag,oxide,value,unit\n"


def toml(*lines: str, above: str = "") -> dict[str, str]:
    return {"sample.toml": above + "\n[assay]\n" + "\n".join(lines) + "\n"}


def assays(*rows: str, heading: str = HEAD) -> dict[str, str]:
    return {"assays.csv": heading + "\n".join(rows) + "\n"}


@pytest.mark.parametrize(
    ("line", "fe2o3"),
    [
        ("Fe2O3 = 0.2", 0.2),
        ("Fe = 0.2", 0.28595),
        ("FeO = 0.2", 0.22227),
        ("Fe2O3_total = 0.2", 0.2),
        ("FeO_total = 0.2", 0.22227),
        ("Fe_ppm = 2000", 0.28595),
        ("TFe2O3 = 0.2", 0.2),
    ],
)
def test_one_statement_of_iron_is_all_iron_as_fe2o3(read, line, fe2o3):
    assay = read(toml(line)).assay
    assert list(assay) == ["Fe2O3"]
    assert assay["Fe2O3"].value == pytest.approx(fe2o3, abs=1e-5)


@pytest.mark.parametrize(
    "lines",
    [
        ("Fe = 0.14", "FeO = 0.18", "Fe2O3 = 0.2"),
        ("FeO = 0.05", "Fe2O3 = 0.2"),
        ("Fe = 0.14", "Fe2O3 = 0.2"),
        ("FeO_ferrous = 0.05",),
        ("Fe2O3_ferric = 0.05", "FeO = 0.1"),
    ],
)
def test_iron_stated_twice_is_refused_unless_the_total_is_named(refused, lines):
    error = refused(toml(*lines))
    assert error.row is not None
    assert "Fe2O3_total" in error.remedy


def test_a_named_total_or_named_parts_settle_it(read):
    assert read(toml("Fe2O3_total = 0.2", "FeO = 0.05")).assay["Fe2O3"].value == 0.2
    parts = read(toml("Fe2O3_ferric = 0.15", "FeO_ferrous = 0.05")).assay["Fe2O3"].value
    assert parts == pytest.approx(0.15 + 0.05 * 1.11134, abs=1e-5)
    assert read(toml("Fe2O3_total = 0.2", "Fe_total = 0.14")).assay["Fe2O3"].value == 0.2


def test_totals_that_disagree_are_refused(refused):
    assert "same iron" in refused(toml("Fe2O3_total = 0.2", "Fe_total = 0.2")).problem


def test_an_element_becomes_its_oxide_once(read, refused):
    assert read(toml("Cr_ppm = 10")).assay["Cr2O3"].value == pytest.approx(0.0014616, abs=1e-7)
    assert "given twice" in refused(toml("TiO2 = 0.1", "Ti = 0.06")).problem


def test_standard_deviations_follow_their_figure_through_units(read):
    files = {
        "sample.toml": "[assay]\nFe = 0.2\nCr2O3_ppm = 20\n[assay_sd]\nFe = 0.01\nCr2O3_ppm = 5\n"
    }
    assay = read(files).assay
    assert assay["Fe2O3"].sd == pytest.approx(0.0142975, abs=1e-6)
    assert assay["Cr2O3"].sd == pytest.approx(5e-4)


def test_an_sd_of_zero_is_floored_with_a_note(read):
    sample = read({"sample.toml": "[assay]\nFe2O3 = 0.2\n[assay_sd]\nFe2O3 = 0\n"})
    assert sample.assay["Fe2O3"].sd == pytest.approx(0.0004)
    assert [n.code for n in sample.notes] == ["sd-floor"]


def test_an_sd_without_its_figure_is_refused(refused):
    error = refused({"sample.toml": "[assay]\nTiO2 = 0.2\n[assay_sd]\nFe2O3 = 0.01\n"})
    assert error.row == 4


def test_an_assay_of_exactly_zero_is_read_and_noted(read):
    sample = read(toml("Fe2O3 = 0"))
    assert sample.assay["Fe2O3"].value == 0
    assert [n.code for n in sample.notes] == ["assay-zero"]


def test_an_interval_stays_an_interval(read):
    value = read(toml('TiO2 = "<0.01"')).assay["TiO2"]
    assert (value.value, value.below_detection, value.sd) == (0.01, True, None)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('Fe2O3 = "tr"', "no number"),
        ("Fe2O3 = -0.1", "0 to 100"),
        ("Fe2O3 = 101", "0 to 100"),
        ("Fe2O3 = nan", "finite"),
        ("Fe2O3 = inf", "finite"),
        ('Fe2O3 = "0,05"', "0.05 or as 5"),
        ('Fe2O3 = "n.d."', "not detected or not determined"),
        ("Fe2O3 = true", "truth value"),
        ("Fe2O3 = [1, 2]", "a list"),
        ("Fe2O3 = 2024-01-01", "a date"),
        ("Fe203 = 0.1", "not known"),
        ("Fe2O3_ppm = 2e6", "0 to 1e+06"),
    ],
)
def test_an_assay_that_is_no_figure_is_refused_with_its_line(refused, line, says):
    error = refused(toml(line))
    assert says in error.problem
    assert error.row == 3


def test_a_small_gain_on_ignition_is_believed(read, refused):
    assert read(toml("LOI = -0.3")).assay["LOI"].value == -0.3
    assert "-5 to 100" in refused(toml("LOI = -30")).problem


def test_fractions_and_ppm_for_percent_are_suspected(refused):
    assert "Fractions" in refused(toml("SiO2 = 0.97", "Al2O3 = 0.03")).remedy
    assert "ppm" in refused(toml("SiO2 = 97", "Fe2O3 = 20", "TiO2 = 3")).remedy


def test_figures_as_received_are_brought_to_the_dry_bag(read, refused):
    lines = ('basis = "as received"', "Fe2O3 = 0.19")
    sample = read(toml(*lines, above="moisture_pct = 5\n"))
    assert sample.assay["Fe2O3"].value == pytest.approx(0.2)
    assert "moisture" in refused(toml(*lines)).problem


def test_ignited_figures_are_brought_to_the_dry_bag(read, refused):
    sample = read(toml('basis = "ignited"', "SiO2 = 50", "LOI = 10"))
    assert {k: v.value for k, v in sample.assay.items()} == {"SiO2": 45.0, "LOI": 10.0}
    assert "loss on ignition" in refused(toml('basis = "ignited"', "SiO2 = 50")).problem


def test_an_assay_alone_is_a_sample_and_nothing_at_all_is_none(read, refused):
    assert read(toml("SiO2 = 99"), minerals=None).minerals == ()
    assert "neither" in refused({"sample.toml": 'name = "x"\n'}, minerals=None).problem


def test_determinations_are_converted_one_by_one(read):
    sample = read(
        assays("feed,Fe,1000,ppm", "1M,Fe2O3,4.2,wt_pct", ",TiO2,<0.01,%", ",Cr2O3,<5,ppm")
    )
    found = {
        (d.bag, d.oxide): (round(d.value, 6), d.below_detection) for d in sample.determinations
    }
    assert found == {
        ("feed", "Fe2O3"): (0.142973, False),
        ("1M", "Fe2O3"): (4.2, False),
        ("feed", "TiO2"): (0.01, True),
        ("feed", "Cr2O3"): (0.0005, True),
    }
    assert set(sample.assay) == {"Fe2O3", "TiO2", "Cr2O3"}


def test_the_head_assay_of_the_sample_goes_before_single_determinations(read):
    sample = read(toml("Fe2O3 = 0.3") | assays("feed,Fe2O3,0.2,%"))
    assert sample.assay["Fe2O3"].value == 0.3
    assert "assay-given" in [n.code for n in sample.notes]


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("feed,Fe203,0.1,%", "oxide"),
        ("feed,quartz,0.1,%", "oxide"),
        ("feed,Fe2O3,0.1,", "unit"),
        ("feed,Fe2O3,0.1,ppb", "unit"),
        ("feed,Fe2O3,1820,%", "value"),
        ("feed,Fe2O3,-0.1,%", "value"),
        ("feed,Fe2O3,tr,%", "value"),
        ("feed,,1,%", "oxide"),
    ],
)
def test_a_determination_that_cannot_be_used_names_its_column(refused, row, column):
    error = refused(assays(row))
    assert (error.row, error.column) == (2, column)


def test_below_detection_may_stand_in_a_column_of_its_own(read, refused):
    heading = "bag,oxide,value,unit,below_detection\n"
    assert read(assays("feed,TiO2,0.01,%,yes", heading=heading)).assay["TiO2"].below_detection
    assert refused(assays("feed,TiO2,<0.01,%,no", heading=heading)).column == "below_detection"
    assert refused(assays("feed,TiO2,0,%,yes", heading=heading)).column == "value"


def test_two_results_of_one_bag_need_a_kind_of_repeat(refused):
    error = refused(assays("feed,Fe2O3,0.1,%", "feed,Fe2O3,0.2,%"))
    assert (error.row, "row 2" in error.problem) == (3, True)


def test_fe_and_fe2o3_of_one_analysis_are_refused_unless_named(read, refused):
    assert "Fe2O3_total" in refused(assays("feed,Fe,0.1,%", "feed,Fe2O3,0.2,%")).remedy
    sample = read(assays("feed,FeO,0.1,%", "feed,Fe2O3_total,0.2,%"))
    assert [(d.oxide, d.value) for d in sample.determinations] == [("Fe2O3", 0.2)]
    parts = read(assays("feed,FeO_ferrous,0.1,%", "feed,Fe2O3_ferric,0.2,%"))
    assert parts.assay["Fe2O3"].value == pytest.approx(0.2 + 0.1 * 1.11134, abs=1e-5)


def test_an_ignited_determination_takes_the_loss_of_its_own_bag(read, refused):
    heading = "bag,oxide,value,unit,basis\n"
    rows = ("1M,Fe2O3,10,%,ignited", "1M,LOI,20,%,dried")
    sample = read(assays(*rows, heading=heading))
    assert sample.determinations[0].value == pytest.approx(8.0)
    assert refused(assays(rows[0], heading=heading)).column == "basis"


def test_assays_of_size_classes_go_to_the_sieve_sheet(read):
    files = {
        "sieves.csv": "passing_um,retained_um,mass_g,TiO2\n500,250,60,0.1\n250,0,40,\n",
        "assays.csv": "bag,passing_um,retained_um,oxide,value,unit\n"
        "feed,500,250,Fe2O3,0.1,%\nfeed,250,pan,Fe2O3,<0.2,%\nfeed,250,125,Fe2O3,9,%\n"
        "1M,500,250,Al2O3,9,%\n",
    }
    sample = read(files)
    assert [c.oxides_wt_pct for c in sample.sieves] == [{"TiO2": 0.1, "Fe2O3": 0.1}, {"Fe2O3": 0.2}]
    assert sample.sieves[1].below_detection == ("Fe2O3",)
    assert "class-not-sieved" in [n.code for n in sample.notes]
    assert sample.assay == {}


def test_a_result_to_come_is_left_out_and_told(read):
    table = HEAD + "feed,Fe2O3,,wt_pct\nfeed,TiO2,0.09,wt_pct\n"
    sample = read({"assays.csv": table})
    assert [one.oxide for one in sample.determinations] == ["TiO2"]
    assert "Fe2O3" not in sample.assay
    assert any(note.text == "assays.csv: 1 of 2 results still to come" for note in sample.notes)
