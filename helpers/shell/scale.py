"""`scale`: the word for a speed, or the speed that a word means, in every unit of a machine."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.drive.machines import MOTOR, Machine, machine, machines, value_or_word
from helpers.drive.scaling import ROUNDINGS, formats
from helpers.drive.scaling_answers import setpoint_answer
from helpers.errors import Unreadable, in_range
from helpers.shell.command import Command
from helpers.shell.text import say
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
    return say(
        setpoint_answer(
            _machine(asked),
            value_or_word(asked.value),
            asked.full,
            poles=whole(asked.poles),
            format=asked.format,
            rounding=asked.rounding,
        )
    )


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
0.8 m/s is 10430 counts: the word 16#28BE (954.9 rpm = 31.83 Hz = 0.79997 m/s = 63.66 %).
Intake conveyor: 100 % is 1500 rpm = 50 Hz = 1.2566 m/s. One count is 0.0000767 m/s: steps of 0.0001
m/s come through, steps of 0.00001 m/s do not all.
...
step  calculation
1     100 % is π × 0.4 m × 1500 rpm / (25 × 60 s/min) = 1.25664 m/s
2     0.8 m/s / 1.25664 m/s = 63.662 %
...

$ python -m helpers scale 16#E000 --full "50 Hz" --poles 2
16#E000 = -8192 counts = -1500 rpm = -25 Hz = -50 %.
...

$ python -m helpers scale "1.2 m/s" --drum "500 mm" --gear 31.5 --format 10000
1.2 m/s is 9626 counts: the word 16#259A (1443.9 rpm = 48.13 Hz = 1.2 m/s = 96.26 %).
Your drum: 100 % is 1500 rpm = 50 Hz = 1.2467 m/s. One count is 0.0001247 m/s: steps of 0.001 m/s
...
""",
    _arguments,
    _run,
)
