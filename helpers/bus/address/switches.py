"""Address switches on a station: DIP switches and rotary switches, read and set, and how they are misread.

Devices differ in the number of switches, in which of them counts 1, in what ON means and in how they are
numbered. The description of one device's switches is a `DipSwitches` or a `RotarySwitches`; the address is
what `.address(setting)` reads from it, the setting is what `.setting(address)` asks for. The device's own
manual says which description fits.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from helpers.bus.address.address import HIGHEST, LOWEST, RANGE_SOURCE
from helpers.errors import OutOfRange, Unreadable, WorkbookError, in_range, one_of

MOST_SWITCHES = 8
_WORDS = {"on": True, "off": False, "1": True, "0": False}


@dataclass(frozen=True)
class Misreading:
    """A wrong address, the slip that leads to it, and the sentence that corrects it."""

    address: int
    slip: str
    correction: str


def _seven() -> tuple[int, ...]:
    return tuple(2**place for place in range(7))


@dataclass(frozen=True)
class DipSwitches:
    """A row of up to eight slide switches, described as it lies before the eye, from left to right.

    `weights`: what each switch counts, 0 for the one that hands addressing to the bus; the others are 1, 2,
    4 and so on in any order. `on_is`: 1 if a switch at ON counts, 0 if one at OFF does. `numbers`: what is
    printed beside each switch; 1, 2, 3 … from the left if left out. Raises `OutOfRange` for a description
    that no device can have.

    >>> DipSwitches().setting(5)
    (True, False, True, False, False, False, False)
    >>> DipSwitches().address("ON OFF ON OFF OFF OFF OFF")
    5
    """

    weights: tuple[int, ...] = field(default_factory=_seven)
    on_is: int = 1
    numbers: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        in_range("number of switches", len(self.weights), 1, MOST_SWITCHES, source="common practice")
        one_of("what ON counts", self.on_is, (1, 0))
        counting = sorted(weight for weight in self.weights if weight)
        if counting != [2**place for place in range(len(counting))] or self.weights.count(0) > 1 or not counting:
            raise OutOfRange(
                f"switch weights are {', '.join(map(str, self.weights))}; allowed is 1, 2, 4 and so on, each once "
                "in any order, and at most one 0 for the switch that hands addressing to the bus."
            )
        if not self.numbers:
            object.__setattr__(self, "numbers", tuple(range(1, len(self.weights) + 1)))
        if len(self.numbers) != len(self.weights) or len(set(self.numbers)) != len(self.numbers):
            raise OutOfRange(
                f"switch numbers are {', '.join(map(str, self.numbers))}; allowed is one number for each of the "
                f"{len(self.weights)} switches, no number twice."
            )

    @property
    def most(self) -> int:
        """The highest address these switches can give."""
        return min(sum(self.weights), HIGHEST)

    def over_the_bus(self, setting: str | Sequence[bool]) -> bool:
        """True if the switch that hands addressing to the bus is ON, so that the others do not count."""
        return any(on for on, weight in zip(self._positions(setting), self.weights, strict=True) if weight == 0)

    def address(self, setting: str | Sequence[bool]) -> int | None:
        """The address that a setting gives, or None if it is set over the bus.

        Parameters: setting, True for ON from left to right, or a text such as `ON OFF ON` or `101`, in which
        1 is a switch at ON. Raises `Unreadable` for another text, `OutOfRange` for a wrong number of
        switches or a result above 127. An address of 126 or 127 can be set; `address.classify` says what it means.
        """
        positions = self._positions(setting)
        if self.over_the_bus(positions):
            return None
        return _checked(self._sum(positions), "the switches")

    def setting(self, address: int | None) -> tuple[bool, ...]:
        """How the switches must stand, True for ON from left to right; None asks for "set over the bus".

        Raises `OutOfRange` if these switches cannot give the address.
        """
        if address is None:
            if 0 not in self.weights:
                raise OutOfRange("type an address: none that hands addressing to the bus is among these switches.")
            # The others do not count; at OFF they cannot mislead the next reader.
            return tuple(weight == 0 for weight in self.weights)
        in_range("address", address, LOWEST, self.most, source=f"{len(self.weights)} switches; {RANGE_SOURCE}")
        return tuple(bool(address & weight) == bool(self.on_is) if weight else False for weight in self.weights)

    def table(self, setting: str | Sequence[bool]) -> tuple[tuple[int, str, int], ...]:
        """Printed number, ON or OFF, and what it adds to the address, for each switch from left to right.

        >>> DipSwitches(weights=(1, 2)).table("ON OFF")
        ((1, 'ON', 1), (2, 'OFF', 0))
        """
        positions = self._positions(setting)
        return tuple(
            (number, "ON" if on else "OFF", weight if on == bool(self.on_is) else 0)
            for number, on, weight in zip(self.numbers, positions, self.weights, strict=True)
        )

    def parts(self, setting: str | Sequence[bool]) -> tuple[int, ...]:
        """What each switch adds to the address, from left to right."""
        return tuple(adds for _, _, adds in self.table(setting))

    def _positions(self, setting: str | Sequence[bool]) -> tuple[bool, ...]:
        positions = read_positions(setting) if isinstance(setting, str) else tuple(setting)
        if len(positions) != len(self.weights):
            raise OutOfRange(
                f"the setting has {len(positions)} switches; allowed is {len(self.weights)}, as described."
            )
        return positions

    def _sum(self, positions: Sequence[bool]) -> int:
        counting = bool(self.on_is)
        return sum(weight for on, weight in zip(positions, self.weights, strict=True) if on == counting)


@dataclass(frozen=True)
class RotarySwitches:
    """Two or three rotary switches, from left to right; base 16 (0 to F) or 10 (0 to 9).

    `high_first` is True if the left one counts most. Raises `OutOfRange` or `Unknown` for a description that
    no device can have.

    >>> RotarySwitches().setting(126), RotarySwitches(base=10, digits=3).setting(26)
    ('7E', '026')
    >>> RotarySwitches().address("1F")
    31
    """

    base: int = 16
    digits: int = 2
    high_first: bool = True

    def __post_init__(self) -> None:
        one_of("base of the rotary switches", self.base, (16, 10))
        in_range("number of rotary switches", self.digits, 2, 3 if self.base == 10 else 2)

    @property
    def most(self) -> int:
        """The highest address these switches can give."""
        return min(int(self.base**self.digits) - 1, HIGHEST)

    def address(self, setting: str) -> int:
        """The address that the switches give, written as they stand from left to right, such as `7E`.

        Raises `Unreadable` for a sign the switches do not have, `OutOfRange` for a wrong number of
        switches or a result above 127.
        """
        return _checked(self._value(setting, self.base, self.high_first), "the rotary switches")

    def setting(self, address: int) -> str:
        """How the switches must stand, from left to right. Raises `OutOfRange` if they cannot give the address."""
        source = f"{self.digits} switches, base {self.base}; {RANGE_SOURCE}"
        in_range("address", address, LOWEST, self.most, source=source)
        text = f"{address:0{self.digits}{'X' if self.base == 16 else 'd'}}"
        return text if self.high_first else text[::-1]

    @property
    def places(self) -> tuple[str, ...]:
        """Where each switch is, from left to right."""
        return ("left", "right") if self.digits == 2 else ("left", "middle", "right")

    @property
    def worth(self) -> tuple[int, ...]:
        """What one step of each switch counts, from left to right."""
        rising = tuple(self.base**power for power in range(self.digits))
        return rising[::-1] if self.high_first else rising

    def parts(self, setting: str) -> tuple[int, ...]:
        """What each switch adds to the address, from left to right.

        >>> RotarySwitches().parts("7E")
        (112, 14)
        """
        return tuple(int(sign, 16) * worth for sign, worth in zip(setting.strip().upper(), self.worth, strict=True))

    def _value(self, setting: str, base: int, high_first: bool) -> int:
        """The number that the signs make in a base; a sign above 9 keeps its value in base 10, as a reader adds it."""
        signs = setting.strip().upper()
        known = "0123456789ABCDEF"[: self.base]
        if not signs or not set(signs) <= set(known):
            raise Unreadable(f"{setting!r} is not a setting of these rotary switches; each stands at one of {known}.")
        if len(signs) != self.digits:
            raise OutOfRange(f"the setting has {len(signs)} rotary switches; allowed is {self.digits}, as described.")
        value = 0
        for sign in signs if high_first else reversed(signs):
            value = value * base + int(sign, 16)
        return value


Switches = DipSwitches | RotarySwitches

# The kinds of switches met most often: name, number of switches, base (2 for DIP), one switch for "over the bus".
KINDS = {
    "7 DIP switches": (7, 2, False),
    "8 DIP switches, 1 for the bus": (8, 2, True),
    "2 rotary switches, 0 to F": (2, 16, False),
    "2 rotary switches, 0 to 9": (2, 10, False),
    "3 rotary switches, 0 to 9": (3, 10, False),
}
ORDERS = ("as usual", "turned round")
COUNTS = ("ON", "OFF")
NUMBERS = ("1 2 3 … from the left", "1 2 3 … from the right", "0 1 2 … from the left")


def described(kind: str, *, order: str = ORDERS[0], counts: str = "ON", numbers: str = NUMBERS[0]) -> Switches:
    """The switches of a device, as its manual describes them.

    Parameters: kind, one of `KINDS`; order, one of `ORDERS`: as usual DIP switches count 1, 2, 4 … from the
    left and the left rotary switch counts most; counts, the position in which a DIP switch counts, one of
    `COUNTS`; numbers, what is printed beside DIP switches, one of `NUMBERS`. Raises `Unknown` for anything else.

    >>> described("2 rotary switches, 0 to F", order="turned round").setting(26)
    'A1'
    """
    for name, value, known in (("kind of switches", kind, KINDS), ("order of the switches", order, ORDERS),
                               ("position that counts", counts, COUNTS), ("numbering", numbers, NUMBERS)):  # fmt: skip
        one_of(name, value, known)
    count, base, bus_switch = KINDS[kind]
    if base != 2:
        return RotarySwitches(base, count, high_first=order == ORDERS[0])
    weights = [2**place for place in range(count - bus_switch)] + [0] * bus_switch
    printed = list(range(1, count + 1))
    if numbers == NUMBERS[2]:
        printed = list(range(count))
    elif numbers == NUMBERS[1]:
        printed.reverse()
    return DipSwitches(
        tuple(weights if order == ORDERS[0] else reversed(weights)), on_is=int(counts == "ON"), numbers=tuple(printed)
    )


def setting_text(switches: Switches, address: int | None) -> str:
    """How the switches must stand, as text from left to right; None asks for "set over the bus".

    >>> setting_text(DipSwitches(), 5)
    'ON OFF ON OFF OFF OFF OFF'
    """
    if isinstance(switches, RotarySwitches):
        return switches.setting(_number(address))
    return " ".join("ON" if on else "OFF" for on in switches.setting(address))


def _number(address: int | None) -> int:
    if address is None:
        raise WorkbookError("rotary switches have no position that hands addressing to the bus; give an address.")
    return address


def read_positions(text: str) -> tuple[bool, ...]:
    """Switch positions from a text, from left to right: `ON OFF ON`, `on,off,on` or `101` (1 is ON).

    Raises `Unreadable` for anything else.

    >>> read_positions("on, off") == read_positions("10")
    True
    """
    words = re.findall(r"[^\s,;|/]+", text.lower())
    if len(words) == 1 and words[0] not in ("on", "off"):
        words = list(words[0])
    if not words or not set(words) <= set(_WORDS):
        raise Unreadable(f"{text!r} is not a switch setting; write for example ON OFF ON, or 101 with 1 for ON.")
    return tuple(_WORDS[word] for word in words)


def order_reversed(switches: DipSwitches, setting: str | Sequence[bool]) -> int:
    """The number read by someone who starts counting 1, 2, 4 … at the wrong end.

    >>> order_reversed(DipSwitches(), "ON OFF OFF OFF OFF OFF OFF")
    64
    """
    counting = [weight for weight in switches.weights if weight]
    turned = iter(reversed(counting))
    weights = tuple(next(turned) if weight else 0 for weight in switches.weights)
    return _dip_sum(DipSwitches(weights, switches.on_is, switches.numbers), setting)


def on_taken_for_off(switches: DipSwitches, setting: str | Sequence[bool]) -> int:
    """The number read by someone who adds up the switches that do not count.

    >>> on_taken_for_off(DipSwitches(), "ON ON OFF OFF OFF OFF OFF")
    124
    """
    return _dip_sum(DipSwitches(switches.weights, 1 - switches.on_is, switches.numbers), setting)


def numbers_added(switches: DipSwitches, setting: str | Sequence[bool]) -> int:
    """The number read by someone who adds the printed numbers instead of what the switches count.

    >>> numbers_added(DipSwitches(), "ON OFF ON OFF OFF OFF OFF")
    4
    """
    positions = switches._positions(setting)
    counting = [
        number
        for on, weight, number in zip(positions, switches.weights, switches.numbers, strict=True)
        if weight and on == bool(switches.on_is)
    ]
    return sum(counting)


def one_place_shifted(switches: DipSwitches, setting: str | Sequence[bool]) -> int:
    """The number read by someone who gives the first switch the value 2.

    >>> one_place_shifted(DipSwitches(), "ON OFF ON OFF OFF OFF OFF")
    10
    """
    return 2 * _dip_sum(switches, setting)


def hex_read_as_decimal(switches: RotarySwitches, setting: str) -> int:
    """The number read by someone who takes hexadecimal switches for decimal ones: 1 and 2 as twelve.

    >>> hex_read_as_decimal(RotarySwitches(), "12")
    12
    """
    return switches._value(setting, 10, switches.high_first)


def decimal_read_as_hex(switches: RotarySwitches, setting: str) -> int:
    """The number read by someone who takes decimal switches for hexadecimal ones: 1 and 2 as eighteen.

    >>> decimal_read_as_hex(RotarySwitches(base=10), "12")
    18
    """
    return switches._value(setting, 16, switches.high_first)


def digits_exchanged(switches: RotarySwitches, setting: str) -> int:
    """The number read by someone who takes the wrong rotary switch for the high one.

    >>> digits_exchanged(RotarySwitches(base=10), "12")
    21
    """
    return switches._value(setting, switches.base, not switches.high_first)


def misreadings(switches: Switches, setting: str) -> tuple[Misreading, ...]:
    """The wrong addresses that people read from a setting, each once, without those that are right by chance.

    Empty for a setting that hands addressing to the bus. Raises as `.address` does.

    >>> [(m.address, m.slip) for m in misreadings(RotarySwitches(), "12")]
    [(12, 'hexadecimal read as decimal'), (33, 'digits exchanged')]
    """
    right = switches.address(setting)
    if right is None:
        return ()
    found: list[Misreading] = []
    for wrong in _slips(switches, setting):
        if wrong.address not in (right, *(other.address for other in found)):
            found.append(wrong)
    return tuple(found)


def _slips(switches: Switches, setting: str) -> tuple[Misreading, ...]:
    if isinstance(switches, RotarySwitches):
        exchanged = Misreading(
            digits_exchanged(switches, setting),
            "digits exchanged",
            f"The {'left' if switches.high_first else 'right'} switch counts most on this device.",
        )
        if switches.base == 16:
            wrong = hex_read_as_decimal(switches, setting)
            sentence = "These switches go from 0 to F: the high one counts 16 for each step, not 10."
            return Misreading(wrong, "hexadecimal read as decimal", sentence), exchanged
        wrong = decimal_read_as_hex(switches, setting)
        sentence = "These switches go from 0 to 9: each step of the next one counts 10, not 16."
        return Misreading(wrong, "decimal read as hexadecimal", sentence), exchanged
    lowest = switches.numbers[switches.weights.index(1)]
    counts = "ON" if switches.on_is else "OFF"
    return (
        Misreading(
            order_reversed(switches, setting),
            "order reversed",
            f"Switch {lowest} counts 1 on this device. Start there.",
        ),
        Misreading(
            on_taken_for_off(switches, setting),
            "ON and OFF exchanged",
            f"On this device a switch counts when it is {counts}.",
        ),
        Misreading(
            numbers_added(switches, setting),
            "switch numbers added",
            "The printed number only names the switch. What it counts doubles from one switch to the next.",
        ),
        Misreading(
            one_place_shifted(switches, setting),
            "one place too high",
            f"Switch {lowest} counts 1, not 2.",
        ),
    )


def _dip_sum(switches: DipSwitches, setting: str | Sequence[bool]) -> int:
    """What the counting switches add up to, whatever the bus switch says."""
    return switches._sum(switches._positions(setting))


def _checked(value: int, what: str) -> int:
    """The value, refused with a sentence if it is no address at all."""
    in_range(f"the address set on {what}", value, LOWEST, HIGHEST, source=RANGE_SOURCE)
    return value
