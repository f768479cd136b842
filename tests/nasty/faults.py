"""Processes that die, disks that fill, folders that nobody may write: in children of this one."""

from __future__ import annotations

import errno
import os
import resource
import signal
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

NOBODY = 65534
Action = Callable[[], object]


def in_child(action: Action) -> int:
    """Exit code of an action in a child: 0 done, 2 refused, minus a signal, or what it returns."""
    child = os.fork()
    if child == 0:
        code = 70
        try:
            from feedchar.errors import FeedcharError

            try:
                result = action()
                code = result if isinstance(result, int) else 0
            except FeedcharError:
                code = 2
        finally:
            os._exit(code)
    _, status = os.waitpid(child, 0)
    return -os.WTERMSIG(status) if os.WIFSIGNALED(status) else os.WEXITSTATUS(status)


def killed_at_line(action: Action, step: int, modules: tuple[str, ...]) -> bool:
    """Kill -9 just before the given line of these modules runs; False when it ended before."""

    def watched() -> None:
        left = step

        def trace(frame: FrameType, event: str, _: Any) -> Any:
            nonlocal left
            if not frame.f_code.co_filename.endswith(modules):
                return None
            if event == "line":
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
            return trace

        sys.settrace(trace)
        action()

    code = in_child(watched)
    assert code in (0, -signal.SIGKILL), code
    return code != 0


class _Breaking:
    """A file that takes some bytes, straight to the disk, and then something happens."""

    def __init__(self, descriptor: int, room: list[int], happens: Callable[[], None]) -> None:
        self.descriptor, self.room, self.happens = descriptor, room, happens

    def __enter__(self) -> _Breaking:
        return self

    def __exit__(self, *_: object) -> None:
        os.close(self.descriptor)

    def write(self, data: bytes) -> None:
        taken = data[: self.room[0]]
        os.write(self.descriptor, taken)
        self.room[0] -= len(taken)
        if len(taken) < len(data):
            self.happens()

    def flush(self) -> None:
        pass

    def fileno(self) -> int:
        return self.descriptor


def breaking_files(room: int, happens: Callable[[], None]) -> Callable[..., _Breaking]:
    """In place of `os.fdopen`: all files together take `room` bytes, then `happens`."""
    left = [room]
    return lambda descriptor, *_: _Breaking(descriptor, left, happens)


def full() -> None:
    """The disk is full."""
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def interrupted() -> None:
    """Ctrl-C; who starts tests in the background may have had it ignored."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.raise_signal(signal.SIGINT)


def dies() -> None:
    """Kill -9."""
    os.kill(os.getpid(), signal.SIGKILL)


def with_room(room: int, action: Action) -> Action:
    """The action where the system itself lets no file grow beyond `room` bytes."""

    def limited() -> object:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
        return action()

    return limited


def as_nobody(action: Action) -> Action:
    """The action without the rights of root, which may write anywhere."""

    def lowered() -> object:
        if os.geteuid() == 0:
            os.setgid(NOBODY)
            os.setuid(NOBODY)
        return action()

    return lowered


def open_folder() -> Path:
    """A new folder that anybody may enter and nobody but its owner may write."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    return folder


def litter(folder: Path) -> list[str]:
    """Unfinished files that a killed process leaves; nobody takes them for a result."""
    return [path.name for path in folder.iterdir() if path.name.startswith(".feedchar-")]
