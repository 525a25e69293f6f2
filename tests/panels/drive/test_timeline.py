"""The panel for records of words: the demo records tell their story, a bad file gets a sentence."""

from datetime import UTC, datetime
from itertools import pairwise

import pytest
from drawn import chart_texts, check_chart
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.drive.record_answer import DEMOS, demo_record, read_record, record_answer
from helpers.panels.drive.timeline import timeline_panel
from helpers.panels.kit.chart import curves_chart

FAN, FILTER = DEMOS


def view(name, start_s=None, end_s=None, **given):
    return record_answer(read_record(demo_record(name)), start_s=start_s, end_s=end_s, **given)


def test_the_words_of_the_demo_are_drawn():
    shown = view(FAN)
    texts = {text.words for text in chart_texts(curves_chart(shown.pictures[0]))}
    assert {"run", "ready to start", "operation", "pulses", "4–5"} <= texts


def test_each_failure_of_a_sign_of_life_is_drawn():
    shown = view(FILTER)
    texts = [text.words for text in chart_texts(curves_chart(shown.pictures[0]))]
    assert texts.count("▲ fault") == 3
    assert [len(crosses.x) for crosses in shown.pictures[0].points] == [7, 10]  # one for each failure


def test_a_part_keeps_what_held_before_it():
    shown = view(FAN, 3.0, 8.0)
    assert "operation" in [text.words for text in chart_texts(curves_chart(shown.pictures[0]))]


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 50), st.integers(0, 0xFFFF), st.integers(0, 0xFFFF)), min_size=2, max_size=60))
def test_any_record_is_drawn_inside_its_sheet(lines):
    rows, time_ms = ["time (ms),control,status,control 2"], 0
    for wait, control, status in lines:
        time_ms += wait
        rows.append(f"{time_ms},{control},{status},{status}")
    samples = read_record("\n".join(rows))
    if samples[0].time_s == samples[-1].time_s:
        return
    shown = record_answer(samples).pictures[0]
    check_chart(curves_chart(shown))
    for row in range(3):
        bars = [bar for bar in shown.bars if bar.y == row]
        assert (bars[0].begin, bars[-1].end) == (shown.x.first, shown.x.last)
        assert all(before.end == behind.begin for before, behind in pairwise(bars))


def test_a_long_record_stays_short_on_the_page():
    words = ("16#047E,16#0231", "16#047F,16#0237")
    text = "time (ms),control,status\n" + "\n".join(f"{n},{words[n % 2]}" for n in range(4000))
    shown = record_answer(read_record(text))
    assert len(shown.rows) == 9
    assert len(shown.folded[0][1]) == 200
    assert len(curves_chart(shown.pictures[0]).svg) < 60_000
    assert "7989 more changes, the first 200 of them" in [heading for heading, _ in shown.folded]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "the record is empty"),
        ("speed,torque\n1,2\n", "lacks the column time and control and status"),
        ("time (s),control,status\n", "no line below"),
        ("time (s),control,status\nsoon,1,2\n", "line 2"),
        ("time (s),control,status\n0,16#047F,99999\n", "allowed is 0 to 65535"),
        ("time (s),control,status\n2,1,2\n1,1,2\n", "the time goes back"),
    ],
)
def test_a_bad_record_gets_a_sentence_and_the_last_good_one_stays(text, said):
    panel = timeline_panel()
    panel.fields["text"].widget.value = text
    assert "Not usable" in panel.said.value and said in panel.said.value
    assert "6 changes" in panel.result.value


def chosen(name, content):
    return (
        {
            "name": name,
            "content": content,
            "size": len(content),
            "type": "",
            "last_modified": datetime(2001, 1, 1, tzinfo=UTC),
        },
    )


def test_a_file_goes_before_the_text_and_gives_way_to_it():
    panel = timeline_panel()
    box = panel.fields["file"].widget
    box.value = chosen(
        "fan.csv", "time (s);control;status;Störung\n0;16#047E;16#0231\n1,5;16#047F;16#0237".encode("latin-1")
    )
    assert "fan.csv: 2 lines from 0 s to 1.5 s" in panel.result.value
    box.value = chosen("photo.csv", bytes(range(256)))
    assert "Not usable" in panel.said.value and "photo.csv" in panel.said.value
    box.value = chosen("big.csv", b"0" * 2_000_001)
    assert "allowed is 0 to 2000000" in panel.said.value
    example = panel.fields["text"].around.children[0]
    example.value = FILTER
    assert panel.said.value == "" and box.value == ()
    assert "Sign of life" in panel.result.value
    panel.fields["start_s"].widget.value = "200 ms"
    assert "from 0.2 s to 0.7 s" in panel.result.value
    panel.fields["end_s"].widget.value = "later"
    assert "Not usable" in panel.said.value
