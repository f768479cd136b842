"""The command `scale-up`: circuits at full size."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from feedchar.cli.exit_codes import DONE, NOT_REACHED
from feedchar.cli.machine import calibration_of, machine_files, setting_of
from feedchar.cli.options import (
    SAMPLE,
    add_run_options,
    add_sending_options,
    add_separation_options,
)
from feedchar.cli.progress import waiting
from feedchar.cli.sending import check_places, send_on
from feedchar.cli.streams import say, send
from feedchar.cli.values import positive
from feedchar.errors import OutputError, SettingError, UnknownNameError

if TYPE_CHECKING:
    from feedchar.report.report import Report

PLANT_TRIALS = 400
"""A chance is then known to 0.025; more trials take longer. [-]"""


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    commands : argparse sub-parsers
        Where to add them. [-]
    """
    parser = commands.add_parser(
        "scale-up",
        help="circuits at full size: belts, tonnages, losses, chances",
        description="What the result implies for a plant: circuits sized and compared. A bench "
        "result is not a plant.",
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="example:\n  feedchar scale-up examples/glass_sand --feed-t-h 7",
    )
    parser.add_argument("sample", metavar="SAMPLE", help=SAMPLE)
    group = parser.add_argument_group("the plant")
    group.add_argument(
        "--feed-t-h", type=positive, metavar="T_H", help="dry feed; default that of the sample"
    )
    group.add_argument(
        "--circuit",
        action="append",
        default=[],
        metavar="NAME_OR_FILE",
        help="a standard circuit by name, or a TOML file; may be repeated (default: all standard)",
    )
    group.add_argument(
        "--belt-price", type=positive, metavar="MONEY", help="of a metre of belt, for each hour"
    )
    group.add_argument(
        "--product-price", type=positive, metavar="MONEY", help="of a tonne of product"
    )
    add_separation_options(parser)
    add_run_options(parser, PLANT_TRIALS)
    add_sending_options(parser)
    parser.set_defaults(run=run_scale_up)


def run_scale_up(arguments: argparse.Namespace) -> int:
    """Run `scale-up`.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options. [-]

    Returns
    -------
    int
        0, or 1 when the chance asked for is not reached by the chosen circuit. [-]

    Raises
    ------
    SettingError
        When options do not go together.
    OutputError
        When there is nowhere to put the answer.
    FeedcharError
        When input, setting or output cannot be used.
    """
    from feedchar.assembly.plant_runs import Prices
    from feedchar.assembly.scale_up import scale_up
    from feedchar.plant.circuit_file import read_circuit
    from feedchar.plant.standard import STANDARD
    from feedchar.report.plant_blocks import scale_up_findings
    from feedchar.report.plant_document import scale_up_json
    from feedchar.sample.read import parse_limit, read_sample

    if sys.stdout is None and arguments.json in (None, "-"):
        message = "standard output is closed: there is nowhere to put the answer"
        raise OutputError(message)
    if (arguments.belt_price is None) != (arguments.product_price is None):
        message = "give --belt-price and --product-price together, or neither"
        raise SettingError(message)
    for option in ("passes", "splitter_2_mm", "drum_first"):
        if getattr(arguments, option) is not None:
            word = option.replace("_", "-")
            message = f"--{word} belongs to one machine; a circuit says it itself: see --circuit"
            raise SettingError(message)
    if arguments.require is not None and arguments.trials == 0:
        message = "--require needs trials: --trials 0 gives no chance"
        raise SettingError(message)
    sample = read_sample(arguments.sample)
    files = [one for one in arguments.circuit if one not in STANDARD]
    for one in files:
        if not one.endswith(".toml") and not Path(one).exists():
            message = f'--circuit: "{one}" is no standard circuit and no file; choose from: '
            raise UnknownNameError(message + "; ".join(STANDARD))
    files += machine_files(arguments)
    arguments.read_paths = (*sample.read_paths, *files)
    check_places(arguments)
    prices = None
    if arguments.belt_price is not None:
        prices = Prices(arguments.belt_price, arguments.product_price)
    setting = setting_of(arguments, sample)
    calibration = calibration_of(arguments)
    limit = None if arguments.limit is None else parse_limit(arguments.limit)
    circuits = tuple(one if one in STANDARD else read_circuit(one) for one in arguments.circuit)
    with waiting("computing"):
        result = scale_up(
            sample,
            arguments.feed_t_h,
            setting,
            limit,
            calibration,
            trials=arguments.trials,
            seed=arguments.seed,
            circuits=circuits,
            at_grade=arguments.at_grade,
            at_yield=arguments.at_yield,
            prices=prices,
        )

    def document() -> str:
        return scale_up_json(result)

    def report() -> Report:
        from feedchar.report.plant_report import scale_up_report

        return scale_up_report(result)

    written = send_on(arguments, document, report)
    if arguments.json == "-":
        send(document())
    elif sys.stdout is not None:
        from feedchar.report.terminal import render, screen_of

        send(render(scale_up_findings(result), screen_of(sys.stdout)))
    for place in written:
        say(f"wrote {place}")
    if arguments.require is None:
        return DONE
    chosen = next(one for one in result.circuits if one.chosen)
    chance = chosen.chance_of_meeting_limit
    if chance is None or chance < arguments.require:
        told = "not known" if chance is None else f"{chance:.3f}"
        say(f"the chance is {told}, below the {arguments.require:g} required")
        return NOT_REACHED
    return DONE
