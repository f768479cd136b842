"""The command `batch`: a table of many samples in, the same rows with their answers out."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from feedchar.cli.exit_codes import DONE
from feedchar.cli.machine import calibration_of, machine_files, setting_of
from feedchar.cli.options import (
    MOST_TRIALS,
    add_debug_option,
    add_machine_options,
)
from feedchar.cli.progress import PATIENCE_S
from feedchar.cli.streams import say
from feedchar.cli.values import whole
from feedchar.errors import OutputError

MOST_WORKERS = 256
MOST_CHOSEN = 50
LEAST_SECONDS_BETWEEN = 0.5
"""Between two lines of progress. [s]"""

_TABLE = """\
a CSV or Parquet table, a row a sample, with columns
  sample, origin         name; as dug, washed, crushed rock or plant product
  quartz_mass_pct, ...   amount of any mineral by any name, or _volume_pct
  Fe2O3_wt_pct, ...      measured oxides; <0.01 is an upper end
  d50_um, d90_um         sizes that half and nine tenths of the mass pass
  any others             carried over"""


def add_commands(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command of this module.

    Parameters
    ----------
    commands : argparse sub-parsers
        Where to add it. [-]
    """
    parser = commands.add_parser(
        "batch",
        help="many samples at once, on one machine or on a cluster",
        description="Each row of a table as a sample: predicted oxides, unseen iron, product,\n"
        "chance of the limit.\nA row that cannot be used gets its note, and the run goes on.\n"
        "All rows meet one setting: the default, or what is given here; none is searched."
        "\n\n"
        f"TABLE is {_TABLE}",
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog="A run that broke off goes on where it stopped when it is started again.\n\n"
        "example:\n  feedchar batch examples/boreholes.csv --out answers.csv --html page.html",
    )
    parser.add_argument("table", metavar="TABLE", help="CSV or Parquet, see above")
    parser.add_argument(
        "--out", metavar="FILE", required=True, help="CSV, or Parquet when it ends with .parquet"
    )
    add_machine_options(parser, "the machine, one setting for all rows")
    parser.add_argument("--limit", metavar="USE_OR_LIST", help="a use, or such as Fe2O3=0.05")
    group = parser.add_argument_group("computing and writing")
    group.add_argument(
        "--trials", type=whole(0, MOST_TRIALS), default=200, metavar="N",
        help="random trials a row (default 200)",
    )  # fmt: skip
    group.add_argument(
        "--seed", type=whole(0, 2**32 - 1), default=1, metavar="N",
        help="seed of the trials (default 1); the same seed gives the same bytes",
    )  # fmt: skip
    group.add_argument(
        "--workers", type=whole(1, MOST_WORKERS), default=1, metavar="N",
        help="processes (default 1); the bytes do not depend on it",
    )  # fmt: skip
    group.add_argument(
        "--cluster", metavar="ADDRESS", help="scheduler of a dask cluster, such as tcp://host:8786"
    )
    group.add_argument(
        "--strict", action="store_true", help="stop with 2 at the first row that cannot be used"
    )
    group.add_argument("--force", action="store_true", help="replace a file that exists")
    page = parser.add_argument_group("a page of the whole table")
    page.add_argument(
        "--html", metavar="FILE",
        help="one page: samples by chance, product iron, data that disagree, which to assay "
        "first, which to test for the rest",
    )  # fmt: skip
    page.add_argument(
        "--represent", type=whole(0, MOST_CHOSEN), default=6, metavar="N",
        help="samples that the page chooses to be tested for the rest (default 6)",
    )  # fmt: skip
    add_debug_option(group)
    parser.set_defaults(run=run_batch_command)


def run_batch_command(arguments: argparse.Namespace) -> int:
    """Run `batch`.

    Parameters
    ----------
    arguments : argparse.Namespace
        Parsed options. [-]

    Returns
    -------
    int
        0, also when rows could not be used. [-]

    Raises
    ------
    FeedcharError
        When table, setting, limit or place of the result cannot be used.
    """
    from feedchar.batch.run import BatchOptions, run_batch
    from feedchar.report.write import check_target, write_file
    from feedchar.sample.read import parse_limit
    from feedchar.sample.records import Sample

    options = BatchOptions(
        setting=setting_of(arguments, Sample("")),
        limit=None if arguments.limit is None else parse_limit(arguments.limit),
        trials=arguments.trials,
        seed=arguments.seed,
        workers=arguments.workers,
        cluster=arguments.cluster,
        strict=arguments.strict,
        force=arguments.force,
        summary=arguments.html is not None,
        groups=arguments.represent,
        calibration=calibration_of(arguments),
        read_paths=machine_files(arguments),
    )
    read = (arguments.table, arguments.out, *machine_files(arguments))
    if arguments.html is not None:
        if Path(arguments.html).resolve() == Path(arguments.out).resolve():
            message = "--html and --out name the same file. Give each a name of its own"
            raise OutputError(message)
        check_target(arguments.html, force=arguments.force, read_paths=read)
    if options.limit is not None and options.limit.specks_per_100_g_max is not None:
        say("dark grains are not counted in a batch: that part of the limit is left out")
    progress = _Progress()
    report = run_batch(arguments.table, arguments.out, options, progress)
    progress.end()
    if report.taken_over:
        say(f"{report.taken_over} rows were finished by an earlier run")
    if report.twins:
        say(f"{report.twins} sample names stand in more than one row; their notes say so")
    if report.bad:
        say(f"{report.bad} of {report.rows} rows cannot be used; their notes say why")
    say(f"wrote {arguments.out}: {report.rows} rows")
    if report.summary is not None:
        from feedchar.report.batch_report import batch_report
        from feedchar.report.html import page

        made = page(batch_report(report.summary))
        write_file(arguments.html, made, force=arguments.force, read_paths=read)
        say(f"wrote {arguments.html}")
    return DONE


class _Progress:
    """One line on a terminal that is overwritten; nothing anywhere else."""

    def __init__(self) -> None:
        self.shown = sys.stderr is not None and sys.stderr.isatty()
        self.start: tuple[float, int] | None = None
        self.last = 0.0
        self.width = 0

    def __call__(self, done: int, rows: int) -> None:
        now = time.monotonic()
        if self.start is None:
            self.start = (now, done)
        if not self.shown or (now - self.last < LEAST_SECONDS_BETWEEN and done < rows):
            return
        began, first = self.start
        if now - began < PATIENCE_S:
            return
        self.last = now
        rate = (done - first) / max(now - began, 1e-6)
        left = f", {_clock((rows - done) / rate)} left" if rate > 0 else ""
        self._write(f"{done} of {rows} rows, {rate:.0f} rows/s{left}")

    def end(self) -> None:
        if self.width:
            self._write("")

    def _write(self, text: str) -> None:
        try:
            sys.stderr.write(f"\r{text.ljust(self.width)}{'' if text else chr(13)}")
            sys.stderr.flush()
        except OSError:
            self.shown = False
        self.width = len(text)


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min {rest:02d} s"
