"""The one error family: what a person did that cannot be used, said in one sentence."""

from __future__ import annotations


class FeedcharError(Exception):
    """Something the user gave cannot be used; the text is what the terminal shows (exit code 2)."""


class InputError(FeedcharError):
    """A file, row or cell cannot be used.

    The sentence pattern is: where, what must hold, what was found, what would be right.

    Parameters
    ----------
    problem : str
        What is wrong, with the value found. [-]
    file : str
        Base name of the file or workbook sheet, empty when there is none. [-]
    row : int or None
        Row as the person counts it: the heading is row 1. [-]
    column : str
        Heading of the column or key. [-]
    remedy : str
        What would be right. [-]
    """

    def __init__(
        self,
        problem: str,
        *,
        file: str = "",
        row: int | None = None,
        column: str = "",
        remedy: str = "",
    ) -> None:
        self.problem, self.file, self.row = problem, file, row
        self.column, self.remedy = column, remedy
        where = [part for part in (file, f"row {row}" if row is not None else "") if part]
        if column:
            where.append(f'column "{column}"')
        text = ", ".join(where)
        text = f"{text}: {problem}" if text else problem
        super().__init__(f"{text}. {remedy}" if remedy else text)


class SettingError(FeedcharError):
    """A machine setting cannot be used: outside the tables, or impossible as mechanics."""


class UnknownNameError(FeedcharError):
    """A mineral, roll, limit or oxide name is not known, or is a group word.

    Parameters
    ----------
    message : str
        The sentence shown. [-]
    candidates : tuple of str
        Names to choose from, best first. [-]
    """

    def __init__(self, message: str, candidates: tuple[str, ...] = ()) -> None:
        self.candidates = candidates
        super().__init__(message)


class OutputError(FeedcharError):
    """A file cannot be written where the user asked for it."""
