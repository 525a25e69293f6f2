"""The table of transitions against a second program, written from the manuals as plain conditions.

Manuals as at the tests of `helpers.drive.states`: Lenze 931M/W p.29 and p.33, Eaton MN040010EN p.87 and p.94, Rockwell
160PD1 p.5-4, ABB FPBA-01 p.57 and p.131, ABB FSPS-21 p.83. From memory of the profile: bit 3 at 0 takes the pulses off
at once; OFF3 inhibits a drive that has nothing to brake, and turns a ramp into a quick stop. What an option says is the
meaning beside it in `data/drive_options.csv`.
"""

from dataclasses import fields

from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.states import Conditions, Options, fault, settle


class SecondDrive:
    """A drive written down a second time. It knows no table; `bit 10` is looked at before anything else."""

    def __init__(self, options):
        self.options, self.state, self.seen = options, "inhibited", 0

    def hear(self, word, *, stands, local, cause):
        """One word, which stays until nothing changes any more."""
        heard, rises = bool(word & 0x400), 0
        if heard:
            rises, self.seen = word & ~self.seen, word
        for _ in range(6):
            self.state = self.next(word, rises, stands, local, cause, heard and not local, not heard and not local)
            rises = 0

    def next(self, word, rises, stands, local, cause, obeys, without_10):
        on, no_off2, no_off3, enabled = (bool(word >> bit & 1) for bit in range(4))
        coasts = self.options.disable == "coasts" and obeys and not enabled
        now = self.state
        if now == "fault":
            return "inhibited" if obeys and rises & 0x80 and not cause else now
        if now == "fault reaction":
            return "fault" if stands or (obeys and not no_off2) else now
        if obeys and not no_off2:
            return "inhibited"
        if now == "inhibited":
            return "ready" if obeys and no_off3 and not on else now
        if now == "quick stop":
            return "inhibited" if stands or coasts else now
        if obeys and not no_off3:
            return "quick stop" if now in ("operation", "disabling", "ramp") else "inhibited"
        if now == "ready":
            return "switched on" if obeys and rises & 1 else now
        if now == "ramp":
            may = self.options.on_while_stopping == "cancels the ramp" and obeys and enabled and not stands
            return "ready" if stands or coasts else "operation" if may and rises & 1 else now
        if obeys and not on:
            return "ready" if now == "switched on" else "ramp"
        if now == "switched on":
            return "operation" if obeys and enabled else now
        if without_10 and self.options.no_control == "ramp stop":
            return "ramp"
        if now == "operation":
            return now if not obeys or enabled else "switched on" if coasts else "disabling"
        return "operation" if obeys and enabled else "switched on" if stands else now


NAMES = {
    "switching on inhibited": "inhibited",
    "ready for switching on": "ready",
    "disabling operation": "disabling",
    "ramp stop": "ramp",
}
OPTIONS = st.builds(
    Options,
    **{
        field.name: st.sampled_from([row["choice"] for row in facts.where("drive_options", field=field.name)])
        for field in fields(Options)
    },
)
NEAR = st.builds(
    lambda flipped: 0x047F ^ sum(1 << bit for bit in flipped), st.sets(st.sampled_from((0, 1, 2, 3, 7, 10)), max_size=2)
)
MOMENTS = st.tuples(
    st.one_of(st.sampled_from((0x047E, 0x047F)), NEAR, st.integers(0, 0xFFFF)),
    st.sampled_from((False, False, False, True)),  # the motor stands
    st.sampled_from((False, False, False, True)),  # led from the panel
    st.booleans(),  # the cause of a fault is there
    st.sampled_from(("", "", "", "", "coast", "ramp")),  # a fault with this reaction, before the word
)


@settings(max_examples=600, deadline=None)
@given(OPTIONS, st.lists(MOMENTS, min_size=1, max_size=30))
def test_both_go_the_same_way_through_any_words(options, moments):
    second = SecondDrive(options)
    state, taken = "switching on inhibited", 0
    for word, stands, local, cause, trips in moments:
        if trips:
            state = fault(state, stop=trips)
            second.state = NAMES.get(state, state)
        second.hear(word, stands=stands, local=local, cause=cause)
        known = Conditions(standstill=stands, local=local, cause_present=cause)
        last = settle(state, taken, word, known, options, wait=False)[-1]
        state, taken = last.after, last.taken
        assert (NAMES.get(state, state), taken) == (second.state, second.seen)
