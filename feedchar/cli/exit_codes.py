"""What the number that a command ends with means."""

from __future__ import annotations

DONE, NOT_REACHED, UNUSABLE, FAULT, INTERRUPTED = 0, 1, 2, 70, 130

EXIT_CODES = """\
exit codes:
  0    done
  1    the chance asked for with --require is not reached
  2    wrong command line, or input that cannot be used
  70   a fault of feedchar
  130  interrupted"""
"""The same in words, for the help."""
