"""The panel of wrong bits: every setting of it, and what the drawing shows."""

from itertools import product

import pytest
from drawn import boxes, check_legible, elements

from helpers.bus.telegram import hamming
from helpers.panels.telegrams.hamming import (
    _TELEGRAMS,
    ANYWHERE,
    WORST,
    delimiter_rows,
    distance_drawing,
    distance_panel,
    distance_view,
    wrong_places,
)

TOKEN, STATUS = "token from 1 to 2", "status request, SD1"


@pytest.mark.parametrize(("telegram", "wrong"), [*product(_TELEGRAMS, range(5))])
def test_as_many_bits_are_marked_as_are_wrong(telegram, wrong):
    for where, throw in ((WORST, 1), (ANYWHERE, 1), (ANYWHERE, 2)):
        places = wrong_places(_TELEGRAMS[telegram], wrong, where, throw)
        assert len(set(places)) == wrong
        sheet = distance_drawing(_TELEGRAMS[telegram], places)
        check_legible(sheet)
        assert sum((text.text or "").startswith("✗") for text in elements(sheet, "text")) == wrong
        assert len(boxes(sheet)) == 11 * len(_TELEGRAMS[telegram])


def test_where_they_deceive_best_nobody_notices_as_soon_as_that_is_possible():
    for telegram, octets in _TELEGRAMS.items():
        for count in hamming.counted(octets):
            view = distance_view(telegram, count.wrong, WORST)
            assert ("nobody notices" in view.sentence) == bool(count.believed)
    # Distance 4 where there is a check sum, as M. Felser, PROFIBUS Manual, claims; 2 for the token.
    assert "nobody notices" in distance_view(TOKEN, 2).sentence and "less than the 4" in distance_view(TOKEN).because
    assert (
        "octet 5: FCS" in distance_view(STATUS, 2).sentence and "is 4, as the handbook" in distance_view(STATUS).because
    )


def test_no_wrong_bit_and_the_short_acknowledgement():
    assert distance_view(STATUS, 0).sentence.startswith("All bits arrive")
    view = distance_view("short acknowledgement, SC", 4)
    assert view.because.startswith("No other octet alone") and {row["that is"] for row in view.rows} == {"none"}


def test_the_table_counts_all_ways_and_marks_the_chosen():
    rows = distance_view(STATUS, 3).rows
    assert [row["ways to have them"] for row in rows] == [66, 2145, 45760, 720720]  # 66 over n, by hand
    assert [row["wrong bits"] for row in rows] == ["1", "2", "3 ◀", "4"]
    assert [row["delimiter"] + row["and"] for row in delimiter_rows() if row["remark"]] == ["SD1ED"]


def test_the_panel_answers_its_controls():
    panel = distance_panel()
    panel.fields["telegram"].widget.value = TOKEN
    assert "nobody notices" in panel.result.value
    panel.fields["wrong"].widget.value = 1
    panel.fields["where"].widget.value = ANYWHERE
    before = panel.result.value
    panel.fields["throw"].widget.value = 7
    assert panel.result.value != before and "noticed" in panel.result.value and not panel.said.value
