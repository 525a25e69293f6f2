"""Byte order: a value as octets on the bus, and what a controller of another order makes of them.

PROFIBUS DP carries octets and does not look into them. The drive profile sends the high byte of a word first, and
the high word of a double word first. A controller that keeps the low byte at the lower address, and copies the
octets as they come, reads another value: the swapped one. Types are those of IEC 61131-3 (`data/iec_types.csv`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from helpers import facts, written
from helpers.answer import Answer, Row
from helpers.errors import OutOfRange, Unreadable, in_range, one_of
from helpers.safe_work import cautions
from helpers.wording import capital_first, octets_text

BITS_PER_BYTE = 8
ON_THE_BUS = "high byte first"


@dataclass(frozen=True)
class IecType:
    """An elementary type: how many bits, and how they are read (`bits`, `unsigned` or `signed`)."""

    name: str
    bits: int
    reading: str
    cited: str

    @property
    def length_bytes(self) -> int:
        """Length in bytes."""
        return self.bits // BITS_PER_BYTE

    @property
    def low(self) -> int:
        """The lowest number that it holds."""
        return -(1 << (self.bits - 1)) if self.reading == "signed" else 0

    @property
    def high(self) -> int:
        """The highest number that it holds."""
        return (1 << (self.bits - (self.reading == "signed"))) - 1

    def shown(self, value: int) -> str:
        """A value as a table of a controller shows it.

        >>> iec_type("WORD").shown(0x47F), iec_type("INT").shown(-1)
        ('16#047F', '-1')
        """
        return f"16#{value:0{self.bits // 4}X}" if self.reading == "bits" else str(value)


@cache
def iec_types(bits: int | None = None) -> tuple[IecType, ...]:
    """The types, all or those of one width.

    >>> [(one.name, one.low, one.high) for one in iec_types(16)]
    [('WORD', 0, 65535), ('UINT', 0, 65535), ('INT', -32768, 32767)]
    """
    known = tuple(IecType(r["type"], r.whole("bits"), r["reading"], r.cited) for r in facts.rows("iec_types"))
    return tuple(one for one in known if bits in (None, one.bits))


def iec_type(name: str) -> IecType:
    """The type of this name; `Unknown` with the list otherwise."""
    one_of("type", name, [one.name for one in iec_types()])
    return next(one for one in iec_types() if one.name == name)


def orders() -> tuple[str, ...]:
    """The names of the byte orders, that of the bus first (`data/byte_orders.csv`)."""
    return tuple(row["order"] for row in facts.rows("byte_orders"))


def arrange(octets: bytes, order: str) -> bytes:
    """Octets put into another order; doing it twice gives the first octets back.

    Parameters: octets, 1, 2 or 4 of them, as on the bus; order, one of `orders()`.
    Errors: `Unknown` for an order, `OutOfRange` for another number of octets.
    Source: data/byte_orders.csv; the bus: Eaton manual MN040010EN p.95.

    >>> arrange(bytes.fromhex("047F"), "low byte first").hex(" ")
    '7f 04'
    >>> [arrange(bytes.fromhex("11223344"), order).hex() for order in orders()]
    ['11223344', '44332211', '22114433', '33441122']
    """
    one_of("byte order", order, orders())
    widths = sorted({one.length_bytes for one in iec_types()})
    if len(octets) not in widths:
        raise OutOfRange(f"number of octets is {len(octets)}; allowed are {_list(widths)} (data/iec_types.csv).")
    row = facts.one("byte_orders", order=order)
    words = [octets[n : n + 2] for n in range(0, len(octets), 2)]
    if row["bytes_exchanged"] == "yes":
        words = [word[::-1] for word in words]
    if row["words_exchanged"] == "yes":
        words = words[::-1]
    return b"".join(words)


def to_bus(value: int, type_name: str) -> bytes:
    """The octets of a value on the bus, in the order in which they travel. Negative numbers: two's complement.

    Errors: `Unknown` for a type; `OutOfRange` for a value that it does not hold.

    >>> to_bus(0x47F, "WORD").hex(" "), to_bus(-1, "DINT").hex(" ")
    ('04 7f', 'ff ff ff ff')
    """
    one = iec_type(type_name)
    in_range(f"value of type {one.name}", value, one.low, one.high, source=one.cited)
    return int(value).to_bytes(one.length_bytes, "big", signed=one.reading == "signed")


def read_as(octets: bytes, type_name: str, order: str = ON_THE_BUS) -> int:
    """The value that a controller of some byte order reads out of octets that came from the bus.

    Errors: `Unknown` for a type or an order; `OutOfRange` if the number of octets is not that of the type.

    >>> read_as(bytes.fromhex("C000"), "INT"), read_as(bytes.fromhex("C000"), "UINT")
    (-16384, 49152)
    >>> read_as(bytes.fromhex("4000"), "INT", "low byte first")
    64
    """
    one = iec_type(type_name)
    if len(octets) != one.length_bytes:
        raise OutOfRange(
            f"number of octets is {len(octets)}; allowed is {one.length_bytes} for {one.name} ({one.cited})."
        )
    return int.from_bytes(arrange(octets, order), "big", signed=one.reading == "signed")


def value_typed(text: str, type_name: str) -> int:
    """The value that a person typed for a type: a number, or its bits in hexadecimal for a signed type too.

    Errors: `Unreadable` for what is no whole number, `OutOfRange` for what does not fit.

    >>> value_typed("-16384", "INT"), value_typed("16#C000", "INT"), value_typed("16#047F", "WORD")
    (-16384, -16384, 1151)
    """
    one = iec_type(type_name)
    if len(text) > 100:
        raise Unreadable(f"a text of {len(text)} characters is not a whole number; write for example 126 or 16#7E.")
    value = written.whole(text)
    marked = not text.strip().lstrip("+-").isdigit()
    if marked and one.reading == "signed" and one.high < value < 1 << one.bits:
        return value - (1 << one.bits)
    in_range(f"value of type {one.name}", value, one.low, one.high, source=one.cited)
    return value


@dataclass(frozen=True)
class TypeReading:
    """One way to read octets: by a controller of this order, shown as this type."""

    order: str
    octets: bytes
    type: str
    value: int
    shown: str


def readings(octets: bytes) -> tuple[TypeReading, ...]:
    """All ways to read 1, 2 or 4 octets from the bus: each order (once, where two come to the same) in each type.

    >>> [(one.order, one.type, one.shown) for one in readings(bytes.fromhex("FFF6"))][2:4]
    [('high byte first', 'INT', '-10'), ('low byte first', 'WORD', '16#F6FF')]
    """
    different = {arrange(octets, order): order for order in reversed(orders())}  # of two equal ones the first counts
    return tuple(
        TypeReading(order, arranged, one.name, value, one.shown(value))
        for arranged, order in sorted(different.items(), key=lambda item: orders().index(item[1]))
        for one in iec_types(BITS_PER_BYTE * len(octets))
        for value in [read_as(octets, one.name, order)]
    )


def _list(numbers: list[int]) -> str:
    return ", ".join(str(one) for one in numbers)


@dataclass(frozen=True)
class OrderPicture:
    """The octets on the bus above those in a controller of this order."""

    sent: bytes
    kept: bytes
    order: str

    @property
    def says(self) -> str:
        """Both rows of octets."""
        return f"On the bus {octets_text(self.sent)}; in a controller with {self.order} {octets_text(self.kept)}."


def byte_order_answer(kind: str, value: str, order: str) -> Answer:
    """A value on the bus, in the controller's memory, and what the controller reads there."""
    type_ = iec_type(kind)
    number = value_typed(value, kind)
    sent = to_bus(number, kind)
    kept = arrange(sent, order)
    got = read_as(sent, kind, order)
    same = got == number
    row = facts.one("byte_orders", order=order)
    what = "words" if order == "words exchanged" else "bytes"
    mend = (
        f"Exchange the {what} in the controller's program, once, at one place; or use the setting that its manual has."
    )
    return Answer(
        f"{type_.shown(number)} travels as {octets_text(sent)}. "
        f"This controller reads {type_.shown(got)}{', the same' if same else ' instead'}.",
        because=f"{capital_first(order)}: {row['says']} ({row.cited})." + ("" if same else f" {mend}"),
        caution=() if same else cautions("byte order"),
        pictures=[OrderPicture(sent, kept, order)],
        rows=[_as_types(name, octets) for name, octets in (("on the bus", sent), ("in this controller", kept))],
        folded=[("Every order and every type", [_reading_row(reading) for reading in readings(sent)])],
        sources=[*(f"{r['order']}: {r.cited}" for r in facts.rows("byte_orders")), f"types: {type_.cited}"],
    )


def _as_types(name: str, octets: bytes) -> Row:
    shown: dict[str, object] = {"octets": f"{name}: {octets_text(octets)}"}
    for one in iec_types(BITS_PER_BYTE * len(octets)):
        shown[f"as {one.name}"] = one.shown(read_as(octets, one.name))
    return shown


def _reading_row(reading: TypeReading) -> Row:
    return {"order": reading.order, "octets": octets_text(reading.octets), "type": reading.type, "shown": reading.shown}
