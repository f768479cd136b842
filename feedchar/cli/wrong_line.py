"""A wrong command line: what is wrong, the nearest that is right, and where the rest is told."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from typing import Any, NoReturn

from feedchar.errors import FeedcharError

_LONGEST = 300
"""What argparse says may hold a value of any length. [characters]"""
_CHOICE = re.compile(r"argument (\S+): invalid choice: (.*) \(choose from (.*)\)", re.DOTALL)


class WrongLineError(FeedcharError):
    """The command line cannot be understood."""


class LineParser(argparse.ArgumentParser):
    """A parser that raises one sentence where argparse prints its usage and leaves."""

    def error(self, message: str) -> NoReturn:
        """What cannot be used, as one sentence.

        Parameters
        ----------
        message : str
            What argparse has to say. [-]

        Raises
        ------
        WrongLineError
            Always.
        """
        said = f"{_plain(message)}; see {self.prog} --help"
        raise WrongLineError(said)

    def parse_known_args(  # type: ignore[override]
        self, args: Sequence[str] | None = None, namespace: Any = None
    ) -> tuple[Any, list[str]]:
        """Arguments of this parser; what is left over is told here, where options are known.

        Parameters
        ----------
        args : sequence of str or None
            Arguments, None for those of the process. [-]
        namespace : argparse.Namespace or None
            Where to put them. [-]

        Returns
        -------
        argparse.Namespace
            The values. [-]
        list of str
            Always empty. [-]

        Raises
        ------
        WrongLineError
            When something is left over.
        """
        parsed, over = super().parse_known_args(args, namespace)
        if over:
            word = next((text for text in over if text.startswith("-")), over[0])
            if word.startswith("-"):
                word = word.split("=")[0]
                self.error(f"there is no option {word[:60]!r} here{self._nearest(word)}")
            self.error(f"{word[:60]!r} is one more than can be taken")
        return parsed, over

    def _nearest(self, word: str) -> str:
        known = list(self._option_string_actions)
        begun = [option for option in known if option.startswith(word) and len(word) > 3]
        return _meant(word, begun or known)


def _meant(word: str, known: list[str]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(word[:60], known, 1, 0.4 if len(known) == 1 else 0.6)
    return f", perhaps {near[0]} was meant" if near else ""


def _plain(message: str) -> str:
    """What argparse says, in the words of the other messages."""
    if choice := _CHOICE.fullmatch(message):
        what, found, known = choice[1], choice[2][:60], choice[3].replace("'", "")
        message = f"{what} must be one of {known}; found {found}"
        message += _meant(found.strip("'"), known.split(", "))
    message = re.sub(r"^the following arguments are required: (.*)", r"\1 is missing", message)
    message = re.sub(
        r"^argument (\S+): expected one argument$",
        r"\1 needs a value; write \1=VALUE for one that begins with a minus",
        message,
    )
    message = re.sub(r"^argument (\S+):", r"\1", message)
    message = message.rstrip(".")
    return message if len(message) <= _LONGEST else message[: _LONGEST - 4] + " ..."
