"""Invariants over random bags and settings."""

from __future__ import annotations

import sys
from pathlib import Path

# What draws bags and settings is a plain module beside this file.
sys.path.insert(0, str(Path(__file__).parent))
