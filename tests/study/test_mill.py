"""What several banks ask about."""

from helpers.study.mill import DRIVES, OTHER_WAY, STATIONS, drawn_ident
from helpers.study.question import Draw


def test_the_two_octets_of_a_drawn_ident_number_can_be_told_apart():
    idents = {drawn_ident(Draw(f"seed {n}")) for n in range(500)}
    assert len(idents) > 150
    assert all(0xFF01 <= ident <= 0xFFFE and ident >> 8 != ident & 0xFF for ident in idents)


def test_each_station_has_a_name_of_its_own_and_each_way_another():
    assert len(set(STATIONS)) == len(STATIONS) > len(DRIVES) == len(set(DRIVES))
    assert all(OTHER_WAY[OTHER_WAY[way]] == way != OTHER_WAY[way] for way in OTHER_WAY)
