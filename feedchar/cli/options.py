"""Options that several commands share, and how their values are read; argparse alone."""

from __future__ import annotations

import argparse

from feedchar.cli.values import chance, per_pass, percent, size_window, whole
from feedchar.field.setting import MACHINES

MOST_TRIALS = 100_000
"""More need more memory than they tell."""
MOST_PASSES = 9

SAMPLE = "a folder or sample.toml with its tables, a workbook, or a CSV of mineral,mass_pct"
"""What stands for SAMPLE on the command line."""


def add_run_options(parser: argparse.ArgumentParser, trials: int = 2000) -> None:
    """How to compute and where to write.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Parser of a command. [-]
    trials : int
        Trials unless told otherwise. [-]
    """
    group = parser.add_argument_group("computing and writing")
    group.add_argument(
        "--json", metavar="FILE", help="write the document; - is stdout, then no report"
    )
    group.add_argument(
        "--trials",
        type=whole(0, MOST_TRIALS),
        default=trials,
        metavar="N",
        help=f"random trials (default {trials}); 0 computes the typical case only",
    )
    group.add_argument(
        "--seed",
        type=whole(0, 2**32 - 1),
        default=1,
        metavar="N",
        help="seed of the trials (default 1); the same seed gives the same bytes",
    )
    group.add_argument("--force", action="store_true", help="replace files that exist")
    add_debug_option(group)


def add_sending_options(parser: argparse.ArgumentParser) -> None:
    """Where to write what others read.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Parser of a command. [-]
    """
    group = parser.add_argument_group("what is sent on")
    group.add_argument(
        "--html", metavar="FILE", help="a page for a browser, which needs no network"
    )
    group.add_argument("--xlsx", metavar="FILE", help="a workbook to go on working with")
    group.add_argument("--csv", metavar="FOLDER", help="a folder of tables, one idea each")


def add_debug_option(parser: argparse._ActionsContainer) -> None:
    """The option that shows where a fault arose.

    Parameters
    ----------
    parser : argparse container
        Parser or group. [-]
    """
    parser.add_argument("--debug", action="store_true", help="show where an error arose")


def add_calibration_option(group: argparse._ActionsContainer) -> None:
    """What tests taught of the machine.

    Parameters
    ----------
    group : argparse container
        Parser or group. [-]
    """
    group.add_argument(
        "--calibration", metavar="FILE", help="what tests taught of the machine (see calibrate)"
    )


def add_machine_options(parser: argparse.ArgumentParser, title: str) -> None:
    """What the machine is set to.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Parser of a command. [-]
    title : str
        Heading of the group in the help. [-]
    """
    group = parser.add_argument_group(title)
    group.add_argument(
        "--machine", choices=MACHINES, help="permanent-roll (default), or an electromagnet's roll"
    )
    group.add_argument("--roll", metavar="NAME_OR_FILE", help="a generic roll, or a file of one")
    group.add_argument(
        "--drum-first", choices=("weak", "strong"), help="a drum takes the strong minerals first"
    )
    group.add_argument(
        "--belt-speed",
        type=per_pass,
        metavar="M_S",
        help="metres per second; 1.5/1.0 for the first and the second pass",
    )
    group.add_argument(
        "--splitter-mm",
        type=per_pass,
        metavar="MM",
        help="edge of the magnetics, beyond the roll; 10/15 for two passes",
    )
    group.add_argument(
        "--splitter-2-mm", type=per_pass, metavar="MM", help="edge of the middlings, larger"
    )
    group.add_argument(
        "--passes", type=whole(1, MOST_PASSES), metavar="N", help="the roll is passed N times"
    )
    group.add_argument(
        "--retreat",
        choices=("non-magnetics", "middlings"),
        help="what goes on to the next pass; non-magnetics where this is not given",
    )
    group.add_argument(
        "--treat", type=size_window, metavar="UM-UM", help="size window treated, such as 100-500"
    )
    add_calibration_option(group)


def add_separation_options(parser: argparse.ArgumentParser) -> None:
    """What the machine is set to, and what is asked of the product.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Parser of a command. [-]
    """
    add_machine_options(parser, "the machine (default: found by a small search, or stated)")
    group = parser.add_argument_group("what is asked")
    group.add_argument(
        "--limit", metavar="USE_OR_LIST", help="a use, or a list such as Fe2O3=0.05,TiO2=0.03"
    )
    group.add_argument(
        "--require", type=chance, metavar="P", help="exit with 1 when the chance is lower"
    )
    group.add_argument(
        "--at-grade", type=percent, metavar="PCT", help="ask the yield at this product Fe2O3"
    )
    group.add_argument(
        "--at-yield", type=percent, metavar="PCT", help="ask the product Fe2O3 at this yield"
    )
    add_units_option(group)


def add_units_option(parser: argparse._ActionsContainer) -> None:
    """Units of what is shown.

    Parameters
    ----------
    parser : argparse container
        Parser or group. [-]
    """
    parser.add_argument(
        "--units",
        choices=("trade", "si"),
        default="trade",
        help="trade shows kilogauss and cgs beside SI (default)",
    )
