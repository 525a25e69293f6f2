"""The drive's side of the parameters: what it answers, and why it refuses.

The same store answers the cyclic channel, the acyclic request and the demo drive's own request words, so that
one parameter can be read over each of them. Nothing is changed in place: each answer comes with the store as
it is afterwards.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from helpers import facts
from helpers.drive.parameters import acyclic
from helpers.drive.parameters.access import STORE, highest, refusal
from helpers.drive.parameters.acyclic import ERROR, ZERO, Address, ParameterValues, Request, Response, format_of
from helpers.drive.parameters.parameter_channel import NO_RIGHTS, NO_TASK, REFUSED, Channel, tasks
from helpers.errors import WorkbookError

# Error numbers of `data/parameter_errors.csv` that this drive uses.
NO_SUCH, READ_ONLY, OUT_OF_LIMITS, WRONG_SUBINDEX, NO_ARRAY, WRONG_TYPE = range(6)
NO_DESCRIPTION, NO_RIGHT, NO_TEXT, NOT_NOW, OTHER, TOO_LONG, BAD_ADDRESS, WRONG_COUNT = 9, 11, 15, 17, 18, 21, 22, 24

_LARGEST_REFUSAL = 6  # octets: format, number of values, error number, subindex

# The demo drive counts the elements of an array as the profile's two versions do: the first row for each channel.
FIRST_SUBINDEX = {
    channel: facts.where("first_subindex", channel=channel)[0].whole("first") for channel in ("cyclic", "acyclic")
}


class Refused(WorkbookError):
    """A task that the drive refuses, with its error number."""

    def __init__(self, number: int) -> None:
        super().__init__(refusal(number, acyclic=True).sentence)
        self.number = number


@dataclass(frozen=True)
class DriveParameter:
    """A parameter of the drive. `values` are numbers in the parameter's own unit; one, or the elements of an array.

    `format` is a name of `data/acyclic_formats.csv`; `stop_only`: it can be changed while the motor stands only.
    """

    number: int
    name: str
    format: str
    values: tuple[int, ...]
    array: bool = False
    writable: bool = True
    low: int = 0
    high: int = 0xFFFF
    stop_only: bool = False
    unit: str = ""

    @property
    def bits(self) -> int:
        """16 for a word, 32 for a double word."""
        return 32 if format_of(self.format).octets == 4 else 16


@dataclass(frozen=True)
class Store:
    """All parameters of a drive, and those that survive power off.

    `rights`: the bus may change parameters; `running`: the motor is on.
    """

    parameters: tuple[DriveParameter, ...]
    saved: tuple[DriveParameter, ...]
    rights: bool = True
    running: bool = False

    def __getitem__(self, number: int) -> DriveParameter:
        """The parameter of a number; `Refused` with error 0 if there is none."""
        for parameter in self.parameters:
            if parameter.number == number:
                return parameter
        raise Refused(NO_SUCH)


def demo_store() -> Store:
    """The parameters of the invented Saltmarsh Mill drive (`data/demo/device_parameters.csv`).

    >>> respond(demo_store(), Channel(1, 918))[0].value
    21
    """
    parameters = tuple(
        DriveParameter(
            row.whole("number"),
            row["name"],
            row["format"],
            tuple(int(value) for value in row["values"].split()),
            row["array"] == "yes",
            row["writable"] == "yes",
            row.whole("low"),
            row.whole("high"),
            row["stop_only"] == "yes",
            row["unit"],
        )
        for row in facts.rows("demo/device_parameters")
    )
    return Store(parameters, parameters)


def power_cycle(store: Store) -> Store:
    """The store after power off and on: what was not saved by writing 1 to parameter 971 is lost."""
    return replace(store, parameters=store.saved, running=False)


def respond(store: Store, request: Channel) -> tuple[Channel, Store]:
    """The answer to a request of the cyclic channel, and the store afterwards.

    >>> respond(demo_store(), Channel(1, 45))[0]
    Channel(identifier=7, number=45, subindex=0, value=0, report=False, other=0, page=0)
    """
    if request.identifier == NO_TASK:
        return Channel(NO_TASK), store
    try:
        answer, after = _cyclic(store, request)
    except Refused as refused:
        number = refused.number
        identifier, value = (NO_RIGHTS, 0) if number == NO_RIGHT else (REFUSED, number)
        return _answer(request, identifier, value), store
    return answer, after


def respond_acyclic(store: Store, request: Request) -> tuple[Response, Store]:
    """The response to an acyclic request, and the store afterwards. Parameters are handled one by one, in order.

    >>> respond_acyclic(demo_store(), Request("read", (Address(918),)))[0].values[0].readable
    (21,)
    """
    groups: list[ParameterValues] = []
    failed = False
    room = highest("octets per request or response") - acyclic.HEADER
    for n, address in enumerate(request.addresses):
        try:
            if request.kind == "read":
                group = _read_acyclic(store, address)
                left = _LARGEST_REFUSAL * (len(request.addresses) - n - 1)
                if sum(len(acyclic.encode_values(g)) for g in (*groups, group)) + left > room:
                    raise Refused(TOO_LONG)
                groups.append(group)
            else:
                store = _change_acyclic(store, address, request.values[n])
                groups.append(ParameterValues(ZERO))
        except Refused as refused:
            failed = True
            about = (address.subindex,) if refused.number in (READ_ONLY, OUT_OF_LIMITS, WRONG_SUBINDEX) else ()
            groups.append(ParameterValues(ERROR, (refused.number, *about)))
    shown = tuple(groups) if failed or request.kind == "read" else ()
    return Response(request.kind, failed, len(request.addresses), shown, request.reference, request.axis), store


def changed(store: Store, number: int, element: int, value: int) -> Store:
    """The store with one value changed; `Refused` if the drive does not allow it. Element 0 is the first."""
    parameter = store[number]
    if not store.rights:
        raise Refused(NO_RIGHT)
    if not parameter.writable:
        raise Refused(READ_ONLY)
    if store.running and parameter.stop_only:
        raise Refused(NOT_NOW)
    if not parameter.low <= value <= parameter.high:
        raise Refused(OUT_OF_LIMITS)
    values = (*parameter.values[:element], value, *parameter.values[element + 1 :])
    if number == STORE:
        return replace(store, saved=store.parameters) if value else store  # back to 0 when all is stored
    new = replace(parameter, values=values)
    return replace(store, parameters=tuple(new if p.number == number else p for p in store.parameters))


def raw(parameter: DriveParameter, element: int) -> int:
    """A value as it stands on the bus, unsigned."""
    return acyclic.values(parameter.format, [parameter.values[element]]).raw[0]


def number_of(parameter: DriveParameter, value: int) -> int:
    """The number that a value on the bus means for this parameter."""
    read = ParameterValues(format_of(parameter.format).code, (value,)).readable[0]
    return int(read)


def _element(parameter: DriveParameter, subindex: int, first: int) -> int:
    if not 0 <= subindex - first < len(parameter.values):
        raise Refused(WRONG_SUBINDEX)
    return subindex - first


def _cyclic(store: Store, request: Channel) -> tuple[Channel, Store]:
    task = tasks()[request.identifier]
    if task.identifier in (4, 5, 15):
        raise Refused(NO_TEXT if task.identifier == 15 else NO_DESCRIPTION)
    if task.identifier > 9:
        raise Refused(OTHER)
    parameter = store[request.parameter]
    if task.identifier == 9:
        if not parameter.array:
            raise Refused(NO_ARRAY)
        return _answer(request, 6, len(parameter.values)), store
    if task.array and not parameter.array:
        raise Refused(NO_ARRAY)
    if parameter.array and not task.array:
        raise Refused(WRONG_SUBINDEX)
    element = _element(parameter, request.subindex, FIRST_SUBINDEX["cyclic"]) if task.array else 0
    answer = (4 if task.array else 1) + (parameter.bits == 32)
    if not task.writes:
        return _answer(request, answer, raw(parameter, element)), store
    if task.width != parameter.bits:
        raise Refused(WRONG_TYPE)
    value = request.value & ((1 << task.width) - 1)
    after = changed(store, request.parameter, element, number_of(parameter, value))
    return _answer(request, answer, value), after


def _answer(request: Channel, identifier: int, value: int) -> Channel:
    """Number and IND stand in the answer as in the request."""
    return replace(request, identifier=identifier, value=value, report=False)


def _elements(parameter: DriveParameter, address: Address) -> range:
    if not parameter.array:
        if address.elements > 1 or address.subindex:
            raise Refused(NO_ARRAY)
        return range(1)
    first = _element(parameter, address.subindex, FIRST_SUBINDEX["acyclic"])
    if first + max(address.elements, 1) > len(parameter.values):
        raise Refused(BAD_ADDRESS)
    return range(first, first + max(address.elements, 1))


def _read_acyclic(store: Store, address: Address) -> ParameterValues:
    parameter = store[address.number]
    if address.attribute != 0x10:
        raise Refused(NO_TEXT if address.attribute == 0x30 else NO_DESCRIPTION)
    elements = _elements(parameter, address)
    return ParameterValues(format_of(parameter.format).code, tuple(raw(parameter, element) for element in elements))


def _change_acyclic(store: Store, address: Address, group: ParameterValues) -> Store:
    parameter = store[address.number]
    if address.attribute != 0x10:
        raise Refused(NO_TEXT if address.attribute == 0x30 else NO_DESCRIPTION)
    elements = _elements(parameter, address)
    if format_of(group.format).octets != format_of(parameter.format).octets:
        raise Refused(WRONG_TYPE)
    if len(group.raw) != len(elements):
        raise Refused(WRONG_COUNT)
    for element, value in zip(elements, group.raw, strict=True):
        store = changed(store, address.number, element, number_of(parameter, value))
    return store
