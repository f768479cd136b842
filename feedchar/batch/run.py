"""Many samples at once: the table read in partitions, computed anywhere, put together in order."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path

import feedchar
from feedchar.batch.chance import check_limit
from feedchar.batch.drawn import draw_table
from feedchar.batch.partition import Part, Task, crew, in_order
from feedchar.batch.parts import Parts
from feedchar.batch.prepared import Table
from feedchar.batch.summary import choose, limit_figures
from feedchar.batch.table import (
    PARTITION_ROWS,
    Rows,
    Source,
    is_parquet,
    open_table,
    partitions,
)
from feedchar.batch.written import csv_heading, write_result
from feedchar.errors import FeedcharError, InputError
from feedchar.field.rolls import DEFAULT_ROLL, read_roll
from feedchar.field.setting import Pass, Setting
from feedchar.report.write import check_target
from feedchar.results.batch import BatchSummary
from feedchar.sample.records import Limit
from feedchar.sample.shown import file_label
from feedchar.separation.parameters import Calibration
from feedchar.separation.setting_checks import calibration_notes

Progress = Callable[[int, int], None]
"""Called with rows done and rows in all."""


@dataclass(frozen=True)
class BatchOptions:
    """How a table is computed."""

    setting: Setting | None = None
    """None, or one without passes: the stated default; a batch searches no setting."""
    limit: Limit | None = None
    trials: int = 200
    seed: int = 1
    workers: int = 1
    cluster: str | None = None
    strict: bool = False
    """Refuse the table at the first row that cannot be used."""
    force: bool = False
    summary: bool = False
    """Whether the table as a whole is wanted too, for a page."""
    groups: int = 6
    """Samples that the summary chooses to stand for the rest."""
    calibration: Calibration | None = None
    read_paths: tuple[str, ...] = ()
    """Other files that were read, so that none is ever written over."""


@dataclass(frozen=True)
class BatchReport:
    """What a run did."""

    rows: int
    bad: int
    """Rows that could not be used; their notes say why."""
    taken_over: int
    """Rows found finished from a run that broke off."""
    twins: int
    """Names of samples that stand more than once."""
    summary: BatchSummary | None = None


def setting_of_batch(setting: Setting | None) -> Setting:
    """The one setting that all rows meet.

    Parameters
    ----------
    setting : Setting or None
        As asked for. [SI]

    Returns
    -------
    Setting
        With passes: the stated default where none were given. [SI]
    """
    made = setting or Setting(roll=read_roll(DEFAULT_ROLL))
    return made if made.passes else replace(made, passes=(Pass(),))


def prepare(source: Source, options: BatchOptions) -> Table:
    """Everything that belongs to the table and the setting, not to a row.

    Parameters
    ----------
    source : Source
        The table. [-]
    options : BatchOptions
        How it is computed. [-]

    Returns
    -------
    Table
        Draws, shares that stay, demands. [-]

    Raises
    ------
    FeedcharError
        When setting or limit cannot be used.
    """
    check_limit(options.limit)
    drawn = draw_table(source.columns, options.trials, options.seed)
    setting = setting_of_batch(options.setting)
    if options.calibration is not None:
        calibration_notes(options.calibration, setting)
    return Table(drawn, setting, source.columns, options.limit, options.calibration)


def run_batch(
    table: str, out: str, options: BatchOptions, progress: Progress | None = None
) -> BatchReport:
    """The same rows with their answers, in a new file.

    Parameters
    ----------
    table : str
        CSV or Parquet of samples. [-]
    out : str
        CSV or Parquet to write, by its ending. [-]
    options : BatchOptions
        How to compute. [-]
    progress : callable or None
        Told of rows done and rows in all. [-]

    Returns
    -------
    BatchReport
        Counts of rows. [-]

    Raises
    ------
    FeedcharError
        When table, setting, limit or place of the result cannot be used; with `strict` also for
        the first row that cannot.
    """
    read = (table, *options.read_paths)
    target = check_target(out, force=options.force, read_paths=read)
    source = open_table(table)
    prepared = prepare(source, options)
    task = Task(prepared, source, is_parquet(target), options.summary)
    parts = Parts(target, _fingerprint(source, options, task.to_parquet))
    try:
        return _computed(parts, target, source, task, options, progress)
    except FeedcharError:
        parts.remove_empty()
        raise


def _computed(
    parts: Parts, target: Path, source: Source, task: Task, options: BatchOptions,
    progress: Progress | None,
) -> BatchReport:  # fmt: skip
    if options.strict and parts.bad:
        parts = _afresh(parts, target, source, options, task)
    try:
        return _run(parts, target, source, task, options, progress)
    finally:
        parts.close()


def _run(
    parts: Parts,
    target: Path,
    source: Source,
    task: Task,
    options: BatchOptions,
    progress: Progress | None,
) -> BatchReport:
    """Compute the partitions that are missing, and put all together."""
    count = -(-source.rows // PARTITION_ROWS)
    done = taken = sum(_rows_of(number, source) for number in parts.found)
    if progress is not None:
        progress(done, source.rows)
    if len(parts.found) < count:
        with crew(task, options.workers, options.cluster) as (submit, ahead):
            for number, part in in_order(_missing(source, parts), submit, ahead):
                if options.strict and part.first_bad is not None:
                    parts.remove_empty()
                    raise _refusal(number, part, source)
                parts.keep(number, part)
                done += part.rows
                if progress is not None:
                    progress(done, source.rows)
    bad = parts.bad
    summary = summarised(parts, source, task, options, target) if options.summary else None
    heading = None if task.to_parquet else csv_heading(source.columns)
    write_result(parts.paths, heading, target, force=options.force)
    parts.remove()
    return BatchReport(source.rows, bad, taken, len(source.twins), summary)


def summarised(
    parts: Parts, source: Source, task: Task, options: BatchOptions, target: Path
) -> BatchSummary:
    """The table as a whole.

    Parameters
    ----------
    parts : Parts
        All partitions, finished. [-]
    source : Source
        The table. [-]
    task : Task
        How it was computed. [-]
    options : BatchOptions
        What was asked for. [-]
    target : Path
        The result. [-]

    Returns
    -------
    BatchSummary
        For a page. [-]
    """
    setting = setting_of_batch(options.setting)
    first = setting.passes[0]
    limit = limit_figures(options.limit)
    told = [parts.told(number) for number in sorted(parts.found)]
    chosen = choose(told, PARTITION_ROWS, limit.get("Fe2O3_max_pct"), options.groups, options.seed)
    return BatchSummary(
        table=source.columns.file,
        sha256=source.sha256,
        out=file_label(target),
        rows=source.rows,
        trials=options.trials,
        seed=options.seed,
        limit=limit,
        machine=setting.machine,
        roll=setting.roll.roll,
        belt_speed_m_s=first.belt_speed_m_s,
        splitter_m=first.splitter_m,
        passes=len(setting.passes),
        drum_first=setting.drum_first,
        treated_passing_um=setting.treated_passing_um,
        treated_retained_um=setting.treated_retained_um,
        has_sizes=source.columns.has_sizes,
        twins=len(source.twins),
        phases=tuple(sorted({column.phase for column in source.columns.phases})),
        **{field.name: getattr(chosen, field.name) for field in fields(chosen)},
    )


def _afresh(parts: Parts, target: Path, source: Source, options: BatchOptions, task: Task) -> Parts:
    parts.remove()
    return Parts(target, _fingerprint(source, options, task.to_parquet))


def _fingerprint(source: Source, options: BatchOptions, to_parquet: bool) -> dict[str, object]:
    """All that decides the bytes of the result."""
    limit = None if options.limit is None else asdict(options.limit)
    found: dict[str, object] = {
        "version": feedchar.__version__,
        "sha256": source.sha256,
        "setting": asdict(setting_of_batch(options.setting)),
        "limit": limit,
        "trials": options.trials,
        "seed": options.seed,
        "to_parquet": to_parquet,
        "partition_rows": PARTITION_ROWS,
        "summary": options.summary,
    }
    if options.calibration is not None:
        known = options.calibration
        draws = (known.bypass, known.entrainment, known.pull_factor, known.adhesion_N)
        found["calibration"] = [*known.tests, *(array.tolist() for array in draws)]
    return found


def _rows_of(number: int, source: Source) -> int:
    return min(PARTITION_ROWS, source.rows - number * PARTITION_ROWS)


def _missing(source: Source, parts: Parts) -> Iterator[tuple[int, Rows]]:
    found = frozenset(parts.found)
    for number, rows in enumerate(partitions(source)):
        if number not in found:
            yield number, rows


def _refusal(number: int, part: Part, source: Source) -> InputError:
    place, why = part.first_bad or (0, "")
    row = number * PARTITION_ROWS + place + 2
    return InputError(why, file=source.columns.file, row=row)
