"""The waveform bench: a line, one sender, what each receiver sees of it, and how much is left at each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from helpers.answer import Answer, Row
from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.circuit import meter
from helpers.bus.circuit.edge import longest_delay_s
from helpers.bus.circuit.faults import CATALOGUE, HEALTHY
from helpers.bus.circuit.line import Array
from helpers.bus.circuit.margin import TRIAL, Margins, margins_answer, sampled, threshold_v
from helpers.bus.circuit.meter import volts_text
from helpers.bus.circuit.trial_line import TrialLine, ends, plugs, trial_line
from helpers.bus.circuit.waveform import Waveform, waveform
from helpers.bus.telegram.characters import BITS as CHARACTER_BITS
from helpers.bus.telegram.characters import character_bits
from helpers.curves import Area, Axis, Curve, Curves, Note, Points, Tone, thinned
from helpers.errors import in_range
from helpers.facts import one
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.quantity import fixed, time_text
from helpers.verdict import Degree, worst, worst_first
from helpers.written import whole

WORST, LAST = "worst", "last"
MOST_STATIONS = 32
_MOST_ROWS = 3


@dataclass(frozen=True)
class Heard:
    """What one receiver makes of the trial telegram: its least margin and the character in which that is."""

    station: int  # counted from 0
    margin_v: float
    character: int
    unsure: int


def waveform_view(
    stations: int = 8,
    length_m: float = 100.0,
    bit_rate: float = 1_500_000,
    stub_m: float = 0.0,
    left: str = "on",
    right: str = "on",
    plug: str = "20 pF, inductors",
    sender: int | str = 1,
    receiver: int | str = WORST,
) -> Answer:
    """One station sends 20 characters; the view shows the worst of them at one receiver, and every margin.

    sender, receiver: station counted from 1 at the left, "last", or for the receiver "worst".
    """
    line = trial_line(stations=stations, length_m=length_m, bit_rate=bit_rate, stub_m=stub_m, left=left,
                      right=right, plug=plug)  # fmt: skip
    sending = _number("sender", sender, stations)
    picture = waveform(line.circuit, character_bits(TRIAL), bit_rate=bit_rate, sending=sending)
    found = sampled(picture)
    least = [round(volts, 2) + 0.0 for volts in found.least.values()]
    others = [n for n in range(stations) if n != sending]
    looked_at = min(others, key=lambda n: least[n]) if receiver == WORST else _number("looked at", receiver, stations)
    heard = _heard(found, looked_at)
    idle_v = round(meter.volts(line.circuit, looked_at, dgnd="earthed"), 2) + 0.0
    findings = worst_first(line.findings)
    return Answer(
        f"{_said(heard, least, found, sending)} {_idle(idle_v)}",
        degree=worst(findings),
        because=_echo(picture) + _still_sends(sending, stations, left, right),
        pictures=[
            _strip(line, least, sending, looked_at, {"left": left, "right": right}, stub_m),
            _curve(picture, found, heard),
        ],
        rows=_rules(line),
        folded=[("Margin at each station", _margin_rows(line, found, sending))],
        sources=[
            *(f"{finding.rule}: {finding.source}" for finding in findings),
            f"±{threshold_v():g} V at a receiver: {one('rs485', name='threshold_v').cited}",
            f"sender: {one('rs485', name='driver_usual_v').cited}, "
            f"{one('rs485', name='driver_usual_v').number('value'):g} V into "
            f"{one('rs485', name='test_load_ohm').number('value'):g} Ω",
            f"cable: {one('line_electrical', cable='A', quantity='delay_s_per_m').cited}; attenuation "
            f"from {one('line_electrical', cable='A', quantity='attenuation_db_per_km', at_hz=16e6).cited}",
            f"inductors of a plug: {one('terminator', name='inductor_h').cited}",
            f"Calculated up to {_rounded(picture.edge.top_hz / 1e6):g} MHz, which holds the sender's edge of "
            f"{one('rs485', name='driver_rise_s').number('value') * 1e9:g} ns. An oscilloscope with less bandwidth "
            "shows edges and short peaks rounder and lower.",
            "Calculated without noise. DGND taken as joined to the shield at every station.",
        ],
    )


def _number(name: str, station: int | str, stations: int) -> int:
    """The plug of a station; stations are counted from 1, plugs from 0."""
    number = stations if station == LAST else int(station)
    in_range(f"station {name}", number, 1, stations, source="stations are counted from 1 at the left end")
    return number - 1


def _heard(found: Margins, station: int) -> Heard:
    volts = found.volts[station].round(3)
    character = int(volts.min(axis=1).argmin())
    return Heard(station, round(float(found.volts[station].min()), 2) + 0.0, character, int((volts <= 0).sum()))


def _said(heard: Heard, least: list[float], found: Margins, sending: int) -> str:
    at = f"station {heard.station + 1}"
    bits = found.volts[0].size
    deaf = [n for n, volts in enumerate(least) if volts <= 0 and n != sending]
    if heard.unsure:
        told = f"{heard.unsure} of {bits} bits are not sure at {at}: least margin {volts_text(heard.margin_v)}."
    else:
        told = f"All {bits} bits are sure at {at}: least margin {volts_text(heard.margin_v)}."
    if not deaf:
        return told + ("" if heard.unsure else " All other stations hear everything, too.")
    receivers = len(least) - 1
    return told + f" Bits are not sure at {len(deaf)} of {receivers} receiver{'s' if receivers > 1 else ''}."


def _idle(volts: float) -> str:
    level = "" if volts > threshold_v() else ", no level that a receiver may rely on"
    return f"While nobody sends: {volts_text(volts)}{level}."


def _echo(picture: Waveform) -> str:
    """How long an echo is under way, in time and in bits."""
    way_s = longest_delay_s(picture.segment)
    bits = 2 * way_s * picture.bit_rate
    return (
        f"From end to end an edge takes {time_text(way_s)}. There and back are {bits:.2g} bits at "
        f"{bit_rate_text(picture.bit_rate)}; each bit is read in its middle."
    )


def _still_sends(sending: int, stations: int, left: str, right: str) -> str:
    here = left if sending == 0 else right if sending == stations - 1 else ""
    lives = " The sender is taken to live on: only the supply of its terminator is gone."
    return lives if here.startswith("dead") else ""


def _rules(line: TrialLine) -> list[Row]:
    """What the rules say against this line, the worst first."""
    against = [finding for finding in worst_first(line.findings) if finding.degree > Degree.IN_ORDER]
    if not against:
        return [{"rule": "all rules of a segment", "where": "", "found": "kept", "verdict": Degree.IN_ORDER}]
    rows: list[Row] = [
        {"rule": f.rule.removeprefix("termination: "), "where": f.place.removeprefix("segment: "), "found": f.found,
         "verdict": f.degree}
        for f in against
    ]  # fmt: skip
    if len(rows) <= _MOST_ROWS:
        return rows
    rest = len(rows) - _MOST_ROWS + 1
    return [*rows[: _MOST_ROWS - 1], {"rule": f"… {rest} more", "where": "", "found": "", "verdict": ""}]


def _margin_rows(line: TrialLine, found: Margins, sending: int) -> list[Row]:
    rows: list[Row] = []
    for n, position_m in enumerate(line.circuit.positions_m):
        heard = _heard(found, n)
        rows.append(
            {
                "station": n + 1,
                "at": f"{position_m:.4g} m",
                "least margin": volts_text(heard.margin_v),
                "bits not sure": heard.unsure,
                "": "sends" if n == sending else "",
            }
        )
    return rows


# -- the line and its margins -------------------------------------------------------------------------

_WIDTH, _SIDE, _TRUNK, _ZERO, _PER_V = 750.0, 64.0, 56.0, 118.0, 12.0
_CLIP_V = 2.0  # a longer bar says no more


def _strip(
    line: TrialLine, least: list[float], sending: int, looked_at: int, chosen: dict[str, str], stub_m: float
) -> Drawing:
    """The line with its ends and stations, and below each station a bar: up, its margin; down, what it lacks."""
    count = len(least)
    slot = (_WIDTH - 2 * _SIDE) / count
    told = ", ".join(f"{n} {volts_text(volts)}" for n, volts in enumerate(least, 1))
    turned = slot < 34  # no room for numbers side by side
    says = (
        f"left terminator {chosen['left']}, right terminator {chosen['right']}; station {sending + 1} sends, station "
        f"{looked_at + 1} is looked at; margin at station {told}"
    )
    sheet = Drawing(_WIDTH, 180 if turned else 162, says)
    sheet.line(_SIDE - 30, _TRUNK, _WIDTH - _SIDE + 30, _TRUNK, stroke=BLUE, width=3)
    sheet.text(4, 20, f"{line.circuit.length_m:g} m", size=11, anchor="start", bold=True)
    if stub_m and count > 2:
        sheet.text(4, 36, f"stubs {stub_m:g} m", size=11, anchor="start")
    _end(sheet, _SIDE - 34, chosen["left"], 4, "start")
    _end(sheet, _WIDTH - _SIDE + 34, chosen["right"], _WIDTH - 4, "end")
    sheet.text(4, _ZERO - 4, "least", size=11, anchor="start")
    sheet.text(4, _ZERO + 9, "margin in V", size=11, anchor="start")
    sheet.line(_SIDE + 8, _ZERO, _WIDTH - _SIDE, _ZERO, width=1)
    for n, volts in enumerate(least):
        x = _SIDE + slot * (n + 0.5)
        _station(sheet, x, n, stub=stub_m > 0 and 0 < n < count - 1, wide=min(slot - 3, 24.0),
                 fill=SAND if n == sending else SKY if n == looked_at else PAPER)  # fmt: skip
        high = _PER_V * min(abs(volts), _CLIP_V)
        up = volts > 0
        sheet.box(x - min(slot - 3, 16.0) / 2, _ZERO - high if up else _ZERO, min(slot - 3, 16.0), high, line=1,
                  fill=BLUE if up else PAPER, stroke=BLUE if up else ORANGE)  # fmt: skip
        words = fixed(volts, "")
        sheet.text(x + 4 * turned, 161 if turned else 157, words, size=11, turn=-90 if turned else 0, bold=not up)
    marks = [(sending, "sends"), (looked_at, "looked at")]
    if sending == looked_at:
        marks = [(sending, "sends, looked at")]
    for n, words in marks:
        sheet.text(min(max(_SIDE + slot * (n + 0.5), 44), _WIDTH - 44), 12 if n == sending else 24, words, size=11,
                   bold=True)  # fmt: skip
    return sheet


def _end(sheet: Drawing, x: float, name: str, at: float, anchor: str) -> None:
    """A filled box for each terminator that is on, an empty one where there is none for the wave."""
    boxes = 2 if name == "two on" else 1
    for n in range(boxes):
        missing = name not in ("on", "two on")
        sheet.box(x - 4 + 10 * n * (1 if x > _WIDTH / 2 else -1), _TRUNK - 9, 8, 18, line=1.5,
                  fill=PAPER if missing else INK, stroke=ORANGE if missing else INK)  # fmt: skip
    sheet.text(at, _TRUNK + 26, f"terminator {name}", size=11, anchor=anchor)


def _station(sheet: Drawing, x: float, n: int, *, stub: bool, wide: float, fill: str) -> None:
    top = _TRUNK - 26 if stub else _TRUNK - 8
    if stub:
        sheet.line(x, top, x, _TRUNK, stroke=ORANGE, width=2.5)
    sheet.box(x - wide / 2, top, wide, 16, fill=fill, line=1)
    sheet.text(x, top + 12, n + 1, size=11)


# -- the waveform -------------------------------------------------------------------------------------


def _window(picture: Waveform, found: Margins, heard: Heard) -> tuple[Array, Array, list[float], list[float]]:
    """Time and voltage around one character, its sampling points and their voltages; times in µs from its start."""
    begin_s = heard.character * CHARACTER_BITS / picture.bit_rate
    edge_s = found.edge_s[heard.station, heard.character]
    from_s = min(begin_s, edge_s) - 0.5 / picture.bit_rate
    # A sender's edge far ahead of the receiver's would squeeze the character: then only the receiver's part is shown.
    if edge_s - begin_s > 3 / picture.bit_rate:
        from_s = edge_s - 1 / picture.bit_rate
    time_s, volts = thinned(*picture.trace(heard.station, from_s, edge_s + (CHARACTER_BITS + 0.5) / picture.bit_rate))
    reads_s = [edge_s + (n + 0.5) / picture.bit_rate for n in range(CHARACTER_BITS)]
    bits = picture.bits[heard.character * CHARACTER_BITS :][:CHARACTER_BITS]
    margin = found.volts[heard.station, heard.character] + threshold_v()
    seen = [volts if bit else -volts for bit, volts in zip(bits, margin, strict=True)]
    as_us = [(t - begin_s) * 1e6 for t in reads_s]
    return (time_s - begin_s) * 1e6, volts, as_us, seen


def _curve(picture: Waveform, found: Margins, heard: Heard) -> Curves:
    """B − A at one receiver during one character, the undefined band, the points where it reads, the bits as sent."""
    time_us, volts, read_us, seen = _window(picture, found, heard)
    bits = picture.bits[heard.character * CHARACTER_BITS :][:CHARACTER_BITS]
    sure = [bool(margin > 0) for margin in found.volts[heard.station, heard.character].round(3)]
    most, limit = max(2.4, float(abs(volts).max())), threshold_v()
    reads = list(zip(read_us, seen, sure, strict=True))
    return Curves(
        _says(picture, heard),
        Axis("time in µs since the sender began this character", float(time_us[0]), float(time_us[-1])),
        Axis("B − A in V; above the curve the bits as sent", -1.1 * most, 1.35 * most),
        [Curve(time_us, volts)],
        points=[
            Points([us for us, _, sure in reads if sure], [v for _, v, sure in reads if sure], "read and sure"),
            Points([us for us, _, sure in reads if not sure], [v for _, v, sure in reads if not sure],
                   "read, not sure", Tone.WRONG),
        ],
        areas=[Area([-limit], [limit], name=f"±{limit:g} V, no level defined")],
        notes=[Note(us, 1.2 * most, str(bit), "centre", bold=not sure)
               for (us, _, sure), bit in zip(reads, bits, strict=True)],
        below=[f"station {heard.station + 1}, character {heard.character + 1} of {len(TRIAL)}; up to "
               f"{_rounded(picture.edge.top_hz / 1e6):g} MHz"],
        height=232,
    )  # fmt: skip


def _says(picture: Waveform, heard: Heard) -> str:
    return (
        f"voltage B − A over time at station {heard.station + 1} during character {heard.character + 1} at "
        f"{bit_rate_text(picture.bit_rate)}; least margin {volts_text(heard.margin_v)}"
    )


def _rounded(value: float) -> float:
    """To two digits."""
    return float(f"{value:.2g}")


# -- the panel ----------------------------------------------------------------------------------------


def _station_or(*words: str) -> Callable[[str], object]:
    def read(typed: str) -> object:
        word = typed.strip().casefold()
        return word if word in words else whole(typed)

    return read


def waveform_panel() -> Panel:
    """Change a line, and see what its receivers see."""
    return Panel(
        "Waveform bench",
        {
            "stations": fields.slider("stations", 8, 2, MOST_STATIONS),
            "length_m": fields.with_unit("length of cable", "100 m", "length", "m", 0, 1200),
            "bit_rate": fields.bit_rate(1_500_000),
            "stub_m": fields.with_unit("stub at each", "0 m", "length", "m", 0, 50),
            "left": fields.choice("left terminator", ends()),
            "right": fields.choice("right terminator", ends()),
            "plug": fields.choice("every plug", plugs()),
            "sender": fields.text("sender", "1", _station_or(LAST)),
            "receiver": fields.text("looked at", WORST, _station_or(LAST, WORST)),
        },
        waveform_view,
        hint="Sender and looked at: the number of a station from the left, or last; looked at may be worst. Stubs hang "
        "between the ends. The words and signs before the sentence are the rules' verdict, the rest is calculated.",
    )


def margins_panel() -> Panel:
    """The margin matrix of an even line with one thing wrong."""
    return Panel(
        "Who can hear whom?",
        {
            "fault": fields.choice("what is wrong", (HEALTHY, *CATALOGUE)),
            "stations": fields.slider("stations", 8, 3, 32),
            "length_m": fields.with_unit("length of cable", "100 m", "length", "m", 0, 1200),
            "stub_m": fields.with_unit("stub at each", "0 m", "length", "m", 0, 100),
            "bit_rate": fields.bit_rate(12_000_000),
        },
        margins_answer,
        hint="With 32 stations each step takes a second or two: 1024 pairs are calculated.",
    )
