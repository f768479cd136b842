"""The JSON document holds the contract's keys, in its order, and only numbers that exist."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from feedchar.report.document import UndefinedNumberError, plain, to_json
from feedchar.results import Characterisation
from feedchar.uncertainty.summary import Uncertain

U = ("typical", "mean", "sd", "p05", "p50", "p95")
OUTLET = ("yield_pct", "yield_of_roll_feed_pct", "assay_wt_pct", "specks_per_100_g")

# The contract of schema feedchar/1, written out by hand: path to keys in order. `*` stands for
# any oxide or any place in a list. Further keys may follow, never precede.
CONTRACT: dict[str, tuple[str, ...]] = {
    "": (
        "schema", "feedchar_version", "command", "seed", "trials", "input", "basis", "assay",
        "unseen_iron", "minerals", "iron", "response", "setting", "product", "best_possible",
        "iron_that_stays", "answer", "measure_next", "notes",
    ),
    "input": ("name", "files"),
    "input.files.*": ("name", "sha256"),
    "basis": ("feed", "separation", "assumptions_that_decide"),
    "assay": ("predicted_wt_pct", "measured_wt_pct", "reconciled_wt_pct", "agreement"),
    "assay.predicted_wt_pct.*": U,
    "assay.measured_wt_pct.*": ("value", "sd", "below_detection"),
    "assay.reconciled_wt_pct.*": U,
    "assay.agreement": ("chi_square", "predictive_probability", "worst"),
    "assay.agreement.worst.*": ("oxide", "residual_sd"),
    "unseen_iron": ("Fe2O3_wt_pct", "share_of_iron_pct"),
    "unseen_iron.*": U,
    "minerals.*": (
        "mineral", "mass_pct", "density_kg_m3", "Fe2O3_wt_pct", "mass_susceptibility_m3_kg",
        "share_of_iron_pct", "status", "source",
    ),
    "minerals.*.mass_pct": U,
    "minerals.*.Fe2O3_wt_pct": U,
    "minerals.*.mass_susceptibility_m3_kg": U,
    "minerals.*.share_of_iron_pct": U,
    "iron.*": (
        "mineral", "form", "passing_um", "retained_um", "Fe2O3_wt_pct_of_feed",
        "share_of_iron_pct",
    ),
    "response.*": (
        "mineral", "form", "passing_um", "retained_um", "reports_to",
        "force_product_needed_tesla2_m", "flux_density_needed_tesla", "belt_speed_max_m_s",
        "share_to_magnetics",
    ),
    "setting": (
        "roll", "roll_radius_m", "pitch_m", "belt_thickness_m", "belt_speed_m_s", "splitter_m",
        "passes", "treated_passing_um", "treated_retained_um", "surface_flux_density_tesla",
        "force_product_at_belt_tesla2_m",
    ),
    "product": ("non_magnetics", "middlings", "magnetics", "untreated", "iron_removal_pct"),
    "product.non_magnetics": OUTLET,
    "product.middlings": OUTLET,
    "product.magnetics": OUTLET,
    "product.untreated": OUTLET,
    "product.non_magnetics.yield_pct": U,
    "product.non_magnetics.yield_of_roll_feed_pct": U,
    "product.non_magnetics.assay_wt_pct.*": U,
    "product.non_magnetics.specks_per_100_g": U,
    "product.iron_removal_pct": U,
    "best_possible": ("every_grain_sorted", "ideal_magnet", "this_roll", "best_meeting_limit"),
    "best_possible.every_grain_sorted.*": ("yield_pct", "Fe2O3_wt_pct"),
    "best_possible.ideal_magnet.*": ("yield_pct", "Fe2O3_wt_pct"),
    "best_possible.this_roll.*": ("yield_pct", "Fe2O3_wt_pct"),
    "iron_that_stays.*": ("reason", "Fe2O3_ppm_of_product", "share_pct", "carriers", "remedy"),
    "answer": ("limit", "status", "chance_of_meeting_limit", "sentence"),
    "measure_next.*": ("measurement", "unit", "assumed_sd", "variance_removed_share"),
    "notes.*": ("code", "text", "severity"),
}  # fmt: skip


def places(tree: Any, path: str) -> list[Any]:
    """All nodes of a document at a path."""
    nodes = [tree]
    for key in filter(None, path.split(".")):
        if key == "*":
            nodes = [
                child
                for node in nodes
                for child in (node.values() if isinstance(node, dict) else node)
            ]
        else:
            nodes = [node[key] for node in nodes]
    return nodes


@pytest.mark.parametrize("path", CONTRACT)
def test_every_key_of_the_contract_stands_in_its_place(
    path: str, invented: Characterisation
) -> None:
    nodes = places(json.loads(to_json(invented)), path)
    assert nodes
    for node in nodes:
        assert tuple(node)[: len(CONTRACT[path])] == CONTRACT[path]


def test_schema_and_version_open_the_document(invented: Characterisation) -> None:
    tree = json.loads(to_json(invented))
    assert tree["schema"] == "feedchar/1"
    assert tree["feedchar_version"][0].isdigit()


def test_without_trials_all_but_the_typical_case_is_null(invented_thin: Characterisation) -> None:
    tree = json.loads(to_json(invented_thin))
    number = tree["product"]["non_magnetics"]["yield_pct"]
    assert number == dict.fromkeys(U) | {"typical": 92.9}
    assert tree["answer"]["chance_of_meeting_limit"] is None
    assert tree["best_possible"]["best_meeting_limit"] is None


def test_floats_have_six_significant_digits(invented: Characterisation) -> None:
    odd = replace(invented, received_kg=2.0 / 3.0 * 1e-7)
    assert '"received_kg": 6.66667e-08' in to_json(odd)
    assert plain(-0.0) == 0.0
    assert str(plain(-0.0)) == "0.0"
    assert plain(np.float64(1 / 3)) == 0.333333


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_an_undefined_number_is_our_fault_and_named(
    value: float, invented: Characterisation
) -> None:
    wrong = replace(
        invented,
        unseen_iron=replace(
            invented.unseen_iron, Fe2O3_wt_pct=Uncertain(value, None, None, None, None, None)
        ),
    )
    with pytest.raises(UndefinedNumberError, match=r"unseen_iron\.Fe2O3_wt_pct\.typical"):
        to_json(wrong)


def test_a_value_without_a_place_is_refused() -> None:
    with pytest.raises(TypeError, match="ndarray"):
        plain({"a": np.zeros(2)}, "x")


def test_trial_arrays_stay_out(invented: Characterisation) -> None:
    full = replace(invented, trial_values={"product_Fe2O3": np.zeros(3)})
    assert to_json(full) == to_json(invented)
    assert "trial_values" not in json.loads(to_json(full))


def test_the_same_result_gives_the_same_bytes_and_they_are_ascii(
    invented: Characterisation,
) -> None:
    named = replace(invented, input=replace(invented.input, name="\x1b[2J\u202e\u00e9"))
    text = to_json(named)
    assert text == to_json(named)
    assert text.isascii()
    assert "\x1b" not in text
    assert json.loads(text)["input"]["name"] == "\x1b[2J\u202e\u00e9"


def keys_of(tree: Any) -> set[str]:
    """Every key of a document; what stands below oxides and curves by name is data."""
    data = {
        "predicted_wt_pct", "measured_wt_pct", "reconciled_wt_pct", "assay_wt_pct", "limit",
        "at_product_yield", "doubt",
    }  # fmt: skip
    found: set[str] = set()
    if isinstance(tree, dict):
        for key, value in tree.items():
            found.add(key)
            below = list(value.values()) if key in data else [value]
            for item in below:
                found |= keys_of(item)
    elif isinstance(tree, list):
        for item in tree:
            found |= keys_of(item)
    return found


def test_every_key_is_described_for_developers_and_none_else(invented: Characterisation) -> None:
    page = Path(__file__).parents[2] / "DEVELOPERS.md"
    text = page.read_text(encoding="utf-8").split("<!-- document feedchar/1 -->")[1]
    described = set(re.findall(r'"(\w+)"', text.split("```")[1]))
    assert keys_of(json.loads(to_json(invented))) == described
