"""Wrong bits: who notices them, counted case by case, against what the handbook claims."""

from helpers.bus.recording.wrong_bits import TELEGRAMS, WORST, delimiter_rows, distance_answer
from helpers.bus.telegram import hamming

TOKEN, STATUS = "token from 1 to 2", "status request, SD1"


def test_where_they_deceive_best_nobody_notices_as_soon_as_that_is_possible():
    for telegram, octets in TELEGRAMS.items():
        for count in hamming.counted(octets):
            answer = distance_answer(telegram, wrong=count.wrong, where=WORST)
            assert ("nobody notices" in answer.sentence) == bool(count.believed)
    # Distance 4 where there is a check sum, as M. Felser, PROFIBUS Manual, claims; 2 for the token.
    assert (
        "nobody notices" in distance_answer(TOKEN, wrong=2).sentence
        and "less than the 4" in distance_answer(TOKEN).because
    )
    assert (
        "octet 5: FCS" in distance_answer(STATUS, wrong=2).sentence
        and "is 4, as the handbook" in distance_answer(STATUS).because
    )


def test_no_wrong_bit_and_the_short_acknowledgement():
    assert distance_answer(STATUS, wrong=0).sentence.startswith("All bits arrive")
    answer = distance_answer("short acknowledgement, SC", wrong=4)
    assert answer.because.startswith("No other octet alone") and {row["that is"] for row in answer.rows} == {"none"}


def test_the_table_counts_all_ways_and_marks_the_chosen():
    rows = distance_answer(STATUS, wrong=3).rows
    assert [row["ways to have them"] for row in rows] == [66, 2145, 45760, 720720]  # 66 over n, by hand
    assert [row["wrong bits"] for row in rows] == ["1", "2", "3 ◀", "4"]
    assert [row["delimiter"] + row["and"] for row in delimiter_rows() if row["remark"]] == ["SD1ED"]
