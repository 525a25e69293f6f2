"""Answers on acyclic requests: one with its response, pasted octets, and which way to the parameters is faster."""

from __future__ import annotations

from dataclasses import dataclass, replace

from helpers.answer import Answer, Row
from helpers.drive.parameters import acyclic, acyclic_service
from helpers.drive.parameters.acyclic_service import OctetPart, ServiceTelegram
from helpers.drive.parameters.parameter_store import demo_store, respond_acyclic
from helpers.drive.parameters.parameter_text import Task, acyclic_request
from helpers.drive.parameters.parameter_time import acyclic as acyclic_effort
from helpers.drive.parameters.parameter_time import cyclic as cyclic_effort
from helpers.quantity import quantity
from helpers.safe_work import cautions
from helpers.wording import counted

_TELEGRAMS_SHOWN = 12  # in the picture


@dataclass(frozen=True)
class ExchangePicture:
    """The telegrams between controller and drive, from top to bottom."""

    exchange: tuple[ServiceTelegram, ...]

    @property
    def telegrams(self) -> tuple[ServiceTelegram, ...]:
        """The telegrams that are shown."""
        return self.exchange[:_TELEGRAMS_SHOWN]

    @property
    def says(self) -> str:
        """Each telegram with its sender, its first octets and what it says."""
        return " ".join(f"{t.sender}: {t.octets[:4].hex(' ').upper()}, {t.sentence}" for t in self.telegrams)


@dataclass(frozen=True)
class WaysPicture:
    """How long each way takes, as bars beside each other: names and times in s."""

    times_s: tuple[tuple[str, float], ...]

    @property
    def says(self) -> str:
        """Each way with its time."""
        return ", ".join(f"{name} {quantity(1e3 * time_s, 'ms', decimals=1)}" for name, time_s in self.times_s)


def request_answer(
    listed: tuple[Task, ...], *, reference: int, axis: int, slot: int, busy: int, running: bool
) -> Answer:
    """One acyclic request, the demo drive's response, and the telegrams between."""
    asked = acyclic_request(listed, reference=reference, axis=axis)
    response, _ = respond_acyclic(replace(demo_store(), running=running), asked)
    telegrams = acyclic_service.poll(asked, response, slot=slot, refusals=busy)
    written, back = telegrams[0].octets, telegrams[-1].octets
    good = sum(group.error is None for group in response.values)
    if response.failed:
        sentence = f"{response.count - good} of {response.count} parameters refused."
    elif response.kind == "change":
        sentence = "All changed: the response is its header alone."
    else:
        sentence = f"{counted(response.count, 'parameter')} read in one request."
    because = (
        f"{len(telegrams)} telegrams: the request is written, then the controller asks until the drive is ready. "
        "A read that comes too early is refused with error B5; that is no fault. Ask again."
    )
    return Answer(
        sentence,
        because=because,
        caution=cautions("write") if asked.kind == "change" else (),
        pictures=[ExchangePicture(telegrams)],
        rows=[
            {"parameter": task.text, "what comes back": "changed" if group.format == acyclic.ZERO else group.sentence}
            for task, group in zip(listed, response.values, strict=True)
        ]
        if response.values
        else [{"parameter": task.text, "what comes back": "changed; nothing is sent back for it"} for task in listed],
        folded=[
            ("The request, byte by byte", _parts(acyclic_service.explain(written))),
            ("The response, byte by byte", _parts(acyclic_service.explain(back))),
        ],
        sources=["ABB FPBA-01 manual p.100 and p.103; SEW manual DH.41B p.79; Stöber manual p.48 (device manual)"],
    )


def _parts(parts: tuple[OctetPart, ...]) -> list[Row]:
    return [{"octet": str(part.first), "octets": part.octets, "meaning": part.meaning} for part in parts]


def octets_answer(octets: bytes) -> Answer:
    """Pasted octets of an acyclic service, part by part."""
    parts, caution = acyclic_service.explain(octets), cautions()
    service = acyclic_service.decode(octets)
    if isinstance(service, acyclic_service.ServiceRefusal):
        sentence = acyclic_service.refusal_meaning(service)
    elif not service.data:
        wrote = service.function == acyclic_service.WRITE
        sentence = "The write is confirmed; no parameter data yet." if wrote else "Is the response ready?"
    elif service.function == acyclic_service.WRITE:
        asked = acyclic.decode_request(service.data)
        caution = cautions("write") if asked.kind == "change" else ()
        many = counted(len(asked.addresses), "parameter")
        sentence = f"A request to {asked.kind} {many}, reference {asked.reference}."
    else:
        response = acyclic.decode_response(service.data)
        sentence = (
            f"A response, reference {response.reference}: {'something failed' if response.failed else 'all done'}."
        )
    return Answer(sentence, because=octets.hex(" ").upper(), caution=caution, rows=_parts(parts))


def time_answer(*, parameters: int, cycle_ms: float, work_ms: float, pause: bool) -> Answer:
    """How long a number of parameters takes by each way, and why."""
    by_channel = cyclic_effort(parameters, cycle_s=cycle_ms / 1e3, work_s=work_ms / 1e3, pause=pause)
    by_request = acyclic_effort(parameters, cycle_s=cycle_ms / 1e3, work_s=work_ms / 1e3)
    channel, request = (quantity(1e3 * way.time_s, "ms", decimals=1) for way in (by_channel, by_request))
    ways = (("cyclic channel", by_channel), ("acyclic request", by_request))
    return Answer(
        f"{counted(parameters, 'parameter')}: {channel} over the cyclic channel, {request} by acyclic requests.",
        because="Calculated. The program's own cycle comes on top of both; a controller that spares less time for "
        "acyclic telegrams needs longer.",
        pictures=[WaysPicture(tuple((name, way.time_s) for name, way in ways))],
        rows=[{"way": name, "cycles": way.cycles, "why": way.sentence} for name, way in ways],
    )
