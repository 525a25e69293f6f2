"""Panels for a maker's own request and answer words, and for the lists that give the free words their signals.

The drive is the invented one of the Saltmarsh Mill.
"""

from __future__ import annotations

from dataclasses import replace

from helpers import facts
from helpers.answer import Answer, Row
from helpers.device import formats as data_formats
from helpers.device.choose import Assignment, mapping
from helpers.device.signals import Signal, list_parameter
from helpers.drive.parameters import device_request as own
from helpers.drive.parameters import parameter_channel as channel
from helpers.drive.parameters.access import value_of
from helpers.drive.parameters.device_request import DeviceAnswer, DeviceRequest
from helpers.drive.parameters.parameter_store import FIRST_SUBINDEX, demo_store, number_of
from helpers.panels.device.formats import format_drawing, read_signals
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions

_BEFORE = 110  # the parameter that the drive answered last; its value then stands in the answer


def fields_drawing(request: DeviceRequest, answer: DeviceAnswer) -> Drawing:
    """The five words out and the five in, each with its name; the two running numbers are joined."""
    sides = (("out", own.encode(request)), ("in", own.encode(answer)))
    told = [f"{name} {word}" for way, words in sides for name, word in zip(own.fields(way), words, strict=True)]
    same = request.count == answer.count
    sheet = Drawing(760, 132, ", ".join([*told, "numbers agree" if same else "numbers differ"]))
    for row, (way, words) in enumerate(sides):
        y = 18.0 + 66 * row
        sheet.text(4, y + 22, way, size=12, anchor="start", bold=True)
        for n, (name, word) in enumerate(zip(own.fields(way), words, strict=True)):
            x = 40.0 + n * 142
            sheet.text(x + 67, y - 5, name, size=11, fill=GREY)
            sheet.box(x, y, 134, 32, fill=SKY if n == 0 else PAPER, stroke=INK, line=1)
            sheet.text(x + 67, y + 21, f"{word} = 16#{word:04X}", size=13)
    sheet.line(60, 51, 60, 72, stroke=BLUE if same else ORANGE, width=2.5, dash="none" if same else "4 3")
    return sheet


def request_view(before: int, count: int, task: int, number: int, value: int, running: bool) -> Answer:
    """What the drive makes of a request, given the running number that it answered last."""
    parameter = next((p for p in demo_store().parameters if p.number == number), None)
    bits = parameter.bits if parameter else 32
    asked = DeviceRequest(count, task, number, value_of(value, bits) if task in (own.WRITE, own.WRITE_AND_STORE) else 0)
    old = DeviceAnswer(before, own.DONE, _BEFORE, demo_store()[_BEFORE].values[0])
    new, _ = own.respond(replace(demo_store(), running=running), asked)
    acted = count != before
    answer = new if acted else old
    if acted:
        sentence = own.explain(asked, answer)
        because = f"The running number went from {before} to {count}: the drive acts once and repeats {count}."
        if parameter and answer.result == own.DONE and (signed := number_of(parameter, answer.value)) != answer.value:
            because += f" With its sign the value is {signed}."
    else:
        sentence = f"The drive does nothing: the running number is still {count}."
        because = (
            "The answer of last time stands there and bears the same number. A program that looks at the number alone "
            "takes it for the new answer. Raise the running number for every request."
        )
    return Answer(
        sentence,
        because=because,
        caution=cautions("write") if task in (own.WRITE, own.WRITE_AND_STORE) else (),
        pictures=[fields_drawing(asked, answer)],
        rows=[_field_row(row, word) for way, words in (("out", own.encode(asked)), ("in", own.encode(answer)))
              for row, word in zip(facts.where("demo/device_parameter_fields", direction=way), words, strict=True)],
        sources=[facts.rows("demo/device_parameter_fields")[0].source],
    )  # fmt: skip


def _field_row(row: facts.Fact, word: int) -> Row:
    name = own.codes(row["field"]).get(word, "") if row["field"] in ("REQ_TASK", "ANS_RESULT") else ""
    return {"field": row["field"], "word": f"16#{word:04X}", "says": name or str(word), "meaning": row["meaning"]}


def device_request_panel() -> Panel:
    """A maker's own request and answer words."""
    listed = [(f"{code}  {name}", code) for code, name in own.codes("REQ_TASK").items()]
    return Panel(
        "A maker's own request and answer",
        {
            "before": fields.whole("answered last", "6", 0, 0xFFFF),
            "count": fields.whole("REQ_COUNT", "7", 0, 0xFFFF),
            "task": fields.choice("REQ_TASK", listed, own.WRITE),
            "number": fields.whole("REQ_NUMBER", "110", 0, 0xFFFF),
            "value": fields.whole("value", "95", -(1 << 31), (1 << 32) - 1),
            "running": fields.tick("the motor is running"),
        },
        request_view,
        hint="The words of the format Mill 7/8 request, invented like the drive. Other makers have other fields: their "
        "manual decides.",
    )


def lists_view(name: str, needs: tuple[Signal, ...]) -> Answer:
    """The parameter tasks that give the free words of a format their signals."""
    one = data_formats.by_name(name)
    places = mapping(one, ["STW1", "NSOLL_A", "ZSW1", "NIST_A", *needs])
    free = [place for place in places if not place.fixed and place.number is not None]
    used, empty = ([_list_row(p) for p in free if bool(p.signal) is named] for named in (True, False))
    return Answer(
        f"{len(used)} words to be written into the lists 915 (out) and 916 (in) for {name}."
        if used
        else f"{name} has no free word for these signals, or nothing is asked for.",
        because="A signal of 32 bits takes two words; both elements name it. Then store: write 1 to 971.",
        caution=cautions("write") if used else (),
        pictures=[format_drawing(one, needs)],
        rows=used,
        folded=[("Words that carry nothing: write 0 there", empty)],
        sources=[row.cited for row in facts.rows("signal_lists")],
    )


def _list_row(place: Assignment) -> Row:
    task = channel.change(place.parameter, place.number or 0, subindex=place.pzd)
    return {
        "word": f"{'out' if place.parameter == list_parameter('out') else 'in'} {place.pzd}",
        "signal": f"{place.signal} {place.half}".strip() or "none",
        "write": f"{place.parameter}.{place.pzd} = {place.number}",
        "cyclic task": channel.encode(task).hex(" ").upper(),
        "acyclic subindex": str(place.pzd - FIRST_SUBINDEX["cyclic"] + FIRST_SUBINDEX["acyclic"]),
    }


def lists_panel() -> Panel:
    """The lists 915 and 916 for the free words of a format."""
    names = [f.name for f in (*data_formats.ppo_types(), *data_formats.demo_formats())]
    return Panel(
        "What stands in the free words",
        {
            "name": fields.choice("format", names, "PPO 4"),
            "needs": fields.text("signals", "CURRENT, ENERGY", read_signals),
        },
        lists_view,
        hint="Signals of the profile and of the mill drive, such as CURRENT, TORQUE, ENERGY, RAMP_TIME.",
    )
