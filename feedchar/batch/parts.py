"""Finished partitions, kept beside the result until it is whole: a run that broke off goes on."""

from __future__ import annotations

import hashlib
import json
import os
import re
import secrets
import shutil
from pathlib import Path

from feedchar.batch.partition import Part
from feedchar.errors import OutputError
from feedchar.report.write import fill

_PART = re.compile(r"part-(\d{8})-(\d+)")
_OWNER = "run.json"
_LOCK = "lock"


class Parts:
    """The folder of finished partitions of one run."""

    def __init__(self, target: Path, fingerprint: dict[str, object]) -> None:
        """Open the folder of a run, empty where it belongs to another one.

        Parameters
        ----------
        target : Path
            The result. [-]
        fingerprint : dict
            All that decides the bytes of the result. [-]

        Raises
        ------
        OutputError
            When the folder cannot be made, or another run is using it.
        """
        self.folder = target.parent / f".{target.name}.parts"
        self._lock: int | None = None
        text = json.dumps(fingerprint, sort_keys=True)
        digest = hashlib.sha256(text.encode()).hexdigest()
        owner = self.folder / _OWNER
        try:
            self.folder.mkdir(exist_ok=True)
            self._lock = _held(self.folder)
            if not owner.is_file() or owner.read_bytes() != digest.encode():
                # Parts without their owner are what a removal that broke off left.
                for path in self.folder.iterdir():
                    if path.name != _LOCK:
                        path.unlink()
            owner.write_text(digest, encoding="ascii")
        except BlockingIOError as fault:
            message = f"{target.name} is being written by another run. Wait, or give another name"
            raise OutputError(message) from fault
        except OSError as fault:
            message = f"{self.folder.name} cannot be used: {(fault.strerror or '').lower()}"
            raise OutputError(message) from fault
        self.found: dict[int, tuple[Path, int]] = {}
        for path in self.folder.iterdir():
            match = _PART.fullmatch(path.name)
            if match:
                self.found[int(match[1])] = (path, int(match[2]))
            elif path.suffix == ".waiting":
                path.unlink()

    @property
    def bad(self) -> int:
        """Rows of all parts that could not be used."""
        return sum(count for _, count in self.found.values())

    @property
    def paths(self) -> list[Path]:
        """Parts in order."""
        return [self.found[number][0] for number in sorted(self.found)]

    def keep(self, number: int, part: Part) -> None:
        """Write one part, whole or not at all.

        Parameters
        ----------
        number : int
            Its place in the table. [-]
        part : Part
            Its bytes. [-]

        Raises
        ------
        OutputError
            When the disk is full, or the folder gone.
        """
        path = self.folder / f"part-{number:08d}-{part.bad}"
        waiting = self.folder / f"{secrets.token_hex(4)}.waiting"
        try:
            fill(waiting, part.content)
            os.replace(waiting, path)  # noqa: PTH105
        except OSError as fault:
            message = f"{self.folder.name} cannot be written: {(fault.strerror or '').lower()}"
            raise OutputError(message) from fault
        self.found[number] = (path, part.bad)

    def remove_empty(self) -> None:
        """Remove the folder when no partition is finished: nothing could go on from it."""
        if not self.found:
            self.remove()

    def remove(self) -> None:
        """Remove the folder and what this program put into it."""
        shutil.rmtree(self.folder, ignore_errors=True)
        self.close()

    def close(self) -> None:
        """Let another run use the folder."""
        if self._lock is not None:
            os.close(self._lock)
            self._lock = None


def _held(folder: Path) -> int | None:
    """A lock on the folder that ends with this process; None where the system has none.

    Two runs that shared the folder would put their parts into each other's results.
    """
    try:
        import fcntl
    except ImportError:
        return None
    descriptor = os.open(folder / _LOCK, os.O_RDWR | os.O_CREAT, 0o666)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(descriptor)
        raise
    except OSError:  # a file system without locks
        pass
    return descriptor
