"""Two names of a folder exchanged in one step, where the system can."""

from __future__ import annotations

import ctypes
import os
import sys
from pathlib import Path

_AT_THE_WORKING_FOLDER = -100
_EXCHANGE = 2


def exchange(first: Path, second: Path) -> bool:
    """Exchange the names of two folders so that nobody ever sees one of them missing.

    Parameters
    ----------
    first, second : Path
        Both exist, on one file system. [-]

    Returns
    -------
    bool
        False where system or file system has no such step; nothing has changed then. [-]
    """
    names = os.fsencode(first), os.fsencode(second)
    try:
        library = ctypes.CDLL(None)
        if sys.platform.startswith("linux"):
            here = _AT_THE_WORKING_FOLDER
            code = library.renameat2(here, names[0], here, names[1], _EXCHANGE)
        elif sys.platform == "darwin":
            code = library.renamex_np(*names, _EXCHANGE)
        else:
            return False
    except (AttributeError, OSError, TypeError):
        return False
    return int(code) == 0
