"""A cell's table shows whole texts, escaped, and takes items of any kind."""

from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st

from helpers.panels.kit.tables import frame
from helpers.verdict import Degree


class Time:
    bit_rate = 1_500_000

    def __init__(self, time_s: float) -> None:
        self.worst, self.time_s = self, time_s


@dataclass
class Item:
    address: int
    degree: Degree


def test_long_texts_are_not_cut_and_markup_is_shown_as_text() -> None:
    words = "<b>" + "long " * 60
    shown = frame([{"says": words}])._repr_html_()
    assert "&lt;b&gt;" in shown and "…" not in shown and shown.count("long ") >= 59


def test_objects_and_mappings_give_the_same_table() -> None:
    from_objects = frame([Item(3, Degree.CAUTION)], "address: at", "degree: verdict")
    from_mappings = frame([{"address": 3, "degree": Degree.CAUTION}], "address: at", "degree: verdict")
    assert from_objects.equals(from_mappings)
    assert from_objects["verdict"].iloc[0] == "outside cautious practice"


def test_no_items_are_said_in_words() -> None:
    assert frame([])._repr_html_() == "<p>Nothing to show.</p>"


@given(st.lists(st.fixed_dictionaries({"a": st.text(max_size=20), "b": st.integers(-(10**9), 10**9)}), min_size=1))
def test_every_item_is_a_row(items: list[dict[str, object]]) -> None:
    assert frame(items)._repr_html_().count("<tr>") == len(items) + 1


def test_values_are_written_as_people_write_them():
    items = [
        {"on": True, "value": "15e-9", "unit": "F", "size": "3.0e-9"},
        {"on": False, "value": "1.5", "unit": "V", "size": "12"},
        {"on": False, "value": "0.05", "unit": "share", "size": ""},
        {"on": False, "value": "16e-6", "unit": "m²", "size": ""},
    ]
    assert frame(items, "on", "value", "unit", "size").to_dict("list") == {
        "on": ["yes", "no", "no", "no"],
        "value": ["15", "1.5", "5", "16"],
        "unit": ["nF", "V", "%", "mm²"],
        "size": ["3.0·10⁻⁹", "12", "", ""],
    }


def test_a_value_is_a_number_in_the_unit_that_its_heading_asks_for():
    stubs = [{"capacitance_f": "15e-9"}, {"capacitance_f": ""}]
    assert list(frame(stubs, "capacitance_f: capacitance in nF")["capacitance in nF"]) == [15.0, ""]
    times = frame([Time(0.0031101), Time(0.0)], "worst.time_s: worst in ms", "bit_rate: bit rate in kbit/s")
    assert times[times["worst in ms"] > 1].to_dict("records") == [{"worst in ms": 3.11, "bit rate in kbit/s": 1500.0}]
