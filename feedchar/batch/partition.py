"""One partition of a table: from rows to the bytes of its part of the result.

The same function runs in this process, in others, and on a cluster.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from feedchar.batch.answers import Answers, answers_of
from feedchar.batch.prepared import Table
from feedchar.batch.rows import Block, read_block
from feedchar.batch.table import Rows, Source, name_digest
from feedchar.batch.told import Told, sample_names
from feedchar.batch.written import csv_lines, parquet_bytes
from feedchar.errors import FeedcharError
from feedchar.sample.cells import is_blank


@dataclass(frozen=True)
class Task:
    """What every partition needs, sent to each worker once."""

    table: Table
    source: Source
    to_parquet: bool
    told: bool = False
    """Whether figures for a page of the whole table are kept."""


@dataclass(frozen=True)
class Part:
    """One partition of the result."""

    content: bytes
    rows: int
    bad: int
    first_bad: tuple[int, str] | None
    """Place of the first row that cannot be used, from 0, and why."""
    told: bytes = b""
    """Figures for a page of the whole table, as a file."""


def compute(task: Task, rows: Rows) -> Part:
    """Answers of some rows, as they will stand in the result.

    Parameters
    ----------
    task : Task
        Draws, machine, demands and the form of the result. [-]
    rows : list of list of cells
        As read. [-]

    Returns
    -------
    Part
        Bytes of CSV lines or of a Parquet file. [-]
    """
    drawn, source = task.table.drawn, task.source
    block = read_block(
        rows, source.columns, drawn.names[:-1], drawn.density_kg_m3[:-1], source.mark
    )
    _note_twins(block, rows, source)
    answers = answers_of(task.table, block, task.told)
    bad = [(place, answers.notes[place]) for place in answers.bad.nonzero()[0].tolist()]
    content = _content(task, rows, answers)
    told = b""
    if answers.told is not None:
        names = sample_names(rows, source.columns.plain.get("sample"))
        told = Told(answers.told, names, answers.notes).content()
    return Part(content, len(rows), len(bad), bad[0] if bad else None, told)


def _content(task: Task, rows: Rows, answers: Answers) -> bytes:
    if task.to_parquet:
        return parquet_bytes(rows, answers, task.source)
    return csv_lines(rows, answers, len(task.source.columns.headings)).encode()


def _note_twins(block: Block, rows: Rows, source: Source) -> None:
    at = source.columns.plain.get("sample")
    if at is None or not source.twins:
        return
    for notes, row in zip(block.notes, rows, strict=True):
        known = at < len(row) and not is_blank(row[at])
        if known and name_digest(row[at]) in source.twins:
            notes.append("another row has the same sample name")


Submit = Callable[[Rows], Callable[[], Part]]
"""Hands rows to a worker; what comes back waits for its part."""

_TASK: Task | None = None


def _begin(task: Task) -> None:
    global _TASK  # one task a worker process, set as it starts
    _TASK = task


def _compute_here(rows: Rows) -> Part:
    if _TASK is None:
        message = "a worker was given rows before its task"
        raise RuntimeError(message)
    return compute(_TASK, rows)


@contextmanager
def crew(task: Task, workers: int, cluster: str | None) -> Iterator[tuple[Submit, int]]:
    """Who computes: this process, others beside it, or a cluster.

    Parameters
    ----------
    task : Task
        Sent to each worker once. [-]
    workers : int
        Processes. [-]
    cluster : str or None
        Address of a scheduler of dask.distributed. [-]

    Yields
    ------
    tuple
        A function that submits rows, and how many partitions to have under way. [-]

    Raises
    ------
    FeedcharError
        When dask is not installed, no scheduler answers, or a worker was killed.
    """
    if cluster is not None:
        with _cluster(task, cluster) as made:
            yield made
    elif workers > 1:
        with _processes(task, workers) as made:
            yield made
    else:
        yield (lambda rows: lambda: compute(task, rows)), 1


@contextmanager
def _processes(task: Task, workers: int) -> Iterator[tuple[Submit, int]]:
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    pool = ProcessPoolExecutor(workers, get_context("spawn"), _begin, (task,))
    try:
        yield (lambda rows: pool.submit(_compute_here, rows).result), workers + 2
    except BrokenProcessPool:
        message = (
            "a worker was killed, most likely for want of memory; finished partitions are kept: "
            "run the same command again, with fewer --workers"
        )
        raise FeedcharError(message) from None
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _cluster(task: Task, address: str) -> Iterator[tuple[Submit, int]]:
    try:
        from distributed import Client
    except ImportError:
        message = "--cluster needs dask.distributed: pip install 'feedchar[batch]'"
        raise FeedcharError(message) from None
    try:
        client = Client(address, timeout="10s")
    except (OSError, ValueError) as error:
        message = f"no scheduler of a cluster answers at {address}: {error}"
        raise FeedcharError(message) from None
    with client:
        cores = sum(client.ncores().values())
        if not cores:
            message = f"the cluster at {address} has no workers"
            raise FeedcharError(message)
        sent = client.scatter(task, broadcast=True, hash=False)

        def submit(rows: Rows) -> Callable[[], Part]:
            waiting: Any = client.submit(compute, sent, rows, pure=False)
            result: Callable[[], Part] = waiting.result
            return result

        yield submit, 2 * cores


def in_order(
    partitions: Iterator[tuple[int, Rows]], submit: Submit, ahead: int
) -> Iterator[tuple[int, Part]]:
    """Parts in the order of the table, a few under way at a time.

    Parameters
    ----------
    partitions : iterator of (number, rows)
        What is to be computed. [-]
    submit : callable
        From `crew`. [-]
    ahead : int
        Partitions under way at once, so that memory stays flat. [-]

    Yields
    ------
    tuple of int and Part
        Number and part. [-]
    """
    waiting: deque[tuple[int, Callable[[], Part]]] = deque()
    for number, rows in partitions:
        waiting.append((number, submit(rows)))
        if len(waiting) >= ahead:
            first, result = waiting.popleft()
            yield first, result()
    for number, result in waiting:
        yield number, result()
