"""Questions on the first run of a drive, for the bank `bank_drive_alone`: order of steps, waiting, measuring.

The drives are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from math import exp

from helpers import facts
from helpers.drive.before_bus import (
    MEASURE,
    NAMEPLATES,
    WAIT,
    Checklist,
    judge,
    marked,
    must_come_first,
    next_step,
    step_called,
    steps,
    touch_limit,
    us_practice,
)
from helpers.study.bank_addresses import STATIONS
from helpers.study.forms import Bits, Choice, Number
from helpers.study.question import Draw, Question, Slip
from helpers.verdict import VERDICTS, worst
from helpers.wording import capital_first

DRIVES = tuple(name if name[-1].isdigit() else f"the {name}" for name in STATIONS)

_LIMIT = touch_limit()
_LIMIT_SAID = f"At most {_LIMIT.last:g} V DC may be left ({_LIMIT.cited}); {us_practice()}, and is not judged here"
_NO_MIDDLE = "Waiting time and voltage protect people: there is no middle between kept and not kept."
_READINGS = {"min": "10", "V": "3 V", "%": "30", "address": "12", "text": "noted", "": ""}


def when_to_touch(draw: Draw) -> Question:
    """The first minute at which waiting time and voltage both allow the drive to be opened."""
    plate, start = draw.whole(4, 15), draw.whole(540, 680, 10)
    time_constant = draw.whole(10, 55) / 10
    minutes = range(1, plate + 12)
    volts = [round(start * exp(-minute / time_constant)) for minute in minutes]
    low = next((minute for minute, v in zip(minutes, volts, strict=True) if v <= _LIMIT.last), minutes[-1])
    first = next(
        (minute for minute, v in zip(minutes, volts, strict=True) if v <= _LIMIT.last and minute >= plate), minutes[-1]
    )
    half = next(minute for minute, v in zip(minutes, volts, strict=True) if v <= start / 2)
    shown = sorted({1, half, low - 1, low, plate, first, minutes[-1]} & set(minutes))
    return Question(
        f"The warning label of the drive says: wait {plate} min. The meter at the DC link shows the values of the "
        f"table, counted from switching off. {_LIMIT_SAID}.\nFrom which minute on may parts inside be touched?",
        Number("min", absolute=0.4),
        first,
        rows=[{"after": f"{minute} min", "DC link": f"{volts[minute - 1]} V"} for minute in shown],
        steps=(
            "Two things must both hold: the label's time is past, and the meter shows no dangerous voltage.",
            f"The voltage is down at {low} min, the label's time is past at {plate} min.",
            f"The later of the two counts: {first} min.",
        ),
        slips=(
            Slip(plate, "The time is past, but the meter still shows a dangerous voltage: only the meter is proof."),
            Slip(low, "The meter shows little, but the label's time is not past: another part may still be charged."),
            Slip(half, "Half of a deadly voltage is still deadly."),
            Slip(plate + low, "The two times run side by side; they are not added."),
        ),
    )


def waited(draw: Draw) -> Question:
    """The verdict on a waiting time and a measured voltage."""
    plate, minutes, volts = draw.whole(5, 15), draw.whole(4, 18), draw.pick((2, 15, 38, 59, 60, 61, 75, 240))
    checklist = Checklist("drive")
    for name, reading in ((NAMEPLATES, plate), (WAIT, minutes), (MEASURE, volts)):
        checklist = marked(checklist, name, "done", reading=str(reading))
    found = [f for f in judge(checklist) if f.rule in ("waiting time", "DC link")]
    right = worst(found).verdict
    short, live = minutes < plate, volts > _LIMIT.last
    too_mild = (
        f"{minutes} min is less than the {plate} min of the label."
        if short
        else f"{volts} V is above {_LIMIT.last:g} V."
    )
    too_hard = f"{minutes} min is not less than {plate} min, and {volts} V is not above {_LIMIT.last:g} V."
    sentence = too_mild if short or live else too_hard
    return Question(
        f"The warning label asks to wait {plate} min. Somebody waited {minutes} min and measured {volts} V at the DC "
        f"link. {_LIMIT_SAID}.\nWhat is the verdict?",
        Choice(VERDICTS),
        right,
        steps=(
            "Compare the wait with the label and the voltage with the limit; the worse of the two counts.",
            f"{minutes} min against {plate} min: {'too short' if short else 'in order'}.",
            f"{volts} V against {_LIMIT.last:g} V: {'too high' if live else 'in order'}.",
        ),
        slips=tuple(
            Slip(verdict, f"{sentence} {_NO_MIDDLE}" if verdict == VERDICTS[1] else sentence)
            for verdict in VERDICTS
            if verdict != right
        ),
    )


def following(draw: Draw) -> Question:
    """The next step that may be done, some being past."""
    names = [step.name for step in steps()]
    count = draw.whole(2, len(names) - 4)
    checklist = Checklist("drive")
    for name in names[:count]:
        checklist = marked(checklist, name, "done", reading=_READINGS[step_called(name).reading])
    right = next_step(checklist)
    assert right is not None
    early = [name for name in names[count + 1 :] if must_come_first(checklist, name)]
    wrong = draw.some(early, 3)
    return Question(
        f"At {draw.pick(DRIVES)} the steps of the table were done last, and all before them. Which of these "
        "comes next?",
        Choice(tuple(draw.shuffled([right.name, *wrong]))),
        right.name,
        rows=[{"done": f"{step_called(name).order} {name}"} for name in names[max(0, count - 3) : count]],
        steps=(
            "Ask of each step what must stand before it: dead before open, alone before the bus.",
            f"All that “{right.name}” needs is done; each of the others needs something that is still open.",
        ),
        slips=tuple(Slip(name, _needs(checklist, name)) for name in wrong),
    )


def _needs(checklist: Checklist, name: str) -> str:
    first = must_come_first(checklist, name)[0]
    return f"“{name}” needs “{first.name}” before it: {first.why[0].lower()}{first.why[1:]}"


def too_early(draw: Draw) -> Question:
    """The step that was done before what it needs."""
    chain = [step.name for step in steps()][2:10]  # from the isolator to switching on again
    place = draw.whole(0, len(chain) - 2)
    order = [*chain[:place], chain[place + 1], chain[place], *chain[place + 2 :]]
    early, late = chain[place + 1], chain[place]
    others = [name for name in draw.shuffled(chain) if name not in (early, late)][:2]
    return Question(
        f"The list of {draw.pick(DRIVES)} was filled in as in the table; steps 1 and 2 were done before. One step "
        "was done too early. Which?",
        Choice(tuple(draw.shuffled([early, late, *others]))),
        early,
        rows=[{"turn": turn, "step": name} for turn, name in enumerate(order, 1)],
        steps=(
            "Go down the turns, and ask at each step: is everything done that this one needs?",
            f"“{early}” needs “{late}”, which came one turn later.",
        ),
        slips=(
            Slip(late, f"“{late}” came late; the step that did not wait for it is the one too early."),
            *(Slip(name, f"All that “{name}” needs was done before it.") for name in others),
        ),
    )


def local_run_shows(draw: Draw) -> Question:
    """Which faults a run from the drive's own panel brings to light."""
    shown = draw.shuffled(
        [fault for shows, count in (("yes", 2), ("no", 3)) for fault in draw.some(_faults(shows), count)]
    )
    right = "".join("1" if row["shows"] == "yes" else "0" for row in shown)
    swapped = "".join("0" if bit == "1" else "1" for bit in right)
    sources = [n for n, row in enumerate(shown) if row["fault"].startswith("setpoint source")]
    taken = "".join("1" if n in sources else bit for n, bit in enumerate(right))
    last_no = max(n for n, bit in enumerate(right) if bit == "0")
    return Question(
        "A drive is run from its own panel, with the bus plug off. Which of these faults does that bring to light?\n"
        "Write 1 for yes and 0 for no, fault 1 first.",
        Bits(tuple(f"fault {n}" for n in range(1, len(shown) + 1))),
        right,
        rows=[{"fault": f"fault {n}", "what is wrong": row["fault"]} for n, row in enumerate(shown, 1)],
        steps=(
            "The run from the panel uses drive, motor and machine, and nothing of the bus.",
            *(f"{capital_first(row['fault'])}: {row['why']}." for row in shown),
        ),
        slips=(
            Slip(swapped, "Those are the faults that only the bus brings to light."),
            Slip("1" * len(shown), "A run from the panel uses no cable, no address and no control word."),
            Slip("0" * len(shown), "A fault of motor or machine shows at once: that is why this run comes first."),
            Slip(taken, "With the panel as its source the setpoint looks right here; it is wrong only with the bus."),
            Slip(
                "".join("1" if n == last_no else bit for n, bit in enumerate(right)),
                f"Not so {shown[last_no]['fault']}: {shown[last_no]['why']}.",
            ),
        ),
    )


def _faults(shows: str) -> list[facts.Fact]:
    return list(facts.where("first_run_faults", shows=shows))
