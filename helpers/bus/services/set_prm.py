"""Set_Prm: the parameters with which a station starts.

    1     bits: lock, unlock, sync, freeze, watchdog on (`data/set_prm_bits.csv`)
    2, 3  WD_Fact_1 and WD_Fact_2
    4     min TSDR in bit times; 0 keeps the old value
    5, 6  ident number, high octet first; it has to be the station's own
    7     groups, one bit for each; taken only together with Lock_Req
    8 …   the station's own parameters; where it works by DPV1, three octets of DPV1 come first

Whether octets 8 to 10 belong to DPV1 can't be seen in the telegram: the device description says it. Sources:
PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734; Norgren FD67 manual p.26 and Festo CP-FB13 manual p.2-33 for
the bits; Optris DP manual p.18 for DPV1.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from helpers import facts
from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.services import bits
from helpers.bus.services.bits import BitRow, OctetLine
from helpers.bus.time.timing import bus_timing
from helpers.bus.time.watchdog import BASES_S, watchdog_factors, watchdog_time_s
from helpers.errors import OutOfRange, in_range
from helpers.quantity import time_text
from helpers.verdict import Degree, Finding

TABLE = "set_prm_bits"
STANDARD_OCTETS, _, SOURCE = bits.limit("Set_Prm", "octets")
DPV1_OCTETS = (8, 9, 10)
MIN_TSDR_BITS = bus_timing(bit_rates()[0]).min_tsdr_bits  # the same at every bit rate
GROUPS = range(1, bits.limit("Set_Prm", "group")[1] + 1)


@dataclass(frozen=True)
class SetPrm:
    """The parameters of one station.

    `flags` are the names of the bits of octet 1 that are 1, `groups` the numbers (1 to 8) of its groups, `user` all
    octets behind the seventh.
    """

    ident: int
    flags: frozenset[str] = frozenset({"Lock_Req", "WD_On"})
    factor_1: int = 1
    factor_2: int = 1
    min_tsdr_bits: int = MIN_TSDR_BITS
    groups: frozenset[int] = frozenset()
    user: bytes = b""

    def watchdog_s(self, *, dpv1: bool = False) -> float | None:
        """The watchdog time in seconds; None where the watchdog is off or a factor is 0.

        Parameters: dpv1, whether octets 8 to 10 are those of DPV1; only then can the base be 1 ms.

        >>> SetPrm(0xFFF1, factor_1=10, factor_2=2).watchdog_s()
        0.2
        >>> SetPrm(0xFFF1, factor_1=10, factor_2=2, user=bytes.fromhex("84 00 00")).watchdog_s(dpv1=True)
        0.02
        """
        if "WD_On" not in self.flags or not (self.factor_1 and self.factor_2):
            return None
        short = dpv1 and "WD_Base_1ms" in self.dpv1_flags
        return watchdog_time_s(self.factor_1, self.factor_2, base_s=BASES_S[short])

    @property
    def dpv1_flags(self) -> frozenset[str]:
        """The names of the bits that are 1 in octets 8 to 10, if those belong to DPV1."""
        return frozenset().union(*(bits.flags(TABLE, n, octet) for n, octet in self.dpv1_octets))

    @property
    def dpv1_octets(self) -> tuple[tuple[int, int], ...]:
        """Octets 8 to 10 with their numbers; empty where the telegram does not hold all three."""
        numbers = DPV1_OCTETS if len(self.user) >= len(DPV1_OCTETS) else ()
        return tuple((n, self.user[n - DPV1_OCTETS[0]]) for n in numbers)

    @property
    def lock(self) -> str:
        """What lock and unlock say together: locked, released, or only min TSDR.

        >>> SetPrm(0xFFF1).lock
        'locked'
        """
        return _lock(self.flags)["name"]

    @property
    def octets(self) -> bytes:
        """The octets of the service."""
        return encode(self)


def encode(prm: SetPrm) -> bytes:
    """The octets of Set_Prm.

    Raises `OutOfRange` for a value that its octet can't hold or for too many octets, `Unknown` for a bit that does not
    exist. Source: PROFIBUS Specification p.734.

    >>> encode(SetPrm(0xFFF1, factor_1=1, factor_2=20, groups=frozenset({1, 8}))).hex(" ").upper()
    '88 01 14 0B FF F1 81'
    """
    bits.check(TABLE, prm.flags)
    if wrong := prm.flags - {name for name in bits.names(TABLE) if bits.octet_of(TABLE, 1, frozenset({name}))}:
        raise OutOfRange(f"{sorted(wrong)[0]} is no bit of octet 1; put the octets of DPV1 into user ({SOURCE}).")
    for name, value in (("WD_Fact_1", prm.factor_1), ("WD_Fact_2", prm.factor_2), ("min TSDR", prm.min_tsdr_bits)):
        in_range(name, value, 0, 0xFF, source="one octet")
    in_range("ident number", prm.ident, 0, 0xFFFF, source="two octets")
    for group in prm.groups:
        in_range("group", group, GROUPS[0], GROUPS[-1], source=SOURCE)
    octets = bytes(
        (
            bits.octet_of(TABLE, 1, prm.flags),
            prm.factor_1,
            prm.factor_2,
            prm.min_tsdr_bits,
            *prm.ident.to_bytes(2, "big"),
            sum(1 << group - 1 for group in prm.groups),
        )
    )
    bits.check_length("Set_Prm", octets + prm.user)
    return octets + prm.user


def decode(octets: bytes) -> SetPrm:
    """What the octets of Set_Prm say. Raises `OutOfRange` for fewer than 7 or more than 244 of them.

    >>> found = decode(bytes.fromhex("88 01 14 0B FF F1 00"))
    >>> found.lock, found.watchdog_s(), found.min_tsdr_bits, hex(found.ident)
    ('locked', 0.2, 11, '0xfff1')
    """
    bits.check_length("Set_Prm", octets)
    return SetPrm(
        int.from_bytes(octets[4:6], "big"),
        bits.flags(TABLE, 1, octets[0]),
        octets[1],
        octets[2],
        octets[3],
        groups_of(octets[6]),
        bytes(octets[7:]),
    )


def build(
    *,
    ident: int,
    watchdog_s: float = 0,
    base_s: float = BASES_S[0],
    min_tsdr_bits: int = MIN_TSDR_BITS,
    groups: Iterable[int] = (),
    flags: Iterable[str] = ("Lock_Req",),
    dpv1: Iterable[str] | None = None,
    user: bytes = b"",
) -> SetPrm:
    r"""The parameters for a start, with the factors of the shortest watchdog that is not shorter than asked for.

    Parameters: ident, 0 to 65535; watchdog_s [s], 0 for off; base_s, 0.01 or, with DPV1, 0.001; min_tsdr_bits;
    groups, 1 to 8; flags, names of bits of octet 1 (WD_On follows from the time); dpv1, names of bits of octets 8 to
    10, None for a station without DPV1; user, the station's own parameters. Raises as `watchdog_factors` and `encode`.

    >>> build(ident=0xFFF1, watchdog_s=0.05, base_s=0.001, dpv1=["Fail_Safe"], user=b"\x07").octets.hex(" ").upper()
    '88 01 32 0B FF F1 00 C4 00 00 07'
    """
    chosen, extra, factor_1, factor_2 = set(flags) - {"WD_On"}, b"", 1, 1
    if watchdog_s:
        found = watchdog_factors(watchdog_s, base_s=base_s)
        factor_1, factor_2 = found.factor_1, found.factor_2
        chosen.add("WD_On")
    if dpv1 is not None:
        named = frozenset(dpv1) | {"DPV1_Enable"} | ({"WD_Base_1ms"} if base_s == BASES_S[1] else set())
        bits.check(TABLE, named)
        extra = bytes(bits.octet_of(TABLE, n, named) for n in DPV1_OCTETS)
    elif base_s != BASES_S[0]:
        raise OutOfRange(
            f"the watchdog base is {time_text(base_s)}; allowed without DPV1 is {time_text(BASES_S[0])}, as the bit "
            f"for another stands in the octets of DPV1 ({_base_source()})."
        )
    made = SetPrm(ident, frozenset(chosen), factor_1, factor_2, min_tsdr_bits, frozenset(groups), extra + user)
    encode(made)
    return made


def _base_source() -> str:
    return facts.one(TABLE, name="WD_Base_1ms").cited


def groups_of(octet: int) -> frozenset[int]:
    """The numbers of the groups whose bits are 1: bit 0 is group 1.

    >>> sorted(groups_of(0x81))
    [1, 8]
    """
    return frozenset(group for group in GROUPS if octet >> group - 1 & 1)


def groups_text(groups: frozenset[int]) -> str:
    """Groups for a person.

    >>> groups_text(frozenset()), groups_text(frozenset({8, 1}))
    ('no group', 'groups 1, 8')
    """
    if not groups:
        return "no group"
    return f"group{'s' if len(groups) > 1 else ''} {', '.join(map(str, sorted(groups)))}"


def bit_rows(octets: bytes, *, dpv1: bool = False) -> tuple[BitRow, ...]:
    """The bits of octet 1 and, with DPV1, of octets 8 to 10. Raises as `decode`."""
    prm = decode(octets)
    more = prm.dpv1_octets if dpv1 else ()
    return bits.rows(TABLE, 1, octets[0]) + tuple(row for n, octet in more for row in bits.rows(TABLE, n, octet))


def explain(octets: bytes, *, dpv1: bool | None = None) -> tuple[OctetLine, ...]:
    """Every octet of Set_Prm. Raises as `decode`.

    Parameters: dpv1, whether the station works by DPV1; None: not known, then both readings are told.

    >>> for line in explain(bytes.fromhex("88 01 14 0B FF F1 00")):
    ...     print(line.octets.hex(" ").upper(), line.name, "–", line.meaning)
    88 Station_Status – the station belongs to this master from now on; watchdog on
    01 14 WD_Fact_1, WD_Fact_2 – watchdog 10 ms · 1 · 20 = 200 ms
    0B min TSDR – the station answers after 11 bit times at the earliest
    FF F1 ident number – 16#FFF1; it has to be the station's own
    00 Group_Ident – no group
    """
    prm = decode(octets)
    rest = prm.user
    pieces = [
        (1, "Station_Status", _status_text(prm)),
        (2, "WD_Fact_1, WD_Fact_2", _watchdog_text(prm, dpv1)),
        (1, "min TSDR", _tsdr_text(prm.min_tsdr_bits)),
        (2, "ident number", f"16#{prm.ident:04X}; it has to be the station's own"),
        (1, "Group_Ident", groups_text(prm.groups) + _groups_taken(prm)),
    ]
    if dpv1 is not False and prm.dpv1_octets:
        pieces += [(1, f"DPV1_Status_{n - 7}", _dpv1_text(n, octet, dpv1)) for n, octet in prm.dpv1_octets]
        rest = rest[len(DPV1_OCTETS) :]
    if rest:
        pieces.append((len(rest), "User_Prm_Data", "the station's own parameters; its description names them"))
    return tuple(bits.placed(pieces, octets))


def summary(octets: bytes, *, dpv1: bool | None = None) -> str:
    """Set_Prm in one line.

    >>> summary(bytes.fromhex("88 01 14 0B FF F1 00"))
    'locked, ident 16#FFF1, watchdog 200 ms, min TSDR 11, no group'
    """
    prm = decode(octets)
    if prm.lock == "only min TSDR":
        return f"{prm.lock}: {prm.min_tsdr_bits}"
    time_s = prm.watchdog_s(dpv1=dpv1 is True or "DPV1_Enable" in prm.dpv1_flags)
    watchdog = "off" if time_s is None else time_text(time_s)
    more = f", {len(prm.user)} further octet{'s' if len(prm.user) > 1 else ''}" if prm.user else ""
    return (
        f"{prm.lock}, ident 16#{prm.ident:04X}, watchdog {watchdog}, min TSDR {prm.min_tsdr_bits}, "
        f"{groups_text(prm.groups)}{more}"
    )


def check(
    prm: SetPrm, *, own_ident: int | None = None, max_tsdr_bits: int | None = None, place: str = "station"
) -> tuple[Finding, ...]:
    """What a station, or caution, would have against these parameters; empty if nothing.

    Parameters: own_ident, the ident number of the station itself, if known; max_tsdr_bits, the max TSDR of the bus, if
    known; place, the name of the station for the findings.

    >>> [finding.found for finding in check(SetPrm(0xFFF1, frozenset({"Lock_Req"})), own_ident=0xFFF2)]
    ['off', '16#FFF1']
    """
    found = []
    if prm.lock == "locked" and "WD_On" not in prm.flags:
        to_do = "Switch it on: without it a drive runs on with its last setpoint when its controller is lost."
        found.append(Finding("watchdog", place, "off", "on", "common practice", to_do, Degree.CAUTION))
    if "WD_On" in prm.flags and not (prm.factor_1 and prm.factor_2):
        factors = f"factors {prm.factor_1} and {prm.factor_2}"
        allowed, source = "1 to 255 each", "follows from the formula: a factor of 0 gives no time (calculated)"
        found.append(Finding("watchdog", place, factors, allowed, source, "Choose a time.", Degree.CANNOT_WORK))
    if own_ident is not None and prm.ident != own_ident and prm.lock != "only min TSDR":
        to_do = "Put the device description of this station into the engineering computer and load the controller."
        ident, own = f"16#{prm.ident:04X}", f"16#{own_ident:04X}"
        found.append(Finding("ident number", place, ident, own, SOURCE, to_do, Degree.BY_STANDARD))
    if max_tsdr_bits is not None and prm.min_tsdr_bits > max_tsdr_bits:
        to_do = "Set it to max TSDR at the most. More is meant for lines that FMS stations share."
        got, most, source = (
            f"{prm.min_tsdr_bits} bit",
            f"0 to {max_tsdr_bits} bit",
            bits.limit("Set_Prm", "min TSDR")[2],
        )
        found.append(Finding("min TSDR", place, got, most, source, to_do, Degree.CAUTION))
    if prm.groups and prm.lock != "locked":
        to_do = "Set Lock_Req as well, or the station does not take its groups."
        found.append(Finding("groups", place, groups_text(prm.groups), "with Lock_Req", SOURCE, to_do, Degree.CAUTION))
    return tuple(found)


def _lock(flags: frozenset[str]) -> facts.Fact:
    return facts.one("set_prm_lock", lock=int("Lock_Req" in flags), unlock=int("Unlock_Req" in flags))


def _status_text(prm: SetPrm) -> str:
    others = {"Sync_Req": "sync will be used", "Freeze_Req": "freeze will be used"}
    parts = [_lock(prm.flags)["meaning"], *(text for name, text in others.items() if name in prm.flags)]
    parts.append("watchdog on" if "WD_On" in prm.flags else "watchdog off")
    parts += [f"{name} is 1" for name in sorted(prm.flags) if name.startswith("reserved")]
    return "; ".join(parts)


def _watchdog_text(prm: SetPrm, dpv1: bool | None) -> str:
    one, two = prm.factor_1, prm.factor_2
    if "WD_On" not in prm.flags:
        return f"{one} and {two}, not used: the watchdog is off"
    if not (one and two):
        return f"{one} and {two}: a factor of 0 gives no time (1 to 255)"
    times = [watchdog_time_s(one, two, base_s=base_s) for base_s in BASES_S]
    marked = dpv1 is not False and "WD_Base_1ms" in prm.dpv1_flags
    told = [f"{time_text(base_s)} · {one} · {two} = {time_text(s)}" for base_s, s in zip(BASES_S, times, strict=True)]
    if marked and dpv1 is None:
        return f"watchdog {told[1]} if the station works by DPV1, {told[0]} if not"
    return f"watchdog {told[marked]}"


def _tsdr_text(tsdr_bits: int) -> str:
    return f"the station answers after {tsdr_bits} bit times at the earliest" if tsdr_bits else "the old value stays"


def _groups_taken(prm: SetPrm) -> str:
    return "; not taken, as Lock_Req is 0" if prm.groups and "Lock_Req" not in prm.flags else ""


def _dpv1_text(number: int, octet: int, dpv1: bool | None) -> str:
    said = bits.sentence(TABLE, number, octet)
    return said if dpv1 else f"if the station works by DPV1: {said}; else a parameter of its own"
