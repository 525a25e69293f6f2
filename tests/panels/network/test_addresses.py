"""The address panels say what the handbook says, whatever list is pasted into them.

Ranges: M. Felser, PROFIBUS Manual, addressing – stations 0 to 125, 126 as delivered, 127 to all.
"""

import base64
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.address.address import Holder
from helpers.bus.address.answers import AddressRuler, Mark, address_list_answer
from helpers.panels.kit.as_html import html_of
from helpers.panels.network.addresses import address_panel, new_line_panel, place, ruler_drawing, spread
from helpers.plan.my_networks import demo_network
from helpers.plan.rows import address_rows, holders_in
from helpers.verdict import Degree


def written_in(drawing) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", drawing.svg)


def test_the_demo_site_is_in_order_and_its_repeater_is_not_counted() -> None:
    shown = address_list_answer(holders_in(address_rows(demo_network())), 126, 10)
    assert shown.degree is Degree.IN_ORDER
    assert shown.sentence == "11 addresses, all different and all usable. Next free from 10: 15."
    assert [row["verdict"] for row in shown.rows] == [Degree.IN_ORDER]
    assert not shown.caution


LISTS = st.lists(
    st.builds(Holder, st.text("abc Ö<&", min_size=1, max_size=60), st.just("drive"), st.integers(-3, 300)),
    min_size=1,
    max_size=130,
)


@given(LISTS, st.none() | st.integers(0, 126))
def test_the_drawing_tells_every_address_and_stays_on_its_sheet(listed: list[Holder], hsa: int | None) -> None:
    drawing = ruler_drawing(*address_list_answer(listed, hsa).pictures)
    for holder in listed:
        assert re.search(rf"(^|\D){holder.address} ", drawing.says)
    assert drawing.width <= 760
    assert drawing.height <= 260
    for x in re.findall(r'x="([-\d.]+)"', drawing.svg):
        assert 0 <= float(x) <= drawing.width


def test_many_names_become_numbers_that_do_not_touch() -> None:
    shown = ruler_drawing(AddressRuler(tuple(Mark(address, f"{address} fan") for address in range(1, 126))))
    at = [
        (float(x), float(y), words)
        for x, y, words in re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>(\d+)</text>', shown.svg)
    ]
    assert {int(words) for _, _, words in at} >= set(range(1, 126))
    for n, (x1, y1, words1) in enumerate(at):
        for x2, y2, words2 in at[n + 1 :]:
            assert abs(y1 - y2) >= 11 or abs(x1 - x2) >= 3.5 * (len(words1) + len(words2)) - 2


@given(st.lists(st.floats(0, 700), min_size=1, max_size=40).map(sorted))
def test_names_stand_apart_in_order_and_inside(wanted: list[float]) -> None:
    at = spread(wanted, 15.8, 20, 662)
    assert all(b - a >= 15.8 - 1e-6 for a, b in pairwise(at))
    assert at[0] >= 20 - 1e-6
    assert at[-1] <= 698 + 1e-6


def test_names_that_have_room_stay_where_they_are() -> None:
    assert spread([100.0, 200.0, 300.0], 15.8, 20, 662) == [100.0, 200.0, 300.0]


def test_the_ruler_is_even_and_rising() -> None:
    assert place(64) - place(0) == pytest.approx(place(127) - place(63))
    assert place(-1) < place(0) < place(1) < place(127) < place(128) == place(4000)


# -- the panels ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "rows", [(), (("fan", "", ""),), (("fan", "1.5", ""),), (("fan", "-1", ""),), (("", "1", ""),) * 251]
)
def test_rows_that_cannot_be_read_get_a_sentence_and_the_old_result_stays(rows) -> None:
    panel = address_panel()
    panel.fields["stations"].widget.put(rows)
    assert "Not usable" in panel.said.value
    assert "failed" not in panel.said.value
    assert "11 addresses" in panel.result.value
    assert panel.fields["stations"].widget.rows == rows, "nothing that was typed is lost"


def test_another_network_brings_its_addresses_and_its_hsa() -> None:
    panel = address_panel()
    panel.fields["stations"].widget.network.value = ("the Mill extended", "Silo line")
    assert "5 addresses: 1 against the standard" in panel.result.value and "126" in panel.result.value
    assert panel.fields["hsa"].widget.value == "126"


@pytest.mark.parametrize(("name", "typed"), [("hsa", "127"), ("hsa", "high"), ("start", "126"), ("start", "x")])
def test_hsa_and_start_have_their_ranges(name: str, typed: str) -> None:
    panel = address_panel()
    panel.fields[name].widget.value = typed
    assert "Not usable" in panel.said.value


def test_without_an_hsa_nothing_is_said_of_it() -> None:
    panel = address_panel()
    panel.fields["hsa"].widget.value = ""
    assert not panel.said.value
    assert "highest station address" not in panel._good.pictures[0].says


# -- a new line ---------------------------------------------------------------------------------------


def test_a_line_too_full_is_refused_in_the_panel() -> None:
    panel = new_line_panel()
    table = panel.fields["groups"].widget
    table.put([("a", "100"), ("b", "25")])
    assert "Not usable" in panel.said.value
    table.put([("a", "100"), ("b", "24")])
    assert not panel.said.value
    assert "0 addresses are left" in panel.result.value


def test_names_from_outside_cannot_break_the_page() -> None:
    shown = html_of(
        address_list_answer([Holder("<script>alert(1)</script>", "drive", 5)]), draw={AddressRuler: ruler_drawing}
    )
    assert "<script>" not in shown
    coded = re.findall(r"data:image/svg\+xml;base64,([\w+/=]+)", shown)
    assert all("<script>" not in base64.b64decode(part).decode() for part in coded)
