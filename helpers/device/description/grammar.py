"""The statements of a device description: one keyword each, with an index in brackets and values.

The grammar is `grammar.lark`. A long file has a hundred thousand statements of one plain form, a keyword with a text
and numbers, so that form is tried first, by one regular expression that is put together from the grammar's own
terminals. Whatever it does not match goes to the parser, which also says what it expected.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from lark import Lark, Token, Transformer, UnexpectedInput

from helpers.written import whole


class Span(NamedTuple):
    """Two numbers with a hyphen between them: the ends of a range, or the first and last of some bits."""

    low: int
    high: int


class Word(NamedTuple):
    """A word that is not in quotes, with the number in its brackets: `Bit(3)`."""

    name: str
    bracket: int | Span | None = None


Value = int | str | Span | Word


class Statement(NamedTuple):
    """One statement. A text among the values is a `str`, without its quotes.

    `keyword` is as written in the file, empty where a number stands alone; `bracket` is what stands in brackets behind.
    """

    line: int
    keyword: str
    bracket: int | Span | None = None
    values: tuple[Value, ...] = ()


class Problem(NamedTuple):
    """One place of a file that does not say what it should."""

    line: int
    keyword: str
    found: str
    expected: str

    @property
    def text(self) -> str:
        """The problem as a sentence.

        >>> Problem(7, "Max_Module", "the end of the line", "a value").text
        'line 7, Max_Module: found the end of the line; expected a value.'
        """
        at = f"line {self.line}, {self.keyword}" if self.keyword else f"line {self.line}"
        return f"{at}: found {self.found}; expected {self.expected}."


class Problems:
    """The problems of one file. The first are kept, the rest counted: a file of rubbish would give one for each line.

    >>> found = Problems()
    >>> for line in range(2, MOST_PROBLEMS + 4):
    ...     found.add(Problem(line, "", "x", "y"))
    >>> len(found.by_line()), found.by_line()[-1].found
    (1001, '2 more places that say not what they should')
    """

    def __init__(self) -> None:
        self._kept: list[Problem] = []
        self._more = 0

    def add(self, problem: Problem) -> None:
        """Keep a problem, or count it."""
        if len(self._kept) < MOST_PROBLEMS:
            self._kept.append(problem)
        else:
            self._more += 1

    def by_line(self) -> tuple[Problem, ...]:
        """Those kept, in the order of the lines, and behind them how many more there are."""
        kept = sorted(self._kept, key=lambda problem: problem.line)
        if self._more:
            found = f"{self._more} more places that say not what they should"
            kept.append(Problem(kept[-1].line, "", found, "fewer; mend the first ones, then read the file again"))
        return tuple(kept)


class _Index(NamedTuple):
    value: int | Span


class _Build(Transformer[Token, Statement]):
    """Turns what the parser found into a `Statement` of line 0."""

    def statement(self, parts: list[Any]) -> Statement:
        if isinstance(parts[0], int):
            return Statement(0, "", None, (parts[0],))
        index = parts.pop(1).value if len(parts) > 1 and isinstance(parts[1], _Index) else None
        return Statement(0, str(parts[0]), index, tuple(parts[1:]))

    def index(self, parts: list[Any]) -> _Index:
        return _Index(parts[0])

    def value(self, parts: list[Any]) -> Value:
        value: Value = parts[0]
        return value

    def word(self, parts: list[Any]) -> Word:
        return Word(str(parts[0]), parts[1].value if len(parts) > 1 else None)

    def NUMBER(self, token: Token) -> int:  # noqa: N802 (the name of the terminal)
        return number(token)

    def SPAN(self, token: Token) -> Span:  # noqa: N802
        ends = _SPAN.fullmatch(token)
        assert ends is not None  # the terminal is made of the same parts
        return Span(number(ends[1]), number(ends[2]))

    def TEXT(self, token: Token) -> str:  # noqa: N802
        return str(token[1:-1])

    def TAIL(self, token: Token) -> str:  # noqa: N802
        return str(token).rstrip()


def number(text: str) -> int:
    """A number in any of the ways in which description files write it.

    >>> number("0xF3"), number("-5"), number("16#0F"), number("0Fh"), number("0b110")
    (243, -5, 15, 15, 6)
    """
    if text.isdecimal():
        return int(text)
    if text.startswith(("0x", "0X")):
        return int(text, 16)
    sign, digits = (-1, text[1:]) if text[0] == "-" else (1, text.lstrip("+"))
    return sign * whole(digits)


_PARSER = Lark(
    Path(__file__).with_name("grammar.lark").read_text(encoding="utf-8"),
    parser="lalr",
    start="statement",
    transformer=_Build(),
)
_TERMINALS = {terminal.name: terminal.pattern.to_regexp() for terminal in _PARSER.terminals}
_NAME, _NUMBER, _TEXT = (f"(?:{_TERMINALS[name]})" for name in ("NAME", "NUMBER", "TEXT"))
_SPAN = re.compile(rf"({_NUMBER})[ \t]*-[ \t]*({_NUMBER})")
_ONE_NUMBER = re.compile(_NUMBER)
_PLAIN = re.compile(
    rf"({_NAME})[ \t]*(?:\(({_NUMBER})\)[ \t]*)?(?:=[ \t]*(?=\S)(?:({_NUMBER})[ \t]+(?=\"))?(?:({_TEXT})[ \t]*)?"
    rf"({_NUMBER}(?:[ \t]*,[ \t]*{_NUMBER})*)?)?"
)
_WORDS = {
    "NAME": "a word",
    "NUMBER": "a number",
    "SPAN": "a range such as 0-7",
    "TEXT": "a text in quotes",
    "EQUAL": "=",
    "COMMA": "a comma",
    "LPAR": "an index in brackets",
    "RPAR": "a closing bracket",
    "$END": "the end of the line",
}
# Possessive (+), so that a quote which is never closed costs no more time than any other line.
_COMMENT = re.compile(r'((?:[^";]++|"[^"]*")*+);')
_LONGEST_SHOWN = 40
MOST_PROBLEMS = 1000
LONGEST_STATEMENT = 20_000  # characters; parameters for a whole telegram have 1500


def statement(text: str, line: int = 0) -> Statement | Problem:
    """One statement, without comment and line break; a `Problem` says what was expected instead.

    >>> statement('Module = "Mill 2/3" 0xE1,0xD2', 12)
    Statement(line=12, keyword='Module', bracket=None, values=('Mill 2/3', 225, 210))
    >>> statement("Max_Module =").text
    'line 0, Max_Module: found the end of the line; expected a word, a number, a range such as 0-7 or a text in quotes.'
    """
    if text.isdecimal() and len(text) < 10:
        return Statement(line, "", None, (int(text),))
    found = _PLAIN.fullmatch(text)
    if found is None:
        said = _parsed(text)
        return said._replace(line=line)
    keyword, index, first, quoted, numbers = found.groups()
    values: tuple[Value, ...] = (quoted[1:-1],) if quoted else ()
    if first:
        values = (number(first), *values)
    if numbers:
        values += (number(numbers),) if "," not in numbers else tuple(map(number, _ONE_NUMBER.findall(numbers)))
    return Statement(line, keyword, number(index) if index else None, values)


@lru_cache(maxsize=4096)
def _parsed(text: str) -> Statement | Problem:
    """What the parser makes of a statement; the line is put in later."""
    try:
        said = _PARSER.parse(text)
    except UnexpectedInput as error:
        found = _found(error, text)
        expected = "a closing quote" if found[1] == '"' else _expected(error)
        return Problem(0, keyword_of(text), found, expected)
    assert isinstance(said, Statement)
    return said


def keyword_of(text: str) -> str:
    """The keyword with which a text begins, empty if it begins otherwise."""
    begins = re.match(_NAME, text)
    return begins[0][:_LONGEST_SHOWN] if begins else ""


def _found(error: UnexpectedInput, text: str) -> str:
    token = getattr(error, "token", None)
    if token is not None and token.type == "$END":
        return "the end of the line"
    rest = text[error.pos_in_stream or 0 :]
    return shown(rest)


def _expected(error: UnexpectedInput) -> str:
    names = getattr(error, "accepts", None) or getattr(error, "expected", None) or getattr(error, "allowed", None) or ()
    words = [words for name, words in _WORDS.items() if name in names]
    return " or ".join(filter(None, (", ".join(words[:-1]), words[-1]))) if words else "a keyword"


def shown(text: str) -> str:
    """A piece of a file for a message: quoted, and cut if it is long."""
    return repr(text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…")


def lines(text: str) -> list[str]:
    """The lines of a text, whichever way they end: CR LF, LF, CR, or any of them mixed."""
    *ended, last = text.split("\n")
    return [row for piece in ended for row in piece.rstrip("\r").split("\r")] + last.split("\r")


def statements(rows: list[str], first: int = 1) -> Iterator[Statement | Problem]:
    r"""The statements in the lines of a file; a comment begins with `;`, a line that ends with `\` goes on.

    Parameters: rows, the lines; first, the number of the first of them.

    >>> [one.values for one in statements(["User_Prm_Data = 1, \\ ; two lines", "  2"])]
    [(1, 2)]
    """
    begun: list[str] = []
    at, length = first, 0
    for line, row in enumerate(rows, first):
        if ";" in row:
            without = _COMMENT.match(row)
            row = without[1] if without else row
        row = row.strip()
        length = (length if begun else 0) + len(row)
        if row.endswith("\\"):
            at = at if begun else line
            begun.append(row[:-1] if length <= LONGEST_STATEMENT else "")
            continue
        if begun:
            row, begun = " ".join((*begun, row)).strip(), []
        else:
            at = line
        if length > LONGEST_STATEMENT:
            yield Problem(at, keyword_of(row), f"{length} characters", f"at most {LONGEST_STATEMENT} in a statement")
        elif row:
            yield statement(row, at)
    if begun:
        yield Problem(at, keyword_of(begun[0].strip()), "the end of the file", "the line on which this one goes on")
