"""The start of one station, step by step, on the practice line: what is sent, who knows what, and what to do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, lru_cache, partial
from typing import NamedTuple

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.recording.telegram_meaning import REQUEST, Telegram
from helpers.bus.services import diagnosis
from helpers.caution import Caution
from helpers.errors import in_range, one_of
from helpers.line.faults import catalogue as faults
from helpers.line.faults.settings import with_values
from helpers.line.plant.build import installation_of
from helpers.line.plant.changes import edited
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place
from helpers.line.repairs import catalogue as repairs
from helpers.line.traffic.line import Line
from helpers.line.traffic.start_up import Step, steps
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.panels.telegrams.telegrams import octet_rows, telegram_row
from helpers.plan.my_networks import demo_network
from helpers.safe_work import cautions
from helpers.wording import short

STATION = "Cooling fan"
BEFORE, AFTER = 8, 8  # steps before and after something is put right
MOST = BEFORE + AFTER + 2
_SLOW = 93_750.0  # bit/s: at the mill's own bit rate no watchdog is shorter than its cycle
_SEED = 3


@dataclass(frozen=True)
class Case:
    """One start: what is wrong with it, and the repairs that put it right, in their order."""

    words: str
    make: Callable[[Installation], Installation]
    cure: tuple[str, ...] = ()
    bit_rate: float = 0.0


def _fault(words: str, key: str, bit_rate: float = 0.0) -> Case:
    fault = faults.by_key(key)

    def make(installation: Installation) -> Installation:
        place = next(place for place in fault.places(installation) if place.device == STATION)
        return fault.put(installation, place, _SEED)

    return Case(words, make, fault.cures[0], bit_rate)


def _never_loaded(installation: Installation) -> Installation:
    """Another format was set at the drive and in the project; the project was saved, and the controller not loaded."""
    changed = with_values(installation, STATION, data_format="PPO 2")
    return edited(changed, STATION, data_format="PPO 2")


@cache
def cases() -> dict[str, Case]:
    """What can be wrong, by its words.

    >>> list(cases())[:2]
    ['nothing', 'ident number of another device']
    """
    known = (
        Case("nothing", lambda installation: installation),
        _fault("ident number of another device", "ident mismatch"),
        _fault("another data format in the drive", "format differs"),
        _fault("too many parameter octets", "wrong parameters"),
        _fault("wrong address at the drive", "wrong address"),
        _fault("address set, drive not off since", "address not active"),
        _fault("watchdog too short", "watchdog short", _SLOW),
        Case("saved, but never loaded", _never_loaded, ("load controller",)),
        Case("drive still switched off", partial(Installation.with_device, name=STATION, powered=False),
             ("switch on",)),
    )  # fmt: skip
    return {case.words: case for case in known}


@dataclass(frozen=True)
class Act:
    """What a person does between two steps."""

    number: int
    words: str
    caution: tuple[Caution, ...]


class Start(NamedTuple):
    """A start: its steps and acts, and beside each of them the installation as it then is."""

    items: tuple[Step | Act, ...]
    plants: tuple[Installation, ...]


@cache
def _mill(bit_rate: float) -> Installation:
    """The demo site, at its own bit rate or at another."""
    network = demo_network()
    return installation_of(replace(network, bit_rate=bit_rate or network.bit_rate))


@lru_cache(maxsize=32)
def start(wrong: str, put_right: bool) -> Start:
    """The start of the cooling fan, the recording of the practice line cut into steps.

    Parameters: wrong, one of `cases()`; put_right, whether somebody puts it right after the eighth step.
    """
    one_of("what is wrong", wrong, cases())
    case = cases()[wrong]
    healthy = _mill(case.bit_rate)
    line = Line(case.make(healthy))
    if not (put_right and case.cure):
        return Start(steps(line, STATION, BEFORE + AFTER), (line.installation,) * (BEFORE + AFTER))
    told: list[Step | Act] = list(steps(line, STATION, BEFORE))
    plants = [line.installation] * BEFORE
    for key in case.cure:
        repair = repairs.by_key(key)
        (place,) = repair.meeting(line.installation, Place(STATION, STATION))
        value = repair.planned(healthy, place)
        line.change(partial(repair.do, place=place, value=value))
        told.append(Act(len(told) + 1, repair.name, repair.care.cautions))
        plants.append(line.installation)
    last = steps(line, STATION, AFTER, first=len(told) + 1)
    return Start((*told, *last), (*plants, *(line.installation for _ in last)))


def set_where(plant: Installation) -> list[Row]:
    """What is saved, what is loaded, and what counts in the drive, side by side; a line that differs is marked."""
    saved, loaded, device = plant.edited.station(STATION), plant.loaded.station(STATION), plant.device(STATION)
    active = device.settings.active
    watchdogs = [f"{one.watchdog_s * 1000:g} ms" if one.watchdog_s else "off" for one in (saved, loaded)]
    told = (
        ("address", saved.address, loaded.address, active.address),
        ("data format", saved.data_format, loaded.data_format, active.data_format),
        ("ident number", f"16#{saved.ident:04X}", f"16#{loaded.ident:04X}", f"16#{device.ident:04X}"),
        ("own parameters", *(f"{octets} octets" for octets in (len(saved.user), len(loaded.user), device.user_octets))),
        ("watchdog", *watchdogs, "as it is sent"),
    )
    rows: list[Row] = []
    for what, *values in told:
        known = {str(value) for value in values if value != "as it is sent"}
        rows.append({
            "": what, "saved in the engineering computer": str(values[0]), "loaded in the controller": str(values[1]),
            "active in the drive": str(values[2]), "alike?": "yes" if len(known) == 1 else "◀ no",
        })  # fmt: skip
    return rows


def start_up_view(wrong: str, put_right: bool, number: int) -> Answer:
    """One step of a start, with those before it.

    Parameters: wrong, one of `cases()`; put_right, whether it is put right after the eighth step; number, of the step
    (beyond the last one: the last). Raises `Unknown`, `OutOfRange`.
    """
    in_range("step", number, 1, MOST)
    told, plants = start(wrong, put_right)
    number = min(number, len(told))
    here = told[number - 1]
    compared = ("What is saved, loaded and active", set_where(plants[number - 1]))
    picture = ladder(told[:number])
    if isinstance(here, Act):
        return Answer(
            f"Step {number}, by hand: {here.words[0].lower()}{here.words[1:]}.",
            because=f"Then go on, and watch what the controller of {STATION.lower()} does by itself.",
            caution=here.caution,
            pictures=[picture],
            folded=[compared],
        )
    read = diagnosis.read(here.diagnosis) if here.diagnosis else None
    advice: list[Row] = [
        {"reports": one.about, "look at first": one.look_first, "what to do": one.to_do}
        for one in (read.advice if read else ())
    ]
    return Answer(
        f"Step {number}: {_said(here)}",
        because=f"The controller now {here.controller}; the station: {here.station}. " + (
            f"Last diagnosis: {read.state}. {read.sentence}" if read else "No diagnosis has been fetched yet."),
        caution=cautions("data exchange") if (here.service, here.station) == ("Data_Exchange", "data exchange") else (),
        pictures=[picture],
        rows=advice[:2],
        folded=[
            compared,
            *((f"{one.kind} {one.way or 'answer'}, octet by octet", octet_rows(one)) for one in here.telegrams[-2:]),
            ("The telegrams of this station so far", _so_far(told[:number])),
        ],
        sources=[one.source for one in (read.advice[:2] if read else ())]
        + [f"order of the services: {facts.one('start_up_order', step=1).cited}"],
    )  # fmt: skip


def _said(step: Step) -> str:
    asked = next(one for one in step.telegrams if one.role == REQUEST)
    answer = step.answer
    said = f"Answer: {short(answer.meaning, 90)}." if answer else _unanswered(step)
    return f"{step.service} – {short(asked.meaning, 90)}. {said}"


def _unanswered(step: Step) -> str:
    tries = sum(one.role == REQUEST for one in step.telegrams)
    return f"No answer, {'twice' if tries == 2 else f'{tries} times' if tries > 1 else 'once'}."


def _so_far(told: tuple[Step | Act, ...]) -> list[Row]:
    rows: list[Row] = []
    for item in told:
        if isinstance(item, Step):
            stamps = [line.split("  ", 1) for line in item.text.splitlines()]
            for one, (at, octets) in zip(item.telegrams, stamps, strict=False):
                listed = {name: value for name, value in telegram_row(one).items() if name != "pair"}
                rows.append({"step": item.number, "time": at, **listed, "octets": short(octets, 62)})
    return rows


_ROW, _TOP, _SHOWN = 46.0, 22.0, 5
_LANE, _WIDE = 178.0, 758.0
_WORDS = 47  # characters over an arrow


def ladder(told: tuple[Step | Act, ...]) -> Drawing:
    """The last five steps: at the left what the controller does next, at the right the state of the station."""
    shown = told[-_SHOWN:]
    last = shown[-1]
    says = "; ".join(
        f"step {one.number}: by hand" if isinstance(one, Act) else f"step {one.number}: {one.service}, {one.station}"
        for one in shown
    )
    sheet = Drawing(_WIDE, _TOP + _ROW * len(shown) + 6, says)
    sheet.text(28 + _LANE / 2, 15, "the controller now …", size=12, bold=True)
    sheet.text(_WIDE - 6 - _LANE / 2, 15, "the station", size=12, bold=True)
    for n, item in enumerate(shown):
        y = _TOP + n * _ROW
        here = item is last
        sheet.text(12, y + 24, item.number, size=12, bold=here)
        if isinstance(item, Act):
            sheet.box(28, y + 6, _WIDE - 34, 30, fill=PAPER, stroke=ORANGE, line=3 if here else 1.5)
            sheet.text(_WIDE / 2 + 14, y + 26, f"by hand: {item.words}", size=12, bold=here)
            continue
        for x, words, fill in ((28.0, item.controller, SKY), (_WIDE - 6 - _LANE, item.station, SAND)):
            sheet.box(x, y + 2, _LANE, 38, fill=fill, line=3 if here else 1)
            sheet.text(x + _LANE / 2, y + 25, words, size=12, bold=here)
        _exchange(sheet, item, y, bold=here)
    return sheet


def _exchange(sheet: Drawing, step: Step, y: float, *, bold: bool) -> None:
    """Request and answer of a step as two arrows with their words."""
    left, right = 28 + _LANE + 6, _WIDE - 12 - _LANE
    asked = next(one for one in step.telegrams if one.role == REQUEST)
    _arrow(sheet, left, right, y + 17, _short_of(asked), BLUE, bold)
    if step.answer:
        _arrow(sheet, right, left, y + 37, _short_of(step.answer), INK, bold)
    else:
        sheet.line(right, y + 37, left + 90, y + 37, stroke=ORANGE, dash="4 4")
        sheet.text((left + right) / 2, y + 33, _unanswered(step).rstrip("."), size=11, bold=True, fill=ORANGE)


def _arrow(sheet: Drawing, start_x: float, end_x: float, y: float, words: str, colour: str, bold: bool) -> None:
    way = 1 if end_x > start_x else -1
    sheet.line(start_x, y, end_x, y, stroke=colour, width=2 if bold else 1.2)
    sheet.path([(end_x, y), (end_x - 8 * way, y - 4), (end_x - 8 * way, y + 4)], stroke=colour, fill=colour)
    sheet.text((start_x + end_x) / 2, y - 4, words, size=11, bold=bold, fill=GREY if not bold else INK)


def _short_of(one: Telegram) -> str:
    """What a telegram says, as short as an arrow of the drawing."""
    said = one.meaning.removeprefix("asks for the ").removesuffix(" of the station")
    if one.role != REQUEST and one.meaning.startswith("RS"):
        return "RS: refused"
    if one.kind == "SC":
        return "SC: received"
    words = f"{one.service}: {said}" if one.role == REQUEST else said
    if len(words) <= _WORDS:
        return words
    end = max(words.rfind(sign, 0, _WORDS) for sign in ("; ", ", "))
    return f"{words[:end]} …" if end > 0 else short(words, _WORDS)


def start_up_panel() -> Panel:
    """Step through the start of one station, with a choice of what is wrong."""
    return Panel(
        "How a station starts",
        {
            "wrong": fields.choice("what is wrong", list(cases())),
            "put_right": fields.tick(f"put it right after step {BEFORE}"),
            "number": fields.play("step", 1, 1, MOST),
        },
        start_up_view,
        hint="Each step is one turn of the bus. The telegrams are those of the practice line: the cooling fan of "
        "Saltmarsh Mill, an invented site. Go on until nothing new comes. Then choose what is wrong, and look at "
        "which step it shows. “Watchdog too short” is played at 93.75 kbit/s.",
    )
