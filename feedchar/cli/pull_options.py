"""Options of the calculator beside the roll, and how their values are read; argparse alone."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from typing import Any

from feedchar.cli.values import chance, positive
from feedchar.field.setting import MACHINES

_SIGNED = re.compile(r"-?[0-9]{1,4}(\.[0-9]{1,6})?", re.ASCII)
_SUSCEPTIBILITY = re.compile(
    r"(-?(?:[0-9]{1,9}(?:\.[0-9]{1,9})?|\.[0-9]{1,9})(?:[eE][-+]?[0-9]{1,2})?)"
    r"\s*(m3/kg|cm3/g)?",
    re.ASCII,
)
FIGURES = (
    ("magnet_mm", "MM", "thickness of one magnet disc"),
    ("steel_mm", "MM", "thickness of one steel disc"),
    ("roll_radius_mm", "MM", "radius of the bare roll"),
    ("bore_radius_mm", "MM", "radius of the shaft (a fifth of the roll's)"),
    ("belt_mm", "MM", "thickness of the belt (0.2)"),
    ("remanence_tesla", "T", "remanence of the magnets at 20 C; new ones have 1.2 to 1.4"),
    ("steel_saturation_tesla", "T", "saturation of the steel (2.1)"),
    ("reading_tesla", "T", "highest gaussmeter reading along the roll, in place of remanence"),
    ("probe_mm", "MM", "diameter of its element; without a reading, one is foretold"),
    ("probe_height_mm", "MM", "from the bare roll to the element"),
)
"""Figures of a roll: key as in a roll's file, metavar, help."""


def add_machine_options(parser: argparse.ArgumentParser) -> argparse._ActionsContainer:
    """The roll, by name, by file or by its figures, or the electromagnet.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Parser of the command. [-]

    Returns
    -------
    argparse container
        The group, for more of the machine. [-]
    """
    group = parser.add_argument_group("the machine (default: the roll fine-100)")
    group.add_argument(
        "--machine", choices=MACHINES, help="permanent-roll (default), or an electromagnet's roll"
    )
    group.add_argument(
        "--roll", metavar="NAME_OR_FILE", help="a generic roll or a file; figures below change it"
    )
    for key, metavar, told in FIGURES:
        option = "--" + key.replace("_", "-").replace("-tesla", "")
        option = "--reading-tesla" if key == "reading_tesla" else option
        group.add_argument(option, dest=key, type=positive, metavar=metavar, help=told)
    group.add_argument(
        "--current", type=positive, metavar="A", help="coil current of the induced roll (4)"
    )
    group.add_argument("--gap-mm", type=positive, metavar="MM", help="gap of the induced roll (4)")
    group.add_argument(
        "--tooth-pitch-mm", type=positive, metavar="MM", help="teeth of the induced roll (6)"
    )
    group.add_argument(
        "--roll-temperature", type=_temperature, default=20.0, metavar="C", help="of magnets (20)"
    )
    group.add_argument(
        "--feed-temperature", type=_temperature, default=20.0, metavar="C", help="of grains (20)"
    )
    group.add_argument(
        "--height-mm",
        type=_Listed("heights"),
        metavar="MM,MM",
        help="where field and force are told",
    )
    return group


def add_grain_options(parser: argparse.ArgumentParser) -> None:
    """Phases, sizes and speeds.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Parser of the command. [-]
    """
    group = parser.add_argument_group(
        "the grains (iron, susceptibility, density and --flake belong to the --mineral before them)"
    )
    group.add_argument(
        "--mineral",
        dest="phases",
        action=_NextPhase,
        metavar="NAME",
        help="a phase; may be repeated",
    )
    group.add_argument(
        "--iron-wt-pct", dest="phases", action=_OfPhase, type=positive, metavar="PCT",
        const="iron_wt_pct", help="Fe of this mineral, as the element",
    )  # fmt: skip
    group.add_argument(
        "--susceptibility", dest="phases", action=_OfPhase, type=_susceptibility, metavar="CHI",
        const="mass_susceptibility_m3_kg",
        help="m3/kg as 5e-7, or with a unit as 40e-6cm3/g; write --susceptibility=-6e-9 below 0; "
        "without a mineral before it, a phase of your own",
    )  # fmt: skip
    group.add_argument(
        "--density", dest="phases", action=_OfPhase, type=positive, metavar="KG_M3",
        const="density_kg_m3", help="density of this phase",
    )  # fmt: skip
    group.add_argument(
        "--flake", dest="phases", action=_OfPhase, nargs=0, const="lies_flat",
        help="it lies flat, a tenth as thick as wide",
    )  # fmt: skip
    group.add_argument(
        "--size-um", type=_Listed("sizes"), metavar="UM,UM", help="sieve sizes (100,300,1000)"
    )
    group.add_argument(
        "--belt-speed", type=_Listed("speeds"), metavar="M_S,M_S", help="metres per second (1.5)"
    )
    group.add_argument(
        "--rpm", type=_Listed("speeds"), metavar="N,N", help="turns a minute in place of belt speed"
    )
    group.add_argument(
        "--side-slope", type=positive, metavar="DEG", help="of an isodynamic separator (15)"
    )
    group.add_argument(
        "--coverage", type=chance, metavar="SHARE", help="share of the belt under grains (0.7)"
    )


class _NextPhase(argparse.Action):
    """Starts a phase."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: str | Sequence[Any] | None,
        option_string: str | None = None,
    ) -> None:
        phases = [*(namespace.phases or []), {"mineral": values}]
        namespace.phases = phases


class _OfPhase(argparse.Action):
    """Says something of the phase before it; before any, of a phase of the person's own."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        namespace: argparse.Namespace,
        values: Any,
        option_string: str | None = None,
    ) -> None:
        phases = list(namespace.phases or [{}])
        key = str(self.const)
        if key in phases[-1]:
            parser.error(f"argument {option_string}: given twice for one phase")
        phases[-1] = phases[-1] | {key: True if self.nargs == 0 else values}
        namespace.phases = phases


class _Listed:
    """Reads plain numbers above 0 with commas between them; a class, for a readable name."""

    def __init__(self, what: str) -> None:
        self.what = what

    def __call__(self, text: str) -> tuple[float, ...]:
        values = tuple(positive(part) for part in text.split(","))
        if len(set(values)) < len(values):
            message = f"the same number twice among the {self.what}: {text!r}"
            raise argparse.ArgumentTypeError(message)
        return values


def _temperature(text: str) -> float:
    if not _SIGNED.fullmatch(text):
        message = f"must be a plain number of degrees Celsius, such as 60 or -5; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    return float(text)


def _susceptibility(text: str) -> float:
    match = _SUSCEPTIBILITY.fullmatch(text)
    if match is None:
        message = (
            f"must be a number in m3/kg such as 5e-7, or with a unit as 40e-6cm3/g; found {text!r}"
        )
        raise argparse.ArgumentTypeError(message)
    value = float(match[1])
    if match[2] == "cm3/g":
        from feedchar.units import M3_KG_PER_CM3_G

        value *= M3_KG_PER_CM3_G
    return value
