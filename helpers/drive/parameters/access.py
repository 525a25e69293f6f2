"""Parameters over the bus: the numbers of the profile, the limits of a request, and the refusals.

The cyclic parameter channel and the acyclic request have these in common.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.errors import OutOfRange, Unknown, in_range

# Written with 1, it makes the drive keep its parameters through power off.
STORE = facts.one("profile_parameters", name="store in the memory that survives power off").whole("number")


@dataclass(frozen=True)
class ProfileParameter:
    """A parameter that the profile names; `type` is empty where no source prints it."""

    number: int
    name: str
    type: str
    remark: str
    makers: str
    source: str
    standing: str


@dataclass(frozen=True)
class Refusal:
    """What an error number means and what to do about it.

    `with_subindex`: a second word of an acyclic answer names the subindex concerned.
    """

    number: int
    meaning: str
    with_subindex: bool
    to_do: str
    source: str
    standing: str

    @property
    def sentence(self) -> str:
        """Number, meaning and what to do, for a person."""
        return f"Error {self.number}: {self.meaning}. {self.to_do}"


@cache
def profile_parameters() -> tuple[ProfileParameter, ...]:
    """The parameters of the profile, ascending.

    >>> [p.name for p in profile_parameters() if p.number == 918]
    ['station address']
    """
    return tuple(
        ProfileParameter(
            row.whole("number"), row["name"], row["type"], row["remark"], row["makers"], row.source, row.standing
        )
        for row in facts.rows("profile_parameters")
    )


def profile_parameter(number: int) -> ProfileParameter | None:
    """The profile's parameter of this number, or None: then it is a number of the maker's own."""
    return next((known for known in profile_parameters() if known.number == number), None)


@cache
def refusal(number: int, *, acyclic: bool = False) -> Refusal:
    """What an error number means, in the cyclic channel or in an acyclic response; any number has an answer.

    The two have tables of their own, which agree in most rows. A refused acyclic *service* has a third one:
    `acyclic_service.service_error`.

    >>> refusal(1).meaning
    'the value cannot be changed (read only)'
    >>> refusal(150).sentence[:32]
    'Error 150: specific to the maker'
    """
    if acyclic and not _widest("error number, acyclic")[0] <= number <= highest("error number, acyclic"):
        last = highest("error number, acyclic")
        unknown = f"no such number: those of an acyclic response end at {last}"
        return Refusal(number, unknown, False, "Look at the octets again.", "", "memory")
    table = facts.rows("parameter_errors")
    first_of_maker = table[-1]  # holds for its own number and all above
    if number >= first_of_maker.whole("number"):
        row = first_of_maker
    else:
        channels = ("both", "acyclic" if acyclic else "cyclic")
        found = [row for row in table if row.whole("number") == number and row["channel"] in channels]
        if not found:
            return Refusal(number, "reserved", False, "Look it up in the drive's manual.", "", "memory")
        row = found[0]
    return Refusal(number, row["meaning"], row["with_subindex"] == "yes", row["to_do"], row.source, row.standing)


@cache
def _limits(item: str) -> tuple[facts.Fact, ...]:
    """What the sources say of an item, the widest range first."""
    given = facts.where("parameter_limits", item=item)
    if not given:
        raise Unknown(f"no limit is known for {item!r}.")
    return tuple(sorted(given, key=lambda row: row.whole("low") - row.whole("high")))


@cache
def _widest(item: str) -> tuple[int, int, str]:
    row = _limits(item)[0]
    return row.whole("low"), row.whole("high"), row.source


def check(item: str, value: int) -> None:
    """Raise `OutOfRange` if every source forbids the value. Items are those of `data/parameter_limits.csv`.

    >>> check("axis", 255)
    Traceback (most recent call last):
        ...
    helpers.errors.OutOfRange: axis is 255; allowed is 0 to 254 (Eaton manual MN040010EN p.94).
    """
    low, high, source = _widest(item)
    in_range(item, value, low, high, source=source)


def highest(item: str) -> int:
    """The highest value that any source allows.

    >>> highest("octets per request or response")
    240
    """
    return _widest(item)[1]


def cautious(item: str, value: int) -> bool:
    """True if every source allows the value, so that any drive should take it.

    >>> cautious("parameters per request", 37), cautious("parameters per request", 39)
    (True, False)
    """
    check(item, value)
    return all(row.whole("low") <= value <= row.whole("high") for row in _limits(item))


def value_of(number: int, bits: int) -> int:
    """A value as it stands on the bus: a negative one becomes its two's complement.

    >>> f"{value_of(-2, 16):04X}"
    'FFFE'
    """
    low, high = -(1 << (bits - 1)), (1 << bits) - 1
    if not low <= number <= high:
        raise OutOfRange(f"value is {number}; {bits} bits carry {low} to {high}.")
    return number & high
