"""A drive behind its DP slave: it obeys control word and setpoint, turns a motor, and answers what it does.

State machine, scaling, parameters and settings are those of `helpers.drive`; here they are put together and given
time. 100 % of a setpoint is the field's speed at the motor's rated frequency. The actual value is the shaft's speed on
the same scale, so that the slip shows. Octets run high byte first; a controller that swaps them is the controller's
matter.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from struct import pack_into

from helpers.bus.services.diag_blocks import Block
from helpers.device.formats import DataFormat, in_words
from helpers.drive import settings as drive_settings
from helpers.drive import states
from helpers.drive.machines import synchronous_speed
from helpers.drive.parameters import parameter_store
from helpers.drive.parameters.parameter_store import Store
from helpers.drive.settings import Settings
from helpers.drive.states import CONTROL_BY_PLC, STATES, USUAL, Conditions, Options
from helpers.line.station.drive_data import ADDRESS, Dialogue, layout, with_address
from helpers.line.station.drive_signals import ANSWERS, SLOW, percent_of
from helpers.line.station.machine import Machine
from helpers.line.station.ramp import Ramp
from helpers.line.station.supervision import FaultText, Supervision, constant, fault

RAMP_UP, RAMP_DOWN, LOWEST, HIGHEST = 110, 111, 112, 113  # parameters of the drive
RELEASE_OUTPUT, RELEASE_RAMP, RELEASE_SETPOINT = 1 << 4, 1 << 5, 1 << 6  # bits of the control word

_STOPPING = ("ramp stop", "quick stop", "disabling operation", "fault reaction")

_conditions = cache(Conditions)


class DriveApplication:
    """A drive with its motor.

    state: one of `helpers.drive.states.STATES`. taken: the control word that it took over last. fault: what it
    has tripped for, or None. machine, supervision, store: what it turns, what it watches, its parameters.
    panel_percent, terminals_percent: setpoints in % beside the bus; terminals_run: the run switch at the terminals.
    lost: it was led by the bus, and telegrams have stopped. powered: its supply is on.
    """

    machine: Machine
    supervision: Supervision
    store: Store
    fault: FaultText | None

    def __init__(
        self,
        settings: Settings,
        form: DataFormat | None,
        store: Store,
        machine: Machine,
        options: Options = USUAL,
    ) -> None:
        """Form is the data format in force; None: the one of the settings."""
        self.machine = machine
        self.options = options
        self.supervision = Supervision()
        self.panel_percent = self.terminals_percent = 0.0
        self.terminals_run = False
        self._settings = settings
        self._form = form or in_words(settings.active.data_format)
        self.store = with_address(store, settings.active.address)
        self._reference_rpm = synchronous_speed(machine.plate.rated_hz, poles=machine.plate.poles)
        self._start()

    def _start(self) -> None:
        """What power-up begins with, apart from settings and parameters."""
        self.powered = True
        self.state, self.taken, self.lost = "switching on inhibited", 0, False
        self.ramp = Ramp()
        self._control = 0
        self._heard = False
        self._bus_percent = 0.0
        self._torque_limit = constant("torque_limit_percent") / 100
        self._bus_ramp_s = self._run_s = 0.0
        self._octets = b""
        self._inputs = b""
        self.fault = None
        self._blocks: tuple[Block, ...] = ()
        self._stale, self._warned = True, False
        self._shown: tuple[str, int, Conditions] | None = None
        self._status = 0
        self._layout = layout(self._form, self.store)
        self._dialogue = Dialogue(self._layout)
        self._read_parameters()

    # -- what the DP slave asks ---------------------------------------------------------------------------------------

    def take_outputs(self, octets: bytes) -> None:
        """Output data reach the drive."""
        if octets == self._octets and self._heard:
            return
        got = self._layout.read(octets)
        before, resumed = self._control, not self._heard
        self._control = got.get("STW1", 0)
        if self.lost and self._settings.active.on_loss in ("coast", "ramp") and self._control & CONTROL_BY_PLC:
            self.taken = self._control  # counts as seen: a new ON is needed
        self._octets, self._heard, self.lost = octets, True, False
        if self._control & CONTROL_BY_PLC:  # without it, nothing is taken over: the setpoint before goes on
            self._obey(got)
        if self._dialogue.take(octets):
            self._stale = True
        if self._control != before or resumed:
            self._evaluate()
        else:
            self._set_goal()

    def bus_lost(self) -> None:
        """Telegrams have stopped: a drive that is led by the bus reacts as it is set."""
        self._heard = False
        active = self._settings.active
        if not self.powered or "bus" not in (active.run_source, active.setpoint_source):
            return
        self.lost = True
        if active.on_loss == "fault":
            self._trip("telegrams stopped")
        elif active.on_loss != "keep running" and not self.fault:
            ramps = active.on_loss == "ramp" and self._pulses
            self._enter("ramp stop" if ramps else "switching on inhibited")

    def inputs(self) -> bytes:
        """The input data: the same object as before while nothing has changed."""
        if self._stale:
            self._stale = False
            octets = bytearray(self._layout.size_in)
            for at, shift, answer in self._answers:
                pack_into(">H", octets, at, answer(self) >> shift & 0xFFFF)
            if (begin := self._layout.parameters_in) is not None:
                octets[begin : begin + len(self._dialogue.answer)] = self._dialogue.answer
            if octets != self._inputs:
                self._inputs = bytes(octets)
        return self._inputs

    def advance(self, dt_s: float) -> None:
        """Time passes: the ramp moves, the motor turns, faults are looked for."""
        self._run_s += dt_s
        fed_hz = None
        if self._pulses:
            self.ramp.advance(dt_s)
            fed_hz = self.ramp.output_hz
        if self.machine.advance(dt_s, fed_hz, self._torque_limit):
            self._stale = True
            if self.state in _STOPPING and self._stands:
                self._evaluate()
        if self.powered:
            if self.supervision.due(dt_s):
                self._look()
            if self._dialogue.working:
                self._answer_parameter(dt_s)

    def blocks(self) -> tuple[Block, ...]:
        """The block of the fault that the drive has tripped for; () without one."""
        return self._blocks

    def power_up(self) -> None:
        """Supply comes: parameters that were not saved are lost, settings become active, a new ON is needed."""
        store = parameter_store.power_cycle(self.store)
        if store[ADDRESS].values[0] != self._settings.active.address:  # changed over the bus and saved
            self._settings = drive_settings.changed(self._settings, "address", store[ADDRESS].values[0])
        self._settings = drive_settings.power_cycle(self._settings)
        self.store = with_address(store, self._settings.active.address)
        if self._settings.active.data_format != self._form.name:
            self._form = in_words(self._settings.active.data_format)
        self._start()
        if found := self.supervision.found():
            self._trip(found)

    def power_down(self) -> None:
        """The drive's own supply goes: pulses off, the motor coasts, the front is dark."""
        self.powered = self._heard = self.lost = False
        self.fault, self._blocks = None, ()
        self._enter("switching on inhibited")

    # -- what a person does at the drive ------------------------------------------------------------------------------

    @property
    def settings(self) -> Settings:
        """What is set and what is active; may be set from outside, as at the panel."""
        return self._settings

    @settings.setter
    def settings(self, new: Settings) -> None:
        was, self._settings = self._settings, new
        if was.active.address != new.active.address:  # the parameter of the address says what is active
            self.store = with_address(self.store, new.active.address)
        running = STATES[self.state][1] and self.state not in _STOPPING
        if was.active.run_source != new.active.run_source and running:
            self._enter("ramp stop")  # nothing starts by a turn of this switch, and the words so far have been seen
        self._evaluate()

    @property
    def form(self) -> DataFormat:
        """The data format that is active."""
        return self._form

    @property
    def local(self) -> bool:
        """True if the run command comes from the panel or the terminals."""
        return self._settings.active.run_source != "bus"

    def start(self) -> bool:
        """Start as led beside the bus; False if the drive refuses: led by the bus, in a fault, or without supply."""
        if not self.local or not self.powered or self.fault or STATES[self.state][1]:
            return False
        self._enter("operation")
        return True

    def stop(self) -> None:
        """Stop by the ramp, whoever leads; afterwards a new ON is needed."""
        if self.state in ("operation", "disabling operation"):
            self._enter("ramp stop")

    def acknowledge(self) -> bool:
        """Acknowledge at the drive; False if there is nothing to acknowledge or the cause is still there."""
        self.state = states.acknowledge_at_panel(self.state, self._now())
        cleared = self.fault is not None and STATES[self.state][0] != "fault"
        self._evaluate()
        return cleared

    def terminals(self, *, run: bool, percent: float) -> None:
        """What is wired to the terminals: the run switch acts when it changes, the setpoint (in %) at once."""
        was, self.terminals_run, self.terminals_percent = self.terminals_run, run, percent
        if self._settings.active.run_source == "terminals" and run != was:
            if run:
                self.start()
            else:
                self.stop()
        self._set_goal()

    def at_panel(self, percent: float) -> None:
        """Type a setpoint, in %, at the drive's own panel."""
        self.panel_percent = percent
        self._set_goal()

    # -- what it shows ------------------------------------------------------------------------------------------------

    @property
    def setpoint_percent(self) -> float:
        """The setpoint that counts, from its source, in %."""
        source = self._settings.active.setpoint_source
        return {"bus": self._bus_percent, "panel": self.panel_percent, "terminals": self.terminals_percent}[source]

    @property
    def run_s(self) -> float:
        """Time under power in s."""
        return self._run_s

    @property
    def speed_percent(self) -> float:
        """The shaft's speed in %."""
        return 100 * self.machine.speed_rpm / self._reference_rpm

    @property
    def at_setpoint(self) -> bool:
        """True if the motor is led by its setpoint and has reached it."""
        band = constant("at_setpoint_band_percent")
        return self.state == "operation" and abs(self.speed_percent - self.setpoint_percent) <= band

    @property
    def cause_present(self) -> bool:
        """True if the cause of the present fault is still there."""
        if self.fault is None:
            return False
        if self.fault.key == "telegrams stopped":
            return self.lost
        return self.supervision.cause_present(self.fault.key)

    @property
    def status(self) -> int:
        """The status word."""
        # It is asked for with every step of a running motor and changes seldom.
        now = (self.state, self.taken, self._now())
        if now != self._shown:
            self._shown, self._status = now, states.status_word(*now, self.options)
        return self._status

    # -- inside -------------------------------------------------------------------------------------------------------

    @property
    def _pulses(self) -> bool:
        return STATES[self.state][1]

    @property
    def _stands(self) -> bool:
        return self.ramp.output_hz == 0 and self.machine.standstill

    def _now(self) -> Conditions:
        return _conditions(
            self._stands,
            self.local,
            self.cause_present,
            self.supervision.warning,
            self.at_setpoint,
        )

    def _evaluate(self) -> None:
        """Let the state machine work on the word until nothing changes any more."""
        if not self.powered:
            return
        word = self._control if self._heard else self.taken
        steps = states.settle(self.state, self.taken, word, self._now(), self.options, wait=False)
        self.taken = steps[-1].taken
        self._enter(steps[-1].after)

    def _enter(self, state: str) -> None:
        started = STATES[state][1] and not self._pulses
        self.state, self._stale = state, True
        if started:  # caught at the speed at which it still turns
            self.ramp.output_hz = self.machine.speed_rpm * self.machine.plate.rated_hz / self._reference_rpm
        elif not self._pulses:
            self.ramp.output_hz = 0.0
            self.machine.release()
        if self.fault and STATES[state][0] != "fault":
            self.fault, self._blocks = None, ()
            self.supervision.acknowledged()
        self._set_goal()

    def _trip(self, key: str) -> None:
        if self.fault:
            return
        self.fault = fault(key)
        self._blocks = (self.fault.block,)
        self._enter(states.fault(self.state, stop=self.fault.stop))

    def _obey(self, got: Mapping[str, int]) -> None:
        """The signals beside the control word that the drive takes over."""
        if "NSOLL_B" in got:
            self._bus_percent = percent_of(got["NSOLL_B"], "N4")
        elif "NSOLL_A" in got:
            self._bus_percent = percent_of(got["NSOLL_A"], "N2")
        if "TORQUE_LIMIT" in got:
            most = constant("torque_limit_percent")
            self._torque_limit = min(max(percent_of(got["TORQUE_LIMIT"], "N2"), 0.0), most) / 100
        self._bus_ramp_s = got.get("RAMP_TIME", 0) / 10

    def _read_parameters(self) -> None:
        def value(number: int) -> int:
            return self.store[number].values[0]

        self._ramp_up_s, self._ramp_down_s = value(RAMP_UP) / 10, value(RAMP_DOWN) / 10
        self._low_hz, self._high_hz = value(LOWEST) / 100, value(HIGHEST) / 100
        self._layout = layout(self._form, self.store)
        self._answers = [(p.at, p.shift, ANSWERS[p.signal]) for p in self._layout.into if p.signal in ANSWERS]
        self._slow = any(place.signal in SLOW for place in self._layout.into)
        self._set_goal()

    def _answer_parameter(self, dt_s: float) -> None:
        answered = self._dialogue.advance(dt_s, self.store, running=self._pulses)
        if answered is not None:
            self.store = answered
            self._read_parameters()

    def _set_goal(self) -> None:
        """What the ramp makes for, and how fast."""
        ramp, rated = self.ramp, self.machine.plate.rated_hz
        led = self.taken | (RELEASE_OUTPUT | RELEASE_RAMP | RELEASE_SETPOINT if self.local else 0)
        ramp.goal_hz = 0.0
        if self.state == "operation":
            if not led & RELEASE_OUTPUT:
                ramp.output_hz = 0.0
            elif not led & RELEASE_RAMP:
                ramp.goal_hz = ramp.output_hz
            elif led & RELEASE_SETPOINT:
                ramp.goal_hz = min(max(self.setpoint_percent / 100 * rated, self._low_hz), self._high_hz)
        ramp.up_hz_s = rated / (self._bus_ramp_s or self._ramp_up_s)
        quick = self.state == "quick stop" or (self.fault is not None and self.fault.stop == "quick")
        down_s = constant("quick_stop_s") if quick else self._bus_ramp_s or self._ramp_down_s
        ramp.down_hz_s = rated / down_s
        self._stale = True

    def _look(self) -> None:
        """Once in a while: faults, and the values that change slowly."""
        found = self.supervision.look(self.machine, self._pulses, self._torque_limit)
        if found:
            self._trip(found)
        if self._slow or self._warned != self.supervision.warning:
            self._warned, self._stale = self.supervision.warning, True
