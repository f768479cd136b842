"""Lazy front doors: a name is imported from its module when it is first asked for (PEP 562).

So `feedchar --help` loads argparse alone, while `from feedchar.field import roll_harmonics` works.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from importlib import import_module
from types import ModuleType
from typing import Any


class _Room(ModuleType):
    """A package whose promised names win over modules of the same name.

    Importing `feedchar.characterise` would otherwise bind the module over the function.
    """

    def __setattr__(self, name: str, value: Any) -> None:
        homes = self.__dict__.get("_homes", {})
        if isinstance(value, ModuleType) and homes.get(name) == value.__name__:
            value = getattr(value, name)
        super().__setattr__(name, value)


def front_door(package: str, homes: Mapping[str, str]) -> Callable[[str], Any]:
    """The `__getattr__` of a package that only lists names.

    Parameters
    ----------
    package : str
        Name of the package. [-]
    homes : mapping of str to str
        Public name to the module that defines it. [-]

    Returns
    -------
    callable
        Function of a name that imports, remembers and returns the object. [-]

    References
    ----------
    PEP 562, module `__getattr__`.
    """
    room = sys.modules[package]
    room.__dict__["_homes"] = homes
    room.__class__ = _Room

    def __getattr__(name: str) -> Any:
        if name not in homes:
            message = f"module {package!r} has no attribute {name!r}"
            raise AttributeError(message)
        value = getattr(import_module(homes[name]), name)
        setattr(room, name, value)
        return value

    return __getattr__
