"""What a page costs beyond the computation: the settings round the one assessed, and the writing.

Processor seconds, so that what else runs on the machine counts less.
"""

from __future__ import annotations

import importlib
from pathlib import Path
from time import process_time
from typing import Any

import pytest

from feedchar import read_sample
from feedchar.report.html import to_html

pytestmark = pytest.mark.benchmark
EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.mark.parametrize("example", ["glass_sand", "nepheline_syenite"])
def test_a_page_costs_less_than_three_seconds(
    example: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    recipe = importlib.import_module("feedchar.characterise")
    spent = []

    def timed(*arguments: Any) -> Any:
        start = process_time()
        grid = what_if(*arguments)
        spent.append(process_time() - start)
        return grid

    what_if = recipe.what_if
    monkeypatch.setattr(recipe, "what_if", timed)
    result = recipe.characterise(read_sample(str(EXAMPLES / example)), other_settings=True)
    start = process_time()
    text = to_html(result)
    spent.append(process_time() - start)
    told = f"grid {spent[0]:.2f} s, page {spent[1]:.2f} s, {len(text.encode()) / 1e3:.0f} kB"
    assert sum(spent) < 3.0, told
    assert len(text.encode()) < 1_000_000
