"""Set_Prm and Chk_Cfg: put together from a description, or read from pasted octets; and what a station objects."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import ipywidgets as widgets

from helpers import facts, written
from helpers.answer import Answer, Row
from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.service_octets import service_data
from helpers.bus.services import chk_cfg, set_prm
from helpers.bus.services.accepted import objections
from helpers.bus.services.bits import Line
from helpers.bus.services.set_prm import DPV1_OCTETS, GROUPS, STANDARD_OCTETS, SetPrm
from helpers.bus.time.watchdog import BASES_S, FACTOR_LEAST, FACTOR_MOST, watchdog_factors, watchdog_time_s
from helpers.device.description.model import Description
from helpers.device.description.modules import Setup, configure, modules_for, settings_in
from helpers.device.description.set_up_answer import placed, read_values
from helpers.errors import Unreadable, in_range
from helpers.panels.device.description import ACCEPTED, CHOICES, NOTHING, ModuleLists, description_called
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.fields import Field, Upload
from helpers.panels.kit.panel import Panel
from helpers.panels.telegrams.diagnosis import DPV1, chosen_description, description_or_none, with_examples
from helpers.panels.telegrams.start_up import STATION, start
from helpers.quantity import time_text
from helpers.safe_work import cautions
from helpers.verdict import Degree, Finding
from helpers.wording import capital_first, short

LOCKS = {
    "locked": frozenset({"Lock_Req"}),
    "released": frozenset({"Unlock_Req"}),
    "only min TSDR": frozenset[str](),
}
# Allowed, but no start: what becomes of the station.
_NO_START = {
    "released": "With “released” the station does not start: it is set free, and any master may take it.",
    "only min TSDR": "With “only min TSDR” the station does not start: it takes over min TSDR and nothing else.",
}
_LONGEST_S = watchdog_time_s(FACTOR_MOST, FACTOR_MOST, base_s=max(BASES_S))
_FIRST = {row["name"] for row in facts.where(set_prm.TABLE, octet=1)}  # the bits of octet 1
Factors = tuple[int, int]


def read_watchdog(typed: str) -> float | Factors:
    """A watchdog as people write it: a time in seconds, or the two factors. `off` and 0 are off.

    >>> read_watchdog("200 ms"), read_watchdog("1 x 20"), read_watchdog("off")
    (0.2, (1, 20), 0.0)
    """
    if typed.strip().lower() in ("off", "none", ""):
        return 0.0
    factors = re.fullmatch(r"\s*(\d{1,4})\s*[x×*·]\s*(\d{1,4})\s*", typed, re.IGNORECASE)
    if not factors:
        time_s = written.read_quantity(typed, "time", "ms")
        in_range("watchdog", time_s, 0, _LONGEST_S, "s", "two factors up to 255")
        return time_s
    one, two = int(factors[1]), int(factors[2])
    for name, factor in (("WD_Fact_1", one), ("WD_Fact_2", two)):
        in_range(name, factor, FACTOR_LEAST, FACTOR_MOST)
    return one, two


def read_groups(typed: str) -> frozenset[int]:
    """Groups as people write them.

    >>> sorted(read_groups("1, 8")), read_groups("none")
    ([1, 8], frozenset())
    """
    if typed.strip().lower() in ("", "none", "-"):
        return frozenset()
    found = frozenset(written.whole(piece) for piece in re.split(r"[,;\s]+", typed.strip()) if piece)
    for group in found:
        in_range("group", group, GROUPS[0], GROUPS[-1])
    return found


def offered_bits() -> tuple[str, ...]:
    """The bits that may be asked for beside lock and watchdog: sync, freeze, and those of DPV1."""
    apart = {"Lock_Req", "Unlock_Req", "WD_On", "WD_Base_1ms"}
    names = (row["name"] for row in facts.rows(set_prm.TABLE))
    return tuple(name for name in names if name not in apart and not name.startswith("reserved"))


def assembled(
    setup: Setup, *, ident: int | None = None, watchdog: float | Factors = 0.2, base_s: float = BASES_S[0],
    min_tsdr_bits: int = set_prm.MIN_TSDR_BITS, lock: str = "locked", groups: Iterable[int] = (),
    extra: Iterable[str] = (),
) -> SetPrm:  # fmt: skip
    """The parameters of a station put together; where bits of DPV1 are asked for, its three octets are set.

    The bits come into the first three of the octets that the description gives, if it says that the station works by
    DPV1; else three octets go in front of them. Raises as `set_prm.encode` and `watchdog_factors`.
    """
    flags, later = LOCKS[lock] | (set(extra) & _FIRST), frozenset(extra) - _FIRST
    short_base = base_s == BASES_S[1]
    later |= {"WD_Base_1ms"} if short_base else set()
    if isinstance(watchdog, tuple):
        factor_1, factor_2 = watchdog
    elif watchdog:
        found = watchdog_factors(watchdog, base_s=base_s)
        factor_1, factor_2 = found.factor_1, found.factor_2
    else:
        factor_1 = factor_2 = 1
    flags |= {"WD_On"} if watchdog else set()
    user = setup.user_parameters
    if later:
        own = set_prm.build(ident=0, dpv1=later).user
        begins = bool(setup.description.number("DPV1_Slave")) and len(user) >= len(DPV1_OCTETS)
        mixed = bytes(a | b for a, b in zip(own, user, strict=False)) if begins else own
        user = mixed + (user[len(DPV1_OCTETS) :] if begins else user)
    number = setup.description.ident if ident is None else ident
    if number is None:
        raise Unreadable("the description has no ident number; type one, for example 16#FFF1.")
    return SetPrm(number, frozenset(flags), factor_1, factor_2, min_tsdr_bits, frozenset(groups), user)


def build_view(
    description: Description, chosen: Sequence[str], values: Mapping[str, str] | None = None, **choices: object
) -> Answer:
    """What the controller sends to start a station.

    Parameters: description; chosen, modules by name; values, of its parameters by name; choices, as of `assembled`.
    """
    setup = placed(description, chosen, values or {})
    prm = assembled(setup, **choices)  # type: ignore[arg-type]
    base_s = choices.get("base_s", BASES_S[0])
    asked = choices.get("extra", ())
    works = bool(description.number("DPV1_Slave")) or base_s == BASES_S[1] or bool(set(asked) - _FIRST)  # type: ignore[call-overload]
    found = objections(prm, setup, dpv1=works)
    degrees = [one.degree for one in found]
    degrees += [Degree.CANNOT_WORK] if setup.complaints else []
    degrees += [Degree.CAUTION] if prm.lock in _NO_START else []
    told = [*_told(found), *map(capital_first, setup.complaints)]
    settings: list[Row] = [
        {"place": one.place, "parameter": short(one.name), "value": one.text, "allowed": short(one.allowed)}
        for one in setup.settings
    ]
    return Answer(
        f"Set_Prm has {len(prm.octets)} octets: {set_prm.summary(prm.octets, dpv1=works)}. Chk_Cfg has "
        f"{len(setup.identifiers)}: {chk_cfg.summary(setup.identifiers)}.",
        degree=max(degrees, default=Degree.IN_ORDER),
        because=" ".join([_NO_START.get(prm.lock) or _factors_text(prm, base_s), *told]),  # type: ignore[arg-type]
        caution=cautions("on loss of the bus"),
        pictures=[bytes_drawing(prm.octets, setup.identifiers, dpv1=works)],
        rows=_line_rows(set_prm.explain(prm.octets, dpv1=works)),
        folded=[
            ("The identifiers of Chk_Cfg", _line_rows(chk_cfg.explain(setup.identifiers))),
            ("The station's own parameters", settings),
        ],
        sources=[set_prm.SOURCE, *(one.source for one in found)],
    )


def _factors_text(prm: SetPrm, base_s: float) -> str:
    if "WD_On" not in prm.flags:
        return "The watchdog is off."
    time_s = watchdog_time_s(prm.factor_1, prm.factor_2, base_s=base_s)
    return f"Watchdog: {time_text(base_s)} · {prm.factor_1} · {prm.factor_2} = {time_text(time_s)}."


def _told(found: Iterable[Finding]) -> list[str]:
    """Each finding in words."""
    return [
        one.found if one.rule == "configuration" else
        f"{capital_first(one.rule)}: {one.found}; expected {one.allowed}. {one.to_do}".rstrip()
        for one in found
    ]  # fmt: skip


def _line_rows(lines: Iterable[Line]) -> list[Row]:
    rows: list[Row] = []
    for line in lines:
        last = line.first + len(line.octets) - 1
        rows.append({
            "octet": f"{line.first} to {last}" if last > line.first else str(line.first),
            "value": _hex(line.octets, 10), "name": line.name, "meaning": line.meaning,
        })  # fmt: skip
    return rows


def _hex(octets: bytes, most: int) -> str:
    more = f" … {len(octets) - most} more" if len(octets) > most else ""
    return octets[:most].hex(" ").upper() + more


def read_view(text: str, description: Description | None = None, dpv1: bool | None = None) -> Answer:
    """What pasted start-up octets say, and what the station of a description would have against them.

    Parameters: text, the octets of Set_Prm, a telegram or a recording with it, as pasted; where it holds Chk_Cfg too,
    that is read with it; description, of the station; dpv1, whether it works by DPV1, None where nobody knows.
    """
    if not text.strip():
        raise Unreadable("there are no octets yet; paste those of Set_Prm, for example 88 01 14 0B FF F1 00.")
    octets = recording_text.read(text).octets
    station, data = service_data(octets, "Set_Prm", telegram_meaning.REQUEST)[-1]
    prm = set_prm.decode(data)
    sent = _configuration(octets) if station >= 0 else None
    if dpv1 is None and description is not None:
        dpv1 = bool(description.number("DPV1_Slave"))
    setup, about = _planned(description, sent)
    own_ident = description.ident if description else None
    found = objections(prm, setup, dpv1=dpv1 is True) if setup else set_prm.check(prm, own_ident=own_ident)
    degrees = [one.degree for one in found] + ([Degree.CANNOT_WORK] if description and not setup else [])
    settings: list[Row] = [
        {"parameter": short(one.name), "value sent": one.text, "allowed": short(one.allowed)}
        for one in (settings_in(setup, prm.user) if setup else ())
    ]
    return Answer(
        f"{f'To station {station}: ' if station >= 0 else ''}{set_prm.summary(data, dpv1=dpv1)}.",
        degree=max(degrees, default=Degree.IN_ORDER),
        because=" ".join([about, *_told(found)]),
        caution=cautions("on loss of the bus"),
        pictures=[bytes_drawing(data, sent or b"", dpv1=dpv1 is True)],
        rows=_line_rows(set_prm.explain(data, dpv1=dpv1)),
        folded=[
            ("The configuration that is sent with it", _line_rows(chk_cfg.explain(sent)) if sent else []),
            ("The station's own parameters, with the values sent", settings),
        ],
        sources=[set_prm.SOURCE, *(one.source for one in found)],
    )


def _configuration(octets: bytes) -> bytes | None:
    """What Chk_Cfg sends in the same recording; None where it is not there."""
    try:
        return service_data(octets, "Chk_Cfg", telegram_meaning.REQUEST)[-1].data
    except Unreadable:
        return None


def _planned(description: Description | None, sent: bytes | None) -> tuple[Setup | None, str]:
    """The station as its description has it with the modules that the configuration means, and a word on that."""
    if description is None:
        return None, "Choose the station's description, and what the station would object to is said."
    if not description.modules:
        raise Unreadable("this description has no module; without one nothing can be compared.")
    modules = modules_for(description, sent) if sent else description.modules[:1]
    if modules is None:
        known = ", ".join(short(module.name, 24) for module in description.modules[:8])
        return None, f"No choice of modules of this description gives {_hex(sent or b'', 8)}; it has: {known}."
    named = " + ".join(short(module.name, 24) for module in modules)
    return configure(description, [module.name for module in modules]), (
        f"Modules: {named}{'' if sent else ', as no Chk_Cfg is there to say it'}."
    )


_BOX, _LEFT, _MOST = 34.0, 76.0, 19


def bytes_drawing(parameters: bytes, identifiers: bytes, *, dpv1: bool) -> Drawing:
    """The octets of Set_Prm and of Chk_Cfg in the order in which they are sent, with what they belong to."""
    parts = [(1, "bits"), (2, "watchdog"), (1, "TSDR"), (2, "ident"), (1, "groups")]
    own = len(parameters) - STANDARD_OCTETS
    if dpv1 and own >= len(DPV1_OCTETS):
        parts.append((len(DPV1_OCTETS), "DPV1"))
        own -= len(DPV1_OCTETS)
    parts += [(own, "own parameters" if own > 3 else "own")] if own else []
    says = f"Set_Prm {_hex(parameters, 40)}. Chk_Cfg {_hex(identifiers, 40) or 'not given'}."
    sheet = Drawing(_LEFT + _BOX * (_MOST + 1) + 4, 116, says)
    _octet_line(sheet, 16, "Set_Prm", parameters, parts)
    _octet_line(sheet, 76, "Chk_Cfg", identifiers, [(len(identifiers), "")])
    return sheet


def _octet_line(sheet: Drawing, y: float, name: str, octets: bytes, parts: Sequence[tuple[int, str]]) -> None:
    sheet.text(4, y + 15, name, anchor="start", bold=True)
    if not octets:
        sheet.text(_LEFT, y + 15, "not given", size=12, anchor="start", fill=GREY)
    shown = len(octets) if len(octets) <= _MOST + 1 else _MOST
    at = 0
    for n, (size, words) in enumerate(parts):
        here = min(size, shown - at)
        if here <= 0:
            break
        x = _LEFT + at * _BOX
        for k in range(here):
            sheet.box(x + k * _BOX, y, _BOX - 2, 20, fill=(SAND, SKY, PAPER)[n % 3], stroke=INK, line=1)
            sheet.text(x + k * _BOX + _BOX / 2 - 1, y + 15, f"{octets[at + k]:02X}", size=12)
            sheet.text(x + k * _BOX + _BOX / 2 - 1, y - 4, at + k + 1, size=11, fill=GREY)
        sheet.text(x + here * _BOX / 2, y + 33, words if len(words) <= 5 * here + 2 else words[:6], size=11)
        at += size
    if shown < len(octets):
        sheet.text(_LEFT + _MOST * _BOX + 2, y + 15, f"+{len(octets) - shown}", size=11, anchor="start")


def start_up_bytes_panel() -> Panel:
    """Choose a station's parameters, and see the octets of Set_Prm and Chk_Cfg."""
    choice, files = fields.choice("description", CHOICES), fields.upload("Upload your own", ACCEPTED)
    places = [fields.choice(f"module in place {n}", [NOTHING]) for n in (1, 2)]
    ModuleLists(choice, files, [(place.widget, "" if n == 0 else NOTHING) for n, place in enumerate(places)])

    def answer(description: str, files: Sequence[Upload], place_1: str, place_2: str, values: dict[str, str],
               **choices: object) -> Answer:  # fmt: skip
        modules = [name for name in (place_1, place_2) if name != NOTHING]
        return build_view(description_called(description, files), modules, values, **choices)

    extra = widgets.SelectMultiple(
        options=offered_bits(), description="asked for", rows=3, style=choice.widget.style, layout=choice.widget.layout
    )
    return Panel(
        "The octets that start a station",
        {
            "description": choice,
            "files": files,
            "place_1": places[0],
            "place_2": places[1],
            "ident": fields.text("ident number", "", _ident),
            "watchdog": fields.text("watchdog", "200 ms", read_watchdog),
            "base_s": fields.choice("watchdog base", [(time_text(base_s), base_s) for base_s in BASES_S]),
            "min_tsdr_bits": fields.whole("min TSDR in bits", str(set_prm.MIN_TSDR_BITS), 0, 255),
            "lock": fields.choice("lock", list(LOCKS)),
            "groups": fields.text("groups", "none", read_groups),
            "extra": Field(extra),
            "values": fields.lines("values", "", read_values, rows=2),
        },
        answer,
        hint="Watchdog: a time (200 ms), two factors (1 x 20), or off. No ident number: the description's. Ctrl and a "
        "click: several. Values: one a line, as in “when the bus fails = ramp down”.",
    )


def _ident(typed: str) -> int | None:
    if not typed.strip():
        return None
    number = written.whole(typed)
    in_range("ident number", number, 0, 0xFFFF)
    return number


def read_examples() -> dict[str, str]:
    """Start-up octets to read: from the practice line, and some with something wrong."""
    ours = "\n".join(step.text for step in start("nothing", False).items[:5] if hasattr(step, "text"))
    return {
        f"start of the {STATION.lower()} (practice line)": ours,
        "seven octets": SetPrm(0xFFF1, factor_2=20).octets.hex(" ").upper(),
        "with DPV1 octets, base 1 ms": set_prm.build(
            ident=0xFFF1, watchdog_s=0.05, base_s=BASES_S[1], dpv1=["Fail_Safe"], user=bytes.fromhex("81 00 64 00")
        ).octets.hex(" ").upper(),
        "ident number of another device": replace(SetPrm(0xFFF2), factor_2=20).octets.hex(" ").upper(),
        "watchdog off": SetPrm(0xFFF1, frozenset({"Lock_Req"})).octets.hex(" ").upper(),
    }  # fmt: skip


def read_start_up_panel() -> Panel:
    """Paste Set_Prm, or a recording of a start: what it says, and what the station would object to."""
    choice, files = description_or_none()

    def answer(text: str, description: str, files: Sequence[Upload], dpv1: str) -> Answer:
        return read_view(text, chosen_description(description, files), DPV1[dpv1])

    return Panel(
        "What do these start-up octets say?",
        {
            "text": with_examples("octets", read_examples(), rows=7),
            "description": choice,
            "files": files,
            "dpv1": fields.choice("works by DPV1", list(DPV1)),
        },
        answer,
        hint="The octets of Set_Prm alone, a telegram, or a recording: then Chk_Cfg is read too. Any usual spelling. "
        "With the station's description, its own parameters are named and its objections told.",
    )
