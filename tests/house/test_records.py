"""What one step hands to the next can be read there, and not changed."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import pkgutil
from types import ModuleType

import pytest

import feedchar

COLLECTORS = {
    "feedchar.particles.columns.Columns": "classes, block by block, before they are stacked",
    "feedchar.sample.gathered.Gathered": "entries, while the files of a sample are opened",
    "feedchar.sample.settings.Settings": "keys, while they are read",
}
"""Records that are filled within one step, and why."""

MODULES = [
    module.name
    for module in pkgutil.walk_packages(feedchar.__path__, "feedchar.")
    if not module.name.endswith("__main__")
]


def records_of(module: ModuleType) -> list[type]:
    """Dataclasses written in a module, private ones too."""
    return [
        one
        for _, one in inspect.getmembers(module, inspect.isclass)
        if one.__module__ == module.__name__ and dataclasses.is_dataclass(one)
    ]


@pytest.mark.parametrize("name", MODULES)
def test_a_record_is_not_changed_after_it_is_made(name):
    for record in records_of(importlib.import_module(name)):
        frozen = record.__dataclass_params__.frozen
        assert frozen != (f"{name}.{record.__qualname__}" in COLLECTORS), record


def test_the_collectors_are_still_there():
    for name in COLLECTORS:
        module, record = name.rsplit(".", 1)
        assert getattr(importlib.import_module(module), record) in records_of(
            importlib.import_module(module)
        )
