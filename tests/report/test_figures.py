"""Pictures: what they draw is what their tables say, and text from files stays text."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from feedchar.errors import UnknownNameError
from feedchar.report.figures import NAMES, figure, svg
from feedchar.report.picture_readings import carriers, size_irons, stay_lines
from feedchar.report.picture_style import FORM_HATCHES, ROLE_COLOURS
from feedchar.report.pictures import picture
from feedchar.report.product_readings import product_bins
from feedchar.results import Characterisation

HOSTILE = "<script>alert(1)</script> $x^2$ \"id=\" & 'q'"


def with_trials(result: Characterisation) -> Characterisation:
    """The invented result with trials spread log-normally about its likely iron."""
    draws = 0.0405 * np.exp(0.25 * np.random.default_rng(7).standard_normal(2001))
    return replace(result, trial_values={"product_Fe2O3_wt_pct": draws})


def luminance(colour: str) -> float:
    """Relative luminance of sRGB, as WCAG 2.1 defines it (formula from memory)."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_stands_in_a_page_and_is_the_same_each_time(
    invented: Characterisation, name: str
) -> None:
    text = svg(with_trials(invented), name)
    root = ET.fromstring(text)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert len(text) < 100_000
    assert "<metadata" not in text
    assert re.search(r"20\d\d-\d\d", text) is None, "a date"
    foreign = set(re.findall(r"https?://[^\s\"'<]+", text))
    assert foreign <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}
    assert svg(with_trials(invented), name) == text
    ids = re.findall(r' id="([^"]+)"', text)
    assert ids
    assert all(one.startswith(f"{name}-") for one in ids)
    pointed = re.findall(r'(?:url\(#|href="#)([^")]+)', text)
    assert set(pointed) <= set(ids), "every reference is to a part of this picture"


@pytest.mark.parametrize("name", NAMES)
def test_a_thin_result_has_its_pictures_too(invented_thin: Characterisation, name: str) -> None:
    figure(invented_thin, name)
    picture(invented_thin, name)


@pytest.mark.parametrize("name", ["iron", "field", "stays"])
def test_names_from_files_are_text_in_pictures(invented: Characterisation, name: str) -> None:
    hostile = replace(
        invented,
        minerals=tuple(
            replace(phase, mineral=HOSTILE[:31] if phase.mineral == "biotite" else phase.mineral)
            for phase in invented.minerals
        ),
        iron=tuple(
            replace(line, mineral=HOSTILE[:31] if line.mineral == "biotite" else line.mineral)
            for line in invented.iron
        ),
        response=tuple(
            replace(line, mineral=HOSTILE[:31] if line.mineral == "biotite" else line.mineral)
            for line in invented.response
        ),
        iron_that_stays=tuple(
            replace(line, carriers=(HOSTILE[:31],)) for line in invented.iron_that_stays
        ),
    )
    root = ET.fromstring(svg(hostile, name))
    assert not [node for node in root.iter() if node.tag.endswith("script")]
    said = [node.text or "" for node in root.iter() if node.tag.endswith("text")]
    assert any(HOSTILE[:31] in text for text in said)


def test_a_picture_nobody_made_is_refused_with_those_there_are(
    invented: Characterisation,
) -> None:
    with pytest.raises(UnknownNameError, match="curves"):
        figure(invented, "pie")


def test_bars_of_iron_add_up_to_the_iron_of_the_bag(invented: Characterisation) -> None:
    whole = sum(line.share_of_iron_pct for line in invented.iron)
    assert sum(carrier.total for carrier in carriers(invented)) == pytest.approx(whole)
    sizes = size_irons(invented)
    assert sum(row.leaves + row.stays for row in sizes) == pytest.approx(whole)
    axes = figure(invented, "iron").axes[0]
    assert sum(bar.get_width() for bar in axes.patches) == pytest.approx(whole)


def test_bars_of_iron_that_stays_add_up_to_its_lines(invented: Characterisation) -> None:
    axes = figure(invented, "stays").axes[0]
    whole = sum(line.Fe2O3_ppm_of_product for line in invented.iron_that_stays)
    assert sum(bar.get_width() for bar in axes.patches) == pytest.approx(whole)
    assert len(stay_lines(invented)) == len(invented.iron_that_stays)


def test_a_size_that_is_not_treated_keeps_its_iron(invented: Characterisation) -> None:
    cut = replace(invented, setting=replace(invented.setting, treated_retained_um=125.0))
    finest = size_irons(cut)[-1]
    assert finest.treated == 0
    assert finest.leaves == 0
    assert finest.pale_lost_pct is None


def test_bars_left_of_the_limit_are_the_trials_that_meet_it(invented: Characterisation) -> None:
    trials = with_trials(invented).trial_values["product_Fe2O3_wt_pct"][1:]
    edges, parts = product_bins(trials, 0.03)
    assert parts.sum() == pytest.approx(100.0)
    left = parts[edges[1:] <= 0.03 * (1 + 1e-9)].sum()
    assert left == pytest.approx(100.0 * np.mean(trials < 0.03))


def test_roles_differ_in_grey_and_forms_in_hatching() -> None:
    grey = sorted(luminance(colour) for colour in ROLE_COLOURS.values())
    assert min(np.diff(grey)) > 0.04
    assert len(set(FORM_HATCHES.values())) == len(FORM_HATCHES)


def test_the_front_door_of_the_report_gives_a_figure(invented: Characterisation) -> None:
    from matplotlib.figure import Figure

    import feedchar.report

    assert isinstance(feedchar.report.figure(invented, "iron"), Figure)
