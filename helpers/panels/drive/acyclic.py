"""Panels for acyclic parameter requests: put one together and follow it to its response; read pasted octets."""

from __future__ import annotations

from dataclasses import replace

from helpers.answer import Answer, Row
from helpers.device.identifiers import octets_from_text
from helpers.drive.parameters import acyclic, acyclic_service
from helpers.drive.parameters.acyclic_service import Exchange, Part
from helpers.drive.parameters.parameter_store import demo_store, respond_acyclic
from helpers.drive.parameters.parameter_text import Task, acyclic_request, tasks
from helpers.drive.parameters.parameter_time import acyclic as acyclic_effort
from helpers.drive.parameters.parameter_time import cyclic as cyclic_effort
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions

_DRAWN = 12  # telegrams in the picture
_PITCH = 20  # from one arrow to the next
_OCTETS = 20  # octets of a telegram that a line of the picture holds


def exchange_drawing(telegrams: tuple[Exchange, ...]) -> Drawing:
    """Controller at the left, drive at the right, one arrow for each telegram, from top to bottom."""
    shown = telegrams[:_DRAWN]
    told = [f"{t.sender}: {t.octets[:4].hex(' ').upper()}, {t.sentence}" for t in shown]
    sheet = Drawing(760, 30 + _PITCH * len(shown), " ".join(told))
    sheet.text(40, 14, "controller", size=12, bold=True)
    sheet.text(720, 14, "drive", size=12, bold=True)
    sheet.line(40, 20, 40, 26 + _PITCH * len(shown), stroke=GREY)
    sheet.line(720, 20, 720, 26 + _PITCH * len(shown), stroke=GREY)
    for n, telegram in enumerate(shown):
        y, out = 40.0 + _PITCH * n, telegram.sender == "controller"
        refused = bool(telegram.octets[0] & acyclic_service.REFUSED)
        colour = ORANGE if refused else BLUE if out else INK
        sheet.line(44, y, 716, y, stroke=colour, width=1.5, dash="5 4" if refused else "none")
        tip = 716.0 if out else 44.0
        back = tip - 8 if out else tip + 8
        sheet.path([(tip, y), (back, y - 4), (back, y + 4)], stroke=colour, fill=colour)
        octets = telegram.octets[:_OCTETS].hex(" ").upper() + (" …" if len(telegram.octets) > _OCTETS else "")
        sheet.text(380, y - 4, octets + (" (still working)" if refused else ""), size=11, fill=colour)
    return sheet


def request_view(listed: tuple[Task, ...], reference: int, axis: int, slot: int, busy: int, running: bool) -> Answer:
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
        sentence = f"{response.count} parameter{'s' if response.count > 1 else ''} read in one request."
    because = (
        f"{len(telegrams)} telegrams: the request is written, then the controller asks until the drive is ready. "
        "A read that comes too early is refused with error B5; that is no fault. Ask again."
    )
    return Answer(
        sentence,
        because=because,
        caution=cautions("write") if asked.kind == "change" else (),
        pictures=[exchange_drawing(telegrams)],
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


def _parts(parts: tuple[Part, ...]) -> list[Row]:
    return [{"octet": str(part.first), "octets": part.octets, "meaning": part.meaning} for part in parts]


def request_panel() -> Panel:
    """Put an acyclic request together and follow it to its response."""
    return Panel(
        "An acyclic request",
        {
            "listed": fields.lines("parameters", "read 918\nread 964.0 x 6\nread 121", tasks, rows=5),
            "reference": fields.whole("reference", "37", 1, 255),
            "axis": fields.whole("axis", "1", 0, 254),
            "slot": fields.whole("slot", "2", 0, 254),
            "busy": fields.slider("asked too early", 1, 0, 4),
            "running": fields.tick("the motor is running"),
        },
        request_view,
        hint="One parameter on a line: read 918, read 964.0 x 6 (six elements from element 0), write 110 = 95, write32 "
        "121 = -70000. One request either reads or writes. Slot and axis of a real drive: its manual tells.",
    )


def decode_view(octets: bytes) -> Answer:
    """Pasted octets of an acyclic service, part by part."""
    parts = acyclic_service.explain(octets)
    found = acyclic_service.decode(octets)
    if isinstance(found, acyclic_service.ServiceRefusal):
        sentence = acyclic_service.refusal_meaning(found)
    elif not found.data:
        wrote = found.function == acyclic_service.WRITE
        sentence = "The write is confirmed; no parameter data yet." if wrote else "Is the response ready?"
    elif found.function == acyclic_service.WRITE:
        asked = acyclic.decode_request(found.data)
        many = len(asked.addresses)
        sentence = f"A request to {asked.kind} {many} parameter{'s' if many != 1 else ''}, reference {asked.reference}."
    else:
        response = acyclic.decode_response(found.data)
        sentence = (
            f"A response, reference {response.reference}: {'something failed' if response.failed else 'all done'}."
        )
    return Answer(sentence, rows=_parts(parts))


def decode_panel() -> Panel:
    """Read the octets of an acyclic service."""
    return Panel(
        "Read acyclic octets",
        {"octets": fields.lines("octets", "5E 02 2F 08 25 01 01 01 06 01 00 50", octets_from_text, rows=4)},
        decode_view,
        hint="From the function octet on: 5E read, 5F write, DE or DF refused. A write bears a request, a read bears a "
        "response.",
    )


def time_view(parameters: int, cycle_ms: float, work_ms: float, pause: bool) -> Answer:
    """How long a number of parameters takes by each way, and why."""
    by_channel = cyclic_effort(parameters, cycle_s=cycle_ms / 1e3, work_s=work_ms / 1e3, pause=pause)
    by_request = acyclic_effort(parameters, cycle_s=cycle_ms / 1e3, work_s=work_ms / 1e3)
    ways = (("cyclic channel", by_channel), ("acyclic request", by_request))
    longest = max(by_channel.time_s, by_request.time_s) or 1.0
    says = ", ".join(f"{name} {_ms(way.time_s)}" for name, way in ways)
    sheet = Drawing(760, 70, says)
    for n, (name, way) in enumerate(ways):
        y = 8.0 + 32 * n
        sheet.text(4, y + 15, name, size=12, anchor="start")
        sheet.box(120, y, max(1.0, 480 * way.time_s / longest), 20, fill=SKY, stroke=BLUE, line=1)
        sheet.text(126 + 480 * way.time_s / longest, y + 15, _ms(way.time_s), size=12, anchor="start")
    return Answer(
        f"{parameters} parameter{'s' if parameters > 1 else ''}: {_ms(by_channel.time_s)} over the cyclic channel, "
        f"{_ms(by_request.time_s)} by acyclic requests.",
        because="Calculated. The program's own cycle comes on top of both; a controller that spares less time for "
        "acyclic telegrams needs longer.",
        pictures=[sheet],
        rows=[{"way": name, "cycles": way.cycles, "why": way.sentence} for name, way in ways],
    )


def _ms(time_s: float) -> str:
    """Four figures, and never a power of ten."""
    return f"{float(f'{time_s * 1e3:.4g}'):.15g} ms"


def time_panel() -> Panel:
    """The cyclic channel against acyclic requests."""
    return Panel(
        "Which way is faster?",
        {
            "parameters": fields.whole("parameters", "20", 1, 1000),
            "cycle_ms": fields.decimal("bus cycle, ms", "3", 0.1, 1000),
            "work_ms": fields.decimal("drive's work, ms", "10", 0, 1000),
            "pause": fields.tick("a pause (task 0) after each"),
        },
        time_view,
    )
