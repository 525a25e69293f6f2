"""The bus cycle: how long it takes until every station has been asked once.

One rotation of the token, in the order in which it happens: the token and the silence after it (33 + TID1),
one message cycle for each station, acyclic messages, one poll of the address gap (66 + TSL if nobody answers,
66 + TSDR + 66 + TID1 if a station has that address), and then, if there are other masters, the same for each
of them. A cycle shorter than the largest Min_Slave_Interval is stretched to it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache, partial

from helpers.bus.address.address import LAST_USABLE
from helpers.bus.time.message_cycle import Breakdown, Exchange, Part, lost_message_bits, message_cycle, tsdr_part
from helpers.bus.time.timing import BusTiming, rule_bits, rule_source, telegram_bits, timing_for, timing_source
from helpers.errors import in_range


@dataclass(frozen=True)
class OtherMaster:
    """Another holder of the token, and what it sends each time it has it.

    Without exchanges it only takes the token, looks into its gap once and hands the token on, as an
    engineering computer does that is plugged in and idle.
    """

    name: str = "engineering computer"
    exchanges: tuple[Exchange, ...] = ()


@dataclass(frozen=True)
class BusCycle:
    """The bus cycle of one controller in three cases; what each case means is at `bus_cycle`."""

    best: Breakdown
    typical: Breakdown
    worst: Breakdown
    exchanges: tuple[Exchange, ...]
    timing: BusTiming


def bus_cycle(
    exchanges: Sequence[Exchange],
    *,
    bit_rate: float,
    others: Sequence[OtherMaster] = (),
    acyclic: Sequence[Exchange] = (),
    lost: int = 1,
    delay_bits: float = 0,
    timing: BusTiming | None = None,
) -> BusCycle:
    """The bus cycle in the standard's form: best, typical and worst.

    Best: every station answers at once (min TSDR), no gap poll, nothing acyclic, nothing lost.
    Typical: the usual TSDR, and for each master one gap poll that nobody answers.
    Worst: the longest TSDR, one gap poll for each master, answered if that takes longer, the acyclic
    messages, and `lost` telegrams that have to be repeated, the dearest ones.

    Parameters: exchanges, one for each station of the controller; bit_rate [bit/s]; others, further
    masters; acyclic, messages such as diagnosis; lost, telegrams lost in the worst cycle; delay_bits
    and timing as for `message_cycle`. Raises as `message_cycle`, and `OutOfRange` unless
    there are 1 to 125 stations.
    Sources: message cycle from PROFIBUS Specification p.900 eq. 21; the sum over the cycle from M. Felser,
    PROFIBUS Manual, calculation for single masters, with every silence counted once.

    >>> cycle = bus_cycle([Exchange(outputs=12, inputs=12)] * 6, bit_rate=1_500_000)
    >>> [round(case.bits) for case in (cycle.best, cycle.typical, cycle.worst)]
    [3130, 3622, 4979]
    """
    used = timing_for(bit_rate, timing)
    case = partial(
        one_cycle,
        exchanges,
        bit_rate=bit_rate,
        others=others,
        delay_bits=delay_bits,
        timing=used,
    )
    return BusCycle(
        best=case(tsdr="shortest", gap_polls=0, title="Bus cycle, best"),
        typical=case(tsdr="typical", gap_polls=1, title="Bus cycle, typical"),
        worst=case(
            tsdr="longest",
            gap_polls=1,
            gap_answered=_gap_bits(used, "longest", delay_bits, answered=True)
            > _gap_bits(used, "longest", delay_bits, answered=False),
            acyclic=acyclic,
            lost=lost,
            title="Bus cycle, worst",
        ),
        exchanges=tuple(exchanges),
        timing=used,
    )


def one_cycle(
    exchanges: Sequence[Exchange],
    *,
    bit_rate: float,
    tsdr: str = "typical",
    gap_polls: int = 1,
    gap_answered: bool = False,
    others: Sequence[OtherMaster] = (),
    acyclic: Sequence[Exchange] = (),
    lost: int = 0,
    delay_bits: float = 0,
    timing: BusTiming | None = None,
    title: str = "Bus cycle",
) -> Breakdown:
    """One rotation of the token, item by item, under stated conditions.

    Parameters: as for `bus_cycle`; tsdr, `shortest`, `typical` or `longest`; gap_polls, polls of the
    address gap for each master; gap_answered, whether a station has the address that is polled.

    >>> cycle = one_cycle([Exchange(outputs=2, inputs=2)] * 3, bit_rate=500_000)
    >>> [(part.times, part.name, round(part.bits)) for part in cycle.parts][2:]
    [(3, 'message cycle 2 out / 2 in', 933), (1, 'gap poll', 266)]
    >>> round(cycle.bits), round(cycle.seconds * 1000, 3)
    (1269, 2.538)
    """
    used = timing_for(bit_rate, timing)
    in_range("number of stations", len(exchanges), 1, LAST_USABLE, source="addresses 1 to 125")
    in_range("number of gap polls", gap_polls, 0, LAST_USABLE)
    in_range("number of lost telegrams", lost, 0, 1e6)

    def messages(of: Sequence[Exchange], name: str, group: str) -> list[Part]:
        # Stations with the same exchange become one item, so that 125 of them stay readable.
        return [
            Part(
                f"{name} {exchange.label}",
                _message_bits(_shape(exchange), tsdr, delay_bits, used),
                group=group,
                times=n,
            )
            for exchange, n in Counter(of).items()
        ]

    # With one master the token goes to itself and crosses no cable.
    hop_bits = delay_bits / 2 if others else 0
    parts = [*_token(used, hop_bits), *messages(exchanges, "message cycle", "message")]
    parts += messages(acyclic, "acyclic message", "acyclic")
    gap = _gap(used, tsdr, delay_bits, answered=gap_answered, polls=gap_polls)
    parts += gap
    for master in others:
        parts += [
            Part(f"{part.name} ({master.name})", part.each_bits, part.why, part.source, part.times, "other masters")
            for part in (
                *_token(used, hop_bits),
                *messages(master.exchanges, "message cycle", "other masters"),
                *gap,
            )
        ]
    if lost:
        every = [*exchanges, *acyclic, *(e for master in others for e in master.exchanges)]
        dearest = max(_lost_bits(shape, delay_bits, used) for shape in {_shape(e) for e in every})
        why = "lost or spoilt, and sent again; the dearest message is taken"
        parts.append(Part("lost telegram", dearest, why, times=lost, group="lost"))
    return Breakdown(title, used.bit_rate, (*parts, *_wait(exchanges, parts, used.bit_rate)))


# What the length of a message depends on: outputs, inputs, SAPs and the station's own TSDR; not its name.
Shape = tuple[int, int, bool, int | None]


def _shape(exchange: Exchange) -> Shape:
    return exchange.outputs, exchange.inputs, exchange.saps, exchange.tsdr_bits


def _of_shape(shape: Shape) -> Exchange:
    outputs, inputs, saps, tsdr_bits = shape
    return Exchange(outputs, inputs, saps=saps, tsdr_bits=tsdr_bits)


# Kept, as a line of 125 stations has few shapes and a plan is checked again at each change.
@lru_cache(maxsize=4096, typed=True)  # 0 and 0.0 are kept apart: whole bits stay whole
def _message_bits(shape: Shape, tsdr: str, delay_bits: float, timing: BusTiming) -> float:
    exchange, bit_rate = _of_shape(shape), timing.bit_rate
    return message_cycle(exchange, bit_rate=bit_rate, tsdr=tsdr, delay_bits=delay_bits, timing=timing).bits


@lru_cache(maxsize=4096, typed=True)  # 0 and 0.0 are kept apart: whole bits stay whole
def _lost_bits(shape: Shape, delay_bits: float, timing: BusTiming) -> float:
    return lost_message_bits(_of_shape(shape), bit_rate=timing.bit_rate, delay_bits=delay_bits, timing=timing)


def _token(timing: BusTiming, hop_bits: float) -> list[Part]:
    parts = [
        Part("token", telegram_bits("token"), "hands over the right to send", rule_source("character"), group="token"),
        Part("TID1", timing.tid1_bits, "silence after the token", rule_source("TID constant"), group="token"),
    ]
    if hop_bits:
        why = "the token's way along the cable"
        parts.append(Part("TTD", hop_bits, why, rule_source("cable delay"), group="token"))
    return parts


def _gap(timing: BusTiming, tsdr: str, delay_bits: float, *, answered: bool, polls: int) -> list[Part]:
    """The poll of one address between this master and the next, where a new master might have come."""
    if not polls:
        return []
    bits = _gap_bits(timing, tsdr, delay_bits, answered=answered)
    if answered:
        why = "SD1 to a station that answers with its state in an SD1"
        return [Part("gap poll, answered", bits, why, rule_source("TID constant"), polls, "gap")]
    why = "SD1 to an empty address, then the slot time; it replaces the silence before the next telegram"
    return [Part("gap poll", bits, why, timing_source("tsl", timing.bit_rate), polls, "gap")]


def _gap_bits(timing: BusTiming, tsdr: str, delay_bits: float, *, answered: bool) -> float:
    request = telegram_bits("SD1")
    if not answered:
        return request + timing.tsl_bits
    return request + tsdr_part(timing, tsdr).bits + telegram_bits("SD1") + timing.tid1_bits + delay_bits


def _wait(exchanges: Sequence[Exchange], parts: Sequence[Part], bit_rate: float) -> list[Part]:
    """What is missing to the longest Min_Slave_Interval: two requests to a station are one cycle apart."""
    wanted = max(exchange.min_slave_interval_s for exchange in exchanges) * bit_rate
    missing = wanted - sum(part.bits for part in parts)
    if missing <= 0:
        return []
    why = "a station asks for more time between two requests (Min_Slave_Interval)"
    return [Part("wait for the slowest station", missing, why, rule_source("min slave interval"), group="wait")]


def handbook_cycle(exchanges: Sequence[Exchange], *, bit_rate: float, timing: BusTiming | None = None) -> Breakdown:
    """The bus cycle as the handbook adds it up: TToken + TGAP + Σ (300 + 11·bytes), one controller alone.

    TToken = TSYN + 33 + TID2, TGAP = TSYN + 66 + TSL. Parameters and errors as for `bus_cycle`.
    Source: M. Felser, PROFIBUS Manual, calculation for single masters.

    >>> handbook_cycle([Exchange(12, 12)], bit_rate=1_500_000).bits
    1179
    """
    used = timing_for(bit_rate, timing)
    in_range("number of stations", len(exchanges), 1, LAST_USABLE, source="addresses 1 to 125")
    syn, source = rule_bits("TSYN"), rule_source("handbook TID1")
    token = Part("TToken", syn + telegram_bits("token") + used.tid2_bits, "TSYN + 33 + TID2", source, group="token")
    gap = Part("TGAP", syn + telegram_bits("SD1") + used.tsl_bits, "TSYN + 66 + TSL", source, group="gap")
    messages = [
        Part(
            f"message cycle {exchange.label}",
            message_cycle(exchange, bit_rate=bit_rate, form="handbook").bits,
            "300 + 11·bytes",
            source,
            times,
        )
        for exchange, times in Counter(exchanges).items()
    ]
    return Breakdown("Bus cycle by the handbook", used.bit_rate, (token, gap, *messages))
