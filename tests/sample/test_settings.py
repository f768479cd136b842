"""sample.toml: keys, units of a susceptibility, what is asked of the product."""

from __future__ import annotations

import math

import pytest

from feedchar.errors import InputError
from feedchar.sample.limit import parse_limit
from feedchar.sample.susceptibility import unit_factor


def toml(text: str) -> dict[str, str]:
    return {"sample.toml": text}


def test_keys_of_the_bag_are_read(read):
    sample = read(
        toml(
            'name = "NF"\nnote = "n"\norigin = "As dug"\nrock = "schist"\nreceived_kg = 24\n'
            "moisture_pct = 3.1\nroll_temperature_c = 60\n[feed]\nt_h = 7\n"
        )
    )
    assert (sample.name, sample.note, sample.origin) == ("NF", "n", "as dug")
    assert (sample.rock, sample.received_kg, sample.moisture_pct) == ("gneiss or schist", 24, 3.1)
    assert (sample.feed_temperature_c, sample.roll_temperature_c, sample.feed_t_h) == (20, 60, 7)


@pytest.mark.parametrize(
    ("text", "row", "says"),
    [
        ('nam = "x"', 1, "not known"),
        ("[asay]\nSiO2 = 1", 2, "section"),
        ('\n\norigin = "moon"', 3, "not one of the words"),
        ("received_kg = 0", 1, "above 0"),
        ("moisture_pct = 95", 1, "0 to 90"),
        ("moisture_pct = -1", 1, "0 to 90"),
        ('moisture_pct = "3%%"', 1, "more than a number"),
        ("t_h = 5", 1, "not known"),
        ("[feed]\nt_h = -5", 2, "above 0"),
        ("[limit]\nFe203_max_pct = 0.03", 2, "not known"),
        ("[feed.more]\nt_h = 5", None, "section inside a section"),
        ("name = 2024-01-01", 1, "date"),
        ("name = ", 1, "not TOML"),
        ("x = 0,05", 1, "not TOML"),
        ("a = " + "[" * 200 + "]" * 200, None, "nested"),
        ("received_kg = " + "9" * 5000, None, "not TOML"),
        ("name = 'a'\nname = 'b'", 2, "not TOML"),
        ("received_kg = 1e400", 1, "finite"),
        (f'name = "{"x" * 300}"', 1, "more than 200"),
    ],
)
def test_a_key_or_value_that_cannot_be_used_is_refused_with_its_line(refused, text, row, says):
    error = refused(toml(text))
    assert says in error.problem
    assert error.row == row


def test_the_remedy_names_the_nearest_key_or_its_section(refused):
    assert '"moisture_pct"' in refused(toml("moistur_pct = 3")).remedy
    assert "[feed]" in refused(toml("t_h = 5")).remedy
    assert "decimal comma" in refused(toml("moisture_pct = 3,1")).remedy
    assert '"<0.01"' in refused(toml("[assay]\nTiO2 = <0.01")).remedy


@pytest.mark.parametrize(
    ("unit", "factor", "by_volume"),
    [
        ("m3/kg", 1.0, False),
        ("1e-8 m3/kg", 1e-8, False),
        ("10^-8 m3/kg", 1e-8, False),
        ("x10-8 m³/kg", 1e-8, False),
        ("10⁻⁶ m³ kg⁻¹", 1e-6, False),
        ("1e-9 m^3/kg", 1e-9, False),
        ("cm3/g", 4e-3 * math.pi, False),
        ("1e-6 cm3/g", 4e-9 * math.pi, False),
        ("emu/g/Oe", 4e-3 * math.pi, False),
        ("emu/(g Oe)", 4e-3 * math.pi, False),
        ("1e-6 emu/g Oe", 4e-9 * math.pi, False),
        ("SI", 1.0, True),
        ("1e-5 SI", 1e-5, True),
        ("10⁻⁵ SI", 1e-5, True),
        ("cgs", 4 * math.pi, True),
        ("1e-6 emu/cm3", 4e-6 * math.pi, True),
    ],
)
def test_a_susceptibility_is_understood_in_any_usual_unit(unit, factor, by_volume):
    found = unit_factor(unit)
    assert found is not None
    assert found[0] == pytest.approx(factor, rel=1e-12)
    assert found[1] is by_volume


@pytest.mark.parametrize("unit", ["", "kg", "tesla", "1e-8", "m3", "SI/kg", "x" * 500])
def test_an_unknown_unit_is_none(unit):
    assert unit_factor(unit) is None


def section(*lines: str) -> dict[str, str]:
    return toml("[susceptibility]\n" + "\n".join(lines) + "\n")


def test_a_volume_susceptibility_is_divided_by_its_density(read):
    lines = ("value = 15", "sd = 2", 'unit = "1e-5 SI"', "density_kg_m3 = 1500")
    bulk = read(section(*lines)).susceptibility
    assert bulk.mass_susceptibility_m3_kg == pytest.approx(1e-7)
    assert bulk.sd_m3_kg == pytest.approx(2e-5 / 1500)


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (("value = 1",), "unit"),
        (('unit = "SI"',), "value"),
        (("value = 1", 'unit = "SI"'), "density"),
        (("value = 1", 'unit = "m3/kg"'), "outside what a sand"),
        (("value = 1", 'unit = "furlong"'), "not a unit"),
        (("value = -1", 'unit = "1e-6 m3/kg"'), "outside what a sand"),
    ],
)
def test_a_susceptibility_without_its_unit_or_sense_is_refused(refused, lines, says):
    assert says in refused(section(*lines)).problem


def test_an_sd_of_zero_of_the_susceptibility_is_floored(read):
    sample = read(section("value = 10", "sd = 0", 'unit = "1e-8 m3/kg"'))
    assert sample.susceptibility.sd_m3_kg > 0
    assert [n.code for n in sample.notes] == ["sd-floor"]


def test_a_limit_takes_a_key_and_figures_go_before_it(read):
    text = '[limit]\nuse = "Colourless Container"\nFe2O3_max_pct = 0.04\nyield_min_pct = 90\n'
    limit = read(toml(text)).limit
    assert limit.use == "colourless container"
    assert limit.max_wt_pct == {"Fe2O3": 0.04, "Cr2O3": 0.0005}
    assert limit.min_wt_pct == {"SiO2": 98.8}
    assert limit.yield_min_pct == 90


def test_no_limit_is_none(read):
    assert read(toml("[limit]\n")).limit is None


def test_a_limit_on_iron_in_another_form_is_turned_into_fe2o3(read):
    limit = read(toml("[limit]\nFe_max_pct = 0.05\nCr_max_ppm = 2\n")).limit
    assert limit.max_wt_pct["Fe2O3"] == pytest.approx(0.0714867, abs=1e-6)
    assert limit.max_wt_pct["Cr2O3"] == pytest.approx(2.9231e-4, abs=1e-8)


@pytest.mark.parametrize(
    "line",
    [
        'use = "moon glass"',
        'use = "ordinary glass (in the glass)"',
        "Fe2O3_max_pct = 0",
        "Fe2O3_max_pct = 300",
        "Fe2O3_max_pct = 0.1\nFe_max_pct = 0.05",
        "SiO2_max_pct = 90\nSiO2_min_pct = 95",
        "yield_min_pct = 101",
        "passing_um = 100\nretained_um = 500",
        "colour = 3",
        'Fe2O3_max_pct = "<0.05"',
    ],
)
def test_a_limit_that_cannot_be_asked_is_refused(refused, line):
    assert refused(toml(f"[limit]\n{line}\n")).row is not None


@pytest.mark.parametrize(
    ("text", "most", "least"),
    [
        ("Fe2O3=0.05,TiO2=0.03", {"Fe2O3": 0.05, "TiO2": 0.03}, {}),
        ("Fe2O3<=0.05, SiO2>=98.8", {"Fe2O3": 0.05}, {"SiO2": 98.8}),
        ("Fe2O3_max_pct=0.05,SiO2_min_pct=99", {"Fe2O3": 0.05}, {"SiO2": 99.0}),
        ("Cr2O3_ppm=5", {"Cr2O3": 0.0005}, {}),
        ("optical glass", {"Fe2O3": 0.013, "Al2O3": 0.2, "Cr2O3": 0.00015}, {"SiO2": 99.7}),
        ("use=insulating fibre,Fe2O3=0.2", {"Fe2O3": 0.2, "Al2O3": 3.0}, {"SiO2": 94.5}),
    ],
)
def test_a_limit_on_the_command_line_is_read(text, most, least):
    limit = parse_limit(text)
    assert limit.max_wt_pct == most
    assert limit.min_wt_pct == least


def test_yield_and_specks_may_be_asked_on_the_command_line():
    limit = parse_limit("Fe2O3=0.05,yield=90,specks=200,passing_um=600,retained_um=No. 200")
    assert (limit.yield_min_pct, limit.specks_per_100_g_max) == (90, 200)
    assert (limit.passing_um, limit.retained_um) == (600, 75)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("Fe2O3=0,05", "decimal comma"),
        ("Fe203=0.05", "not known"),
        ("SiO2=98", "minimum or a maximum"),
        ("yield<=90", "asked with"),
        ("Fe2O3=abc", "not a number"),
        ("Fe2O3=", "not a number"),
        ("Fe2O3=0.05,Fe2O3=0.06", "two limits"),
        ("nothing known", "no known use"),
        ("=0.05", "not known"),
        ("Fe2O3==0.05", "no known use"),
        ("Fe2O3=500ppm", 'Write "Fe2O3_ppm=500"'),
        ("Fe2O3 0.05", "such as Fe2O3=0.05"),
        ("yield=0.9", "Per cent, not a fraction: 90"),
    ],
)
def test_a_limit_on_the_command_line_that_is_none_is_refused(text, says):
    with pytest.raises(InputError) as caught:
        parse_limit(text)
    assert says in str(caught.value)
