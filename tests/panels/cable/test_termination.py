"""The termination panel: the rules on the ends, and the meter readings that go with them.

"Both ends, nowhere else", "powered at all times" and the network of 390 Ω – 220 Ω – 390 Ω: M. Felser, PROFIBUS
Manual, bus termination. The readings are worked out again here from Ohm's law; 0.11 Ω a metre is the loop of cable
type A (EN 50170 Vol. 2, 1997, p.32). What a cutting plug does is common practice.
"""

import re

import pytest
from drawn import check_legible, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.cable.line_picture import LinePicture
from helpers.panels.cable.plugs import KINDS, levels, plug_drawing, plug_panel, plug_view
from helpers.panels.cable.segment_drawing import line_drawing
from helpers.panels.cable.termination import (
    BOTH_ENDS,
    DGND_WORDS,
    LEFT_END,
    NAMES,
    NOBODY,
    OWN,
    RIGHT_END,
    PlugSwitches,
    line,
    termination_panel,
    termination_view,
)
from helpers.panels.kit.as_html import html_of
from helpers.verdict import VERDICTS

# Why something is not allowed is tested with the rules themselves.
IN_ORDER, CAUTION, FORBIDDEN = VERDICTS
PLUGS = [kind for _, kind in KINDS]


def view(on, bit_rate=500_000, **changes):
    return termination_view(on, bit_rate, **changes)


def readings(shown):
    """Volts and ohms at each plug, from the folded table; the healthy ones last."""
    rows = shown.folded[0][1]
    ohms = [row["bus dead, A to B"] for row in rows]
    return (
        [float(row["idle, B against A"].removesuffix(" V")) for row in rows],
        [float("inf") if ohm == "open" else float(ohm.removesuffix(" Ω")) for ohm in ohms],
    )


@pytest.mark.parametrize(
    ("on", "degree", "ohm"),
    [
        ({1, 6}, IN_ORDER, 110), ({1}, FORBIDDEN, 220), ({6}, FORBIDDEN, 220), ((), FORBIDDEN, float("inf")),
        ({1, 3, 6}, FORBIDDEN, 73.3), ({1, 2, 3, 6}, FORBIDDEN, 55), ({2, 5}, FORBIDDEN, 110),
    ],
)  # fmt: skip
def test_none_to_four_terminators_on_a_short_cable(on, degree, ohm) -> None:
    shown = view(on, plug="through", length_m=0)
    assert shown.degree.verdict == degree
    volts, ohms = readings(shown)
    assert ohms[:6] == [ohm] * 6
    # A third terminator is not seen in volts: each divides its own 5 V alike, less what six receivers take.
    if len(on) >= 2:
        assert all(1.07 <= v <= 1.10 for v in volts[:6])


def test_the_healthy_reading_stands_beside_the_others() -> None:
    volts, ohms = readings(view({1, 6}))
    assert (volts[-1], ohms[-1]) == (1.08, 110)


def test_a_cutting_plug_in_the_middle_hides_the_third_terminator_and_loses_the_rest() -> None:
    shown = view({1, 3, 6}, length_m=0)
    assert shown.degree.verdict == FORBIDDEN
    assert "Cooling fan, Dust filter fan, Discharge screw lost" in shown.sentence
    assert readings(shown)[1][:6] == [110, 110, 110, 220, 220, 220]
    assert "cut off" in [t.words for t in texts(line_drawing(*shown.pictures))]


def test_the_cable_counts_in_ohms() -> None:
    _, ohms = readings(view({6}, length_m=100))
    assert ohms[0] == 231 and ohms[5] == 220
    _, both = readings(view({1, 6}, length_m=400))
    assert both[0] == round(220 * 264 / (220 + 264))


@pytest.mark.parametrize(("dgnd", "volts"), [("common", 0.55), ("isolated", 0.55)])
def test_a_dead_device_at_an_end_halves_the_idle_level(dgnd: str, volts: float) -> None:
    # 220 Ω across 220 Ω beside 780 Ω: 5 V / (780 + 220 ∥ 220 ∥ 780) × (220 ∥ 220 ∥ 780), a bit less by six receivers.
    shown = view({1, 6}, off=NAMES[-1], length_m=0, dgnd=dgnd)
    assert shown.degree.verdict == CAUTION
    assert readings(shown)[0][5] == pytest.approx(volts, abs=0.03)
    assert "if it leaves VP free, its plug reads 0." in shown.because
    assert "no supply" in [t.words for t in texts(line_drawing(*shown.pictures))]


def test_with_its_own_supply_an_end_device_may_be_off() -> None:
    shown = view({1}, own=RIGHT_END, off=NAMES[-1], length_m=0)
    assert shown.degree.verdict == IN_ORDER
    assert readings(shown)[0][:6] == [1.08] * 6
    assert "on at 1, off at all others; the terminator with its own supply does the rest" in shown.because
    assert "off at every plug" in view(set(), own=BOTH_ENDS).because
    assert view({1, 6}, own=LEFT_END).degree.verdict == FORBIDDEN  # two at one end


def test_above_1_5_mbit_s_the_ends_want_their_own_supply() -> None:
    assert view({1, 6}, 1_500_000).degree.verdict == IN_ORDER
    assert view({1, 6}, 3_000_000).degree.verdict == CAUTION
    assert view(set(), 3_000_000, own=BOTH_ENDS).degree.verdict == IN_ORDER


def test_terminators_in_devices() -> None:
    # Not recommended, at 12 Mbit/s not allowed: M. Felser, PROFIBUS Manual, bus termination; no other document found.
    assert view({1, 6}, 6_000_000, plug="device").degree.verdict == CAUTION
    assert view({1, 6}, 12_000_000, plug="device").degree.verdict == CAUTION


def test_sides_exchanged_at_the_end_leave_the_cable_open() -> None:
    shown = view({1, 6}, exchanged=NAMES[-1], length_m=0)
    assert shown.degree.verdict == FORBIDDEN
    _, ohms = readings(shown)
    assert ohms[:6] == [220] * 6  # one on the cable, and one alone in its plug
    assert view({1, 6}, exchanged=NAMES[2]).degree.verdict == CAUTION


def test_an_undefined_idle_level_is_said() -> None:
    every = view(set())
    assert "With 0.2 V or less the idle level is undefined: every station." in every.sentence
    some = view({1, 3}, length_m=0)
    assert "undefined: Cooling fan, Dust filter fan, Discharge screw." in some.sentence
    assert "undefined" not in view({1, 6}).sentence


@pytest.mark.parametrize("dgnd", DGND_WORDS)
def test_the_model_of_dgnd_is_stated(dgnd: str) -> None:
    assert DGND_WORDS[dgnd] in view({1, 6}, dgnd=dgnd).because


def test_the_caution_for_the_meter_is_always_there() -> None:
    for on in ({1, 6}, {1}):
        assert "unplug every device" in str(view(on).caution)
        assert "isolation, every step" in str(view(on).caution)


def test_many_findings_are_counted() -> None:
    shown = view({2, 3, 4, 5}, plug="through")
    assert "(5 more below)" in shown.sentence
    assert len(shown.rows) == 4
    assert shown.rows[-1]["where"] == "… 3 more"


@given(
    st.sets(st.integers(1, 6)),
    st.sampled_from([500_000, 3_000_000, 12_000_000]),
    st.floats(0, 2000),
    st.sampled_from(PLUGS),
    st.sampled_from(OWN),
    st.sampled_from([NOBODY, *NAMES]),
    st.sampled_from([NOBODY, *NAMES]),
    st.sampled_from(sorted(DGND_WORDS)),
)
@settings(max_examples=25)
def test_any_switches_get_a_verdict_and_readings(on, bit_rate, length_m, plug, own, off, exchanged, dgnd) -> None:
    shown = termination_view(on, bit_rate, length_m, plug, own, off, exchanged, dgnd)
    volts, ohms = readings(shown)
    assert len(volts) == len(ohms) == 7
    assert all(-5 <= v <= 5 for v in volts)
    assert "nan" not in shown.sentence
    assert "-0.00" not in html_of(shown, draw={LinePicture: line_drawing})
    check_legible(line_drawing(*shown.pictures))
    assert [plug.name for plug in line(on, bit_rate=bit_rate).plugs] == list(NAMES)


# -- the panel ------------------------------------------------------------------------------------------


def test_a_switch_turned_changes_picture_and_verdict() -> None:
    panel = termination_panel()
    assert "In order." in panel.result.value
    row = panel.fields["on"].widget
    row.buttons[5].value = False
    assert row.value == (1,)
    assert row.buttons[5].description == "6 off"
    assert "no terminator at this end" in panel.result.value
    row.buttons[5].value = True
    assert "In order." in panel.result.value


def test_the_buttons_say_their_state_in_words() -> None:
    row = PlugSwitches(NAMES, {2})
    assert row.value == (2,)
    assert [b.description for b in row.buttons] == ["1 off", "2 on", "3 off", "4 off", "5 off", "6 off"]
    assert row.buttons[1].tooltip == "terminator at plug 2, Dryer fan 1: on"


def test_every_control_changes_the_answer() -> None:
    panel = termination_panel()
    changes = {"on": {1, 3, 6}, "plug": "through", "own": RIGHT_END, "off": NAMES[0], "exchanged": NAMES[2],
               "bit_rate": 12_000_000, "length_m": "2 km", "dgnd": "isolated"}  # fmt: skip
    assert set(changes) == set(panel.fields)
    for name, value in changes.items():
        before = panel.result.value
        if name == "on":
            panel.fields["on"].widget.buttons[2].value = True
        else:
            panel.fields[name].widget.value = value
        assert panel.said.value == ""
        if name != "exchanged":  # with plugs that leave the cable joined there is nothing to exchange but the words
            assert panel.result.value != before, name


@pytest.mark.parametrize("typed", ["", "-1 m", "3 km", "long"])
def test_a_length_that_cannot_be_used_gets_a_sentence(typed: str) -> None:
    panel = termination_panel()
    panel.fields["length_m"].widget.value = typed
    assert "Not usable" in panel.said.value
    assert "failed here" not in panel.said.value


# -- inside a plug --------------------------------------------------------------------------------------


def test_the_terminator_divides_its_supply() -> None:
    """5 V over 390 + 220 + 390 Ω is 5 mA: 1.95 V, 1.10 V, 1.95 V."""
    volts = levels()
    assert volts["VP"] == pytest.approx(5, abs=1e-4)
    assert volts["B"] == pytest.approx(0.005 * 610, abs=1e-4)
    assert volts["A"] == pytest.approx(0.005 * 390, abs=1e-4)


@pytest.mark.parametrize(
    ("plug", "on", "place", "exchanged", "degree"),
    [
        ("cutting", False, "middle", False, IN_ORDER), ("cutting", True, "middle", False, FORBIDDEN),
        ("cutting", False, "middle", True, CAUTION), ("cutting", True, "middle", True, FORBIDDEN),
        ("cutting", True, "end", False, IN_ORDER), ("cutting", False, "end", False, FORBIDDEN),
        ("cutting", True, "end", True, FORBIDDEN), ("cutting", False, "end", True, FORBIDDEN),
        ("through", False, "middle", False, IN_ORDER), ("through", True, "middle", False, FORBIDDEN),
        ("through", True, "end", True, IN_ORDER), ("through", False, "end", False, FORBIDDEN),
        ("device", True, "end", False, CAUTION), ("device", False, "middle", False, IN_ORDER),
    ],
)  # fmt: skip
def test_what_the_switch_of_each_plug_does(plug, on, place, exchanged, degree) -> None:
    shown = plug_view(plug, on, place, exchanged)
    assert shown.degree.verdict == degree
    assert shown.caution
    drawn = [t.words for t in texts(shown.pictures[0])]
    assert ("cut off" in drawn) is (plug == "cutting" and on)
    assert ("joined" in drawn) is (plug == "cutting" and not on)
    assert ("220 Ω" in drawn) is (plug != "device")
    assert ("3.05 V" in drawn) is (on and plug != "device")
    assert ("no cable" in drawn) is (place == "end")


def test_who_is_lost_is_said() -> None:
    assert "Every station on the outgoing side is lost." in plug_view("cutting", True, "middle").sentence
    assert "from its station, and those behind it" in plug_view("cutting", True, "middle", True).sentence
    assert plug_view("cutting", True, "end", True).sentence.endswith("its resistors and from its station.")
    assert "third terminator" in plug_view("through", True, "middle").sentence


@pytest.mark.parametrize("plug", PLUGS)
@pytest.mark.parametrize("on", [False, True])
@pytest.mark.parametrize("at_end", [False, True])
@pytest.mark.parametrize("exchanged", [False, True])
def test_a_plug_is_drawn_legibly_and_told_in_words(plug, on, at_end, exchanged) -> None:
    sheet = plug_drawing(plug, on=on, at_end=at_end, exchanged=exchanged)
    check_legible(sheet)
    assert f"terminator {'on' if on else 'off'}" in sheet.says
    assert ("cut off" in sheet.says) is (plug == "cutting" and on)
    assert ("exchanged" in sheet.says) is exchanged
    assert not re.search("None|True|False", sheet.says)


def test_the_plug_panel_follows_its_controls() -> None:
    panel = plug_panel()
    assert "In order." in panel.result.value
    panel.fields["on"].widget.value = True
    assert "Every station on the outgoing side is lost" in panel.result.value
    panel.fields["place"].widget.value = "end"
    assert "The end of the cable is terminated." in panel.result.value
    panel.fields["exchanged"].widget.value = True
    assert "The end of the cable is open" in panel.result.value
    panel.fields["plug"].widget.value = "through"
    assert "In order." in panel.result.value
