"""`scale`: the word for a speed, or the speed that a word means, in every unit of a machine."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.drive.machines import MOTOR, Machine, machine, machines, reference_speed, setpoint, value_or_word
from helpers.drive.scaling import ROUNDINGS, form, formats, lost_digit
from helpers.errors import Unreadable, in_range
from helpers.safe_work import cautions, in_words
from helpers.shell.command import Command
from helpers.shell.text import paragraph, table
from helpers.written import number, read_quantity, whole


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("value", help='a value with its unit: "60 %%", "900 rpm", "0.8 m/s"; or a word: 16#2666')
    parser.add_argument("--full", default="1500 rpm", help='what the drive calls 100 %%: "1500 rpm" or "50 Hz"')
    parser.add_argument("--poles", default="4", help="poles of the motor (4)")
    parser.add_argument("--format", default="N2", choices=formats(), help="N2: 16#4000, N4: 32 bits, 10000")
    parser.add_argument("--rounding", default="nearest", choices=ROUNDINGS, help="how the program rounds (nearest)")
    parser.add_argument("--machine", default="", help=f"one of the demo site: {', '.join(m.name for m in machines())}")
    parser.add_argument("--drum", default="", help='or a belt of your own: diameter of its drum, "0.4 m"')
    parser.add_argument("--screw", default="", help='or a screw: its pitch, "200 mm"')
    parser.add_argument("--gear", default="1", help="gear ratio of drum or screw, 25 for 25 : 1 (1)")


def _run(asked: Namespace) -> int:
    at, poles, known = _machine(asked), whole(asked.poles), form(asked.format)
    full_rpm = reference_speed(asked.full, poles=poles)
    found = setpoint(
        value_or_word(asked.value), at, full_rpm=full_rpm, poles=poles, format=known.name, rounding=asked.rounding
    )
    print("\n".join(found.scaled.steps))
    print(f"\nword 16#{found.scaled.word:0{known.bits // 4}X}, at {at.name}")
    figures = 6 if known.bits == 16 else 9
    values = {unit: f"{value:.{figures}g}" for unit, value in found.values.items()}
    print(table([values | {"counts": found.scaled.counts}]))
    print(f"\n{paragraph(lost_digit(found.scaled.step, found.unit))}")
    if found.scaled.saturated:
        print(paragraph(f"{known.name} carries {known.low} to {known.high} counts: this lies beyond."))
    print(paragraph(in_words(cautions("word moves"))))
    return 0


def _machine(asked: Namespace) -> Machine:
    given = [name for name in ("machine", "drum", "screw") if getattr(asked, name)]
    if len(given) > 1:
        raise Unreadable(f"give one machine only: got --{' and --'.join(given)}.")
    if not given:
        return MOTOR
    if given == ["machine"]:
        return machine(asked.machine)
    ratio = number(asked.gear)
    size_m = read_quantity(getattr(asked, given[0]), "length", "m")
    in_range("gear ratio", ratio, 1e-3, 1e5)
    return Machine(f"your {given[0]}", given[0], ratio, size_m)


SCALE = Command(
    "scale",
    "the word for a speed, or the speed that a word means",
    """\
$ python -m helpers scale "0.8 m/s" --machine "Intake conveyor"
0.8 m/s / 1.25664 m/s = 63.662 %
63.662 % / 100 % × 16384 = 10430.378
in whole counts 10430
10430 = 16#28BE

word 16#28BE, at Intake conveyor
rpm      Hz       m/s       %        counts
954.895  31.8298  0.799971  63.6597  10430
...

$ python -m helpers scale 16#E000 --full "50 Hz" --poles 2
-8192 is in two's complement -8192 + 2^16 = 57344 = 16#E000
-8192 / 16384 × 100 % = -50 %
-8192 / 16384 × 3000 rpm = -1500 rpm
...

$ python -m helpers scale "1.2 m/s" --drum "500 mm" --gear 31.5 --format 10000
...
word 16#259A, at your drum
...
""",
    _arguments,
    _run,
)
