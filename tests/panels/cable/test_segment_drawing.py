"""The drawing of a line: complete, legible from two devices to a full segment and beyond, the same everywhere."""

import random
import re
from dataclasses import replace
from itertools import pairwise

import pytest
from drawn import boxes, check_legible, elements, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.cable.laid import Piece, Plug, Segment, even_line
from helpers.bus.cable.line_picture import LinePicture
from helpers.bus.cable.repeater import propose
from helpers.opening import WORKBOOK
from helpers.panels.cable.line_signs import legend
from helpers.panels.cable.segment_drawing import MOST_SHOWN, line_drawing
from helpers.panels.kit.drawing import INK
from helpers.panels.network.network_drawing import demo_site
from helpers.plan.answers import network_picture
from helpers.plan.read import read_plan
from helpers.verdict import Degree


def segment_drawing(segments, **extras):
    return line_drawing(LinePicture((segments,) if isinstance(segments, Segment) else tuple(segments), **extras))


KINDS = ("controller", "engineering computer", "drive", "remote I/O", "repeater", "coupler", "other", "terminator")


def any_segment(name, chance):
    """A segment of 2 to 40 devices with names, plugs, stubs and faults as chance has it."""
    count = chance.randint(2, 40)
    plugs = tuple(
        Plug(
            "".join(chance.choice("abc d-Ω1M") for _ in range(chance.randint(1, 60))) + str(n),
            chance.choice(KINDS),
            stub_length_m=chance.choice([0.0, 0.0, 2.5]),
            plug_type=chance.choice(["cutting", "through", "device"]),
            terminator_on=chance.random() < 0.3,
            own_supply=chance.random() < 0.2,
            sides_exchanged=chance.random() < 0.2,
            powered=chance.random() < 0.8,
        )
        for n in range(count)
    )
    lengths = (chance.choice([0.0, 1.0, 1.5, 85.0, 1234.567]) for _ in range(count - 1))
    return Segment(name, plugs, tuple(Piece(length, chance.choice("AAB")) for length in lengths), 500_000)


def words(sheet):
    return [text.words for text in texts(sheet)]


def line(count, **changes):
    return replace(even_line(stations=count, length_m=10.0 * (count - 1), bit_rate=500_000), **changes)


def with_device(segment, number, **changes):
    plugs = list(segment.plugs)
    plugs[number] = replace(plugs[number], **changes)
    return replace(segment, plugs=tuple(plugs))


def joints(sheet):
    """The lines that join two rows: they go round the sides, so they are wide."""
    found = []
    for line in elements(sheet, "polyline"):
        x = [float(point.split(",")[0]) for point in line.get("points").split()]
        found += [line] if max(x) - min(x) > 300 and line.get("stroke") == INK else []
    return found


def inside(sheet):
    for text in texts(sheet):
        assert text.size >= 11
        assert 0 < text.y <= sheet.height
        assert text.left >= -2 and text.right <= sheet.width + 2, text
    for x, y, width, height, _ in boxes(sheet):
        assert min(x, y) >= 0 and x + width <= sheet.width and y + height <= sheet.height


@pytest.mark.parametrize("count", range(2, MOST_SHOWN + 1))
def test_every_device_of_a_segment_is_there_and_legible(count: int) -> None:
    sheet = segment_drawing(line(count))
    check_legible(sheet)
    names = re.findall(r"station (\d+)", " ".join(words(sheet)))
    assert names == [str(n) for n in range(1, count + 1)]
    # The signs of devices and plugs do not touch.
    places = sorted(t.left + t.right for t in texts(sheet) if t.words in ("on", "off") and t.y < 100)
    assert len(places) == count
    assert all(b / 2 - a / 2 >= 19 for a, b in pairwise(places))


def test_names_that_stand_below_do_not_run_into_each_other() -> None:
    for count in range(2, 11):
        plain = line(count)
        named = replace(plain, plugs=tuple(
            replace(d, name=f"Auxiliary ventilation drive of silo {n}") for n, d in enumerate(plain.plugs)
        ))  # fmt: skip
        sheet = segment_drawing(named)
        check_legible(sheet)
        rows = {}
        for text in texts(sheet):
            if text.anchor == "middle" and text.words not in ("on", "off"):
                rows.setdefault(text.y, []).append((text.left, text.right))
        for row in rows.values():
            assert all(before[1] <= behind[0] for before, behind in pairwise(sorted(row)))
        assert sum("silo" in w for w in words(sheet)) + sum("…" in w for w in words(sheet)) >= count


def test_on_and_off_are_told_by_a_word_and_by_a_shape() -> None:
    sheet = segment_drawing(line(5), legend=False)
    assert words(sheet).count("on") == 2
    assert words(sheet).count("off") == 3
    rects = elements(sheet, "rect")[1:]
    plugs = [r for r in rects if r.get("height") == "15" and float(r.get("width")) > 15]
    dark = [r for r in plugs if r.get("fill") == INK]
    pale = [r for r in plugs if r.get("fill") != INK]
    assert len(dark) == 2 and all(r.get("rx") == "0" for r in dark)
    assert len(pale) == 3 and all(r.get("rx") == "7" for r in pale)
    bars = [r for r in rects if float(r.get("width")) < 10]
    assert [b.get("y") for b in bars] == [f"{float(dark[0].get('y')) - 15:g}"] * 2


def test_equal_pieces_in_a_row_are_said_once_and_others_each() -> None:
    pieces = tuple(Piece(length) for length in (1.5, 1.5, 4, 1.5))
    sheet = segment_drawing(line(5, pieces=pieces))
    assert [w for w in words(sheet) if w.endswith(" m")] == ["2 × 1.5 m", "4 m", "1.5 m"]
    mixed = segment_drawing(line(3, pieces=(Piece(4), Piece(4, "B"))))
    assert {"4 m A", "4 m B"} <= set(words(mixed))
    assert "8 m of type A and B at 500 kbit/s" in words(mixed)[0]


def test_a_longer_piece_is_never_drawn_shorter() -> None:
    lengths = (1.5, 85.0, 4.0, 4.0, 20.0)
    sheet = segment_drawing(line(6, pieces=tuple(map(Piece, lengths))), legend=False)
    places = sorted((t.left + t.right) / 2 for t in texts(sheet) if t.words in ("on", "off"))
    drawn = [b - a for a, b in pairwise(places)]
    in_order = sorted(zip(lengths, drawn, strict=True))
    assert all(a[1] <= b[1] + 0.01 for a, b in pairwise(in_order))
    assert drawn[1] > 1.3 * drawn[0]


def test_the_middle_of_a_line_too_long_to_draw_is_left_out_and_counted() -> None:
    sheet = segment_drawing(line(90))
    check_legible(sheet)
    shown = [w for w in words(sheet) if w.startswith("station")]
    assert f"{90 - len(shown)} more" in words(sheet)
    assert {"station 1", "station 90"} <= set(shown)
    assert "station 45" in sheet.says  # the words leave nothing out


def test_what_matters_is_not_left_out_of_a_long_line() -> None:
    odd = with_device(line(90), 44, terminator_on=True, plug_type="through")
    assert "station 45" in words(segment_drawing(odd))
    assert "station 60" in words(segment_drawing(line(90), marks={"station 60": Degree.BY_STANDARD}))


def test_a_stub_is_drawn_with_its_length_and_counted_in_the_heading() -> None:
    sheet = segment_drawing(with_device(line(4), 1, stub_length_m=2.5))
    assert "2.5 m" in words(sheet)
    assert "1 stub, together 2.5 m" in words(sheet)[0]
    assert "on a stub of 2.5 m" in sheet.says


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"terminator_on": True}, "cut off"),
        ({"terminator_on": True, "sides_exchanged": True}, "cut off"),
        ({"terminator_on": True, "plug_type": "through"}, None),
        ({"powered": False}, "no supply"),
        ({"sides_exchanged": True}, "sides exchanged"),
        ({"own_supply": True}, "own supply"),
    ],
)
def test_what_is_wrong_is_said_at_its_place(changes, word) -> None:
    sheet = segment_drawing(with_device(line(5), 2, **changes))
    check = set(words(sheet))
    if word is None:
        assert not check & {"cut off", "lost"}
    else:
        assert word in check
    lost = [w for w in words(sheet) if w == "lost"]
    expected = {(): 0, ("cut off",): 2 if not changes.get("sides_exchanged") else 3}
    assert len(lost) == expected[("cut off",) if word == "cut off" else ()]
    assert sheet.says.count("lost") == len(lost)


def test_the_gap_stands_beside_the_plug_that_cuts() -> None:
    def gap_and_plug(segment, number):
        sheet = segment_drawing(segment, legend=False)
        plugs = sorted((t.left + t.right) / 2 for t in texts(sheet) if t.words in ("on", "off"))
        cut = next(t for t in texts(sheet) if t.words == "cut off")
        return (cut.left if cut.anchor == "start" else cut.right) - plugs[number]

    assert 0 < gap_and_plug(with_device(line(5), 2, terminator_on=True), 2) < 30
    assert -30 < gap_and_plug(with_device(line(5), 2, terminator_on=True, sides_exchanged=True), 2) < 0
    assert -30 < gap_and_plug(with_device(line(5), 4, sides_exchanged=True), 4) < 0
    assert 0 < gap_and_plug(with_device(line(5), 0, sides_exchanged=True), 0) < 30


def test_between_close_devices_the_word_takes_two_lines_and_no_name_is_broken() -> None:
    cut = with_device(with_device(line(10), 8, terminator_on=True), 1, name="Engineering computer")
    shown = words(segment_drawing(cut, legend=False))
    assert {"cut", "off", "Engineering", "computer"} <= set(shown) and "cut off" not in shown


def test_notes_and_verdicts_are_at_their_device() -> None:
    sheet = segment_drawing(line(3), notes={"station 2": "1.08 V"}, marks={"station 3": Degree.BY_STANDARD})
    assert "1.08 V" in words(sheet)
    assert "■" in words(sheet)
    assert "station 2 (drive, 1.08 V)" in sheet.says
    assert "station 3 (drive, terminator on, not allowed, by the standard)" in sheet.says
    many = segment_drawing(line(20), notes={"station 2": "1.08 V"})
    assert "station 2 · 1.08 V" in words(many)


def test_a_repeater_says_where_it_leads_and_is_joined_by_a_line() -> None:
    proposal = propose(even_line(stations=40, length_m=390, bit_rate=500_000))
    sheet = segment_drawing(proposal.segments)
    check_legible(sheet)
    assert any("to segment part 2" in w for w in words(sheet))
    assert len(joints(sheet)) == 1
    alone = segment_drawing(proposal.segments[0])
    assert not any("to segment" in w for w in words(alone))


def test_a_repeater_in_the_middle_is_joined_by_words() -> None:
    star = with_device(line(5), 2, name="R", kind="repeater")
    branch = replace(with_device(line(3), 0, name="R", kind="repeater"), name="branch")
    sheet = segment_drawing([star, branch])
    assert {"to branch", "to segment"} <= set(words(sheet))
    assert joints(sheet) == []


@given(st.integers(0, 10**9), st.integers(1, 3), st.booleans())
@settings(max_examples=15)
def test_any_line_is_drawn_inside_its_sheet(seed, count, titled) -> None:
    chance = random.Random(seed)
    listed = [any_segment(f"segment {n + 1}", chance) for n in range(count)]
    title, places = "a line" * titled, {listed[0].plugs[0].name: "Cabinet 1"}
    sheet = segment_drawing(listed, title=title, places=places)
    inside(sheet)
    assert sheet.width == 760
    assert all(device.name in sheet.says for segment in listed for device in segment.plugs)
    assert sheet.svg == segment_drawing(listed, title=title, places=places).svg


def test_the_legend_names_what_is_drawn_and_nothing_else() -> None:
    named = [word for row in legend(line(3).plugs, 760) for word, _ in row]
    assert named == ["controller", "drive", "terminator on", "terminator off"]
    every = [Plug(kind, kind) for kind in KINDS]
    lines = legend(every, 400)
    assert len(lines) > 1
    assert {*KINDS} - {"terminator"} <= {word for row in lines for word, _ in row}
    without = segment_drawing(line(3), legend=False)
    assert without.height < segment_drawing(line(3)).height
    assert "terminator on" not in words(without)


# -- the demo site --------------------------------------------------------------------------------------


def test_the_demo_site_is_drawn_whole() -> None:
    sheet = demo_site()
    check_legible(sheet, widest=900)
    network = read_plan("data/demo/saltmarsh-mill").networks[0]
    assert all(station.name in sheet.says for station in network.stations)
    assert [w for w in words(sheet) if w.startswith("Cabinet")] == ["Cabinet 1", "Cabinet 1", "Cabinet 2"]
    assert sheet.says.count("terminator on") == 3
    assert sheet.says.count("terminator with its own supply") == 1
    assert "an invented site" in words(sheet)[0]
    assert line_drawing(network_picture(network)).width == 760


def test_the_picture_on_the_front_page_is_the_one_the_workbook_draws() -> None:
    """To make the picture again after a change:

    .venv/bin/python -c "from helpers.panels.network.network_drawing import save_demo_site; save_demo_site()"
    """
    kept = (WORKBOOK / "pictures" / "saltmarsh-mill.svg").read_text(encoding="utf-8")
    assert kept == demo_site().svg + "\n"
