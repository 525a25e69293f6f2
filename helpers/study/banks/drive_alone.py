"""Questions on the drive on its own: its settings and what it does. Each slip makes the mistake on purpose.

The drives are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from math import exp

from helpers import facts
from helpers.drive.commissioning import (
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
from helpers.drive.settings import (
    NAMES,
    Local,
    Sent,
    Settings,
    SettingValues,
    behaviour,
    changed,
    choices,
    handed_over,
    needs_power_cycle,
    own_name,
    power_cycle,
    waiting,
)
from helpers.study.forms import Bits, Choice, Number
from helpers.study.mill import STATIONS
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.verdict import VERDICTS, worst
from helpers.wording import capital_first

_POWER_UP = "A change of address, format or reaction counts only after the supply was off and on"
_DRIVES = tuple(name if name[-1].isdigit() else f"the {name}" for name in STATIONS)
_LIMIT = touch_limit()
_LIMIT_IN_WORDS = f"At most {_LIMIT.last:g} V DC may be left ({_LIMIT.cited}); {us_practice()}, and is not judged here"


def when_to_touch(draw: Draw) -> Question:
    """The first minute at which waiting time and voltage both allow the drive to be opened."""
    plate, start = draw.whole(4, 15), draw.whole(540, 680, 10)
    time_constant = draw.whole(10, 55) / 10
    minutes = range(1, plate + 12)
    volts = [round(start * exp(-minute / time_constant)) for minute in minutes]
    low = next((minute for minute, volt in zip(minutes, volts, strict=True) if volt <= _LIMIT.last), minutes[-1])
    first = next(
        (minute for minute, volt in zip(minutes, volts, strict=True) if volt <= _LIMIT.last and minute >= plate),
        minutes[-1],
    )
    half = next(minute for minute, volt in zip(minutes, volts, strict=True) if volt <= start / 2)
    shown = sorted({1, half, low - 1, low, plate, first, minutes[-1]} & set(minutes))
    return Question(
        f"The warning label of the drive says: wait {plate} min. The meter at the DC link shows the values of the "
        f"table, counted from switching off. {_LIMIT_IN_WORDS}.\nFrom which minute on may parts inside be touched?",
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


_NO_MIDDLE = "Waiting time and voltage protect people: there is no middle between kept and not kept."


def waited(draw: Draw) -> Question:
    """The verdict on a waiting time and a measured voltage."""
    plate, minutes, volts = draw.whole(5, 15), draw.whole(4, 18), draw.pick((2, 15, 38, 59, 60, 61, 75, 240))
    checklist = Checklist("drive")
    for name, reading in ((NAMEPLATES, plate), (WAIT, minutes), (MEASURE, volts)):
        checklist = marked(checklist, name, "done", reading=str(reading))
    findings = [finding for finding in judge(checklist) if finding.rule in ("waiting time", "DC link")]
    right = worst(findings).verdict
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
        f"link. {_LIMIT_IN_WORDS}.\nWhat is the verdict?",
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


_READINGS = {"min": "10", "V": "3 V", "%": "30", "address": "12", "text": "noted", "": ""}


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
        f"At {draw.pick(_DRIVES)} the steps of the table were done last, and all before them. Which of these "
        "comes next?",
        draw.choice([right.name, *wrong]),
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
        f"The list of {draw.pick(_DRIVES)} was filled in as in the table; steps 1 and 2 were done before. One step "
        "was done too early. Which?",
        draw.choice([early, late, *others]),
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
    faults = draw.shuffled(
        [fault for shows, count in (("yes", 2), ("no", 3)) for fault in draw.some(_faults(shows), count)]
    )
    right = "".join("1" if row["shows"] == "yes" else "0" for row in faults)
    swapped = "".join("0" if bit == "1" else "1" for bit in right)
    sources = [n for n, row in enumerate(faults) if row["fault"].startswith("setpoint source")]
    taken = "".join("1" if n in sources else bit for n, bit in enumerate(right))
    last_no = max(n for n, bit in enumerate(right) if bit == "0")
    return Question(
        "A drive is run from its own panel, with the bus plug off. Which of these faults does that bring to light?\n"
        "Write 1 for yes and 0 for no, fault 1 first.",
        Bits(tuple(f"fault {n}" for n in range(1, len(faults) + 1))),
        right,
        rows=[{"fault": f"fault {n}", "what is wrong": row["fault"]} for n, row in enumerate(faults, 1)],
        steps=(
            "The run from the panel uses drive, motor and machine, and nothing of the bus.",
            *(f"{capital_first(row['fault'])}: {row['why']}." for row in faults),
        ),
        slips=(
            Slip(swapped, "Those are the faults that only the bus brings to light."),
            Slip("1" * len(faults), "A run from the panel uses no cable, no address and no control word."),
            Slip("0" * len(faults), "A fault of motor or machine shows at once: that is why this run comes first."),
            Slip(taken, "With the panel as its source the setpoint looks right here; it is wrong only with the bus."),
            Slip(
                "".join("1" if n == last_no else bit for n, bit in enumerate(right)),
                f"Not so {faults[last_no]['fault']}: {faults[last_no]['why']}.",
            ),
        ),
    )


def _faults(shows: str) -> list[facts.Fact]:
    return list(facts.where("first_run_faults", shows=shows))


def active_address(draw: Draw) -> Question:
    """The address at which the drive answers after changes and power cycles."""
    first, second, third = draw.some(range(10, 60), 3)
    cycled, again = draw.pick((True, False)), draw.pick((True, False))
    settings, log = changed(Settings(), "address", first), [f"address set to {first}"]
    before = settings.active.address
    for off, address in ((cycled, second), (again, third)):
        if off:
            settings = power_cycle(settings)
            log.append("supply off and on")
        settings = changed(settings, "address", address)
        log.append(f"address set to {address}")
    right = settings.active.address
    return Question(
        f"A new drive, delivered with address {before}, is set as in the table, in this order. {_POWER_UP}.\n"
        "At which address does it answer now?",
        Number(),
        right,
        rows=[{"turn": turn, "what was done": what} for turn, what in enumerate(log, 1)],
        steps=(
            "Look for the last time the supply was off and on; what was set just before it is active.",
            f"Set is {settings.set.address}; active is {right}.",
        ),
        slips=(
            Slip(third, f"{third} is set, but the supply was not off and on since."),
            Slip(second, f"{second} was not the last one set before the supply was last off and on."),
            Slip(first, f"{first} was not the last one set before the supply was last off and on."),
            Slip(before, f"{before} held until the supply was off and on after the first change."),
        ),
    )


_CHANGES = {
    "run_source": ("bus", "terminals"),
    "setpoint_source": ("bus", "terminals"),
    "address": tuple(range(10, 40)),
    "data_format": ("PPO 1", "PPO 2", "PPO 3", "PPO 4", "Mill 3/5"),
    "on_loss": ("coast", "ramp", "keep running"),
}


def not_active_yet(draw: Draw) -> Question:
    """Which settings are set but not active."""
    before, after = draw.some(NAMES, 2), draw.some(NAMES, 3)
    settings = Settings()
    log = []
    for place, name in enumerate([*before, "", *after]):
        if not name:
            settings = power_cycle(settings)
            log.append("supply off and on")
            continue
        now = getattr(settings.set, name)
        value = draw.pick([choice for choice in _CHANGES[name] if choice != now])
        settings = changed(settings, name, value)
        log.append(f"{own_name(name)}: {value}" + (" (again)" if place > 2 and name in before else ""))

    def pattern(names: tuple[str, ...] | list[str]) -> str:
        return "".join("1" if name in names else "0" for name in NAMES)

    late = waiting(settings)
    return Question(
        f"The settings of a drive are changed as in the table. {_POWER_UP}; the two sources count at once (manual "
        "of the invented drive).\nWhich settings are set but not active? Write 1 for these and 0 for the others.",
        Bits(tuple(own_name(name) for name in NAMES)),
        pattern(late),
        rows=[{"turn": turn, "what was done": what} for turn, what in enumerate(log, 1)],
        steps=(
            "Only what was changed after the last “supply off and on” can be waiting.",
            f"Changed after it: {', '.join(own_name(name) for name in after)}.",
            f"The sources count at once, so waiting are: {', '.join(own_name(n) for n in late) or 'none'}.",
        ),
        slips=(
            Slip(pattern(after), "The two sources count at once: they are active as soon as they are set."),
            Slip(pattern([*before, *after]), "What was set before the supply was off and on is active."),
            Slip(pattern([n for n in {*before, *after} if needs_power_cycle(n)]),
                 "What was set before the supply was off and on is active."),
            Slip("00000", "Something was set after the supply was last off and on."),
        ),
    )  # fmt: skip


def speed(draw: Draw) -> Question:
    """The speed at which the motor turns, from sources and commands."""
    bus, panel = draw.whole(45, 95, 5), draw.whole(10, 40, 5)
    sources = draw.pick((("bus", "bus"), ("bus", "panel"), ("panel", "bus"), ("panel", "panel")))
    panel_run = draw.pick((True, False))
    settings = handed_over(address=12, data_format="PPO 4")
    for name, source in zip(("run_source", "setpoint_source"), sources, strict=True):
        settings = changed(settings, name, source)
    does = behaviour(settings, Sent(12, "PPO 4", setpoint_percent=bus), Local(panel_run, panel))
    other = panel if sources[1] == "bus" else bus
    right = round(does.speed_percent)
    return Question(
        f"The drive of {draw.pick(_DRIVES)} exchanges process data. All its settings are active. The controller "
        f"sends run, and {bus} % as setpoint. At the drive's own panel {'start' if panel_run else 'stop'} was pressed, "
        f"and {panel} % is typed in.\nAt how many % does the motor turn? Write 0 % if it stands.",
        Number("%"),
        right,
        rows=[
            {"setting": own_name(name), "active": source}
            for name, source in zip(("run_source", "setpoint_source"), sources, strict=True)
        ],
        steps=(
            "First ask the source of the run command whether the motor may turn, then the source of the setpoint how "
            "fast.",
            f"Run command from the {sources[0]}: {'run' if right else 'stop'}. Setpoint from the {sources[1]}.",
            f"So it {f'turns at {right} %' if right else 'stands: 0 %'}.",
        ),
        slips=(
            Slip(other, f"The setpoint comes from the {sources[1]}; the other value is read and not used."),
            Slip(0 if right else (bus if sources[1] == "bus" else panel),
                 f"The run command comes from the {sources[0]}, and there it says {'run' if right else 'stop'}."),
            Slip(bus + panel, "The setpoints are not added: one source counts."),
        ),
    )  # fmt: skip


_REASONS = {
    "run command from the panel": "The run command comes from the bus: the control word counts.",
    "setpoint from the panel": "The setpoint comes from the bus.",
    "address not active yet": "The active address is the one the controller asks.",
    "data format not active yet": "The active format is the one the controller has.",
    "bit 10 of the control word is 0": "Bit 10 is set in this word: the drive takes it over.",
}


def why_it_stands(draw: Draw) -> Question:
    """The one reason why a drive does not turn."""
    reason, address = draw.pick(tuple(_REASONS)), draw.whole(10, 40)
    chosen, percent = draw.pick(("PPO 2", "PPO 3", "PPO 4", "Mill 3/5")), draw.whole(20, 95, 5)
    old = handed_over(address=draw.pick((125, 99, 50)), data_format="PPO 1")
    settings = handed_over(address=address, data_format=chosen)
    active = settings.active
    if reason.startswith("address"):
        active = SettingValues(active.run_source, active.setpoint_source, old.active.address, chosen)
    elif reason.startswith("data"):
        active = SettingValues(active.run_source, active.setpoint_source, address, "PPO 1")
    settings = Settings(settings.set, active)
    if reason.startswith(("run", "setpoint")):
        settings = changed(settings, "run_source" if reason.startswith("run") else "setpoint_source", "panel")
    word = 0x007F if reason.startswith("bit") else 0x047F
    does = behaviour(settings, Sent(address, chosen, word, percent))
    return Question(
        f"{capital_first(draw.pick(_DRIVES))} does not turn. The controller asks address {address} with {chosen}, "
        f"sends first 16#047E and then 16#{word:04X}, and {percent} % as setpoint. At the drive's own panel nothing "
        "was pressed, and 0 % is typed in. Bit 10 of the control word is worth 16#0400; while it is 0, the drive does "
        "not obey the word. The settings are in the table.\nWhy does it stand?",
        Choice(tuple(_REASONS)),
        reason,
        rows=[
            {"setting": own_name(name), "set": str(getattr(settings.set, name)),
             "active": str(getattr(settings.active, name))}
            for name in NAMES[:4]
        ],
        steps=(
            "Go in this order: does it take process data (address, format), who gives the run command, who the "
            "setpoint, and what is in the word. Look at what is active.",
            does.sentence,
        ),
        slips=tuple(Slip(other, sentence) for other, sentence in _REASONS.items() if other != reason),
    )  # fmt: skip


def when_telegrams_stop(draw: Draw) -> Question:
    """What the motor does when the bus is cut."""
    reactions = [row["choice"] for row in choices("on_loss")]
    now, later = draw.some(reactions, 2)
    percent, cycled = draw.whole(20, 100, 5), draw.pick((True, False))
    settings = changed(handed_over(address=12, data_format="PPO 4", on_loss=now), "on_loss", later)
    settings = power_cycle(settings) if cycled else settings
    does = behaviour(settings, Sent(12, "PPO 4", setpoint_percent=percent, telegrams="stopped"))
    reactions_in_words = {
        "fault": "it coasts, and stays in a fault until somebody acknowledges it",
        "coast": "it coasts, and a new ON starts it when telegrams come again",
        "ramp": "it ramps down, and a new ON starts it when telegrams come again",
        "keep running": f"it keeps turning at {percent} %",
    }
    right = settings.active.on_loss
    return Question(
        f"{capital_first(draw.pick(_DRIVES))} turns at {percent} %, led by the bus. Its setting "
        f"“{own_name('on_loss')}” was “{now}”, and was changed to “{later}”. Since then the supply was "
        f"{'' if cycled else 'not '}off and on. Somebody pulls the bus plug.\nWhat does the motor do?",
        Choice(tuple(reactions_in_words.values())),
        reactions_in_words[right],
        steps=(
            "The active setting decides, not the one that was set last.",
            does.sentence,
        ),
        slips=tuple(
            Slip(words, _not_this_reaction(name, right, later, cycled))
            for name, words in reactions_in_words.items()
            if name != right
        ),
    )


def _not_this_reaction(name: str, right: str, later: str, cycled: bool) -> str:
    if name == later and not cycled:
        return f"“{later}” is set, but it counts only after the supply was off and on."
    if name == "keep running":
        return f"It would do so with “keep running”; active is “{right}”."
    return f"That belongs to “{name}”; active is “{right}”."


KINDS: dict[str, Kind] = {
    "when-to-touch": when_to_touch,
    "waited": waited,
    "next-step": following,
    "too-early": too_early,
    "local-run": local_run_shows,
    "active-address": active_address,
    "not-active-yet": not_active_yet,
    "speed": speed,
    "why-it-stands": why_it_stands,
    "telegrams-stop": when_telegrams_stop,
}
