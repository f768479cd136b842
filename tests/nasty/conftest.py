"""Bad input of every kind, through the command line in this process."""

from __future__ import annotations

import sys
from pathlib import Path

# The cases are data, generated when tests are collected: plain modules beside this file.
sys.path.insert(0, str(Path(__file__).parent))
