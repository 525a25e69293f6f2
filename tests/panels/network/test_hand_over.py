"""The hand-over panel: set against active, the picture, and what the drive does. The drive is invented."""

from itertools import product

import pytest
from drawn import check_legible, texts

from helpers.drive.settings import (
    Local,
    RoutesPicture,
    Sent,
    behaviour,
    changed,
    handed_over,
)
from helpers.panels.network.hand_over import hand_over_panel, routes_drawing

SENT = Sent(12, "PPO 4", setpoint_percent=60.0)


@pytest.fixture(scope="module")
def panel():
    return hand_over_panel()


@pytest.mark.parametrize(("run", "setpoint"), [*product(("panel", "terminals", "bus"), repeat=2)])
def test_the_picture_joins_each_end_to_its_source(run, setpoint):
    settings = changed(
        changed(handed_over(address=12, data_format="PPO 4"), "run_source", run), "setpoint_source", setpoint
    )
    for sent in (SENT, Sent(13, "PPO 4", setpoint_percent=-60.0), Sent(12, "PPO 4", telegrams="stopped")):
        for local in (Local(), Local(True, 30, True, 40)):
            does = behaviour(settings, sent, local)
            sheet = routes_drawing(RoutesPicture(settings.active, does))
            check_legible(sheet)
            words = [text.words for text in texts(sheet)]
            assert does.motor in words and ("bus: no data" in words) == (not does.exchange)
            assert f"run command from {'own panel' if run == 'panel' else run}" in sheet.says
            assert (f"{does.speed_percent:g} %" in words) == (does.motor != "stands")


def test_the_panel_follows_settings_supply_and_controller(panel):
    front = panel.fields["settings"].widget
    assert "the drive answers at 126" in panel.result.value
    front.supply.click()
    assert "The motor turns at 30 %" in panel.result.value
    front.fields["setpoint_source"].widget.value = "bus"
    assert "The motor turns at 60 %" in panel.result.value
    front.fields["run_source"].widget.value = "panel"
    assert "The control word is ignored" in panel.result.value
    panel.fields["local"].widget.value = Local(panel_run=True, panel_percent=30.0)
    assert "panel starts it" in panel.result.value
    front.fields["run_source"].widget.value = "bus"
    panel.fields["control_word"].widget.value = 0x007F
    assert "Bit 10 is 0" in panel.result.value
    panel.fields["control_word"].widget.value = 0x047F
    panel.fields["telegrams"].widget.value = "stopped"
    assert "The motor coasts" in panel.result.value


def test_what_cannot_be_set_is_refused_and_the_rest_stays(panel):
    front = panel.fields["settings"].widget
    known = front.known
    for typed in ("0", "126", "twelve", ""):
        front.fields["address"].widget.value = typed
        assert "Not usable" in panel.said.value
    assert front.known == known
    front.fields["address"].widget.value = "14"
    assert "Not usable" not in panel.said.value and front.known.set.address == 14
    panel.fields["setpoint_percent"].widget.value = "201"
    assert "setpoint is 201 %; allowed is -200 to 200 %" in panel.said.value
    panel.fields["setpoint_percent"].widget.value = "-50 %"
    assert "Not usable" not in panel.said.value


def _stopped_while_it_kept_running():
    """A panel whose motor turns on, led by the bus, after the telegrams have stopped."""
    panel = hand_over_panel()
    front = panel.fields["settings"].widget
    front.fields["setpoint_source"].widget.value = "bus"
    front.fields["on_loss"].widget.value = "keep running"
    front.supply.click()
    panel.fields["telegrams"].widget.value = "stopped"
    assert "The motor turns" in panel.result.value and "last command" in panel.result.value
    return panel, front


def test_a_drive_that_was_without_supply_has_no_last_command():
    panel, front = _stopped_while_it_kept_running()
    front.supply.click()
    assert "The motor stands" in panel.result.value and "stay in force" not in panel.result.value.split("<details")[0]
    panel.fields["telegrams"].widget.value = "arrive"
    assert "The motor turns at 60 %" in panel.result.value
    panel.fields["telegrams"].widget.value = "stopped"  # now a command has come since
    assert "The motor turns" in panel.result.value


def test_a_source_that_was_turned_away_and_back_starts_nothing_while_telegrams_are_missing():
    panel, front = _stopped_while_it_kept_running()
    front.fields["run_source"].widget.value = "panel"
    assert "The motor stands" in panel.result.value and "nobody has started it there" in panel.result.value
    assert "as it did before" not in panel.result.value  # it turned, one click before
    front.fields["run_source"].widget.value = "bus"
    assert "The motor stands" in panel.result.value
