"""The panels for setpoints: every control acts, and nonsense gets a sentence."""

from helpers.panels.drive.scaling import own_machine_panel, setpoint_panel, two_sides_panel

NONSENSE = ("", "60", "fast", "16#12345", "12 m³/h", "1e9 rpm", "16#", "∞ %", "2#2", "-")


def test_nonsense_gets_a_sentence_and_the_last_result_stays():
    panel = setpoint_panel()
    for typed in NONSENSE:
        panel.fields["entered"].widget.value = typed
        assert "Not usable" in panel.said.value and "failed here" not in panel.said.value, typed
        assert "16#28BE" in panel.result.value
    panel.fields["entered"].widget.value = "48 m/min"
    assert not panel.said.value and "16#28BE" in panel.result.value


def test_every_control_of_the_own_machine_acts():
    panel = own_machine_panel()
    before = panel.result.value
    for name, value in (("gear", "31,5"), ("size", "500 mm"), ("full", "60 Hz"), ("poles", 6), ("format", "10000"),
                        ("rounding", "cut"), ("entered", "1 m/s")):  # fmt: skip
        panel.fields[name].widget.value = value
        assert not panel.said.value, name
        assert panel.result.value != before or name == "rounding", name
        before = panel.result.value
    panel.fields["kind"].widget.value = "fan"
    assert "Not usable" in panel.said.value  # a fan has no m/s
    panel.fields["entered"].widget.value = "9000 m³/h"
    before = panel.result.value
    for name, value in (("full_rpm", "1470"), ("flow", "18000")):
        panel.fields[name].widget.value = value
        assert panel.result.value != before
        before = panel.result.value
    for name, value in (("gear", "0"), ("flow", "many"), ("full", "3 m/s"), ("size", "0.4 kg")):
        panel.fields[name].widget.value = value
        assert "Not usable" in panel.said.value and "failed here" not in panel.said.value, name


def test_every_control_of_the_two_sides_acts():
    panel = two_sides_panel()
    before = panel.result.value
    for name, value in (("wanted", -60), ("program", "50 Hz"), ("program_full", 32767), ("drive", "60 Hz"),
                        ("drive_format", "N2"), ("exchanged", True), ("poles", 2)):  # fmt: skip
        panel.fields[name].widget.value = value
        assert not panel.said.value, name
        assert panel.result.value != before or name == "program", name
        before = panel.result.value
