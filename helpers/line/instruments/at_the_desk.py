"""Instruments at the controller and the engineering computer: counters, diagnosis, recording, words, project."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

from helpers.bus.recording import telegram_meaning
from helpers.bus.services import diagnosis as meaning
from helpers.device.formats import by_name
from helpers.drive.scaling import form, signed
from helpers.drive.words import spelled
from helpers.errors import WorkbookError
from helpers.line.instruments.reading import Reading
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place
from helpers.line.traffic.controller import EXCHANGE, Counters, Handler
from helpers.line.traffic.line import Line
from helpers.line.traffic.telegram_log import Recording

# How a count of repeats or losses is noted: exact figures differ from second to second.
_FEW, _MANY = 0.001, 0.05


def stations(line: Line, seconds: float = 1.0) -> Reading:
    """The station table: what the controller counts for each station while so much simulated time passes."""
    before = {handler.name: replace(handler.counters) for handler in line.handlers}
    line.run(seconds)
    rows = [(f"{h.name} ({h.address})", _row(h, before.get(h.name, Counters()))) for h in line.handlers]
    project = {handler.address for handler in line.handlers}
    strangers = [str(address) for address, what in sorted(line.found.items()) if address not in project]
    return Reading("stations", "", (*rows, ("stations that the project does not have", ", ".join(strangers) or "none")))


def _row(handler: Handler, before: Counters) -> str:
    now = handler.counters
    asked, lost = now.messages - before.messages, now.lost - before.lost
    said = [f"controller {_does(handler, asked, lost, now.starts - before.starts)}"]
    said.append(f"repeats {how_many((now.repeats - before.repeats) / max(asked, 1))}")
    said.append(f"lost {how_many(lost / max(asked, 1))}")
    if now.damaged > before.damaged:
        said.append("damaged answers")
    return ", ".join(said)


def _does(handler: Handler, asked: int, lost: int, starts: int) -> str:
    """What it does with the station over the time, not in this moment: the steps of a start follow in milliseconds."""
    if starts:
        return "has started it once" if starts == 1 else "starts it again and again"
    if handler.phase == EXCHANGE:
        return "exchanges data"
    return "gets no answer" if lost == asked else "tries to start it"


def how_many(share: float) -> str:
    """A share of telegrams as a person notes it.

    >>> [how_many(share) for share in (0, 0.0001, 0.01, 0.3)]
    ['none', 'a few', 'some', 'many']
    """
    return "none" if share <= 0 else "a few" if share < _FEW else "some" if share < _MANY else "many"


def diagnosis(line: Line, place: Place) -> Reading:
    """The last diagnosis that the controller has of a station, in words."""
    name = place.device
    handler = line.handler(name)
    if handler.diagnosis is None:
        return Reading("diagnosis", name, (("diagnosis", "none fetched yet"),))
    read = meaning.read(handler.diagnosis)
    bits = ", ".join(sorted(handler.diagnosis.flags - {"fixed 1"})) or "none"
    blocks = "; ".join(block.octets.hex(" ").upper() for block in handler.diagnosis.blocks) or "none"
    ident = f"16#{handler.diagnosis.ident:04X}"
    return Reading("diagnosis", name, (("state", read.sentence), ("bits", bits), ("ident", ident), ("blocks", blocks)))


def recording(line: Line, seconds: float = 1.0) -> Reading:
    """Telegrams of some seconds at the controller's plug, counted by service; damaged ones apart."""
    was_on = line.recording.on
    line.recording.clear()
    line.recording.on = True
    line.run(seconds)
    line.recording.on = was_on
    return Reading("recording", "", _counted(line.recording))


def _counted(recording: Recording) -> tuple[tuple[str, str], ...]:
    """The kinds of telegram, and how many are damaged. Most of a recording repeats: two that follow are read once."""
    services = {
        service for both in dict.fromkeys(pairwise(heard.octets for heard in recording)) for service in _kinds(both)
    }
    damaged = sum(not heard.whole for heard in recording)
    return (
        ("kinds of telegram", ", ".join(sorted(services)) or "none"),
        ("damaged", how_many(damaged / max(len(recording), 1))),
    )


@lru_cache(4096)
def _kinds(both: tuple[bytes, bytes]) -> tuple[str, ...]:
    """The service of the second of two telegrams, for which an answer needs what was asked."""
    read = telegram_meaning.read(b"".join(both))
    known = (t for t in read if t.at >= len(both[0]) and t.role in ("request", "answer", "token"))
    return tuple(t.service or t.role for t in known)


def io_sheet(line: Line, place: Place) -> Reading:
    """The words of one station as the controller has them now."""
    name = place.device
    handler = line.handler(name)
    words_in = _named(handler.configured.data_format, "in", handler.inputs)
    words_out = _named(handler.configured.data_format, "out", handler.outputs)
    return Reading("io sheet", name, (*words_out, *words_in))


def _named(data_format: str, way: str, octets: bytes | None) -> tuple[tuple[str, str], ...]:
    """Each word with its name; setpoint and actual value rounded to per cent, as they flicker."""
    if octets is None:
        return ((f"words {way}", "not valid: no data exchange"),)
    words = [int.from_bytes(octets[at : at + 2], "big") for at in range(0, len(octets) - 1, 2)]
    try:
        names = [word.signal or word.name for word in by_name(data_format).words(way)]
    except WorkbookError:
        names = [f"word {n}" for n in range(1, len(words) + 1)]
    full = form("N2").full
    return tuple(
        (
            f"{way}, {name}",
            f"{round(100 * signed(value) / full)} %" if name in ("NSOLL_A", "NIST_A") else spelled(value),
        )
        for name, value in zip(names, words, strict=False)
        if name in ("STW1", "ZSW1", "NSOLL_A", "NIST_A") or way == "out"
    )


def project(installation: Installation, place: Place) -> Reading:
    """What the engineering computer has saved for a station, and whether the controller was loaded with the same."""
    name = place.device
    saved = installation.edited.station(name)
    loaded = installation.loaded.station(name)
    return Reading(
        "project",
        name,
        (
            ("address", str(saved.address)),
            ("data format", saved.data_format),
            ("ident number", f"16#{saved.ident:04X}"),
            ("watchdog", f"{saved.watchdog_s * 1000:g} ms" if saved.watchdog_s else "off"),
            ("parameter bytes", saved.user.hex(" ").upper() or "none of its own"),
            ("loaded into the controller", "the same" if saved == loaded else "something else than is saved"),
        ),
    )


def controller(line: Line) -> Reading:
    """What the front of the controller shows."""
    installation = line.installation
    faulty = sum(handler.inputs is None for handler in line.handlers)
    return Reading(
        "controller",
        "",
        (
            ("switch", "run" if installation.running else "stop"),
            ("light for bus faults", "dark" if not faulty else "lit"),
            ("program cycle", f"{installation.loaded.cycle_s * 1000:g} ms"),
        ),
    )
