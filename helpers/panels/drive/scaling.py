"""Panels for setpoints: from a speed to the word and back, and what comes of two sides that are not set alike."""

from __future__ import annotations

from collections.abc import Sequence

from helpers.answer import Answer, Row
from helpers.drive import machines, scaling
from helpers.drive.machines import MOTOR, Machine
from helpers.drive.mechanics import fan
from helpers.drive.scaling import Format, Scaled, form, lost_digit
from helpers.drive.scaling_mismatch import COUNTS_TAKEN, HIGHEST, PROFILE, READ_AS, THOUSANDS, understood
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions

_BEYOND = "More than 100 % is possible on the bus; whether motor, gearbox and machine bear it, only their data tell."
_LEFT, _WIDE = 46.0, 668.0
_FORMAT_WORDS = {"N2": "N2, 16#4000", "N4": "N4, 32 bits", "10000": "±10000"}
_TAKEN = {PROFILE: "16384 (16#4000)", HIGHEST: "32767 (16#7FFF)", THOUSANDS: "10000"}
_POLES = (2, 4, 6, 8)
_ENDS = 200.0  # %: the scale shows what N2 carries


def scale_drawing(known: Format, shown: Sequence[tuple[float, str]], *, reference: float, unit: str) -> Drawing:
    """The scale from −200 % to +200 % with words above and values below; `shown` are marks: percent and text."""
    says = "; ".join(f"{text} at {percent:.4g} %" for percent, text in shown)
    sheet = Drawing(760, 134, f"Scale from −200 % to +200 %, format {known.name}: {says}")
    low, high = (max(-_ENDS, min(_ENDS, end / known.full * 100)) for end in (known.low, known.high))
    sheet.box(_x(-_ENDS), 78, _WIDE, 14, fill=SAND, stroke=GREY, line=1)
    sheet.box(_x(low), 78, _x(high) - _x(low), 14, fill=SKY, stroke=BLUE, line=1)
    if high < _ENDS - 1:
        for side in (-150.0, 150.0):
            sheet.text(_x(side), 89, "not carried", size=11, fill=GREY)
    words: list[tuple[float, str]] = []
    for percent in (-200, -100, 0, 100, 200):
        x = _x(percent)
        sheet.line(x, 72, x, 98, stroke=INK, width=1.5)
        sheet.text(x, 112, _minus(f"{percent} %"), size=11)
        counts = max(known.low, min(known.high, round(percent / 100 * known.full)))
        inside = low - 1 <= percent <= high + 1
        number = scaling.unsigned(counts, bits=known.bits)
        words.append((x, f"16#{number:0{known.bits // 4}X}" if inside else "–"))
        if unit != "%":
            sheet.text(x, 126, _minus(f"{_four(percent / 100 * reference)} {unit}"), size=11, fill=GREY)
    for n, (share, text) in enumerate(shown):
        x, colour = _x(max(-_ENDS, min(_ENDS, share))), (BLUE, ORANGE)[n % 2]
        y = 18.0 + 18 * n
        sheet.line(x, y + 4, x, 92, stroke=colour, width=2.5)
        sheet.path([(x - 5, y + 4), (x + 5, y + 4), (x, y + 11)], stroke=colour, fill=colour)
        anchor = "start" if x < 200 else "end" if x > 560 else "middle"
        sheet.text(x, y, text, size=13, fill=colour, bold=True, anchor=anchor)
    for x, text in words:  # on top of a mark that comes through, so that both can be read
        sheet.box(x - 3.5 * len(text), 57, 7 * len(text), 12, fill=PAPER, stroke=PAPER, line=0)
        sheet.text(x, 66, text, size=11, fill=GREY)
    return sheet


def _four(value: float) -> str:
    """Four figures, without a power of ten for what a machine does."""
    return f"{float(f'{value:.4g}'):g}"


def _minus(text: str) -> str:
    return text.replace("-", "−")


def _x(percent: float) -> float:
    return _LEFT + (percent + _ENDS) / (2 * _ENDS) * _WIDE


def setpoint_view(
    at: Machine, entered: tuple[float, str] | int, full: str, poles: int, format: str, rounding: str
) -> Answer:
    """A value and its word, or a word and its value; in all units of the machine, with the calculation."""
    known = form(format)
    rpm = machines.reference_speed(full, poles=poles)
    found = machines.setpoint(entered, at, full_rpm=rpm, poles=poles, format=format, rounding=rounding)
    result, unit, share = found.scaled, found.unit, found.scaled.counts / known.full
    word, all_units = _word(result, known), _in_all_units(found.values, known)
    if isinstance(entered, int):
        said = f"{word} = {result.counts} counts = {all_units}."
    else:
        counts = "" if unit == "counts" else f" {result.counts} counts:"
        said = f"{result.asked:g} {unit} is{counts} the word {word} ({all_units})."
    because = [
        f"100 % is {' = '.join(f'{reference:.5g} {u}' for u, reference in found.references.items() if u != '%')}.",
        lost_digit(*((result.step, unit) if unit != "counts" else (rpm / known.full, "rpm"))),
    ]
    if result.saturated:
        because.insert(0, _beyond(known, typed_a_word=isinstance(entered, int)))
    if abs(share) > 1:
        because.append(_BEYOND)
    if at.kind == "fan":
        because.append(_fan_words(at, share * rpm))
    first = _way_to_reference(at, rpm, poles, unit, result.step * known.full)
    shown_in = at.own_unit if at.own_unit in found.references else "rpm"
    return Answer(
        said,
        because=" ".join(because),
        caution=cautions("word moves") if result.counts else (),
        pictures=[
            scale_drawing(
                known,
                [(share * 100, f"{word} = {share * 100:.6g} %")],
                reference=found.references[shown_in],
                unit=shown_in,
            )
        ],
        rows=[{"step": str(n), "calculation": step} for n, step in enumerate([*first, *result.steps], 1)],
        folded=[("The words beside it: what one count does", _neighbours(result, known, found.references))],
        sources=[f"{known.name}: {known.source} ({known.standing})", f"{at.name}: {at.meaning}"],
    )


def _beyond(known: Format, *, typed_a_word: bool) -> str:
    if typed_a_word:
        return f"{known.name} goes from {known.low} to {known.high} only. What a drive makes of this, its manual tells."
    return f"Beyond what {known.name} carries ({known.low} to {known.high}): held at its limit."


def _word(result: Scaled, known: Format) -> str:
    text = f"16#{result.word:0{known.bits // 4}X}"
    return f"{text[:7]}_{text[7:]}" if known.bits == 32 else text


def _figures(known: Format) -> int:
    """How many figures of a value are worth showing."""
    return 9 if known.bits == 32 else 5


def _in_all_units(values: dict[str, float], known: Format) -> str:
    figures = _figures(known)
    return " = ".join(f"{value:.{figures}g} {unit}" for unit, value in values.items())


def _way_to_reference(at: Machine, rpm: float, poles: int, unit: str, reference: float) -> list[str]:
    """How the reference in a unit comes from the motor's speed; empty where nothing is to be calculated."""
    ways = {
        "drum": f"π × {at.size_m:g} m × {rpm:g} rpm / ({at.gear_ratio:g} × 60 s/min)",
        "screw": f"{at.size_m:g} m × {rpm:g} rpm / ({at.gear_ratio:g} × 60 s/min)",
        "fan": f"{at.full_flow_m3_h:g} m³/h × {rpm:g} rpm / {at.full_rpm:g} rpm",
    }
    way = {"Hz": f"{rpm:g} rpm × {poles} poles / 120", at.own_unit: ways.get(at.kind, "")}.get(unit, "")
    return [f"100 % is {way} = {reference:.6g} {unit}"] if way else []


def _fan_words(at: Machine, rpm: float) -> str:
    part = rpm / at.full_rpm
    if not 0 <= part <= 2:
        return "The laws of a fan hold while it turns forwards, to about its full speed."
    point = fan(part)
    return (
        f"The fan: {point.flow * 100:.3g} % of its full flow, {point.pressure * 100:.3g} % of the pressure, "
        f"{point.power * 100:.3g} % of the power (flow ~ n, pressure ~ n², power ~ n³, in one unchanged duct)."
    )


def _neighbours(result: Scaled, known: Format, references: dict[str, float]) -> list[Row]:
    rows: list[Row] = []
    for step in (-1, 0, 1):
        counts = result.counts + step
        if known.low <= counts <= known.high:
            number = scaling.unsigned(counts, bits=known.bits)
            row: dict[str, object] = {"word": f"16#{number:0{known.bits // 4}X}", "counts": f"{counts}"}
            row |= {u: f"{counts / known.full * ref:.{_figures(known) + 1}g}" for u, ref in references.items()}
            rows.append(row)
    return rows


def _drive_fields(value: str, full: str) -> dict[str, fields.Field]:
    return {
        "entered": fields.text("value or word", value, machines.value_or_word),
        "full": fields.text("100 % in the drive", full),
        "poles": fields.choice("motor poles", [(str(n), n) for n in _POLES], 4),
        "format": fields.choice("format", [(_FORMAT_WORDS[name], name) for name in scaling.formats()], "N2"),
        "rounding": fields.choice(
            "program rounds", [("to the nearest", "nearest"), ("by cutting off", "cut")], "nearest"
        ),
    }


_HINT = (
    "Type a value with its unit (60 %, 900 rpm, 30 Hz, 0.8 m/s, 12000 m³/h, 9830 counts), or a word (16#2666). "
    "Which setting of the drive is its 100 %, and whether in rpm or Hz, its manual tells."
)


def setpoint_panel() -> Panel:
    """A speed and its word, both ways, for the machines of the Saltmarsh Mill."""
    listed = [(m.name, m) for m in (*machines.machines(), MOTOR)]
    return Panel(
        "From the speed to the word, and back",
        {"at": fields.choice("machine", listed)} | _drive_fields("0.8 m/s", "1500 rpm"),
        setpoint_view,
        hint=_HINT,
    )


def own_machine_view(kind: str, gear: float, size: float, full_rpm: float, flow: float, **rest: object) -> Answer:
    """`setpoint_view` for a machine put together from its kind and sizes."""
    at = Machine(f"your {kind}", kind, gear, size, full_rpm, flow, "as you entered it")
    return setpoint_view(at, **rest)  # type: ignore[arg-type]


def own_machine_panel() -> Panel:
    """The same for a machine of your own: its kind, gear ratio and size."""
    return Panel(
        "Your machine",
        {
            "kind": fields.choice("kind of machine", machines.KINDS, "drum"),
            "gear": fields.decimal("gear ratio", "25", 1e-3, 1e5),
            "size": fields.with_unit("diameter or pitch", "0.4 m", "length", "m", 1e-3, 100),
            "full_rpm": fields.decimal("fan: full rpm", "1480", 1, 1e5),
            "flow": fields.decimal("fan: m³/h at that", "24000", 1, 1e7),
        }
        | _drive_fields("0.8 m/s", "50 Hz"),
        own_machine_view,
        hint="Diameter for a drum, pitch for a screw. What a kind does not have is not used. " + _HINT,
    )


def two_sides_view(
    wanted: int, program: str, program_full: int, drive: str, drive_format: str, exchanged: bool, poles: int
) -> Answer:
    """What the drive makes of a setpoint that the program scaled in its own way."""
    program_rpm, drive_rpm = (machines.reference_speed(text, poles=poles) for text in (program, drive))
    got = understood(
        wanted * program_rpm / 100,
        program_rpm=program_rpm,
        program_full=program_full,
        drive_rpm=drive_rpm,
        drive_format=drive_format,
        bytes_exchanged=exchanged,
    )
    said = f"Wanted {got.wanted_rpm:.5g} rpm; the drive runs {got.rpm:.5g} rpm."
    if got.alike:
        said += " Both sides agree at this setpoint."
    elif got.wanted_rpm and got.rpm * got.wanted_rpm < 0:
        said += " The motor turns the other way."
    elif got.wanted_rpm:
        said += f" That is {got.rpm / got.wanted_rpm:.3g} times as fast."
    because = []
    if got.alike and not wanted:
        because.append("At 0 every scaling agrees: test with a value that is not 0.")
    if got.held:
        because.append("The number is beyond what one side carries and was held at its limit.")
    if not got.alike:
        because.append("The bus reports nothing: every word is a valid one. Only a look at the speed shows it.")
    known = form(drive_format)
    marks = [(wanted * program_rpm / drive_rpm, "wanted"), (got.percent, "what runs")]
    return Answer(
        said,
        because=" ".join(because),
        caution=() if got.alike else cautions("wrong scaling"),
        pictures=[scale_drawing(known, marks, reference=drive_rpm, unit="rpm")],
        rows=[
            {
                "side": "program",
                "100 % is": f"{program_rpm:g} rpm",
                "counts at 100 %": program_full,
                "word": f"16#{got.sent:04X}",
                "means there": f"{wanted} % = {got.wanted_rpm:.5g} rpm",
            },
            {
                "side": "drive",
                "100 % is": f"{drive_rpm:g} rpm",
                "counts at 100 %": known.full,
                "word": f"16#{got.read:04X}",
                "means there": f"{got.percent:.5g} % = {got.rpm:.5g} rpm",
            },
        ],
        sources=[f"{name}: {form(name).source} ({form(name).standing})" for name in READ_AS],
    )


def two_sides_panel() -> Panel:
    """Play with the settings of program and drive, and see what the drive runs."""
    taken = [(_TAKEN[full], full) for full in COUNTS_TAKEN]
    return Panel(
        "Two sides that are not set alike",
        {
            "wanted": fields.slider("wanted, in %", 60, -200, 200),
            "program": fields.text("program's 100 %", "1500 rpm"),
            "program_full": fields.choice("its counts at 100 %", taken, PROFILE),
            "drive": fields.text("drive's 100 %", "1500 rpm"),
            "drive_format": fields.choice("drive reads", [(_FORMAT_WORDS[name], name) for name in READ_AS], "10000"),
            "exchanged": fields.tick("bytes exchanged on the way"),
            "poles": fields.choice("motor poles", [(str(n), n) for n in _POLES], 4),
        },
        two_sides_view,
        hint="100 % as 1500 rpm or 50 Hz. Poles count only where Hz and rpm meet.",
    )
