"""Panels for the cyclic parameter channel: put a task together, read an answer, follow a dialogue cycle by cycle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from helpers import facts
from helpers.answer import Answer, Row
from helpers.device.identifiers import octets_from_text
from helpers.drive.parameters import parameter_channel as channel
from helpers.drive.parameters.access import STORE, cautious, value_of
from helpers.drive.parameters.parameter_channel import Channel
from helpers.drive.parameters.parameter_dialogue import Cycle, Dialogue, dialogue
from helpers.drive.parameters.parameter_match import doubt, match
from helpers.drive.parameters.parameter_store import Store, demo_store, number_of, power_cycle, respond
from helpers.drive.parameters.parameter_text import Task, request, tasks
from helpers.errors import Unreadable
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions
from helpers.wording import capital_first

_COUNT = 6  # the answer that bears a number of elements, not a value of the parameter


def words_drawing(shown: Channel, octets: bytes, *, kind: str = "task") -> Drawing:
    """The four words: PKE with its three fields bit by bit, then IND and the two halves of the value."""
    spelled = [octets[n : n + 2].hex(" ").upper() for n in range(0, 8, 2)]
    says = f"{kind} {shown.identifier}: PKE {spelled[0]}, IND {spelled[1]}, PWE1 {spelled[2]}, PWE2 {spelled[3]}"
    sheet = Drawing(760, 104, says)
    pke = int.from_bytes(octets[:2], "big")
    parts = ((15, 12, f"{kind} {shown.identifier}"), (11, 11, "report"), (10, 0, f"number {shown.number}"))
    for n, (high, low, text) in enumerate(parts):
        for bit in range(high, low - 1, -1):
            x = 8 + (15 - bit) * 24 + n * 4
            sheet.box(x, 24, 22, 26, fill=PAPER if n == 1 else SKY, stroke=INK, line=1)
            sheet.text(x + 11, 42, pke >> bit & 1, size=13)
            if bit in (high, low):
                sheet.text(x + 11, 18, bit, size=11, fill=GREY)
        middle = 8 + (15 - (high + low) / 2) * 24 + n * 4 + 11
        sheet.text(middle, 66, text, size=12, bold=True)
    known = (channel.tasks() if kind == "task" else channel.answers())[shown.identifier]
    index = f"element {shown.subindex}" if known.indexed else "page" if shown.page else "not used"
    if shown.page:
        index += f" +{shown.page * channel.PAGE}"
    for n, (name, under) in enumerate((("IND", index), ("PWE1", "high"), ("PWE2", "low"))):
        x = 424 + n * 112
        sheet.box(x, 24, 104, 26, fill=SAND if n else PAPER, stroke=INK, line=1)
        sheet.text(x + 52, 42, spelled[n + 1], size=14)
        sheet.text(x + 52, 18, name, size=11, fill=GREY)
        sheet.text(x + 52, 66, under, size=12)
    sheet.text(8, 94, "PKE", size=11, fill=GREY, anchor="start")
    sheet.text(40, 94, spelled[0], size=14, anchor="start", bold=True)
    sheet.text(700, 94, f"PWE1 and PWE2 together: {shown.value}", size=12, anchor="end")
    return sheet


def task_view(identifier: int, number: int, subindex: int, value: int, ind: str) -> Answer:
    """The octets of a task, field by field, and what the demo drive would answer."""
    task = channel.tasks()[identifier]
    asked = Channel(
        identifier,
        number % channel.PAGE,
        subindex if task.indexed else 0,
        value_of(value, task.width) if task.width else 0,
        page=number // channel.PAGE,
    )
    octets = channel.encode(asked, index=ind)
    answer, _ = respond(demo_store(), asked)
    answered = channel.encode(answer, index=ind).hex(" ").upper()
    notes = [f"{capital_first(task.name)}: {task.meaning}."]
    if number and not cautious("parameter number, cyclic", asked.number):
        notes.append("Not every source allows this number.")
    if task.width and value < 0:
        notes.append(f"{value} is sent in two's complement: {asked.value}.")
    if task.array:
        notes.append(_counted_from())
    return Answer(
        f"{octets.hex(' ').upper()}. The demo drive answers {answered}.",
        because=" ".join([*notes, match(asked, answer, index=ind).sentence, *_in_the_drive(answer)]),
        caution=cautions("write") if task.writes else (),
        pictures=[words_drawing(asked, octets)],
        rows=[_row("request", f) for f in channel.explain_request(asked, index=ind)]
        + [_row("answer", f) for f in channel.explain_answer(answer, index=ind)],
        sources=[
            f"task {task.identifier}: {task.source or 'no source'} ({task.standing})",
            *_index_sources(),
            *_page_sources(asked, ind),
        ],
    )


def _in_the_drive(answer: Channel) -> list[str]:
    """What the demo drive calls the parameter, its unit, and the value with its sign where a sign was lost."""
    known = next((p for p in demo_store().parameters if p.number == answer.parameter), None)
    if known is None or channel.answers()[answer.identifier].kind != "value":
        return []
    value = number_of(known, answer.value) if answer.identifier != _COUNT else answer.value
    unit = f", in steps of {known.unit}" if known.unit else ""
    signed = f" With its sign the value is {value}." if value != answer.value else ""
    return [f"In the demo drive {known.number} is: {known.name}{unit}.{signed}"]


def _counted_from() -> str:
    return "The demo drive counts elements from 1 here. Some drives count from 0: the manual tells."


def _index_sources() -> list[str]:
    return [f"{row['channel']}, first subindex {row['first']}: {row.cited}" for row in facts.rows("first_subindex")]


def _page_sources(shown: Channel, ind: str) -> list[str]:
    if not shown.page:
        return []
    if "number" in ind:
        return [f"page: {row['remark']}: {row.cited}" for row in facts.where("parameter_pages", way="number")]
    rows = facts.where("parameter_pages", way="bits")
    bits = ", ".join(f"bit {row['bit']} adds {row['adds']}" for row in rows)
    return [f"page: {bits} ({', '.join(dict.fromkeys(row.standing for row in rows))})"]


def _ind_field() -> fields.Field:
    # A list of this width cuts the longest words off.
    return fields.choice(
        "IND holds", [(use.replace("number", "no."), use) for use in channel.INDEX_USES], channel.PLAIN
    )


def _row(side: str, field: channel.Field) -> Row:
    return {"": side, "field": field.field, "octets": field.octets, "meaning": field.meaning}


# Short enough for the list; the panel's answer gives the full name of each.
_TASK_WORDS = (
    "no task",
    "read",
    "change, word",
    "change, double",
    "read description",
    "change descr.",
    "read, array",
    "change, array",
    "ch. array double",
    "count of array",
)


def task_panel() -> Panel:
    """Put a task of the parameter channel together."""
    listed = [(f"{number}  {words}", number) for number, words in enumerate(_TASK_WORDS)]
    return Panel(
        "Put a task together",
        {
            "identifier": fields.choice("task", listed, 2),
            "number": fields.whole("parameter number", "110", 0, channel.HIGHEST),
            "subindex": fields.whole("subindex", "1", 0, 255),
            "value": fields.whole("value", "95", -(1 << 31), (1 << 32) - 1),
            "ind": _ind_field(),
        },
        task_view,
        hint="The subindex counts only for tasks on an array, the value only for tasks that change one. The drive is "
        "the invented one of the Saltmarsh Mill; it has the numbers 110 to 113, 120, 121 and some of the profile's. "
        f"Numbers above {channel.PAGE - 1} need a page in IND, in the octet that your drive's manual names.",
    )


def octets_of(text: str) -> bytes:
    """Eight octets in any usual spelling; four words are taken too.

    >>> octets_of("106E 0000 0000 0050").hex()
    '106e000000000050'
    """
    octets = octets_from_text(text)
    if len(octets) != channel.OCTETS:
        raise Unreadable(f"a parameter channel has {channel.OCTETS} octets (4 words); got {len(octets)}.")
    return octets


def answer_view(asked: bytes | None, answer: bytes, ind: str) -> Answer:
    """An answer field by field, and whether it belongs to the request."""
    got = channel.decode(answer, index=ind)
    told = channel.explain_answer(got, index=ind)
    rows = [_row("answer", f) for f in told]
    known, because = channel.answers()[got.identifier], doubt(got, index=ind)
    said = known.name if known.identifier == channel.NO_RIGHTS else told[-1].meaning
    sentence = f"Answer {known.identifier}, parameter {got.parameter}: {said.rstrip('.')}."
    if asked is not None:
        wanted = channel.decode(asked, index=ind)
        found = match(wanted, got, index=ind)
        because = "It belongs to the request: refused." if found.kind == "refusal" else found.sentence
        rows = [_row("request", f) for f in channel.explain_request(wanted, index=ind)] + rows
    if got.value >= 1 << 15 and known.kind == "value":
        width = known.width or 32
        negative = got.value - (1 << width) if got.value >> (width - 1) else got.value
        because = f"{because} If the parameter has a sign, the value is {negative}.".strip()
    return Answer(
        sentence,
        because=because,
        pictures=[words_drawing(got, answer, kind="answer")],
        rows=rows,
        sources=[
            f"answer {known.identifier}: {known.source or 'no source'} ({known.standing})",
            *_page_sources(got, ind),
        ],
    )


def _maybe_octets(text: str) -> bytes | None:
    return octets_of(text) if text.strip() else None


def answer_panel() -> Panel:
    """Read an answer, and hold it against the request."""
    return Panel(
        "Read an answer",
        {
            "answer": fields.lines("answer", "10 6E 00 00 00 00 00 50", octets_of, rows=2),
            "asked": fields.lines("request", "10 6E 00 00 00 00 00 00", _maybe_octets, rows=2),
            "ind": _ind_field(),
        },
        answer_view,
        hint="Eight octets or four words, high byte first, as in 10 6E 00 00 00 00 00 50. Without a request the answer "
        "is read alone. What IND holds differs from maker to maker: the drive's manual tells.",
    )


_SHOWN = 14  # cycles in the picture


def dialogue_drawing(talk: Dialogue) -> Drawing:
    """The first cycles: request above, answer below; an answer that belongs is framed, an old one is greyed."""
    shown = talk.cycles[:_SHOWN]
    told = [f"cycle {c.number}: request {_short(c.request)}, answer {_short(c.answer)} ({c.match.kind})" for c in shown]
    sheet = Drawing(760, 118, "; ".join(told))
    sheet.text(2, 44, "request", size=11, anchor="start", fill=GREY)
    sheet.text(2, 84, "answer", size=11, anchor="start", fill=GREY)
    for n, cycle in enumerate(shown):
        x = 52.0 + n * 50
        last = n + 1 == len(talk.cycles) or talk.cycles[n + 1].task != cycle.task
        sheet.text(x + 24, 14, cycle.number, size=11, fill=GREY)
        sheet.box(x, 22, 48, 34, fill=SKY if cycle.task % 2 else PAPER, stroke=INK, line=1)
        sheet.box(x, 62, 48, 34, fill=SAND if cycle.match.belongs else PAPER, stroke=BLUE if cycle.match.belongs else
                  GREY, line=2.5 if cycle.match.belongs else 1)  # fmt: skip
        for y, one in ((22.0, cycle.request), (62.0, cycle.answer)):
            colour = INK if y < 50 or cycle.match.belongs else GREY
            sheet.text(x + 24, y + 14, _pke(one), size=11, fill=colour)
            sheet.text(x + 24, y + 28, _small(one.value), size=11, fill=colour)
        if last:
            right = talk.outcomes[cycle.task - 1].right
            sheet.text(
                x + 24, 110, "▲ taken" if right else "✗ taken", size=11, fill=BLUE if right else ORANGE, bold=True
            )
    return sheet


def _pke(one: Channel) -> str:
    return channel.encode(one)[:2].hex().upper()


def _small(value: int) -> str:
    return f"{value}" if value < 1_000_000 else "…"


def _short(one: Channel) -> str:
    return f"{_pke(one)} value {one.value}"


def dialogue_view(
    listed: tuple[Task, ...], work: int, hold: int, running: bool, rights: bool, report: bool, power_off: bool
) -> Answer:
    """A program's tasks and the demo drive's answers, cycle by cycle."""
    begun = replace(demo_store(), running=running, rights=rights)
    talk = dialogue(begun, [request(task) for task in listed], work_cycles=work, hold_cycles=hold or None,
                    report_in_cycle=2 if report else 0)  # fmt: skip
    wrong = [n for n, outcome in enumerate(talk.outcomes, 1) if not outcome.right]
    count = len(talk.cycles)
    sentence = f"{len(listed)} task{'s' if len(listed) > 1 else ''}, {count} bus cycles. "
    if wrong:
        sentence += f"Wrong for task {', '.join(map(str, wrong))}: what the program takes is not the answer to it."
    else:
        sentence += "Every answer that the program takes belongs to its task."
    after = power_cycle(talk.store) if power_off else talk.store
    folded: list[tuple[str, Sequence[Row]]] = [("Cycle by cycle", [_cycle_row(c) for c in talk.cycles])]
    return Answer(
        sentence,
        because=_kept(begun, talk.store, after, power_off=power_off),
        caution=cautions("write") if any(task.action.startswith("write") for task in listed) else (),
        pictures=[dialogue_drawing(talk)],
        rows=[
            {
                "task": f"{n}  {task.text}",
                "cycles": outcome.cycles,
                "taken": channel.encode(outcome.taken).hex(" ").upper(),
                "right": "yes" if outcome.right else "NO",
                "why": outcome.sentence,
            }
            for n, (task, outcome) in enumerate(zip(listed, talk.outcomes, strict=True), 1)
        ],
        folded=folded,
    )


def _kept(begun: Store, after_talk: Store, after: Store, *, power_off: bool) -> str:
    """What has changed in the drive, and what of it outlives power off."""
    changed = [p for p in after_talk.parameters if p.values != begun[p.number].values]
    if not changed:
        return "Nothing has changed in the drive."
    told = ", ".join(f"{p.number} is now {' '.join(map(str, after[p.number].values))}" for p in changed)
    lost = [p.number for p in changed if next(s for s in after_talk.saved if s.number == p.number).values != p.values]
    if power_off:
        return f"After power off and on: {told}." + (" What was not stored is lost." if lost else " All was stored.")
    if lost:
        return (
            f"{told}. Not stored: {', '.join(map(str, lost))} will be lost at power off. Write 1 to parameter {STORE}, "
            "and wait until it reads 0, before anybody switches off."
        )
    return f"{told}. Stored: it outlives power off."


def _cycle_row(cycle: Cycle) -> Row:
    return {
        "cycle": cycle.number,
        "request": channel.encode(cycle.request).hex(" ").upper(),
        "answer": channel.encode(cycle.answer).hex(" ").upper(),
        "what it is": cycle.match.sentence,
    }


# 0 stands for a program that waits until the answer belongs: a list of choices cannot hold None.
_HOLD: list[tuple[str, object]] = [
    ("when it belongs", 0),
    ("after 1 cycle", 1),
    ("after 2 cycles", 2),
    ("after 3 cycles", 3),
    ("after 5 cycles", 5),
]


def dialogue_panel() -> Panel:
    """A program and the demo drive, cycle by cycle."""
    return Panel(
        "Program and drive, cycle by cycle",
        {
            "listed": fields.lines("tasks", "read 918\nread 110\nwrite 110 = 95", tasks, rows=5),
            "work": fields.slider("drive works, cycles", 2, 1, 6),
            "hold": fields.choice("program takes it", _HOLD, 0),
            "running": fields.tick("the motor is running"),
            "rights": fields.tick("the bus may change parameters", True),
            "report": fields.tick("the drive reports a change by itself"),
            "power_off": fields.tick("afterwards: power off and on"),
        },
        dialogue_view,
        hint="One task on a line: read 918, read 964.2 (element 2), write 110 = 95, write32 121 = -70000, elements "
        "964, pause (task 0).",
    )
