"""Sorts the statements of a description into blocks, and makes its parts of them; every value is checked on the way."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

from helpers import facts
from helpers.device.description.grammar import Problem, Problems, Span, Statement, Value, Word, shown, statements
from helpers.device.description.keywords import OUTSIDE, Keyword, end_of, keywords
from helpers.device.description.model import (
    Description,
    DiagText,
    Layout,
    Module,
    Parameter,
    Slot,
    octets_of,
)

LONGEST_LINE = facts.one("description_limits", what="line").whole("value")
_MOST = {"flag": 1, "unsigned8": 0xFF, "unsigned16": 0xFFFF, "reference": 0xFFFF}
_KINDS = {"unsigned8": 8, "unsigned16": 16, "unsigned32": 32, "signed8": 8, "signed16": 16, "signed32": 32}
# Several parameters may lie at one offset, and constants in several lines.
_REPEATED = ("any", "octets", "reference")
_MOST_BITS = 16  # a BitArea lies in one octet, or in two


def built(found: Sorter, rows: list[str], file_name: str, encoding: str) -> Description:
    """The description that the sorted statements make."""
    make = _Build(found.problems)
    top = make.checked(found.top.statements)
    blocks: dict[str, list[Block]] = {}
    for block in found.top.blocks:
        blocks.setdefault(block.kind, []).append(block)
    description = Description(
        file_name,
        encoding,
        general={keyword.name.lower(): one for keyword, one in reversed(top) if not keyword.indexed},
        modules=tuple(make.module(block) for block in blocks.get("module", [])),
        parameters=make.by_number(make.parameter(block) for block in blocks.get("parameter", [])),
        texts={
            make.head(block): make.texts(make.checked(block.statements), block.opened)
            for block in reversed(blocks.get("texts", []))
        },
        slots=tuple(slot for block in blocks.get("slots", []) for slot in make.slots(block)),
        diagnosis=make.diagnosis(top, found.top.blocks),
        channel_texts={
            index: text for keyword, one in top if keyword.name == "Channel_Diag" for index, text in _indexed(one)
        },
        layout=make.layout(top, "Max_User_Prm_Data_Len"),
        unknown=tuple(found.unknown),
        long_lines=tuple(n for n, row in enumerate(rows, 1) if len(row) > LONGEST_LINE),
    )
    return Description(**{**vars(description), "problems": make.problems.by_line()})


class _Build:
    """Builds the parts; what is wrong goes to `problems`."""

    def __init__(self, problems: Problems) -> None:
        self.problems = problems

    def checked(self, statements: list[tuple[Keyword, Statement]]) -> list[tuple[Keyword, Statement]]:
        """The statements whose value is of the right kind or can be used in spite of it; the rest are problems."""
        seen = set()
        kept = []
        for keyword, one in statements:
            if (keyword.name, one.bracket) in seen and keyword.kind not in _REPEATED:
                self._problem(one, f"{keyword.name} a second time", "it once; the first one counts")
                continue
            seen.add((keyword.name, one.bracket))
            if (wanted := _wanted(keyword, one)) is None:
                kept.append((keyword, one))
                continue
            self._problem(one, _shown(one), wanted)
            if keyword.kind == "text" and len(one.values) == 1:
                # A text without quotes can mean only itself.
                value = one.values[0]
                text = value.name if isinstance(value, Word) else str(value)
                kept.append((keyword, one._replace(values=(text,))))
        return kept

    def _problem(self, one: Statement, found: str, expected: str) -> None:
        self.problems.add(Problem(one.line, one.keyword, found, expected))

    def head(self, block: Block) -> int:
        """The number behind the keyword that opens a block; -1, and a problem, if there is none."""
        number = next((value for value in block.opened.values if isinstance(value, int)), None)
        if number is None or number < 0:
            self._problem(block.opened, _shown(block.opened), "a number, 0 or more")
            return -1
        return number

    def module(self, block: Block) -> Module:
        name, *identifiers = block.opened.values or ("",)
        numbers = [value for value in identifiers if isinstance(value, int) and 0 <= value <= 0xFF]
        if not isinstance(name, str) or len(numbers) < len(identifiers) or not numbers:
            self._problem(block.opened, _shown(block.opened), "a name in quotes and its identifiers, 0 to 255 each")
        statements = self.checked(block.statements)
        own = {keyword.name: one for keyword, one in reversed(statements)}
        return Module(
            name if isinstance(name, str) else f"module of line {block.opened.line}",
            bytes(numbers),
            block.reference,
            self.layout(statements, "Ext_Module_Prm_Data_Len"),
            preset="Preset" in own and own["Preset"].values == (1,),
            info=str(own["Info_Text"].values[0]) if "Info_Text" in own else "",
            diagnosis=self.diagnosis(statements, block.blocks),
            line=block.opened.line,
        )

    def layout(self, statements: list[tuple[Keyword, Statement]], length: str) -> Layout:
        """Where parameter octets lie, from the statements of the device or of one module."""
        lengths = [one.values[0] for keyword, one in statements if keyword.name == length]
        constants, references = [], []
        for keyword, one in statements:
            if keyword.name == "Ext_User_Prm_Data_Const" and isinstance(one.bracket, int):
                constants.append((one.bracket, octets_of(one)))
            elif keyword.name == "Ext_User_Prm_Data_Ref" and isinstance(one.bracket, int):
                references.append((one.bracket, one.values[0]))
        return Layout(
            lengths[0] if lengths and isinstance(lengths[0], int) else None,
            tuple(constants),
            tuple((offset, number) for offset, number in references if isinstance(number, int)),
        )

    def by_number(self, parameters: Iterable[Parameter | None]) -> dict[int, Parameter]:
        found: dict[int, Parameter] = {}
        for parameter in parameters:
            if parameter and parameter.number in found:
                expected = f"a number of its own; {parameter.number} is {found[parameter.number].name!r}"
                self.problems.add(Problem(parameter.line, "ExtUserPrmData", str(parameter.number), expected))
            elif parameter:
                found[parameter.number] = parameter
        return found

    def parameter(self, block: Block) -> Parameter | None:
        statements = self.checked(block.statements)
        own = {keyword.name: one for keyword, one in statements}
        types = [(keyword, one) for keyword, one in statements if keyword.kind == "data type"]
        name = next((value for value in block.opened.values if isinstance(value, str)), "")
        if not name:
            self._problem(block.opened, _shown(block.opened), "a number and a name in quotes")
        if len(types) != 1:
            self._problem(block.opened, f"{len(types)} lines with a type", "one, for example Unsigned8 0 0-10")
        if not types:
            return None
        keyword, one = types[0]
        first_bit, bits = _bits(keyword, one)
        allowed = tuple(value for value in one.values[1:] if isinstance(value, (int, Span)))
        list_number = _only(own, "Prm_Text_Ref")
        return Parameter(
            self.head(block),
            name,
            keyword.name,
            bits,
            first_bit,
            keyword.name.startswith("Signed"),
            default=one.values[0] if isinstance(one.values[0], int) else 0,
            allowed=allowed,
            text_list=list_number,
            changeable=_only(own, "Changeable") != 0,
            visible=_only(own, "Visible") != 0,
            line=block.opened.line,
        )

    def texts(self, statements: list[tuple[Keyword, Statement]], opened: Statement) -> dict[int, str]:
        found = {index: text for _, one in statements for index, text in _indexed(one)}
        if not found:
            self._problem(opened, "a list without texts", 'lines such as Text(0) = "off"')
        return found

    def slots(self, block: Block) -> tuple[Slot, ...]:
        found = []
        for _, one in self.checked(block.statements):
            name, *rest = one.values
            default = rest[0] if isinstance(rest[0], int) else None
            allowed = tuple(value for value in rest[1:] or rest if isinstance(value, (int, Span)))
            assert isinstance(one.bracket, int)
            found.append(Slot(one.bracket, str(name), default, allowed))
        return tuple(found)

    def diagnosis(
        self, statements: list[tuple[Keyword, Statement]], blocks: list[Block], kind: int | None = None
    ) -> tuple[DiagText, ...]:
        """The texts of diagnosis bits, of numbers of several bits, and of the blocks of one kind."""
        found = []
        for keyword, one in statements:
            if "Unit_Diag" in keyword.name:
                found += [
                    DiagText(keyword.name, bit, bit, int("Not" not in keyword.name), text, kind)
                    for bit, text in _indexed(one)
                ]
        for block in blocks:
            if block.kind == "area":
                bits = block.opened.values[0] if len(block.opened.values) == 1 else None
                if not isinstance(bits, Span) or not 0 <= bits.low <= bits.high:
                    self._problem(block.opened, _shown(block.opened), "the first and the last bit, for example 16-23")
                    continue
                values = [pair for _, one in self.checked(block.statements) for pair in _indexed(one)]
                found += [DiagText(block.opened.keyword, bits.low, bits.high, *pair, kind) for pair in values]
            elif block.kind == "bits":
                found += self.diagnosis(self.checked(block.statements), block.blocks, self.head(block))
        return tuple(found)


def _wanted(keyword: Keyword, one: Statement) -> str | None:
    """What a statement should hold, None if it does."""
    values, kind = one.values, keyword.kind
    if keyword.indexed and not isinstance(one.bracket, int):
        return "a number in brackets behind the keyword"
    if keyword.indexed and isinstance(one.bracket, int) and one.bracket < 0:
        return "a number in brackets, 0 or more"
    if kind in _MOST:
        if len(values) == 1 and isinstance(values[0], int) and 0 <= values[0] <= _MOST[kind]:
            return None
        return "0 or 1" if kind == "flag" else f"a number from 0 to {_MOST[kind]}"
    if kind == "text":
        return None if len(values) == 1 and isinstance(values[0], str) else "a text in quotes"
    if kind == "octets":
        return None if len(octets_of(one)) == len(values) > 0 else "numbers from 0 to 255, with commas between"
    if kind == "family":
        return None if values and isinstance(values[0], int) else "a number, then words behind @ if wanted"
    if kind == "slot":
        fits = isinstance(one.bracket, int) and len(values) > 1 and isinstance(values[0], str)
        return None if fits else 'a number in brackets, = "name", the reference of the first module, those allowed'
    if kind == "data type":
        return _wanted_of_type(keyword, one)
    return None


def _wanted_of_type(keyword: Keyword, one: Statement) -> str | None:
    if keyword.name == "Bit" and not (isinstance(one.bracket, int) and 0 <= one.bracket < _MOST_BITS):
        return f"the bit in brackets, 0 to {_MOST_BITS - 1}"
    if keyword.name == "BitArea":
        bits = one.bracket
        if not (isinstance(bits, Span) and 0 <= bits.low <= bits.high < _MOST_BITS):
            return f"the first and the last bit in brackets, 0 to {_MOST_BITS - 1}, for example (0-3)"
    if not one.values or not isinstance(one.values[0], int):
        return "the default, then the values allowed"
    if not all(isinstance(value, (int, Span)) for value in one.values[1:]):
        return "numbers or one range such as 0-10 behind the default"
    return None


def _bits(keyword: Keyword, one: Statement) -> tuple[int, int]:
    """First bit and number of bits of a type."""
    if isinstance(one.bracket, Span):
        return one.bracket.low, one.bracket.high - one.bracket.low + 1
    if keyword.name == "Bit" and isinstance(one.bracket, int):
        return one.bracket, 1
    return 0, _KINDS[keyword.name.lower()]


def _only(own: dict[str, Statement], name: str) -> int | None:
    """The number of a statement whose kind was checked."""
    return next((value for value in own[name].values if isinstance(value, int)), None) if name in own else None


def _indexed(one: Statement) -> list[tuple[int, str]]:
    """Index and text of a statement such as `Text(1) = "on"`."""
    if isinstance(one.bracket, int) and one.values and isinstance(one.values[0], str):
        return [(one.bracket, one.values[0])]
    return []


def _shown(one: Statement) -> str:
    """The values of a statement as a file writes them, cut if long."""
    return shown(", ".join(_written(value) for value in one.values[:9])) if one.values else "no value"


def _written(value: Value) -> str:
    if isinstance(value, Span):
        return f"{value.low}-{value.high}"
    if isinstance(value, Word):
        return value.name
    return str(value)


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
