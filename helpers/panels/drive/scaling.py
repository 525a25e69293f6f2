"""Panels for setpoints: from a speed to the word and back, and what comes of two sides that are not set alike."""

from __future__ import annotations

from helpers.drive import machines, scaling
from helpers.drive.machines import MOTOR
from helpers.drive.scaling import COUNTS_TAKEN, HIGHEST, PROFILE, READ_AS, THOUSANDS
from helpers.drive.scaling_answers import ScalePicture, own_machine_answer, setpoint_answer, two_sides_answer
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel

_LEFT, _WIDE = 46.0, 668.0
_FORMAT_WORDS = {"N2": "N2, 16#4000", "N4": "N4, 32 bits", "10000": "±10000"}
_TAKEN = {PROFILE: "16384 (16#4000)", HIGHEST: "32767 (16#7FFF)", THOUSANDS: "10000"}
_POLES = (2, 4, 6, 8)
_ENDS = 200.0  # %: the scale shows what N2 carries


def scale_drawing(picture: ScalePicture) -> Drawing:
    """The scale from −200 % to +200 % with words above and values below."""
    known = picture.format
    sheet = Drawing(760, 134, picture.says)
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
        if picture.unit != "%":
            sheet.text(x, 126, _minus(f"{_four(percent / 100 * picture.reference)} {picture.unit}"), size=11, fill=GREY)
    for n, (share, text) in enumerate(picture.marks):
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
        setpoint_answer,
        draw={ScalePicture: scale_drawing},
        hint=_HINT,
    )


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
        own_machine_answer,
        draw={ScalePicture: scale_drawing},
        hint="Diameter for a drum, pitch for a screw. What a kind does not have is not used. " + _HINT,
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
        two_sides_answer,
        draw={ScalePicture: scale_drawing},
        hint="100 % as 1500 rpm or 50 Hz. Poles count only where Hz and rpm meet.",
    )
