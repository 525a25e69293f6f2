"""Questions on the drive on its own: its settings and what it does. Each slip makes the mistake on purpose.

The drives are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from helpers.drive.settings import (
    NAMES,
    Local,
    Sent,
    Settings,
    Values,
    behaviour,
    changed,
    choices,
    handed_over,
    needs_power_cycle,
    own_name,
    power_cycle,
    waiting,
)
from helpers.study import questions_on_first_run as first_run
from helpers.study.forms import Bits, Choice, Number
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.study.questions_on_first_run import DRIVES
from helpers.wording import capital_first

_POWER_UP = "A change of address, format or reaction counts only after the supply was off and on"


# -- the settings -------------------------------------------------------------------------------------


def active_address(draw: Draw) -> Question:
    """The address at which the drive answers after changes and power cycles."""
    first, second, third = draw.some(range(10, 60), 3)
    cycled, again = draw.pick((True, False)), draw.pick((True, False))
    settings, told = changed(Settings(), "address", first), [f"address set to {first}"]
    before = settings.active.address
    for off, address in ((cycled, second), (again, third)):
        if off:
            settings = power_cycle(settings)
            told.append("supply off and on")
        settings = changed(settings, "address", address)
        told.append(f"address set to {address}")
    right = settings.active.address
    return Question(
        f"A new drive, delivered with address {before}, is set as in the table, in this order. {_POWER_UP}.\n"
        "At which address does it answer now?",
        Number(),
        right,
        rows=[{"turn": turn, "what was done": what} for turn, what in enumerate(told, 1)],
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
    told = []
    for place, name in enumerate([*before, "", *after]):
        if not name:
            settings = power_cycle(settings)
            told.append("supply off and on")
            continue
        now = getattr(settings.set, name)
        value = draw.pick([each for each in _CHANGES[name] if each != now])
        settings = changed(settings, name, value)
        told.append(f"{own_name(name)}: {value}" + (" (again)" if place > 2 and name in before else ""))

    def pattern(names: tuple[str, ...] | list[str]) -> str:
        return "".join("1" if name in names else "0" for name in NAMES)

    late = waiting(settings)
    return Question(
        f"The settings of a drive are changed as in the table. {_POWER_UP}; the two sources count at once (manual "
        "of the invented drive).\nWhich settings are set but not active? Write 1 for these and 0 for the others.",
        Bits(tuple(own_name(name) for name in NAMES)),
        pattern(late),
        rows=[{"turn": turn, "what was done": what} for turn, what in enumerate(told, 1)],
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
        f"The drive of {draw.pick(DRIVES)} exchanges process data. All its settings are active. The controller "
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
        active = Values(active.run_source, active.setpoint_source, old.active.address, chosen)
    elif reason.startswith("data"):
        active = Values(active.run_source, active.setpoint_source, address, "PPO 1")
    settings = Settings(settings.set, active)
    if reason.startswith(("run", "setpoint")):
        settings = changed(settings, "run_source" if reason.startswith("run") else "setpoint_source", "panel")
    word = 0x007F if reason.startswith("bit") else 0x047F
    does = behaviour(settings, Sent(address, chosen, word, percent))
    return Question(
        f"{capital_first(draw.pick(DRIVES))} does not turn. The controller asks address {address} with {chosen}, sends "
        f"first 16#047E and then 16#{word:04X}, and {percent} % as setpoint. At the drive's own panel nothing was "
        "pressed, and 0 % is typed in. Bit 10 of the control word is worth 16#0400; while it is 0, the drive does not "
        "obey the word. The settings are in the table.\nWhy does it stand?",
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
        slips=tuple(Slip(other, said) for other, said in _REASONS.items() if other != reason),
    )  # fmt: skip


def when_telegrams_stop(draw: Draw) -> Question:
    """What the motor does when the bus is cut."""
    reactions = [row["choice"] for row in choices("on_loss")]
    now, later = draw.some(reactions, 2)
    percent, cycled = draw.whole(20, 100, 5), draw.pick((True, False))
    settings = changed(handed_over(address=12, data_format="PPO 4", on_loss=now), "on_loss", later)
    settings = power_cycle(settings) if cycled else settings
    does = behaviour(settings, Sent(12, "PPO 4", setpoint_percent=percent, telegrams="stopped"))
    told = {
        "fault": "it coasts, and stays in a fault until somebody acknowledges it",
        "coast": "it coasts, and a new ON starts it when telegrams come again",
        "ramp": "it ramps down, and a new ON starts it when telegrams come again",
        "keep running": f"it keeps turning at {percent} %",
    }
    right = settings.active.on_loss
    return Question(
        f"{capital_first(draw.pick(DRIVES))} turns at {percent} %, led by the bus. Its setting “{own_name('on_loss')}” "
        f"was “{now}”, and was changed to “{later}”. Since then the supply was {'' if cycled else 'not '}off and on. "
        "Somebody pulls the bus plug.\nWhat does the motor do?",
        Choice(tuple(told.values())),
        told[right],
        steps=(
            "The active setting decides, not the one that was set last.",
            does.sentence,
        ),
        slips=tuple(
            Slip(words, _reaction_said(name, right, later, cycled)) for name, words in told.items() if name != right
        ),
    )


def _reaction_said(name: str, right: str, later: str, cycled: bool) -> str:
    if name == later and not cycled:
        return f"“{later}” is set, but it counts only after the supply was off and on."
    if name == "keep running":
        return f"It would do so with “keep running”; active is “{right}”."
    return f"That belongs to “{name}”; active is “{right}”."


KINDS: dict[str, Kind] = {
    "when-to-touch": first_run.when_to_touch,
    "waited": first_run.waited,
    "next-step": first_run.following,
    "too-early": first_run.too_early,
    "local-run": first_run.local_run_shows,
    "active-address": active_address,
    "not-active-yet": not_active_yet,
    "speed": speed,
    "why-it-stands": why_it_stands,
    "telegrams-stop": when_telegrams_stop,
}
