"""Nothing public stands in the house for the sake of its own test alone."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import feedchar

PACKAGE = Path(feedchar.__file__).resolve().parent
TESTS = Path(__file__).resolve().parents[1]

FOR_PEOPLE = {
    "classes_frame": "particle classes as a table, in a notebook",
    "examples_folder": "where the examples lie, in a notebook",
    "station_positions": "the script that solves rolls by finite elements",
    "tree_incidence": "the incidence that reconcile_flows asks for, from a tree of bags",
    "mass_for_grains": "grains_in_mass asked the other way round",
    "chain_relative_sd": "stage_masses_g asked the other way round",
    "difference_note": "two figures of one thing, held against each other by hand",
}
"""No command calls these: people and scripts do, as told."""

PUBLISHED = {
    "asperity_adhesion", "breakdown_charge", "check_flows", "check_stated_recoveries",
    "cipw_norm", "composite_density", "diameter_held_by", "drag_coefficient",
    "force_product_to_hold", "grains_in_mass", "image_force_over_weight",
    "ion_mass_susceptibility", "iron_removal", "king_free_share", "left_after_passes",
    "logistic_partition", "logistic_quartile_ratio", "logistic_sharpness_of_spread",
    "mass_susceptibility_si", "nepheline_split", "oxide_factor", "rational_analysis",
    "reconcile_node", "reject_assay", "separation_efficiency", "sphere_saturation_fraction",
    "sphere_volume_susceptibility", "sphere_weight", "stage_masses_g", "throw_off_speed",
    "unweighted_yield", "weibull_partition",
}  # fmt: skip
"""Relations of the trade to calculate with from Python, each with a published check."""


def public_and_used() -> tuple[set[str], set[str]]:
    """Public functions and classes of the package, and every name that it loads or promises."""
    public: set[str] = set()
    used: set[str] = set()
    for path in PACKAGE.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        public |= {
            node.name
            for node in tree.body
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_")
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Name):
                used.add(node.id)
            elif isinstance(node, ast.Attribute):
                used.add(node.attr)
            elif path.name == "__init__.py" and isinstance(node, ast.Constant):
                used.add(str(node.value))  # promised by a front door
    return public, used


def test_every_public_name_is_called_promised_or_told_of_here() -> None:
    public, used = public_and_used()
    assert public - used == PUBLISHED | set(FOR_PEOPLE)


@pytest.mark.parametrize("relation", sorted(PUBLISHED))
def test_a_relation_that_no_command_calls_has_a_published_check(relation: str) -> None:
    files = (TESTS / "published").glob("*.py")
    assert any(f"{relation}(" in path.read_text(encoding="utf-8") for path in files)
