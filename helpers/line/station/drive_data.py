"""Which octet of a drive's process data carries what, and the dialogue on parameters beside them.

The words come from the data format (`helpers.device.formats`); a free word carries what the lists 915 and 916 in the
drive say. Both words of a 32-bit signal bear its number, the high word first. Words run high octet first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

from helpers import facts
from helpers.device.formats import BYTES_PER_WORD, DataFormat
from helpers.device.signals import find, list_parameter
from helpers.drive.parameters import device_request, parameter_channel, parameter_store
from helpers.drive.parameters.device_request import DeviceAnswer
from helpers.drive.parameters.parameter_channel import NO_TASK, Channel
from helpers.drive.parameters.parameter_store import DriveParameter, Store
from helpers.errors import Unknown
from helpers.line.station.supervision import constant

ADDRESS = facts.one("profile_parameters", name="station address").whole("number")


@dataclass(frozen=True)
class Place:
    """One word of a signal: the octet at which it begins, the signal, and how far it stands to the left in it."""

    at: int
    signal: str
    shift: int = 0


@dataclass(frozen=True)
class Layout:
    """The places of all signals in both directions, and where the parameter words begin (None: there are none).

    size_in: octets that the drive answers with. own_fields: the parameter words are the drive's own request and answer
    fields, not the profile's channel.
    """

    out: tuple[Place, ...]
    into: tuple[Place, ...]
    size_in: int
    parameters_out: int | None
    parameters_in: int | None
    own_fields: bool

    def read(self, octets: bytes) -> dict[str, int]:
        """The signals in output data, each as an unsigned number."""
        found: dict[str, int] = {}
        for place in self.out:
            part = int.from_bytes(octets[place.at : place.at + BYTES_PER_WORD], "big") << place.shift
            found[place.signal] = found.get(place.signal, 0) | part
        return found


def layout(form: DataFormat, store: Store) -> Layout:
    """The layout of a format with the lists that stand in the drive's parameters.

    >>> from helpers.device.formats import by_name
    >>> [(p.at, p.signal) for p in layout(by_name("Mill 2/3"), parameter_store.demo_store()).into]
    [(0, 'ZSW1'), (2, 'NIST_A'), (4, 'CURRENT')]
    """
    return _layout(form, store[list_parameter("out")].values, store[list_parameter("in")].values)


@cache
def _layout(form: DataFormat, listed_out: tuple[int, ...], listed_in: tuple[int, ...]) -> Layout:
    starts = [
        next((n * BYTES_PER_WORD for n, word in enumerate(form.words(way)) if word.kind == "parameter"), None)
        for way in ("out", "in")
    ]
    own_fields = any(word.name in device_request.fields("out") for word in form.words_out)
    out, into = _places(form, "out", listed_out), _places(form, "in", listed_in)
    return Layout(
        out, into, size_in=form.bytes_in, parameters_out=starts[0], parameters_in=starts[1], own_fields=own_fields
    )


def _places(form: DataFormat, way: str, listed: tuple[int, ...]) -> tuple[Place, ...]:
    places: list[Place] = []
    pzd = 0
    for n, word in enumerate(form.words(way)):
        if word.kind == "parameter":
            continue
        name = word.signal or _signal(listed[pzd] if pzd < len(listed) else 0, way)
        pzd += 1
        if name:
            second = bool(places) and places[-1].signal == name and places[-1].shift > 0
            places.append(Place(n * BYTES_PER_WORD, name, 16 if find(name).words == 2 and not second else 0))
    return tuple(places)


def _signal(number: int, way: str) -> str:
    """The signal of a number in a list; empty if it is not assigned, unknown, or of the other direction."""
    try:
        known = find(number)
    except Unknown:
        return ""
    return known.name if known.direction == way else ""


def with_address(store: Store, address: int) -> Store:
    """The parameters with the address that is set at the drive, saved as well."""

    def put(parameters: tuple[DriveParameter, ...]) -> tuple[DriveParameter, ...]:
        return tuple(replace(p, values=(address,)) if p.number == ADDRESS else p for p in parameters)

    return replace(store, parameters=put(store.parameters), saved=put(store.saved))


class Dialogue:
    """Requests for parameters beside the process data, and the answers to them.

    The drive acts on a request once, when it comes in; then it repeats the answer until another request comes. In
    the profile's channel any change of the octets is another request, in the drive's own fields a change of the
    running number. Between request and answer it works for a moment (`parameter_work_s`).
    """

    def __init__(self, plan: Layout) -> None:
        self._own = plan.own_fields
        self._at = plan.parameters_out
        self._size = BYTES_PER_WORD * len(device_request.fields("out")) if self._own else parameter_channel.OCTETS
        self._request = bytes(self._size)
        self._left_s = 0.0
        self.answer = bytes(self._size) if plan.parameters_out is not None else b""

    @property
    def working(self) -> bool:
        """True between a request and its answer."""
        return self._left_s > 0

    def take(self, outputs: bytes) -> bool:
        """Look at output data; True if the answer has changed at once."""
        if self._at is None:
            return False
        asked = outputs[self._at : self._at + self._size]
        if asked == self._request or (self._own and asked[:BYTES_PER_WORD] == self._request[:BYTES_PER_WORD]):
            return False
        before, self._request = self.answer, asked
        self._left_s = constant("parameter_work_s")
        if self._own:
            request = device_request.decode_request(_words(asked))
            self.answer = _octets(DeviceAnswer(request.count, device_request.WORKING, request.number))
        elif parameter_channel.decode(asked).identifier == NO_TASK:
            self.answer, self._left_s = parameter_channel.encode(Channel(NO_TASK)), 0.0
        return self.answer != before

    def advance(self, dt_s: float, store: Store, *, running: bool) -> Store | None:
        """Let time pass while `working`; the parameters as they are afterwards once the answer is there, else None."""
        self._left_s -= dt_s
        if self._left_s > 1e-9:
            return None
        self._left_s = 0.0
        store = replace(store, running=running)
        if self._own:
            told, store = device_request.respond(store, device_request.decode_request(_words(self._request)))
            self.answer = _octets(told)
        else:
            got, store = parameter_store.respond(store, parameter_channel.decode(self._request))
            self.answer = parameter_channel.encode(got)
        return store


def _words(octets: bytes) -> tuple[int, ...]:
    return tuple(int.from_bytes(octets[n : n + 2], "big") for n in range(0, len(octets), 2))


def _octets(answer: DeviceAnswer) -> bytes:
    return b"".join(word.to_bytes(2, "big") for word in device_request.encode(answer))
