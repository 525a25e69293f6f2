"""What a device description says: the device, its modules, parameters, slots and the texts of its diagnosis."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from helpers.device.description.grammar import Problem, Span, Statement
from helpers.device.description.keywords import bit_rate_keywords, keywords
from helpers.errors import Unknown
from helpers.wording import short


@dataclass(frozen=True)
class Layout:
    """The parameter octets of the device or of one module.

    `length` in octets, None if not given; `constants` are (offset, octets) as they are before values are put in;
    `references` are (offset, number of a parameter).
    """

    length: int | None = None
    constants: tuple[tuple[int, bytes], ...] = ()
    references: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class DiagText:
    """A text for some bits of the device's own diagnosis.

    The bits are counted from 0 at the first octet behind the header of the block (from memory). `value` is what
    has to stand in bits `first_bit` to `last_bit` for the text to hold. `block` is the kind of block, None for any.
    """

    keyword: str
    first_bit: int
    last_bit: int
    value: int
    text: str
    block: int | None = None


@dataclass(frozen=True)
class Module:
    """A module that can be chosen: its name, its configuration identifiers, its parameter octets."""

    name: str
    identifiers: bytes
    reference: int | None = None
    layout: Layout = Layout()
    preset: bool = False
    info: str = ""
    diagnosis: tuple[DiagText, ...] = ()
    line: int = 0


@dataclass(frozen=True)
class Parameter:
    """A parameter that the user sets, by name; where it lies in the octets says a `Layout`.

    `first_bit` and `bits` are its place in its octets, counted from the lowest bit. `allowed` are single values and
    ranges, empty if all that fit are.
    """

    number: int
    name: str
    kind: str
    bits: int
    first_bit: int = 0
    signed: bool = False
    default: int = 0
    allowed: tuple[int | Span, ...] = ()
    text_list: int | None = None
    changeable: bool = True
    visible: bool = True
    line: int = 0

    @property
    def octets(self) -> int:
        """Octets that it lies in; a bit or some bits lie in one, or in two."""
        return -(-(self.first_bit + self.bits) // 8)

    def allows(self, value: int) -> bool:
        """True if the value fits its bits and is one of those allowed."""
        low = -(1 << (self.bits - 1)) if self.signed else 0
        fits = low <= value < low + (1 << self.bits)
        return fits and (not self.allowed or any(_within(value, one) for one in self.allowed))

    @property
    def range_text(self) -> str:
        """The values allowed, for a person: `0 to 10` or `1, 2, 4`."""
        if not self.allowed:
            return f"what fits {self.bits} bits" if self.bits > 1 else "0 or 1"
        return ", ".join(str(one) if isinstance(one, int) else f"{one.low} to {one.high}" for one in self.allowed)


def _within(value: int, allowed: int | Span) -> bool:
    return value == allowed if isinstance(allowed, int) else allowed.low <= value <= allowed.high


@dataclass(frozen=True)
class Slot:
    """A place for modules: the reference number of the one in it from the start, and of those that it takes."""

    number: int
    name: str
    default: int | None
    allowed: tuple[int | Span, ...]

    def takes(self, reference: int) -> bool:
        """True if the module of this reference number may stand here."""
        return reference == self.default or any(_within(reference, one) for one in self.allowed)


@dataclass(frozen=True)
class Description:
    """A device description as read. `problems` are the places that could not be read as they should."""

    file_name: str = ""
    encoding: str = ""
    general: Mapping[str, Statement] = field(default_factory=dict)
    modules: tuple[Module, ...] = ()
    parameters: Mapping[int, Parameter] = field(default_factory=dict)
    texts: Mapping[int, Mapping[int, str]] = field(default_factory=dict)
    slots: tuple[Slot, ...] = ()
    diagnosis: tuple[DiagText, ...] = ()
    channel_texts: Mapping[int, str] = field(default_factory=dict)
    layout: Layout = Layout()
    unknown: tuple[Statement, ...] = ()
    long_lines: tuple[int, ...] = ()
    problems: tuple[Problem, ...] = ()

    def has(self, keyword: str) -> bool:
        """True if the file gives the keyword a value."""
        return keyword.lower() in self.general

    def number(self, keyword: str) -> int | None:
        """The first number behind a keyword; if absent, what absence means, or None if that is not said."""
        if found := self.general.get(keyword.lower()):
            return next((value for value in found.values if isinstance(value, int)), None)
        known = keywords().get(keyword.lower())
        return known.fact.whole("if_absent") if known and known.fact.has("if_absent") else None

    def text(self, keyword: str) -> str:
        """The text behind a keyword, empty if there is none."""
        found = self.general.get(keyword.lower())
        return next((value for value in found.values if isinstance(value, str)), "") if found else ""

    def octets(self, keyword: str) -> bytes:
        """The octets behind a keyword, none if it is absent; what is no octet is left out."""
        found = self.general.get(keyword.lower())
        return octets_of(found) if found else b""

    @property
    def ident(self) -> int | None:
        """The ident number, None if the file gives none."""
        return self.number("Ident_Number")

    @property
    def bit_rates(self) -> tuple[float, ...]:
        """The bit rates [bit/s] that the station can do, the slowest first; none if the file gives none."""
        return tuple(rate for rate, one in bit_rate_keywords("supp") if self.number(one.name) == 1)

    @property
    def modular(self) -> bool:
        """True if modules can be put together; else the device has one fixed set of identifiers."""
        return self.number("Modular_Station") == 1

    def module(self, name: str | int) -> Module:
        """A module by its name or by its reference number; `Unknown` if there is none, with those there are."""
        for module in self.modules:
            if name in (module.name, module.reference):
                return module
        names = ", ".join(module.name for module in self.modules[:20]) or "none"
        raise Unknown(f"{self.file_name or 'the description'} has no module {str(name)[:60]!r}; it has: {names}.")

    def text_of(self, parameter: Parameter, value: int) -> str:
        """A parameter's value with its text, if there is one for it."""
        words = self.texts.get(parameter.text_list, {}).get(value) if parameter.text_list is not None else None
        return f"{value} ({words})" if words else str(value)


def octets_of(statement: Statement) -> bytes:
    """Those values of a statement that are octets."""
    return bytes(value for value in statement.values if isinstance(value, int) and 0 <= value <= 255)


def named(description: Description) -> str:
    """Device and issue, for a sentence."""
    device = short(description.text("Model_Name")) or short(description.file_name) or "a device without a name"
    issue = short(description.text("Revision"))
    return f"{device}, issue {issue}" if issue else device


def ident_text(description: Description) -> str:
    """The ident number as people write it."""
    return "none" if description.ident is None else f"16#{description.ident:04X}"
