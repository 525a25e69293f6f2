"""What an .xlsx file claims is counted before it is expanded; each bound from both sides."""

import io
import zipfile

import pytest

from helpers.errors import Unreadable
from helpers.plan.sheets import MOST_CELLS, check_size


def packed(*parts):
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as new:
        for number, part in enumerate(parts):
            new.writestr(f"part-{number}", part)
    return content.getvalue()


def test_cells_elements_and_pieces_are_counted_together():
    check_size("p.xlsx", packed("<a>" + "<c/>" * (MOST_CELLS - 1) + "</a>"))
    for more in ("<a>" + "<c/>" * MOST_CELLS + "</a>", f'<a><b list="{"A1 " * MOST_CELLS}"/></a>'):
        with pytest.raises(Unreadable, match="holds more than 60000 cells"):
            check_size("p.xlsx", packed(more))
    half = "<a>" + "<c/>" * (MOST_CELLS // 2) + "</a>"
    with pytest.raises(Unreadable, match="holds more than 60000 cells"):
        check_size("p.xlsx", packed(half, half))


@pytest.mark.parametrize("element", ["mergeCell", "hyperlink", "x:mergeCell"])
def test_what_a_merge_or_a_link_covers_is_counted(element):
    begin = '<a xmlns:x="x">'
    check_size("p.xlsx", packed(f'{begin}<{element} ref="A1:B20000"/><{element} ref="A1"/></a>'))
    with pytest.raises(Unreadable, match="merges or links the cells A1:AA20000, 540000 of them"):
        check_size("p.xlsx", packed(f'{begin}<{element} ref="A1:AA20000"/></a>'))


def test_parts_and_bytes_are_bounded_whatever_the_parts_are_called():
    check_size("p.xlsx", packed(*["<a/>"] * 500))
    with pytest.raises(Unreadable, match="501 parts; allowed are 500"):
        check_size("p.xlsx", packed(*["<a/>"] * 501))
    check_size("p.xlsx", packed(b" " * 6_000_000))
    with pytest.raises(Unreadable, match=r"unpacks to 6\.0 MB of cells; allowed are 6 MB"):
        check_size("p.xlsx", packed(b" " * 6_000_001))


def test_a_document_type_is_refused_and_a_picture_is_none_of_our_business():
    with pytest.raises(Unreadable, match="declares a document type"):
        check_size("p.xlsx", packed('<!DOCTYPE a [<!ENTITY b "bb">]><a>&b;</a>'))
    check_size("p.xlsx", packed(b"\x89PNG\r\n" + bytes(range(256))))
