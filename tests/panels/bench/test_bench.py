"""The bench without a browser: time in bounded slices, faults in and out, every tool, the picture, and nonsense."""

import asyncio
import math
import re
from dataclasses import replace

import ipywidgets as widgets
import pytest
from line_nets import demo as demo_line
from line_nets import row

from helpers.device.formats import by_name
from helpers.errors import OutOfRange
from helpers.line.faults.catalogue import by_key
from helpers.line.faults.fault import Chosen
from helpers.line.gate import DEAD
from helpers.line.hazard import declared
from helpers.line.instruments import io_sheet
from helpers.line.instruments.reading import instruments
from helpers.line.plant.place import find
from helpers.line.station.keypad import key as key_of
from helpers.line.station.keypad import keys
from helpers.line.traffic.line import Line
from helpers.panels.bench import bench as live_panel
from helpers.panels.bench import what_would_i_see as see
from helpers.panels.bench.bench import PANES, bench_panel
from helpers.panels.bench.bench_desk import telegram_rows
from helpers.panels.bench.bench_drawing import SIGNS, bench_drawing
from helpers.panels.bench.bench_state import (
    EXCHANGES,
    NOT_THERE,
    OFF,
    STATES,
    WAITS_PRM,
    ZEROS,
    Bench,
    counted,
    look,
    state_of,
)
from helpers.panels.bench.what_would_i_see import Looked, plant_notices, seen_view, what_would_i_see_panel
from helpers.panels.practice.practice import practice_panel
from helpers.plan.model import Plan
from helpers.plan.my_networks import DEMO_SITE, demo_network, demo_plan, my_networks

NONSENSE = ("", "fifteen-ish, ask Tom", "%IW", "-1", "16#FFFFF", "<b>", "%IW 1,5", "1e400")


def mill():
    return demo_network()


def chosen(bench, key, n=0):
    fault = by_key(key)
    return Chosen(fault, fault.places(bench.plan)[n])


class Clock:
    """A clock that goes on by a millisecond each time somebody looks."""

    def __init__(self):
        self.now = 0.0

    def __call__(self):
        self.now += 0.001
        return self.now


def test_time_passes_as_asked_or_as_long_as_it_may():
    bench, clock = Bench(mill()), Clock()
    assert bench.advance(0.1, 60, clock=clock) == pytest.approx(0.1, abs=0.004)  # ends with a bus cycle, of 3.2 ms
    before = bench.line.now_s
    assert bench.advance(math.inf, 0.01, clock=clock) < 0.05  # ten looks at the clock, ten bus cycles
    assert bench.line.now_s > before
    bench.advance(math.inf, 0.0, clock=clock)
    rounds = sum(bench.advance(0.0001, 60) > 0 for _ in range(320))  # slow motion: a bus cycle now and then
    assert 8 <= rounds <= 12


def test_states_are_told_in_words_as_the_line_starts_loses_and_stops():
    bench = Bench(mill())
    names = [device.name for device in bench.plan.stations]
    assert {state_of(bench.line, name) for name in names} == {WAITS_PRM}
    bench.line.run(0.5)
    assert {state_of(bench.line, name) for name in names} == {EXCHANGES}
    assert state_of(bench.line, "Controller") == ""
    bench.switch_controller(run=False)
    bench.line.run(0.1)
    assert {state_of(bench.line, name) for name in names} == {ZEROS}
    bench.switch_controller(run=True)
    bench.supply("Cooling fan", on=False)
    bench.line.run(0.1)
    assert state_of(bench.line, "Cooling fan") == OFF
    bench.power_cycle("Cooling fan")
    bench.line.run(0.5)
    assert counted(look(bench.line)).startswith("9 exchange data")
    bench.supply("Repeater", on=False)
    bench.line.run(0.5)
    assert [state_of(bench.line, name) for name in names].count(NOT_THERE) == 3  # the drives behind it
    assert set(SIGNS) == set(STATES) and len(set(SIGNS.values())) == len(STATES)


def test_faults_go_in_and_out_two_at_most_and_none_that_exclude_each_other():
    bench = Bench(mill())
    bench.line.run(0.5)
    bench.put(chosen(bench, "supply off", 1))
    with pytest.raises(OutOfRange, match="can't be together"):
        bench.put(chosen(bench, "supply drops", 1)) or bench.put(chosen(bench, "supply off", 1))
    while len(bench.faults) < 2:
        bench.put(chosen(bench, "core open", 10))
    with pytest.raises(OutOfRange, match="allowed are 2 at once"):
        bench.put(chosen(bench, "stub"))
    bench.take_out(0)
    bench.take_out(0)
    assert bench.line.installation == bench.plan and not bench.faults
    bench.set_bit_rate(500_000)
    bench.put(chosen(bench, "stub"))
    bench.take_out(0)
    assert bench.line.installation.bit_rate == 500_000  # a switch that was turned is no fault
    bench.line.run(0.5)
    assert counted(look(bench.line)).startswith("9 exchange data")


def test_the_picture_names_all_gives_no_fault_away_and_marks_it_when_asked():
    bench = Bench(mill())
    plain = bench_drawing(look(bench.line), bench.plan)
    for device in bench.plan.devices:
        assert device.name in plain.says
    bench.put(chosen(bench, "terminator missing"))
    assert bench_drawing(look(bench.line), bench.plan).svg == plain.svg
    marked = bench_drawing(look(bench.line), bench.plan, faults=bench.faults)
    assert marked.svg.count("⚑1") >= 2 and "⚑1" in marked.says
    one = bench_drawing(look(bench.line), bench.plan, segment="2", faults=bench.faults)
    assert "Bucket" in one.svg and "Cooling" not in one.svg and one.height < plain.height


def test_125_stations_on_ten_segments_fit_and_each_has_its_address_and_sign():
    bench = Bench(row(125, 1_500_000, per_segment=13))
    sheet = bench_drawing(look(bench.line), bench.plan)
    assert sheet.width <= 700 and sheet.height <= 490
    shown = re.findall(r">(\d+)</text>", sheet.svg)
    assert set(map(str, range(2, 127))) <= set(shown)
    assert sheet.svg.count(SIGNS[WAITS_PRM] + "–") == 125
    assert f"{SIGNS[WAITS_PRM]} {WAITS_PRM}: 125" in sheet.svg
    assert max(float(y) for y in re.findall(r'<text x="[\d.]+" y="([\d.]+)"', sheet.svg)) < sheet.height


# -- the widget -------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def panel():
    return bench_panel()


def troubles(panel):
    tools = [panel, *(tool for tools in panel.inside.values() for tool in tools)]
    return [tool.said.value for tool in tools if tool.said.value]


def test_it_starts_stopped_and_a_still_picture_is_stored(panel):
    assert panel.run.value is False and panel.task is None
    stored = panel._repr_mimebundle_()
    assert "data:image/svg+xml" in stored["text/html"] and "Run the cell" in stored["text/html"]
    assert "0.000 s" in panel.told.value


def test_without_a_loop_it_says_so_and_steps(panel):
    panel.run.value = True
    assert panel.run.value is False and "One bus cycle" in panel.said.value
    panel.step.click()
    assert not panel.said.value and "the last bus cycle took" in panel.told.value


def test_on_a_loop_it_runs_others_go_on_and_it_pauses(panel):
    async def use():
        before = panel.bench.line.now_s
        panel.run.value = True
        assert panel.run.description == "Pause"
        seen = 0
        while panel.bench.line.now_s == before or seen < 3:
            await asyncio.sleep(0)
            seen += 1
        panel.run.value = False
        await panel.task

    asyncio.run(use())
    assert panel.run.description == "Run" and not troubles(panel)


def test_every_pane_and_every_instrument(panel):
    panel.again.click()
    panel.bench.line.run(0.5)
    for pane in PANES:
        panel.pane.value = pane
        panel.tick(0.1)
    panel.reading.instrument.value = "volts"
    for each in sorted(instruments(), key=lambda each: each.bus == DEAD):
        panel.reading.instrument.value = each.key
        if each.bus == DEAD and panel.bench.gate.bus != DEAD:
            panel.reading.take.click()
            assert "this needs it isolated" in panel.reading.said.value
            panel.plant.isolate.click()
        panel.reading.take.click()
        assert each.name in panel.reading.result.value
        assert all(care.signal in panel.reading.care.value for care in declared(each.hazards).cautions)
        assert declared(each.hazards).cautions or "No hazard, because" in panel.reading.care.value
    assert panel.reading.minutes == sum(each.minutes for each in instruments())
    assert not troubles(panel)


def test_a_fault_is_put_in_seen_and_repaired(panel):
    panel.again.click()
    panel.pane.value = "Fault"
    panel.bench.line.run(1)
    fault = by_key("supply off")
    panel.fault.group.value, panel.fault.fault.value = fault.group, fault
    name = panel.fault.place.value.device
    panel._put()
    panel.step.click()
    assert state_of(panel.bench.line, name) == OFF
    panel.where.value = True
    assert "⚑1" in panel.picture.value
    panel.where.value = False
    assert "⚑1" not in panel.picture.value
    panel.repair.work.value = "devices"
    panel.repair.repair.value = next(r for _, r in panel.repair.repair.options if r.key == "switch on")
    panel.repair.place.value = next(p for _, p in panel.repair.place.options if p.device == name)
    assert "⚠ <b>WARNING</b>" in panel.repair.care.value
    panel.repair.do.click()
    assert f"people are clear of {name}" in panel.repair.said.value and state_of(panel.bench.line, name) == OFF
    panel.repair.clear.value = True
    panel.repair.do.click()
    panel.bench.line.run(0.5)
    assert state_of(panel.bench.line, name) == EXCHANGES
    panel.out[0].click()
    assert not panel.bench.faults and panel.out[0].disabled and not troubles(panel)


def test_telegrams_are_told_in_words(panel):
    panel.pane.value = "Record"
    panel.recording.on.value = True
    panel.bench.line.run(0.02)
    panel.recording.refresh()
    assert "Data_Exchange" in panel.recording.result.value
    assert len(telegram_rows(panel.bench.line, 5)) == 5
    panel.recording.on.value = False
    panel.recording.clear.click()
    assert "Recording is off: 0 telegrams" in panel.recording.result.value


def test_nothing_is_written_before_the_caution_is_ticked_and_nonsense_is_refused(panel):
    panel.pane.value = "Words"
    sheet = panel.sheet
    sheet.station.value = "Dryer fan 2"
    sheet.write.click()
    assert "people are clear of Dryer fan 2" in sheet.said.value and not io_sheet.forced(panel.bench.line)
    sheet.clear.value = True
    sheet.write.click()
    assert io_sheet.forced(panel.bench.line) == ("Dryer fan 2",) and "cut off from" in sheet.forced.value
    assert not sheet.clear.value, "the word was for this one action"
    sheet.release.click()
    assert "people are clear of Dryer fan 2" in sheet.said.value and io_sheet.forced(panel.bench.line)
    sheet.clear_to_release.value = True
    sheet.release.click()
    assert not io_sheet.forced(panel.bench.line)
    for box in (sheet.out, sheet.value):
        good = box.value
        for typed in NONSENSE:
            box.value = typed
            sheet.write.click()
            panel.tick(0.0)
            assert "Not usable" in sheet.said.value and "itself failed" not in sheet.said.value
        box.value = good
    sheet.release.click()
    assert not sheet.said.value


def told(sheet):
    """What stands in the rows of the sheet, without marks."""
    return [re.sub("<[^>]*>", "", row.words.value) for row in sheet.sheet.children]


def test_a_stations_words_stand_there_by_name_and_each_is_read_as_one_wants(panel):
    panel.pane.value = "Words"
    sheet = panel.sheet
    sheet.station.value = "Dryer fan 2"
    panel.bench.line.run(20)
    panel.tick(0.0)
    form = by_name(panel.bench.line.handler("Dryer fan 2").configured.data_format)
    assert len(told(sheet)) == len(form.words_out) + len(form.words_in)
    names = [word.name for word in (*form.words_out, *form.words_in)]
    at = io_sheet.image(panel.bench.line).stretch("Dryer fan 2", "out").first_byte + 2 * names.index("STW1")
    control, speed = names.index("STW1"), names.index("NSOLL_A")
    assert told(sheet)[control] == f"%QW{at} 16#047F STW1, control word 1"
    assert " 60.0 % NSOLL_A" in told(sheet)[speed]  # normalised: 16#4000 is 100 %, data/normalisation.csv
    for reading, said in (("bits", "2#0000_0100_0111_1111"), ("number", "1151"), ("hexadecimal", "16#047F")):
        sheet.rows[control].reading.value = reading
        assert f" {said} STW1" in told(sheet)[control]
        assert " 60.0 % NSOLL_A" in told(sheet)[speed], "the others are read as before"
    sheet.rows[control].reading.value = "bits"
    panel.tick(0.1)
    assert "2#" in told(sheet)[control], "the choice stays while the line goes on"
    sheet.station.value = "Intake conveyor"
    sheet.station.value = "Dryer fan 2"
    assert " 16#047F STW1" in told(sheet)[control], "another station is another sheet"


def test_a_range_is_typed_only_for_what_no_station_owns(panel):
    panel.pane.value = "Words"
    sheet = panel.sheet
    assert sheet.range.layout.display == "none"
    sheet.station.value = ""
    assert sheet.range.layout.display == "" and not sheet.sheet.children
    sheet.range.value = "%QW900 to %QW904"
    assert sheet.result.value.count("no station") == 3 and not sheet.said.value
    owned = io_sheet.image(panel.bench.line).of("in")[0]
    for typed in (f"%IW{owned.last_byte}", f"%IW{owned.first_byte - 2} to %IW{owned.first_byte + 2}"):
        sheet.range.value = typed
        assert f"belongs to {owned.station}; choose the station" in sheet.said.value
    for typed in (*NONSENSE, "%IB900", "%IW900 to %QW904", "%IW904 to %IW900", "%IW0900 to %IW9000", "to", "… to …"):
        if typed.strip():
            sheet.range.value = typed
            panel.tick(0.0)
            assert "Not usable" in sheet.said.value and "itself failed" not in sheet.said.value, typed
            assert "No words are shown" in sheet.result.value
    sheet.station.value = "Dryer fan 1"
    assert not sheet.said.value and told(sheet)


def test_the_caution_of_each_key_stands_before_the_keys_and_a_start_asks_for_the_people(panel):
    panel.pane.value = "Front"
    front = panel.front
    shown = [getattr(child, "value", "") for child in front.children]
    row = next(
        n for n, child in enumerate(front.children) if front.key_buttons["start"] in getattr(child, "children", ())
    )
    for key in keys():
        assert any(f"{key.name}: " in str(text) for text in shown[:row]), key.key
    for name, button in front.key_buttons.items():
        asks = bool(declared(key_of(name).hazards).asking("clear here"))
        front.done.value = front.said.value = ""
        button.click()
        assert bool(front.said.value) == asks and bool(front.done.value) != asks, name
        front.clear.value = True
        button.click()
        assert front.done.value and not front.said.value and not front.clear.value, name


def test_the_line_waits_while_people_are_said_to_be_clear_and_no_longer(panel):
    panel.again.click()
    panel.pane.value = "Front"
    panel.front.clear.value = True
    before = panel.bench.line.now_s
    panel.tick(0.1)
    assert panel.bench.line.now_s == before and "the line waits" in panel.told.value
    panel.front.key_buttons["acknowledge"].click()
    panel.tick(0.1)
    assert panel.bench.line.now_s > before
    panel.front.clear.value = True
    panel.step.click()
    assert not panel.front.clear.value, "a bus cycle has passed since"


def test_a_word_for_one_machine_does_not_stay_for_the_next(panel):
    panel.pane.value = "Words"
    panel.sheet.station.value = "Dryer fan 1"
    panel.sheet.clear.value = True
    panel.sheet.station.value = "Dryer fan 2"
    assert not panel.sheet.clear.value and panel.sheet.clear.description == "People are clear of Dryer fan 2."


def test_nobody_works_inside_a_drive_that_turns(panel):
    panel.again.click()
    panel.bench.line.run(10)
    panel.pane.value = "Repair"
    panel.repair.work.value = "devices"
    panel.repair.repair.value = next(r for _, r in panel.repair.repair.options if r.key == "seat board")
    panel.repair.do.click()
    assert "DANGER" in panel.repair.said.value and not panel.repair.result.value
    panel.pane.value = "Plant"
    panel.plant.isolate.click()
    before = panel.bench.line.now_s
    panel.tick(0.1)
    assert panel.bench.line.now_s == before and "isolated, locked, measured dead" in panel.told.value
    assert "0 of 8 drives turn" in panel.told.value
    panel.step.click()
    assert "no telegram moves" in panel.said.value
    panel.repair.do.click()
    assert "Done" in panel.repair.result.value
    panel.plant.restore.click()
    assert "clear of all" in panel.plant.said.value
    panel.plant.clear_all.value = True
    panel.plant.restore.click()
    panel.step.click()
    assert panel.bench.line.now_s > before and not panel.said.value


def test_the_switches_of_the_plant_ask_for_the_machines_that_may_start(panel):
    panel.again.click()
    panel.pane.value = "Plant"
    plant = panel.plant
    buttons = {each.description: each for each in every_button(plant)}
    buttons["Controller: stop"].click()
    assert not panel.bench.line.installation.running, "a stop starts nothing"
    for label, tick in (
        ("Controller: run", plant.clear_all),
        ("Set bit rate", plant.clear_all),
        ("On", plant.clear_one),
    ):
        buttons[label].click()
        assert "people are clear of" in plant.said.value, label
        tick.value = True
        buttons[label].click()
        assert not plant.said.value and not tick.value, label
    assert panel.bench.line.installation.running


def every_button(tool):
    """All buttons below a widget, those of panes that are not shown included."""
    panes = tool.inside if isinstance(getattr(tool, "inside", None), dict) else {}
    for child in (*getattr(tool, "children", ()), *(each for many in panes.values() for each in many)):
        if isinstance(child, widgets.Button):
            yield child
        yield from every_button(child)


def test_every_button_of_bench_and_practice_declares_its_hazard_or_why_there_is_none(panel):
    practice = practice_panel()
    practice.number.value = "3"
    practice.begin.click()
    found = {*every_button(panel), *every_button(practice)}
    for tool in practice._tools.values():
        found |= {*every_button(tool)}
    assert len(found) > 30
    for button in found:
        care = button.care()
        assert bool(care.hazards) != bool(care.because), button.description


def test_another_network_takes_the_place_and_one_that_cannot_run_leaves_the_first(panel):
    other = bench_panel(Plan("row", (row(3, 500_000),)))
    assert "Drive 3" in other.picture.value
    assert other.plan.network_list.label == "Row, the plan of this cell"
    other.plan.network_list.value = ("the Mill extended", "Silo line")
    assert "Drive 3" not in other.picture.value and not other.plan.said.value


@pytest.fixture
def mine(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    return my_networks()


def test_it_begins_with_my_network_and_offers_the_demo_plans_beside_it(mine):
    mine.save("My plant", demo_plan("the Mill extended"))
    mine.choose("My plant")
    panel = bench_panel()
    assert panel.plan.network_list.value == ("My plant", "Mill line") and panel.plan.network.name == "Mill line"
    labels = [label for label, _ in panel.plan.network_list.options]
    assert labels[0] == "Saltmarsh Mill (invented)" and labels[-1] == "My plant: Silo line"
    panel.plan.network_list.value = ("My plant", "Silo line")
    assert "Sweep auger" in panel.picture.value


def test_my_network_that_cannot_run_leaves_the_demo_site_and_a_sentence(mine):
    network = replace(demo_network(), bit_rate=1e6)
    mine.save("Too odd", Plan("odd", (network,)))
    mine.choose("Too odd")
    for panel in (bench_panel(), what_would_i_see_panel()):
        assert panel.plan.network == demo_network()
        assert "This is the demo site in its place" in panel.plan.said.value


def test_a_damaged_network_of_ones_own_is_told_and_the_network_before_it_stays(mine):
    mine.save("mine", demo_plan())
    panel = bench_panel(Plan("row", (row(3, 500_000),)))
    assert panel.plant.rate.value == 500_000
    (mine.folder / "mine.zip").write_bytes(b"rubbish")
    panel.plan.network_list.value = ("mine", "Mill line")
    assert "can&#x27;t be read" in panel.plan.said.value
    assert "The network before it stays" in panel.plan.said.value and "Drive 3" in panel.picture.value
    panel.plan.network_list.value = (DEMO_SITE, "Mill line")
    assert not panel.plan.said.value and "Cooling fan" in panel.picture.value
    panel.pane.value = "Plant"
    assert panel.plant.rate.value == 1_500_000


def test_a_line_that_runs_steadily_is_not_drawn_anew_and_every_change_is(panel, monkeypatch):
    drawn = []
    monkeypatch.setattr(
        live_panel, "bench_drawing", lambda *given, **more: drawn.append(more) or bench_drawing(*given, **more)
    )
    panel.again.click()
    panel.bench.line.run(30)  # every ramp is over
    panel.step.click()
    drawn.clear()
    said = panel.told.value
    for _ in range(3):
        panel.step.click()
    assert not drawn and panel.told.value != said
    panel.segment.value = "2"
    assert len(drawn) == 1 and "Cooling fan" not in panel.picture.value
    panel.bench.supply("Bucket elevator", on=False)
    panel._after()
    assert len(drawn) == 2 and "○ off" in panel.picture.value
    panel.segment.value = "all"


def test_an_error_on_the_way_stops_the_line_and_is_said(panel, monkeypatch):
    monkeypatch.setattr(live_panel, "bench_drawing", None)
    panel._skip = 0
    panel.tick(0.1)
    assert "itself failed" in panel.said.value and panel.run.value is False


# -- what would I see -------------------------------------------------------------------------------------------------


def test_only_what_differs_stands_side_by_side():
    bench = Bench(row(2, 1_500_000))
    healthy, faulty = Looked(bench.plan), Looked(bench.plan, chosen(bench, "run source local"))
    for each in (healthy, faulty):
        shares = list(each)
        assert shares == sorted(shares) and shares[-1] == 1
    view = seen_view(faulty.fault, healthy, faulty)
    assert {row["instrument"] for row in view.rows} >= {"settings in the drive", "front of the device"}
    assert all(row["healthy"] != row["with the fault"] for _, rows in view.folded for row in rows)
    (told,) = plant_notices(healthy.line, faulty.line)
    assert told.startswith("Drive 1 stands; healthy, it turns")
    same = seen_view(faulty.fault, healthy, healthy)
    assert ": 0 of" in same.sentence and "Nobody at the machines" in same.because and not same.rows


def test_a_fault_in_the_program_is_there_from_the_start_and_trips_no_other_drive():
    bench = Bench(row(3, 1_500_000))
    healthy, faulty = Looked(bench.plan), Looked(bench.plan, chosen(bench, "bit 10 missing"))
    for each in (healthy, faulty):
        list(each)
    (told,) = plant_notices(healthy.line, faulty.line)
    assert told.startswith("Drive 1 stands; healthy, it turns")
    dark = Looked(bench.plan, Chosen(by_key("core open"), by_key("core open").places(bench.plan)[0]))
    list(dark)
    (told,) = plant_notices(healthy.line, dark.line)
    assert told.startswith("Drive 1, Drive 2, Drive 3: each stands with fault 41")


def test_a_fan_without_pulses_coasts_and_is_not_said_to_turn_at_a_speed():
    mill = demo_line()
    off = Looked(mill, Chosen(by_key("supply off"), find("Dryer fan 1", by_key("supply off").places(mill))))
    off.line.run(2)
    off.line.change(off.fault.put)
    off.line.run(1)
    assert off.line.applications["Dryer fan 1"].speed_percent > 10  # a large fan takes its time
    healthy = Line(mill)
    healthy.run(3)
    (told,) = plant_notices(healthy, off.line)
    assert told.startswith("Dryer fan 1 coasts to a stop; healthy, it turns at about")


def test_the_panel_works_in_the_background_and_a_new_network_ends_it(monkeypatch):
    for name in ("_BEFORE_S", "_AFTER_S"):
        monkeypatch.setattr(see, name, 0.5)

    async def use():
        panel = what_would_i_see_panel(Plan("row", (row(2, 1_500_000),)))
        panel.show.click()
        assert not panel.task.done()
        await panel.task
        assert "readings differ" in panel.result.value and panel.bar.value == 1
        panel.show.click()
        panel.plan.network_list.value = (DEMO_SITE, "Mill line")
        await panel.task
        return panel

    panel = asyncio.run(use())
    assert "Another network" in panel.result.value and not panel.said.value
    fault = by_key("crowded")
    panel.fault.group.value, panel.fault.fault.value = fault.group, fault
    panel.show.click()
    assert "no place" in panel.result.value


def test_the_bench_draws_a_terminator_where_the_plan_draws_it() -> None:
    """The discharge screw's own is off; one with its own supply stands beside it (data/demo, network plan)."""
    bench = Bench(mill())
    named = bench_drawing(look(bench.line), bench.plan, segment="2").svg
    assert "a terminator with its own supply" in named
    station = next(s for s in mill().stations if s.name == "Discharge screw")
    assert station.own_supply and not station.terminator_on
    assert named.count(">on<") == 1 and named.count(">off<") == len(bench.plan.stretches[1].devices) - 1
