"""What a plan says on paper: labels, numbers in words and tables alike, names made harmless."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from feedchar.assembly.plan import plan
from feedchar.report.html import page
from feedchar.report.plan_bag_blocks import grams, label_cards, machine_words
from feedchar.report.plan_blocks import plan_findings
from feedchar.report.plan_report import plan_report, rows_of_assays, rows_of_tests
from feedchar.report.plan_work_blocks import percent
from feedchar.report.tables import csv_files
from feedchar.report.terminal import Screen, render
from feedchar.sample.assays import SPEC as ASSAYS
from feedchar.sample.read import read_sample
from feedchar.sample.testbags import SPEC as TESTS
from feedchar.tables.locate import examples_folder

EVIL = "<b>=cmd|'/c calc'!A1</b>\x1b[31m"


@pytest.fixture(scope="module")
def sand():
    return read_sample(examples_folder() / "glass_sand")


@pytest.fixture(scope="module")
def made(sand):
    return plan(sand, trials=60)


@pytest.mark.parametrize("width", [80, 120])
def test_no_line_is_wider_than_the_screen(made, width):
    text = render(plan_findings(made), Screen(width=width))
    assert max(len(line) for line in text.splitlines()) <= width
    assert "\x1b" not in text


def test_plain_ascii_can_say_it_all(made):
    assert render(plan_findings(made), Screen(unicode=False)).isascii()


def test_every_bag_has_a_label_with_lines_to_write_on(made):
    cards = label_cards(made)
    titles = [card.title for card in cards]
    assert len(set(titles)) == len(titles)
    for bag in made.bags:
        card = next(card for card in cards if card.title == bag.bag)
        told = " ".join(card.lines)
        assert bag.product in told
        assert f"from {bag.from_bag}" in told
        assert "net ____" in told
    ordered = [line.bag for line in made.order if line.kind in ("first", "new split", "blank")]
    assert {f"{name} / lab" for name in ordered} <= set(titles)


def test_every_number_of_the_bags_is_that_of_the_tables(made):
    table = csv_files(plan_report(made).tables)["bags.csv"]
    rows = {row["bag"]: row for row in csv.DictReader(io.StringIO(table))}
    text = render(plan_findings(made), Screen(width=120))
    for bag in made.bags:
        if bag.expected_g is not None:
            assert float(rows[bag.bag]["expected_g"]) == pytest.approx(bag.expected_g, rel=1e-5)
            line = next(line for line in text.splitlines() if line.startswith(f"  {bag.bag} "))
            assert f" {grams(bag.expected_g)}" in line


def test_the_rows_to_fill_in_use_columns_that_are_read(made):
    assert {key for row in rows_of_tests(made) for key in row} <= {c.name for c in TESTS.columns}
    assert {key for row in rows_of_assays(made) for key in row} <= {c.name for c in ASSAYS.columns}
    assert all("mass_g" not in row for row in rows_of_tests(made))
    assert all("value" not in row for row in rows_of_assays(made))


def test_blanks_and_references_are_no_assays_of_this_sample(made):
    told = {row["bag"] for row in rows_of_assays(made)}
    assert not any(name.startswith(("blank", "control")) for name in told)


def test_a_name_from_a_file_can_do_no_harm(made):
    evil = replace(made, input=replace(made.input, name=EVIL), sample_note=EVIL)
    report = plan_report(evil)
    html = page(report)
    assert "<b>=cmd" not in html
    assert "&lt;b&gt;" in html
    text = render(plan_findings(evil), Screen())
    assert "\x1b" not in text
    assert all("\x1b" not in line for card in report.labels for line in card.lines)


def test_the_page_fetches_nothing_and_prints_its_order_and_labels_apart(made):
    html = page(plan_report(made))
    assert "<script src" not in html
    assert "@page { size: A4" in html
    assert html.count('class="own-side"') >= 2


def test_words_of_a_machine_name_its_setting(made):
    main = next(bag for bag in made.bags if bag.belt_speed_m_s)
    assert machine_words(main).startswith(f"roll {main.belt_speed_m_s:g} m/s, edge ")
    assert machine_words(made.bags[0]).startswith("charge: ")


def test_small_shares_and_masses_are_never_zero():
    assert (percent(0.004), percent(0.0), percent(0.124)) == ("<1", "0", "12")
    assert (grams(0.0123), grams(12.34), grams(1234.0)) == ("0.012", "12", "1234")
