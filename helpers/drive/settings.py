"""The settings that hand a drive to the bus, and what it does with them when the controller says run.

Five settings decide: who gives the run command, who gives the setpoint, the station address, the data format,
and what happens when the telegrams stop. Each has a value that is *set* and a value that is *active*: a
communication setting counts only after the drive's supply was off and on (common practice; on the invented
drive of this workbook `data/demo/device_settings.csv` says which). The drive works with what is active; its
panel shows what is set.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import Any

from helpers import facts
from helpers.answer import Answer, Row
from helpers.caution import WARNING, Caution
from helpers.device.formats import in_words
from helpers.drive.obstacles import obstacles
from helpers.drive.words import spelled
from helpers.errors import in_range, one_of
from helpers.safe_work import cautions
from helpers.written import whole

_TABLE = "demo/device_settings"
_READY, _READY_WORD = "ready for switching on", 0x047E
_PLACES = {"panel": "the drive's own panel", "terminals": "the terminals", "bus": "the bus"}
_STARTS = {
    "panel": "the drive's own panel starts it",
    "terminals": "the terminals start it",
    "bus": "the control word starts it",
}
_SETS = {
    "panel": "the drive's own panel sets its speed",
    "terminals": "the terminals set its speed",
    "bus": "the setpoint word sets its speed",
}
SOURCES = {"panel": "own panel", "terminals": "terminals", "bus": "bus"}
LINKS = ("arrive", "never came", "stopped")


@dataclass(frozen=True)
class SettingValues:
    """One value for each setting; the defaults are those the invented drive is delivered with."""

    run_source: str = "panel"
    setpoint_source: str = "panel"
    address: int = 126
    data_format: str = "Mill 2/3"
    on_loss: str = "fault"


@dataclass(frozen=True)
class Settings:
    """What is `set` in the drive, and what is `active`: the drive works with the active values.

    given: the station address that it was given over the bus (Set_Slave_Add), None for none. It stays when the supply
    goes, and counts in place of the one that is set. Only some drives take one.

    >>> Settings().active.address
    126
    """

    set: SettingValues = SettingValues()
    active: SettingValues = SettingValues()
    given: int | None = None


NAMES = tuple(field.name for field in fields(SettingValues))


@dataclass(frozen=True)
class Sent:
    """What the controller has for this drive.

    address and data_format: as configured there. control_word and setpoint_percent: what it writes; before, it
    wrote 16#047E. telegrams: "arrive", "never came" since the drive has its supply and is set as it is (cable, plug,
    controller off), or "stopped" after a time in which they came.
    """

    address: int
    data_format: str
    control_word: int = 0x047F
    setpoint_percent: float = 100.0
    telegrams: str = "arrive"


@dataclass(frozen=True)
class Local:
    """What is commanded beside the bus: the drive's own panel and its terminals, setpoints in percent."""

    panel_run: bool = False
    panel_percent: float = 0.0
    terminals_run: bool = False
    terminals_percent: float = 0.0


@dataclass(frozen=True)
class Behaviour:
    """What the drive does.

    exchange: True if process data come through. motor: "stands", "turns", "coasts" or "ramps down".
    speed_percent: where it turns, or turned when the telegrams stopped. sentence: what it does and why.
    why: every reason, the first one first. caution: empty where nothing can turn.
    """

    exchange: bool
    motor: str
    speed_percent: float
    sentence: str
    why: tuple[str, ...]
    caution: str


@cache
def choices(name: str) -> tuple[facts.Fact, ...]:
    """The rows of one setting: its choices, what each means, and when a change counts.

    >>> [row["choice"] for row in choices("run_source")]
    ['panel', 'terminals', 'bus']
    """
    one_of("setting", name, NAMES)
    return facts.where(_TABLE, setting=name)


def own_name(name: str) -> str:
    """What the invented drive calls a setting.

    >>> own_name("on_loss")
    'If telegrams stop'
    """
    return choices(name)[0]["own_name"]


def needs_power_cycle(name: str) -> bool:
    """True if a change of this setting counts only after the supply was off and on.

    >>> needs_power_cycle("address"), needs_power_cycle("run_source")
    (True, False)
    """
    return choices(name)[0]["counts"] == "after power-up"


def changed(settings: Settings, name: str, value: int | str) -> Settings:
    """The settings after one value was set. It is active at once only where the drive says so.

    Errors: `Unknown` for a setting or a choice that does not exist, `OutOfRange` for an address.

    >>> new = changed(Settings(), "address", 10)
    >>> new.set.address, new.active.address
    (10, 126)
    """
    row = choices(name)[0]
    if name == "address":
        value = whole(value)
        in_range(row["own_name"], value, row.whole("low"), row.whole("high"), source=row.source)
    elif name == "data_format":
        value = in_words(str(value)).name
    else:
        one_of(row["own_name"], value, [each["choice"] for each in choices(name)])
    one: dict[str, Any] = {name: value}
    now = replace(settings.set, **one)
    active = settings.active if needs_power_cycle(name) else replace(settings.active, **one)
    return replace(settings, set=now, active=active)


def power_cycle(settings: Settings) -> Settings:
    """The settings after the drive's supply was off, long enough for it to go dark, and on again.

    >>> power_cycle(changed(Settings(), "address", 10)).active.address
    10
    >>> power_cycle(Settings(given=22)).active.address
    22
    """
    address = settings.set.address if settings.given is None else settings.given
    return replace(settings, active=replace(settings.set, address=address))


def waiting(settings: Settings) -> tuple[str, ...]:
    """The settings that are set but not active yet.

    >>> waiting(changed(Settings(), "address", 10))
    ('address',)
    """
    return tuple(name for name in NAMES if getattr(settings.set, name) != getattr(settings.active, name))


def handed_over(*, address: int, data_format: str, on_loss: str = "fault") -> Settings:
    """A drive that is led by the bus alone, with all settings active.

    >>> handed_over(address=10, data_format="PPO 4").active.run_source
    'bus'
    """
    settings = Settings()
    wanted: Mapping[str, int | str] = {
        "run_source": "bus",
        "setpoint_source": "bus",
        "address": address,
        "data_format": data_format,
        "on_loss": on_loss,
    }
    for name, value in wanted.items():
        settings = changed(settings, name, value)
    return power_cycle(settings)


def behaviour(settings: Settings, sent: Sent, local: Local = Local()) -> Behaviour:
    """What the drive does, from its active settings and from who sends what, and why.

    The control word is judged by the state machine of `helpers.drive.states`, for a drive that was ready for
    switching on and has no fault.

    >>> behaviour(Settings(), Sent(10, "PPO 4")).motor
    'stands'
    >>> behaviour(handed_over(address=10, data_format="PPO 4"), Sent(10, "PPO 4", setpoint_percent=60)).sentence
    'The motor turns at 60 %: the control word starts it, the setpoint word sets its speed.'
    """
    one_of("telegrams", sent.telegrams, LINKS)
    active = settings.active
    unheard = _no_exchange(settings, sent)
    came = not unheard
    run, percent = _run(active.run_source, sent, local, came), _percent(active.setpoint_source, sent, local, came)
    led_by_bus = "bus" in (active.run_source, active.setpoint_source)
    if came and sent.telegrams == "stopped" and led_by_bus:
        return _lost(active, sent, run, percent)
    exchange = came and sent.telegrams == "arrive"
    if run and percent:
        who = _STARTS[active.run_source], _SETS[active.setpoint_source]
        why = (f"{who[0]}, {who[1]}.", *_in_vain(active, exchange), *unheard)
        turns = f"The motor turns at {abs(percent):g} %{' backwards' if percent < 0 else ''}"
        return Behaviour(exchange, "turns", percent, f"{turns}: {' '.join(why)}", why, _turning(active, exchange))
    held = [] if run else _not_started(active.run_source, sent, exchange, came)
    held += [] if percent else _no_setpoint(active.setpoint_source, exchange, came)
    reasons = (*unheard, *held) if led_by_bus else (*held, *unheard)
    return Behaviour(exchange, "stands", 0.0, f"The motor stands. {reasons[0]}", reasons, _may_start(active, sent))


def _no_exchange(settings: Settings, sent: Sent) -> tuple[str, ...]:
    """Why no process data come through; empty if they do."""
    active, reasons = settings.active, list[str]()
    if sent.telegrams == "never came":
        return ("No telegram reaches the drive: look at cable, plug and controller.",)
    if active.address != sent.address:
        late = " The new address is set, but it counts only after the supply was off and on."
        reasons.append(
            f"The controller asks address {sent.address}, and the drive answers at {active.address}."
            + (late if settings.set.address == sent.address else "")
        )
    wanted = in_words(sent.data_format).name
    if active.data_format != wanted:
        late = " The new format is set, but it counts only after the supply was off and on."
        reasons.append(
            f"The controller wants {wanted}, and the drive works with {active.data_format}: it refuses the "
            "configuration and takes no process data." + (late if settings.set.data_format == wanted else "")
        )
    return tuple(reasons)


def _run(source: str, sent: Sent, local: Local, came: bool) -> bool:
    """Whether the source of the run command says run."""
    if source == "bus":
        return came and not _held(sent.control_word)
    return local.panel_run if source == "panel" else local.terminals_run


def _percent(source: str, sent: Sent, local: Local, came: bool) -> float:
    """The setpoint from its source, in percent."""
    if source == "bus":
        return sent.setpoint_percent if came else 0.0
    return local.panel_percent if source == "panel" else local.terminals_percent


def _held(control: int) -> tuple[str, ...]:
    """Why a drive that was ready for switching on does not turn with this control word; empty if it does."""
    return obstacles(_READY, _READY_WORD, control)


def _not_started(source: str, sent: Sent, exchange: bool, came: bool) -> list[str]:
    if source == "bus":
        return list(_held(sent.control_word)) if came else []
    ignored = "The control word is ignored: the" if exchange else "The"
    return [f"{ignored} run command comes from {_PLACES[source]}, and nobody has started it there."]


def _no_setpoint(source: str, exchange: bool, came: bool) -> list[str]:
    if source == "bus":
        return ["The setpoint word is 0."] if came else []
    ignored = "The setpoint word is ignored: the" if exchange else "The"
    return [f"{ignored} setpoint comes from {_PLACES[source]}, and it is 0 there."]


def _in_vain(active: SettingValues, exchange: bool) -> tuple[str, ...]:
    """What the controller writes for nothing although telegrams arrive."""
    words = (("control", active.run_source), ("setpoint", active.setpoint_source))
    return tuple(f"The {word} word is ignored." for word, source in words if exchange and source != "bus")


def _lost(active: SettingValues, sent: Sent, run: bool, percent: float) -> Behaviour:
    """The drive was led by the bus, and the telegrams have stopped."""
    reaction = active.on_loss
    meaning = facts.one(_TABLE, setting="on_loss", choice=reaction)["meaning"]
    turned = run and bool(percent)
    if reaction == "keep running" and not turned:
        meaning = meaning.partition(":")[0]  # what follows tells of a motor that turned
    stopped = f"The telegrams have stopped, and the drive is set to “{reaction}”: {meaning}."
    caution = "When the telegrams come again, the controller may start the motor: keep clear until it is isolated."
    if not turned:
        last = f"The last control word, {spelled(sent.control_word)}, does not start it."
        held = [last] if active.run_source == "bus" else _not_started(active.run_source, sent, False, True)
        held = [] if run else held
        held += [] if percent else _no_setpoint(active.setpoint_source, False, True)
        why = (*held, stopped)
        return Behaviour(False, "stands", 0.0, f"The motor stands. {held[0]} {stopped}", why, caution)
    motor = {"ramp": "ramps down", "keep running": "turns"}.get(reaction, "coasts")
    if motor == "turns":
        caution = "Nothing on the bus can stop this motor now. Use the emergency stop: it must not depend on the bus."
    return Behaviour(False, motor, percent, f"The motor {motor}. {stopped}", (stopped,), caution)


def _turning(active: SettingValues, exchange: bool) -> str:
    if active.run_source == "bus" and exchange:
        return "The controller can stop and start this motor at any moment: keep clear until it is isolated."
    return (
        f"The controller cannot stop this motor, only {_PLACES[active.run_source]} can. The emergency stop must depend "
        "on neither."
    )


def _may_start(active: SettingValues, sent: Sent) -> str:
    """The motor stands: what is put right next, or the next word, may start it."""
    if _held(sent.control_word):
        led = active.run_source == "bus"
        return "The next control word may start the motor: see that nobody is at the machine first." if led else ""
    if active.run_source != "bus":
        return "The controller says run. Turn the source of the run command to bus now, and the motor may start."
    return "The controller says run. Put the cause right, and the motor may start without another hand on it."


# -- what is said of it -------------------------------------------------------------------------------


@dataclass(frozen=True)
class RoutesPicture:
    """Which source is joined to the run command, which to the setpoint, and what the motor does."""

    active: SettingValues
    does: Behaviour

    @property
    def says(self) -> str:
        """Sources, motor and process data in a sentence."""
        active, does = self.active, self.does
        turning = f"{does.motor} at {does.speed_percent:g} %" if does.motor == "turns" else does.motor
        return (
            f"run command from {SOURCES[active.run_source]}, setpoint from {SOURCES[active.setpoint_source]}; the "
            f"motor {turning}; process data {'come through' if does.exchange else 'do not come through'}"
        )


def hand_over_answer(settings: Settings, sent: Sent, local: Local) -> Answer:
    """What the drive does with what is active, and which settings are only set."""
    does = behaviour(settings, sent, local)
    waits = waiting(settings)
    names = ", ".join(own_name(name).lower() for name in waits)
    return Answer(
        does.sentence,
        because=f"Set, but not active before the supply was off and on: {names}."
        if waits
        else "All that is set is active.",
        caution=(
            *([Caution(WARNING, does.caution)] if does.caution else []),
            *(cautions("supply off and on") if waits else ()),
        ),
        pictures=[RoutesPicture(settings.active, does)],
        rows=settings_rows(settings),
        folded=[
            ("All reasons, the first one first", [{"reason": why} for why in does.why]),
            ("What each setting does", setting_meanings()),
        ],
        sources=[
            *(choices(name)[0].cited for name in NAMES),
            "a communication setting counts after the supply was off and on (common practice)",
        ],
    )


def settings_rows(settings: Settings) -> list[Row]:
    """Each setting by its own name: what is set, what is active, and when a change counts.

    >>> settings_rows(Settings())[2]["active"]
    '126'
    """
    return [_row(settings, name) for name in NAMES]


def _row(settings: Settings, name: str) -> Row:
    now, active = getattr(settings.set, name), getattr(settings.active, name)
    counts = "after the supply was off and on" if needs_power_cycle(name) else "at once"
    return {
        "setting": own_name(name),
        "set": str(now),
        "active": str(active),
        "": "" if now == active else "▲ not active yet",
        "a change counts": counts,
    }


def setting_meanings() -> list[Row]:
    """Each setting with its choices, and what they mean on the invented drive.

    >>> setting_meanings()[0]["choice"]
    'panel'
    """
    return [
        {
            "setting": row["own_name"],
            "choice": _choice(name, row),
            "meaning": row["meaning"],
            "a change counts": row["counts"],
        }
        for name in NAMES
        for row in choices(name)
    ]


def _choice(name: str, row: facts.Fact) -> str:
    if row.has("low"):
        return f"{row['low']} to {row['high']}"
    return "any that the drive has" if name == "data_format" else row["choice"]
