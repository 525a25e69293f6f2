"""Charts come out the same everywhere, put everything where it belongs, and are told in words."""

import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from drawn import chart_texts, check_chart
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.curves import Area, Axis, Bar, Curve, Curves, Matrix, Note, Points, Tone
from helpers.panels.kit.chart import curves_chart, matrix_chart

SVG = "{http://www.w3.org/2000/svg}"


def wave(cycles=3.0, words="a wave", **more):
    x = np.linspace(0, 10, 1200)
    return Curves(
        words, Axis("time in µs", 0, 10), Axis("B − A in V", -2, 2),
        [Curve(x, np.sin(cycles * x), "sent"), Curve(x, np.cos(cycles * x), "seen", Tone.OTHER)],
        [Points([2.0], [0.5], "read"), Points([4.0], [0.0], "not sure", Tone.WRONG)],
        [Area([-0.2], [0.2])], **more,
    )  # fmt: skip


def matrix(values, shades=((1.0, "1 V or more"), (0.0, "less"), (-9.0, "none"))):
    names = [str(n) for n in range(1, len(values) + 1)]
    cells = [["" if np.isnan(v) else f"{v:g}" for v in row] for row in values]
    return Matrix("margins", names, names, "sends", "listens", np.array(values), cells, shades)


def markers(chart):
    """Where signs stand that are no ticks: the matplotlib elements that use a shape, by its id."""
    places = {}
    for use in ET.fromstring(chart.svg).iter(f"{SVG}use"):
        shape = use.get("{http://www.w3.org/1999/xlink}href")
        places.setdefault(shape, []).append((float(use.get("x")), float(use.get("y"))))
    return places


def test_a_kept_figure_forgets_what_it_showed_before():
    first = curves_chart(wave())
    assert curves_chart(wave(5.0)).svg != first.svg
    curves_chart(wave(bars=[Bar(0, 1, 0, "a bar")], notes=[Note(1, 1, "words")], upright=[3]))
    assert curves_chart(wave()).svg == first.svg


SUM = "import hashlib, test_chart as t; print(hashlib.sha256(t.curves_chart(t.wave()).svg.encode()).hexdigest())"


def test_it_comes_out_the_same_in_another_process_and_on_a_plainer_processor():
    here = Path(__file__).parent
    paths = os.pathsep.join(map(str, (here, here.parents[1])))
    plainer = {"OPENBLAS_CORETYPE": "Nehalem", "NPY_DISABLE_CPU_FEATURES": "AVX2 AVX512F"}
    sums = {
        subprocess.run(
            [sys.executable, "-W", "ignore", "-c", SUM], env={**os.environ, **more, "PYTHONPATH": paths},
            capture_output=True, text=True, check=True,
        ).stdout
        for more in ({"PYTHONHASHSEED": "1"}, {"PYTHONHASHSEED": "2", **plainer})
    }  # fmt: skip
    assert len(sums) == 1


def test_a_readers_own_settings_change_no_picture():
    before = curves_chart(wave(width=500)).svg
    with matplotlib.rc_context({"font.size": 30, "axes.facecolor": "red", "lines.linewidth": 9, "axes.grid": False}):
        assert curves_chart(wave(width=500)).svg == before
        assert curves_chart(wave(width=501)).svg.replace("501", "500")[:200] == before[:200]
        inside = curves_chart(wave(width=502)).svg
    assert inside == curves_chart(wave(width=502)).svg and "#ff0000" not in inside


def test_no_run_is_told_from_another_by_a_date_or_a_version():
    assert not re.search(r"\b20\d\d-|atplotlib v|metadata", curves_chart(wave()).svg)


@given(
    st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Cn", "Co"]), min_size=1, max_size=20)
)
@settings(max_examples=30, deadline=None)
def test_any_words_are_told_and_shown_as_they_are(words):
    chart = curves_chart(Curves(words, Axis("x", 0, 1), Axis("y", 0, 1), notes=[Note(0.5, 0.5, "$x^2$ <b>")]))
    assert ET.fromstring(chart.svg)[0].text == words
    assert "$x^2$ <b>" in [text.words for text in chart_texts(chart)]
    assert re.fullmatch(r'<img alt="[^"<>]*" src="data:image/svg\+xml,[^"<>#]*" style="[^"<>]*">', chart.html)


def test_points_stand_where_the_axes_say():
    linear, log, downwards = Axis("x", 0, 10), Axis("x", 1, 100, log=True), Axis("y", 10, 0)
    for x, middle in ((linear, 5.0), (log, 10.0)):
        cross = Points([middle], [0.0], tone=Tone.WRONG)
        corners = Points([x.first, x.last], [10.0, 10.0])
        signs = markers(curves_chart(Curves("points", x, downwards, points=[cross, corners]))).values()
        (crosses,) = (places for places in signs if len(places) == 1)
        (ends,) = (places for places in signs if len(places) == 2)
        assert crosses[0][0] == pytest.approx((ends[0][0] + ends[1][0]) / 2, abs=0.02)
        assert crosses[0][1] < ends[0][1]  # 0 is the upper end of an axis that runs from 10 below to 0 above


@pytest.mark.parametrize("side", ["above left", "above right", "below left", "below right", "left", "right"])
@pytest.mark.parametrize("x", [0.0, 5.0, 10.0])
def test_a_note_changes_sides_where_the_sheet_ends(side, x):
    chart = curves_chart(wave(notes=[Note(x, 0.0, "at this point: 1.25 V", side, bold=True)]))
    check_chart(chart)
    (note,) = (text for text in chart_texts(chart) if text.words == "at this point: 1.25 V")
    assert note.bold


def test_the_names_in_the_key_do_not_overlap():
    key = [text for text in chart_texts(curves_chart(wave())) if text.words in ("sent", "seen", "read", "not sure")]
    assert [text.words for text in key] == ["not sure", "read", "seen", "sent"]
    assert all(left.right + 10 < right.left for right, left in pairwise(key))


@given(st.lists(st.floats(0, 10), min_size=2, max_size=12, unique=True))
@settings(max_examples=30, deadline=None)
def test_words_in_a_bar_have_room_there(ends):
    ends.sort()
    bars = [Bar(a, b, 0, "switching on inhibited", "short") for a, b in pairwise(ends)]
    chart = curves_chart(Curves("bars", Axis("time in s", 0, 10), Axis("", -1, 1, ticks=[(0, "drive")]), bars=bars))
    words = [text for text in chart_texts(chart) if re.match("switching|on inhib|short", text.words)]
    words.sort(key=lambda text: text.left)
    for before, behind in pairwise(words):
        assert before.right <= behind.left or before.y != behind.y


def test_a_matrix_shows_every_number_and_marks_the_worst():
    chart = matrix_chart(matrix([[np.nan, 1.5, 0.25], [1.0, np.nan, -0.5], [0.0, -2.0, np.nan]]))
    root = ET.fromstring(chart.svg)
    cells = {t.text: t.get("font-weight") for t in root[-1].iter(f"{SVG}text")}
    assert cells == {"1.5": None, "0.25": None, "1": None, "0": None, "-0.5": "bold", "-2": "bold"}
    shown = [text.text for text in root.iter(f"{SVG}text")]
    assert {"sends", "listens", "1 V or more", "less", "none"} <= set(shown)


@pytest.mark.parametrize("count", [2, 3, 13, 32, 45])
def test_a_matrix_of_any_size_has_square_cells_with_room_for_their_numbers(count):
    values = np.random.default_rng(count).normal(size=(count, count)).round(1)
    root = ET.fromstring(matrix_chart(matrix(values)).svg)
    group = root[-1]
    xs, ys = (sorted({float(t.get(name)) for t in group}) for name in ("x", "y"))
    assert len(xs) == len(ys) == count
    cell = xs[1] - xs[0]
    assert np.diff(xs) == pytest.approx(cell) and np.diff(ys) == pytest.approx(cell)
    assert float(group.get("font-size")) >= 8 and cell >= 2.4 * float(group.get("font-size"))
    assert max(xs) < float(root.get("width")) and max(ys) < float(root.get("height"))


def test_a_panel_is_imported_without_matplotlib():
    code = "import sys, helpers.panels.cable.shield; print('matplotlib' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "False"
