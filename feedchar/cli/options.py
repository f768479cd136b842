"""Options that several commands share, and how their values are read; argparse alone."""

from __future__ import annotations

import argparse
import re

_NUMBER = re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?|\.[0-9]{1,9}", re.ASCII)
_WINDOW = re.compile(r"([0-9]{1,6}(?:\.[0-9]{1,6})?)-([0-9]{1,6}(?:\.[0-9]{1,6})?)", re.ASCII)

MOST_TRIALS = 100_000
"""More need more memory than they tell."""
MOST_PASSES = 9
MACHINES = ("permanent-roll", "induced-roll")

EXIT_CODES = """\
exit codes:
  0    done
  1    the chance asked for with --require is not reached
  2    wrong command line, or input that cannot be used
  70   a fault of feedchar
  130  interrupted"""


def number(text: str) -> float:
    """A plain number, 0 or more.

    Parameters
    ----------
    text : str
        As typed: digits, at most one point. [-]

    Returns
    -------
    float
        Its value. [any]

    Raises
    ------
    argparse.ArgumentTypeError
        For a decimal comma, a sign, an exponent, or anything else.
    """
    if _NUMBER.fullmatch(text):
        return float(text)
    hint = (
        f", such as {text.replace(',', '.')}" if _NUMBER.fullmatch(text.replace(",", ".")) else ""
    )
    message = f"must be a plain number with a decimal point{hint}; found {text!r}"
    raise argparse.ArgumentTypeError(message)


def positive(text: str) -> float:
    """A plain number above 0.

    Parameters
    ----------
    text : str
        As typed. [-]

    Returns
    -------
    float
        Its value. [any]

    Raises
    ------
    argparse.ArgumentTypeError
        When it is no number, or 0.
    """
    value = number(text)
    if value <= 0:
        message = f"must be above 0; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    return value


def chance(text: str) -> float:
    """A chance from 0 to 1.

    Parameters
    ----------
    text : str
        As typed. [-]

    Returns
    -------
    float
        The chance. [-]

    Raises
    ------
    argparse.ArgumentTypeError
        When it is no number from 0 to 1.
    """
    value = number(text)
    if value > 1:
        message = f"must be a chance from 0 to 1, such as 0.9; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    return value


def percent(text: str) -> float:
    """A percentage above 0, up to 100.

    Parameters
    ----------
    text : str
        As typed. [-]

    Returns
    -------
    float
        The percentage. [%]

    Raises
    ------
    argparse.ArgumentTypeError
        When it is no number above 0, or above 100.
    """
    value = positive(text)
    if value > 100:
        message = f"must be at most 100 %; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    return value


def whole(least: int, most: int) -> _Whole:
    """Reader of whole numbers between two ends.

    Parameters
    ----------
    least, most : int
        Ends, both allowed. [-]

    Returns
    -------
    callable
        Text to int. [-]
    """
    return _Whole(least, most)


class _Whole:
    """Reads a whole number; a class, so that argparse shows a readable name."""

    def __init__(self, least: int, most: int) -> None:
        self.least, self.most = least, most

    def __call__(self, text: str) -> int:
        if re.fullmatch(r"[0-9]{1,18}", text, re.ASCII) and self.least <= int(text) <= self.most:
            return int(text)
        message = f"must be a whole number from {self.least} to {self.most}; found {text!r}"
        raise argparse.ArgumentTypeError(message)


def size_window(text: str) -> tuple[float, float]:
    """A size window such as 100-500.

    Parameters
    ----------
    text : str
        Two sizes with a hyphen between them, in either order. [µm]

    Returns
    -------
    tuple of float
        Retained on, passing. [µm]

    Raises
    ------
    argparse.ArgumentTypeError
        When it is no window, or an empty one.
    """
    match = _WINDOW.fullmatch(text)
    if match is None:
        message = f"must be two sizes in micrometres, such as 100-500; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    low, high = sorted((float(match[1]), float(match[2])))
    if low == high:
        message = f"must be two different sizes; found {text!r}"
        raise argparse.ArgumentTypeError(message)
    return low, high


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
        "--html", metavar="FILE", help="a page: one side for the customer, then everything"
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
    group.add_argument("--belt-speed", type=positive, metavar="M_S", help="metres per second")
    group.add_argument(
        "--splitter-mm", type=positive, metavar="MM", help="edge of the magnetics, beyond the roll"
    )
    group.add_argument(
        "--splitter-2-mm", type=positive, metavar="MM", help="edge of the middlings, larger"
    )
    group.add_argument(
        "--passes", type=whole(1, MOST_PASSES), metavar="N", help="non-magnetics passed N times"
    )
    group.add_argument(
        "--treat", type=size_window, metavar="UM-UM", help="size window treated, such as 100-500"
    )


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
