"""The command that writes a template sample: new."""

from __future__ import annotations

import argparse

from feedchar.cli.exit_codes import DONE
from feedchar.cli.options import add_debug_option
from feedchar.cli.streams import say


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the commands of this module.

    Parameters
    ----------
    commands : argparse sub-parsers
        Where to add them. [-]
    """
    parser = commands.add_parser(
        "new",
        help="write a filled-in template sample",
        description="A template with invented figures in every table, to be written over.",
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="example:\n  feedchar new my_sand",
    )
    parser.add_argument("folder", metavar="FOLDER", help="folder to make")
    parser.add_argument("--workbook", action="store_true", help="one workbook, no folder of tables")
    parser.add_argument("--force", action="store_true", help="replace files that exist")
    add_debug_option(parser)
    parser.set_defaults(run=run_new)


def run_new(arguments: argparse.Namespace) -> int:
    """Run `new`.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options. [-]

    Returns
    -------
    int
        0. [-]

    Raises
    ------
    OutputError
        When the template cannot be written there.
    """
    from feedchar.report.words import listing, name
    from feedchar.sample.template import write_template

    written = write_template(arguments.folder, workbook=arguments.workbook, force=arguments.force)
    files = listing([path.name for path in written], most=len(written))
    say(f"wrote {files}; the figures are invented: write yours over them")
    target = written[0] if arguments.workbook else written[0].parent
    say(f"then: feedchar assess {name(str(target), 200)}")
    return DONE
