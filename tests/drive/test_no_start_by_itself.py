"""No drive starts because a bit was left at 1: with any options, any words, and whatever else changes meanwhile.

The rule: from the states in which the power is off (inhibited, ready, fault) a drive comes into operation only by ON.
ON is a word that the drive takes over while it is ready, with bit 0 at 1, after one that it took over with bit 0 at 0.
Only words with bit 10 at 1 are taken over. Sources: ready is left by the edge of bit 0 (Lenze 931M/W manual p.29, ABB
FSPS-21 manual p.83), the inhibit by bit 0 at 0 (Rockwell 160PD1 manual p.5-4), nothing without bit 10 (Lenze 931M/W
manual p.33). That a word which the drive only hears while it is led from its own panel counts as seen is our own rule:
nothing may start by a turn of that switch.
"""

from dataclasses import fields, replace

from driven import make, send, wait
from hypothesis import example, given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.settings import changed
from helpers.drive.states import Conditions, Options, fault, settle
from helpers.line.station.drive import DriveApplication

READY, RUN, RUN_WITHOUT_10, READY_WITHOUT_10 = 0x047E, 0x047F, 0x007F, 0x007E
POWER_OFF = ("switching on inhibited", "ready for switching on", "fault")
RAMPS = Options(no_control="ramp stop")

OPTIONS = st.builds(
    Options,
    **{
        field.name: st.sampled_from([row["choice"] for row in facts.where("drive_options", field=field.name)])
        for field in fields(Options)
    },
)
# Bits 0 to 3, 7 and 10 move a drive: words with mostly right bits get it far, the others everywhere.
NEAR = st.builds(
    lambda flipped: RUN ^ sum(1 << bit for bit in flipped), st.sets(st.sampled_from((0, 0, 1, 2, 3, 7, 10)), max_size=2)
)
WORDS = st.one_of(st.sampled_from((READY, RUN, RUN, RUN_WITHOUT_10, READY_WITHOUT_10, 0)), NEAR, st.integers(0, 0xFFFF))
EVENTS = st.one_of(
    WORDS,
    WORDS,
    WORDS,
    st.builds(Conditions, standstill=st.booleans(), local=st.booleans(), cause_present=st.booleans()),
    st.sampled_from(("fault coast", "fault ramp", "the motor stands")),
)


class Watch:
    """Sees states and words from outside, and says when a drive has come into operation without ON."""

    def __init__(self):
        self.last, self.on = 0, False  # bit 0 of the word taken over last; ON seen since the power was off

    def word(self, state, sent):
        if sent & 0x0400:
            self.on |= state == "ready for switching on" and bool(sent & ~self.last & 1)
            self.last = sent & 1

    def state(self, state):
        assert state not in ("switched on", "operation", "disabling operation", "ramp stop") or self.on
        if state in POWER_OFF:
            self.on = False


@settings(max_examples=400, deadline=None)
@given(OPTIONS, st.lists(EVENTS, max_size=30))
@example(RAMPS, [READY, RUN, RUN_WITHOUT_10, "the motor stands", RUN])  # bit 0 stands at 1 throughout
@example(RAMPS, [READY, RUN, RUN_WITHOUT_10, RUN])
@example(RAMPS, [READY, RUN, RUN_WITHOUT_10, "the motor stands", READY_WITHOUT_10, RUN])
@example(Options(), [READY, Conditions(local=True), RUN, Conditions(), RUN])
def test_a_drive_without_power_comes_into_operation_by_on_alone(options, events):
    state, taken, known, watch = "switching on inhibited", 0, Conditions(), Watch()
    for event in events:
        if isinstance(event, Conditions):
            known = event
            continue
        if event in ("fault coast", "fault ramp"):
            state = fault(state, stop=event.split()[1])
            watch.state(state)
            continue
        if event == "the motor stands":
            known, sent = replace(known, standstill=True), taken
        else:
            sent = event
        watch.word(state, sent)
        for one in settle(state, taken, sent, known, options, wait=False):
            state, taken = one.after, one.taken
            watch.state(state)


# The drive with its motor: it is given time, loses its bus, is switched to its panel and back.
AT_THE_DRIVE = st.sampled_from(("time", "long", "bus lost", "panel", "bus", "acknowledge", "off and on"))


@settings(max_examples=60, deadline=None)
@given(
    OPTIONS, st.sampled_from(("fault", "coast", "ramp", "keep running")), st.lists(WORDS | AT_THE_DRIVE, max_size=15)
)
@example(RAMPS, "fault", [READY, RUN, RUN_WITHOUT_10, "long", RUN])
@example(Options(), "ramp", [READY, RUN, "bus lost", READY_WITHOUT_10, "long", RUN])
@example(Options(), "fault", [READY, "panel", READY, "bus", RUN_WITHOUT_10, "panel", READY_WITHOUT_10, "bus", RUN])
def test_a_drive_with_its_motor_comes_into_operation_by_on_alone(options, on_loss, events):
    drive: DriveApplication = make(options=options, on_loss=on_loss)
    watch = Watch()
    for event in events:
        if isinstance(event, int):
            watch.word(drive.state, event)
            send(drive, event, 20)
        else:
            _at_the_drive(drive, event)
            if event == "off and on":
                watch = Watch()
        watch.state(drive.state)


def _at_the_drive(drive, event):
    if event == "bus lost":
        drive.bus_lost()
    elif event == "acknowledge":
        drive.acknowledge()
    elif event == "off and on":
        drive.power_down()
        drive.power_up()
    elif event in ("panel", "bus"):
        drive.settings = changed(drive.settings, "run_source", event)
    else:
        wait(drive, 12 if event == "long" else 0.2)
