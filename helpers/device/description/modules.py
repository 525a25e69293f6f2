"""From a description and chosen modules to what the controller sends: identifiers, parameter octets, sizes, addresses.

The identifiers are those of the modules, one behind the other. The parameter octets behind the seventh of Set_Prm are
those of the device, then those of each module in its order (from memory). Direction is as the controller sees it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from helpers import facts
from helpers.device.description.model import Description, Layout, Module, Parameter
from helpers.device.identifiers import Configuration, decode
from helpers.device.io_image import address
from helpers.errors import OutOfRange, Unknown

DEVICE = 0  # the place of the device itself; modules begin with 1
_STANDARD_OCTETS, _MOST_OCTETS = (
    facts.one("service_limits", service="Set_Prm", what="octets").whole(column) for column in ("least", "most")
)


@dataclass(frozen=True)
class Setting:
    """A parameter at its place: `place` 0 is the device, 1 the first module; `offset` counts within its octets."""

    place: int
    offset: int
    parameter: Parameter
    value: int
    text: str

    @property
    def name(self) -> str:
        """The name of the parameter."""
        return self.parameter.name

    @property
    def allowed(self) -> str:
        """The values that the parameter can have, for a person."""
        return self.parameter.range_text


@dataclass(frozen=True)
class ImageArea:
    """The bytes of one direction of one identifier, counted from the first byte of the station."""

    place: int
    module: str
    direction: str
    first_byte: int
    last_byte: int
    consistency: str

    @property
    def address(self) -> str:
        """The bytes as IEC 61131-3 addresses, byte-numbered, for a station that begins at byte 0."""
        way = "out" if self.direction == "output" else "in"
        first, last = (address(way, byte, 1) for byte in (self.first_byte, self.last_byte))
        return first if first == last else f"{first} to {last}"


@dataclass(frozen=True)
class Setup:
    """A station put together: its modules, the identifiers, the settings, the octets behind the seventh of Set_Prm.

    `complaints` are sentences on what the description does not allow; empty if all of it is allowed. `parts` are the
    parameter octets place by place, those of the device first.
    """

    description: Description
    modules: tuple[Module, ...]
    identifiers: bytes
    settings: tuple[Setting, ...]
    user_parameters: bytes
    complaints: tuple[str, ...]
    parts: tuple[bytes, ...] = ()

    @cached_property
    def configuration(self) -> Configuration:
        """The identifiers decoded."""
        return decode(self.identifiers)

    @property
    def bytes_in(self) -> int:
        """Bytes from the station to the controller."""
        return self.configuration.bytes_in

    @property
    def bytes_out(self) -> int:
        """Bytes from the controller to the station."""
        return self.configuration.bytes_out

    @property
    def set_prm_octets(self) -> int:
        """Octets of the whole Set_Prm service."""
        return _STANDARD_OCTETS + len(self.user_parameters)

    @property
    def image(self) -> tuple[ImageArea, ...]:
        """The input and output bytes, module by module, each direction counted from 0.

        >>> from helpers.device.description.grammar import Statement
        >>> module = Module("PPO 1", bytes.fromhex("F3 F1"))
        >>> [area.address for area in configure(Description(modules=(module,)), ["PPO 1"]).image]
        ['%QB0 to %QB7', '%IB0 to %IB7', '%QB8 to %QB11', '%IB8 to %IB11']
        """
        begin = {"output": 0, "input": 0}
        areas = []
        for place, module in enumerate(self.modules, 1):
            for one in decode(module.identifiers).identifiers:
                for direction, area in (("output", one.output), ("input", one.input)):
                    if area:
                        end = begin[direction] + area.length_bytes
                        areas.append(ImageArea(place, module.name, direction, begin[direction], end - 1, area.text))
                        begin[direction] = end
        return tuple(areas)


def configure(
    description: Description,
    chosen: Iterable[str | int] = (),
    values: Mapping[tuple[int, str | int], int | str] | None = None,
) -> Setup:
    r"""Put a station together.

    Parameters: chosen, the modules by name or reference number in the order of their places; none for a device with
    one set of identifiers only. values, (place, name or number of a parameter) to a value or the text for one; what
    is not named keeps its default.
    Return: a `Setup`; what the description does not allow is among its `complaints`.
    Errors: `Unknown` for a module, parameter, text or place that does not exist; `OutOfRange` for a value that is not
    allowed, for no module, and for octets that one telegram does not hold; `Unreadable` for damaged identifiers.
    Source: ISO 15745-3:2003, annex on the device description; length of Set_Prm: data/service_limits.csv.

    >>> device = Description(modules=(Module("PPO 3", b"\xf1"),))
    >>> configure(device).bytes_in, configure(device).identifiers.hex()
    (4, 'f1')
    """
    modules = _chosen(description, list(chosen))
    wanted = dict(values or {})
    settings: list[Setting] = []
    parts: list[bytes] = []
    for place, layout in enumerate((description.layout, *(module.layout for module in modules))):
        plain = description.octets("User_Prm_Data") if place == DEVICE else b""
        own, part = _parameters(description, place, layout, plain, wanted)
        settings += own
        parts.append(part)
    if wanted:
        place, name = next(iter(wanted))
        names = ", ".join(f"{one.place}: {one.parameter.name}" for one in settings) or "none"
        raise Unknown(f"place {place} has no parameter {str(name)[:60]!r}; place and parameter can be: {names}.")
    octets, most = b"".join(parts), _MOST_OCTETS - _STANDARD_OCTETS
    if len(octets) > most:
        cited = facts.one("service_limits", service="Set_Prm", what="octets").cited
        raise OutOfRange(f"the parameters are {len(octets)} octets; allowed is 0 to {most} ({cited}).")
    identifiers = b"".join(module.identifiers for module in modules)
    setup = Setup(description, modules, identifiers, tuple(settings), octets, (), tuple(parts))
    return replace(setup, complaints=tuple(_complaints(setup)))


def modules_for(description: Description, identifiers: bytes) -> tuple[Module, ...] | None:
    r"""Which modules give these identifiers: as few as possible, in an order that the slots take.

    Return: the modules; None if no choice gives them, or only one that the description does not allow.
    The other way round: `configure`.

    >>> device = Description(modules=(Module("PPO 3", b"\xf1"), Module("PPO 4", b"\xf5")))
    >>> [module.name for module in modules_for(device, b"\xf5") or ()], modules_for(device, b"\xf9")
    (['PPO 4'], None)
    """
    most = (description.number("Max_Module") or len(identifiers)) if description.modular else 1
    slots = {slot.number: slot for slot in description.slots}
    # What is reached with so many modules: the number of octets, and one choice that comes to them.
    reached: dict[int, tuple[Module, ...]] = {0: ()}
    for place in range(1, min(most, len(identifiers)) + 1):
        further: dict[int, tuple[Module, ...]] = {}
        for at, before in reached.items():
            for module in description.modules:
                end = at + len(module.identifiers)
                if at < end and end not in further and identifiers[at:end] == module.identifiers:
                    slot = slots.get(place)
                    if slot is None or (module.reference is not None and slot.takes(module.reference)):
                        further[end] = (*before, module)
        if len(identifiers) in further:
            return further[len(identifiers)]
        reached = further
    return None


def settings_of(description: Description, layout: Layout) -> tuple[tuple[int, Parameter], ...]:
    """The parameters that lie in a layout, with their offset; a reference to none is left out."""
    return tuple(
        (offset, description.parameters[number])
        for offset, number in layout.references
        if number in description.parameters
    )


def octets_length(layout: Layout, parameters: Iterable[tuple[int, Parameter]]) -> int:
    """The octets that constants and parameters reach to; for a module with a stated length at least that."""
    ends = [offset + len(octets) for offset, octets in layout.constants]
    ends += [offset + parameter.octets for offset, parameter in parameters]
    return max(ends, default=0)


def _chosen(description: Description, names: list[str | int]) -> tuple[Module, ...]:
    if not names and len(description.modules) == 1:
        return description.modules
    if not names:
        known = ", ".join(module.name for module in description.modules[:20]) or "none"
        raise OutOfRange(f"no module is chosen; allowed is 1 or more of: {known}.")
    return tuple(description.module(name) for name in names)


def _parameters(
    description: Description,
    place: int,
    layout: Layout,
    plain: bytes,
    wanted: dict[tuple[int, str | int], int | str],
) -> tuple[list[Setting], bytes]:
    """The settings of one place and its octets; what was wanted of it is taken out of `wanted`."""
    parameters = settings_of(description, layout)
    stated = 0 if place == DEVICE else layout.length or 0
    length = max(octets_length(layout, parameters), stated)
    if length > _MOST_OCTETS:
        raise OutOfRange(f"place {place}: its parameters reach to octet {length}; allowed is 0 to {_MOST_OCTETS}.")
    if not (layout.constants or layout.references):
        return [], plain or bytes(length)
    octets = bytearray(length)
    for offset, constant in layout.constants:
        octets[offset : offset + len(constant)] = constant
    settings = []
    for offset, parameter in parameters:
        keys = [key for key in ((place, parameter.name), (place, parameter.number)) if key in wanted]
        value = _value(description, parameter, wanted.pop(keys[0])) if keys else parameter.default
        _put(octets, offset, parameter, value)
        settings.append(Setting(place, offset, parameter, value, description.text_of(parameter, value)))
    return settings, bytes(octets)


def _value(description: Description, parameter: Parameter, wanted: int | str) -> int:
    """The value that is wanted, or that of the text that is wanted."""
    if isinstance(wanted, str):
        texts = description.texts.get(parameter.text_list, {}) if parameter.text_list is not None else {}
        found = [value for value, text in texts.items() if text == wanted]
        if not found:
            known = ", ".join(texts.values()) or f"none; give a number, {parameter.range_text}"
            raise Unknown(f"{parameter.name} has no text {wanted[:60]!r}; known are {known}.")
        wanted = found[0]
    if not parameter.allows(wanted):
        where = f"{description.file_name or 'the description'}, line {parameter.line}"
        raise OutOfRange(f"{parameter.name} is {wanted}; allowed is {parameter.range_text} ({where}).")
    if not parameter.changeable and wanted != parameter.default:
        raise OutOfRange(f"{parameter.name} is {wanted}; allowed is {parameter.default} only: it can't be changed.")
    return wanted


def _put(octets: bytearray, offset: int, parameter: Parameter, value: int) -> None:
    """Write a value into its bits, the high octet first, and leave the bits around it as they are."""
    place = slice(offset, offset + parameter.octets)
    mask = ((1 << parameter.bits) - 1) << parameter.first_bit
    held = int.from_bytes(octets[place], "big") & ~mask
    octets[place] = (held | ((value << parameter.first_bit) & mask)).to_bytes(parameter.octets, "big")


def _complaints(setup: Setup) -> Iterable[str]:
    """What the description, or the bus, does not allow."""
    description, name = setup.description, setup.description.file_name or "the description"
    sizes = (
        ("modules", len(setup.modules), "Max_Module", description.modular),
        ("bytes of input", setup.bytes_in, "Max_Input_Len", description.modular),
        ("bytes of output", setup.bytes_out, "Max_Output_Len", description.modular),
        ("bytes of data", setup.bytes_in + setup.bytes_out, "Max_Data_Len", description.modular),
        ("octets of parameters", len(setup.user_parameters), "Max_User_Prm_Data_Len", True),
    )
    for what, size, keyword, counts in sizes:
        most = description.number(keyword)
        if counts and most is not None and size > most:
            yield f"{size} {what}; allowed is 0 to {most} ({keyword} of {name})."
    if not description.modular and len(setup.modules) > 1:
        yield f"{len(setup.modules)} modules; allowed is 1: {name} says Modular_Station = 0."
    yield from setup.configuration.complaints
    for slot in description.slots:
        if 0 < slot.number <= len(setup.modules):
            module = setup.modules[slot.number - 1]
            if module.reference is None or not slot.takes(module.reference):
                yield f"{module.name!r} stands in slot {slot.number}, {slot.name}, which does not take it ({name})."


def settings_in(setup: Setup, octets: bytes) -> tuple[Setting, ...]:
    r"""The parameters of a station with the values that stand in the octets behind the seventh of Set_Prm.

    Parameters: setup, the station put together from its description; octets, as sent.
    Return: the settings in the order of the setup; those that the octets do not reach are left out.
    Source: ISO 15745-3:2003, annex on the device description; that the high octet goes first is from memory.

    >>> from helpers.device.description.model import Description, Layout, Module, Parameter
    >>> layout = Layout(references=((1, 1),))
    >>> one = Description(modules=(Module("a", b"\xf1"),), layout=layout, parameters={1: Parameter(1, "n", "u8", 8)})
    >>> [setting.value for setting in settings_in(configure(one, values={(0, 1): 7}), bytes([0, 9]))]
    [9]
    """
    found = []
    begins = [sum(map(len, setup.parts[:place])) for place in range(len(setup.parts))]
    for setting in setup.settings:
        parameter = setting.parameter
        first = begins[setting.place] + setting.offset
        held = octets[first : first + parameter.octets]
        if len(held) < parameter.octets:
            continue
        value = int.from_bytes(held, "big") >> parameter.first_bit & ((1 << parameter.bits) - 1)
        if parameter.signed and value >> (parameter.bits - 1):
            value -= 1 << parameter.bits
        found.append(replace(setting, value=value, text=setup.description.text_of(parameter, value)))
    return tuple(found)
