"""Set_Prm and Chk_Cfg as answers: put together from a description, or read from pasted octets with all objections."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from helpers import facts, written
from helpers.answer import Answer, Row
from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.telegram_meaning import service_data
from helpers.bus.services import chk_cfg, set_prm
from helpers.bus.services.accepted import objections
from helpers.bus.services.bits import OctetLine
from helpers.bus.services.set_prm import DPV1_OCTETS, GROUPS, SetPrm
from helpers.bus.time.watchdog import BASES_S, FACTOR_LEAST, FACTOR_MOST, watchdog_factors, watchdog_time_s
from helpers.device.description.model import Description
from helpers.device.description.modules import Setup, configure, modules_for, settings_in
from helpers.device.description.set_up_answer import placed
from helpers.errors import Unreadable, in_range
from helpers.quantity import time_text
from helpers.safe_work import cautions
from helpers.verdict import Degree, Finding
from helpers.wording import capital_first, octets_text, short


@dataclass(frozen=True)
class StartUpPicture:
    """The octets of Set_Prm and of Chk_Cfg in the order in which they are sent; dpv1: three of them are of DPV1."""

    parameters: bytes
    identifiers: bytes
    dpv1: bool

    @property
    def says(self) -> str:
        """Both services in hexadecimal."""
        identifiers = cut_octets(self.identifiers, 40) or "not given"
        return f"Set_Prm {cut_octets(self.parameters, 40)}. Chk_Cfg {identifiers}."


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


def build_answer(
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
        pictures=[StartUpPicture(prm.octets, setup.identifiers, dpv1=works)],
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


def _line_rows(lines: Iterable[OctetLine]) -> list[Row]:
    rows: list[Row] = []
    for line in lines:
        last = line.first + len(line.octets) - 1
        rows.append({
            "octet": f"{line.first} to {last}" if last > line.first else str(line.first),
            "value": cut_octets(line.octets, 10), "name": line.name, "meaning": line.meaning,
        })  # fmt: skip
    return rows


def cut_octets(octets: bytes, most: int) -> str:
    """The first octets, and how many more there are."""
    more = f" … {len(octets) - most} more" if len(octets) > most else ""
    return octets_text(octets[:most]) + more


def read_answer(text: str, description: Description | None = None, dpv1: bool | None = None) -> Answer:
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
        pictures=[StartUpPicture(data, sent or b"", dpv1=dpv1 is True)],
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
        return None, f"No choice of modules of this description gives {cut_octets(sent or b'', 8)}; it has: {known}."
    named = " + ".join(short(module.name, 24) for module in modules)
    return configure(description, [module.name for module in modules]), (
        f"Modules: {named}{'' if sent else ', as no Chk_Cfg is there to say it'}."
    )
