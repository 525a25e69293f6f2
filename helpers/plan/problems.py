"""What is wrong with the tables of a plan, all of it at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from helpers.errors import Unreadable


@dataclass(frozen=True)
class Problem:
    """One fault of a table: where it is, what was found there and what was expected.

    `row` is the number the spreadsheet program shows, 0 where no row is meant; `column` the heading.
    """

    table: str
    row: int
    column: str
    found: str
    expected: str

    def __str__(self) -> str:
        """One sentence.

        >>> str(Problem("cable", 4, "length", "'long'", "a length, for example 12 m"))
        "table cable, row 4, column length: found 'long'; expected a length, for example 12 m."
        """
        place = [
            f"table {self.table}",
            f"row {self.row}" if self.row else "",
            f"column {self.column}" * bool(self.column),
        ]
        return f"{', '.join(part for part in place if part)}: found {self.found}; expected {self.expected}."


class PlanUnreadable(Unreadable):
    """The tables can't be read as a plan; `problems` lists every fault, the text is one sentence for each."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
