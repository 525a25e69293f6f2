"""Panels for the time that data cost: what a longer format adds, and the bus cycle by three ways to calculate it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from helpers.answer import Answer, Row
from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.bus.time.answers import BarsPicture
from helpers.bus.time.cycle import BusCycle, OtherMaster, bus_cycle
from helpers.bus.time.estimate import compare, estimate_for, step_cost
from helpers.bus.time.message_cycle import Exchange, message_cycle
from helpers.bus.time.timing import signal_delay_bits
from helpers.curves import Area, Axis, Curve, Curves, Tone, decades
from helpers.device import formats as data_formats
from helpers.errors import Unreadable, in_range
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.plan.my_networks import demo_network
from helpers.quantity import percent, time_text

_FILLS = (SAND, SKY, PAPER, SKY, SAND)


def bars_drawing(picture: BarsPicture) -> Drawing:
    """Times as bars to one scale. The parts are numbered; a line below tells what the numbers mean."""
    return bars([(bar.label, bar.parts, bar.total) for bar in picture.bars], width=picture.width)


def bars(rows: Sequence[tuple[str, Sequence[tuple[str, float]], str]], *, width: int) -> Drawing:
    """Times as bars to one scale: for each row its label, its parts (name, length) and the total in words.

    The parts are numbered; a line below tells what the numbers mean.
    """
    names = list(dict.fromkeys(name for _, parts, _ in rows for name, length in parts if length))
    left, right, top, high = max(7.2 * len(label) for label, _, _ in rows) + 16, 72.0, 10.0, 34.0
    legend = [f"{n} {name}" for n, name in enumerate(names, 1)]
    lines = _wrapped(legend, int((width - 8) / 6.6))
    told = (
        f"{label} {total}: " + ", ".join(f"{name} {length:g}" for name, length in parts) for label, parts, total in rows
    )
    sheet = Drawing(width, top + high * len(rows) + 14 * len(lines) + 4, "; ".join(told))
    scale = (width - left - right) / max(sum(length for _, length in parts) for _, parts, _ in rows)
    for row, (label, parts, total) in enumerate(rows):
        x, y = left, top + high * row
        sheet.text(left - 8, y + 17, label, size=12, anchor="end")
        for name, length in parts:
            if length:
                number = names.index(name)
                long = length * scale
                sheet.box(x, y, long, 24, fill=_FILLS[number % len(_FILLS)], stroke=INK, line=1)
                if long >= 10:
                    sheet.text(x + long / 2, y + 16, number + 1, size=11)
                x += long
        sheet.text(x + 6, y + 17, total, size=12, anchor="start", bold=True)
    for n, line in enumerate(lines):
        sheet.text(8, top + high * len(rows) + 8 + 14 * n, line, size=11, anchor="start", fill=GREY)
    return sheet


def _wrapped(items: Sequence[str], limit: int) -> list[str]:
    lines = [""]
    for item in items:
        joined = f"{lines[-1]} · {item}".removeprefix(" · ")
        if len(joined) <= limit:
            lines[-1] = joined
        else:
            lines.append(item)
    return lines


# -- what a longer format costs -----------------------------------------------------------------------


def step_view(before: str, after: str, drives: int, bit_rate: float = 1_500_000) -> Answer:
    """What it costs to give every drive another format, at each bit rate."""
    exchanges = [_exchange(name) for name in (before, after)]
    costs = step_cost(before=exchanges[:1] * drives, after=exchanges[1:] * drives)
    here = next(cost for cost in costs if cost.bit_rate == bit_rate)
    change = exchanges[1].data_bytes - exchanges[0].data_bytes
    word = "longer" if change > 0 else "shorter" if change < 0 else "no longer and no shorter"
    messages = [message_cycle(exchange, bit_rate=bit_rate) for exchange in exchanges]
    rows: list[Row] = [
        {
            "bit rate": bit_rate_text(cost.bit_rate),
            f"all {before}": time_text(cost.before_s),
            f"all {after}": time_text(cost.after_s),
            "difference": time_text(cost.extra_s, signed=True),
            "share": percent(cost.share, signed=True),
            "chosen": "◀" if cost is here else "",
        }
        for cost in costs
    ]
    return Answer(
        f"With {drives} drive{'s' if drives > 1 else ''} at {bit_rate_text(bit_rate)}, {after} instead of {before} "
        f"makes the cycle {word}: {time_text(here.before_s)} → {time_text(here.after_s)}.",
        because=f"{abs(change)} bytes {'less' if change < 0 else 'more'} for each drive, 11 bit times for each byte, "
        f"{drives} times in each cycle. Request and answer also have parts that carry no data and stay the same.",
        pictures=[
            bars(
                [
                    (name, [(part.name, part.bits) for part in message.parts], time_text(message.seconds))
                    for name, message in zip((before, after), messages, strict=True)
                ],
                width=760,
            )
        ],
        rows=rows,
        sources=[part.source for message in messages for part in message.parts],
    )


def _exchange(format_name: str) -> Exchange:
    one = data_formats.by_name(format_name)
    return Exchange(one.bytes_out, one.bytes_in, name=one.name)


def step_panel() -> Panel:
    """What one format costs against another, at each bit rate."""
    names = [one.name for one in data_formats.all_formats()]
    return Panel(
        "What does a longer format cost?",
        {
            "before": fields.choice("format", names, "PPO 3"),
            "after": fields.choice("instead", names, "PPO 5"),
            "drives": fields.slider("drives", 8, 1, 124),
            "bit_rate": fields.bit_rate(1_500_000),
        },
        step_view,
        hint="The bars show the message of one drive, item by item. The table shows the cycle of one controller with "
        "nothing but these drives.",
    )


# -- the bus cycle three ways -------------------------------------------------------------------------


def read_stations(typed: str) -> tuple[Exchange, ...]:
    """Stations as people list them, one kind a line: `4 × PPO 4`, `2 x 12/16` (bytes out/in), `F3 F1`.

    Errors: `Unreadable` for a line that is neither, or if there is none; `OutOfRange` for a count.

    >>> [(station.name, station.data_bytes) for station in read_stations("2 × PPO 3, 12 / 16")]
    [('PPO 3', 8), ('PPO 3', 8), ('12 / 16', 28)]
    """
    found: list[Exchange] = []
    for line in (part.strip() for part in re.split(r"[,;\n]", typed)):
        if not line:
            continue
        count, what = re.fullmatch(r"(?:(\d+)\s*[×x*]\s*)?(.*)", line).groups("1")  # type: ignore[union-attr]
        in_range(f"number of stations “{what[:30]}”", int(count[:9]), 1, 125, source="addresses 1 to 125")
        found += [_station(what)] * int(count)
    if not found:
        raise Unreadable("there is no station; write for example 4 × PPO 4, or 2 × 12/16 for bytes out/in.")
    return tuple(found)


def _station(what: str) -> Exchange:
    found = data_formats.configuration(what)
    return Exchange(found.bytes_out, found.bytes_in, name=what)


def demo_stations() -> str:
    """The stations of the invented Saltmarsh Mill, as `read_stations` reads them."""
    network = demo_network()
    counted = Counter(station.format_controller for station in network.slaves)
    return "\n".join(f"{count} × {name}" for name, count in counted.items())


def cycle_view(
    stations: tuple[Exchange, ...],
    bit_rate: float = 1_500_000,
    length_m: float = 0,
    interval_s: float = 0,
    computer: bool = False,
    lost: int = 1,
) -> Answer:
    """The bus cycle of these stations, three ways, and over all bit rates."""
    exchanges = [replace(station, min_slave_interval_s=interval_s) for station in stations]
    others = (OtherMaster(),) if computer else ()
    every = [
        bus_cycle(
            exchanges,
            bit_rate=rate,
            others=others,
            lost=lost,
            delay_bits=signal_delay_bits(length_m=length_m, bit_rate=rate),
        )
        for rate in bit_rates()
    ]
    here = next(one for one in every if one.timing.bit_rate == bit_rate)
    guess = estimate_for(exchanges, bit_rate=bit_rate)
    plural = f"the {len(exchanges)} stations are" if len(exchanges) > 1 else "the station is"
    return Answer(
        f"At {bit_rate_text(bit_rate)} {plural} asked once in {time_text(here.typical.seconds)}; "
        f"at best in {time_text(here.best.seconds)}, at worst in {time_text(here.worst.seconds)}.",
        because=f"Calculated in the standard's form, with {lost} lost telegram{'' if lost == 1 else 's'} in the "
        f"worst case. {_pause(here)}The estimate says {guess}.",
        pictures=[
            _three_bars(here),
            _over_the_rates(every, bit_rate),
        ],
        rows=_item_rows(here),
        sources=[part.source for part in (*here.typical.parts, *guess.breakdown.parts) if part.source],
    )


def _pause(cycle: BusCycle) -> str:
    """A sentence if the cycle is stretched for a station that asks for a pause."""
    waited = cycle.typical.group_bits("wait") / cycle.timing.bit_rate
    return f"Of the typical cycle {time_text(waited)} is waiting for the slowest station. " if waited else ""


_FORMS = ("standard_bits", "handbook_bits", "estimate_bits")


def _three_bars(cycle: BusCycle) -> Drawing:
    rows = compare(cycle)
    drawn = []
    for label, form in zip(("standard's form", "handbook's form", "estimate"), _FORMS, strict=True):
        parts = [(row.name, float(getattr(row, form))) for row in rows]
        total = sum(length for _, length in parts)
        drawn.append((label, parts, time_text(total / cycle.timing.bit_rate)))
    return bars(drawn, width=390)


def _item_rows(cycle: BusCycle) -> list[Row]:
    """Each item by each form, in bit times, why they differ, and the total."""
    listed = [row for row in compare(cycle) if any(getattr(row, form) for form in _FORMS)]
    heads = ("standard, bit", "handbook, bit", "estimate, bit")
    rows: list[Row] = [
        {"item": row.name, **{h: round(getattr(row, f)) for h, f in zip(heads, _FORMS, strict=True)}, "why": row.reason}
        for row in listed
    ]
    totals = {h: round(sum(getattr(row, f) for row in listed)) for h, f in zip(heads, _FORMS, strict=True)}
    return [*rows, {"item": "together", **totals, "why": ""}]


def _over_the_rates(every: Sequence[BusCycle], bit_rate: float) -> Curves:
    """Best, typical and worst cycle at each bit rate, the estimate where it is valid, and the chosen rate."""
    says = "; ".join(
        f"{bit_rate_text(one.timing.bit_rate)} {time_text(one.typical.seconds)} "
        f"({time_text(one.best.seconds)} to {time_text(one.worst.seconds)})"
        for one in every
    )
    kbit_s = [one.timing.bit_rate / 1000 for one in every]
    best, typical, worst = (
        [getattr(one, case).seconds * 1000 for one in every] for case in ("best", "typical", "worst")
    )
    guesses = [estimate_for(one.exchanges, bit_rate=one.timing.bit_rate) for one in every]
    valid = [(rate, guess.seconds * 1000) for rate, guess in zip(kbit_s, guesses, strict=True) if guess.valid]
    rates, estimated = zip(*valid, strict=True)
    times_ms = [*best, *worst, *estimated]
    low, high = min(times_ms) / 1.3, max(times_ms) * 1.3
    return Curves(
        f"bus cycle over the bit rate: {says}",
        Axis("bit rate in kbit/s", kbit_s[0] / 1.2, kbit_s[-1] * 1.2, log=True,
             ticks=decades(kbit_s[0], kbit_s[-1], "{:g}".format)),
        Axis("bus cycle", low, high, log=True, ticks=decades(low, high, lambda ms: time_text(ms / 1000))),
        [Curve(kbit_s, typical, "typical"), Curve(rates, estimated, "estimate", Tone.OTHER)],
        areas=[Area(best, worst, kbit_s, "best to worst", Tone.MAIN)],
        upright=[bit_rate / 1000],
        width=440,
        height=200,
    )  # fmt: skip


def cycle_panel() -> Panel:
    """The bus cycle of your own stations: three ways to calculate it, and every bit rate."""
    return Panel(
        "How long is a bus cycle?",
        {
            "stations": fields.lines("stations", demo_stations(), read_stations, rows=6),
            "bit_rate": fields.bit_rate(1_500_000),
            "length_m": fields.with_unit("cable, end to end", "100 m", "length", "m", 0, 20_000),
            "interval_s": fields.with_unit("min slave interval", "0 ms", "time", "ms", 0, 6.5535),
            "computer": fields.tick("engineering computer on the bus", False),
            "lost": fields.slider("lost telegrams", 1, 0, 5),
        },
        cycle_view,
        hint="One kind of station a line: 4 × PPO 4, or bytes out/in as in 2 × 12/16. The interval is the longest "
        "Min_Slave_Interval of the device descriptions: a cycle is never shorter, the controller waits. At 0 no "
        "station asks for that. The start is the invented Saltmarsh Mill.",
    )
