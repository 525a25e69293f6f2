"""Sorts the statements of a device description into blocks, such as a module with what belongs to it.

What was left open is closed where the next keyword can't stand inside, and the missing end line is a problem.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from helpers.device.description.grammar import Problem, Problems, Statement, statements
from helpers.device.description.keywords import OUTSIDE, Keyword, end_of, keywords

_BEGIN = re.compile(r"\s*#\s*profibus_dp\b", re.IGNORECASE)
_FRAME = re.compile(r"\s*#")


@dataclass
class Block:
    """A block while it is read: its kind, the statement that opens it, what stands in it."""

    kind: str
    opened: Statement
    statements: list[tuple[Keyword, Statement]] = field(default_factory=list)
    blocks: list[Block] = field(default_factory=list)
    reference: int | None = None


class Sorter:
    """Sorts the statements into blocks, closes what was left open, and collects problems."""

    def __init__(self, rows: list[str]) -> None:
        self._rows, self._first = _inside_frame(rows)
        self.top = Block(OUTSIDE, Statement(0, ""))
        self._open = [self.top]
        self.unknown: list[Statement] = []
        self.problems = Problems()
        if not self._first:
            self._first = 1
            self.problems.add(Problem(1, "", "no line #Profibus_DP", "that line in front of the first keyword"))

    def sort(self) -> None:
        """Go through all statements once."""
        known = keywords()
        for one in statements(self._rows, self._first):
            if isinstance(one, Problem):
                self.problems.add(one)
                keyword = known.get(one.keyword.lower())
                # A damaged line that opens a block still opens it, so that its end line is no second problem.
                if keyword is None or not keyword.opens:
                    continue
                one = Statement(one.line, one.keyword)
            elif not one.keyword:
                self._reference(one)
                continue
            elif (keyword := known.get(one.keyword.lower())) is None:
                self.unknown.append(one)
                continue
            self._place(keyword, one)
        last = self._first + len(self._rows) - 1
        while len(self._open) > 1:
            self._close_early(last, "", "the end of the file")

    def _place(self, keyword: Keyword, one: Statement) -> None:
        if self._open[-1].kind not in keyword.inside:
            if not any(block.kind in keyword.inside for block in self._open):
                where = " or ".join(sorted(keyword.inside))
                self.problems.add(Problem(one.line, one.keyword, "it outside its place", f"it inside: {where}"))
                return
            while self._open[-1].kind not in keyword.inside:
                self._close_early(one.line, one.keyword, f"{one.keyword} inside {self._open[-1].opened.keyword}")
        if keyword.opens:
            block = Block(keyword.opens, one)
            self._open[-1].blocks.append(block)
            self._open.append(block)
        elif keyword.closes:
            self._open.pop()
        else:
            self._open[-1].statements.append((keyword, one))

    def _close_early(self, line: int, keyword: str, found: str) -> None:
        block = self._open.pop()
        end = end_of(block.kind)
        self.problems.add(
            Problem(line, keyword, found, f"{end} for the {block.opened.keyword} of line {block.opened.line}")
        )

    def _reference(self, one: Statement) -> None:
        module = next((block for block in self._open if block.kind == "module"), None)
        if module is not None and module.reference is None and isinstance(one.values[0], int):
            module.reference = one.values[0]
        else:
            found = f"a number alone, {one.values[0]}"
            self.problems.add(Problem(one.line, "", found, "a keyword; only a module has one reference number"))


def _inside_frame(rows: list[str]) -> tuple[list[str], int]:
    """The lines between `#Profibus_DP` and the next `#`, and the number of the first; 0 if there is no frame."""
    for begin, row in enumerate(rows):
        if _BEGIN.match(row):
            end = next((n for n in range(begin + 1, len(rows)) if _FRAME.match(rows[n])), len(rows))
            return rows[begin + 1 : end], begin + 2
    return rows, 0
