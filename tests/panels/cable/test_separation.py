"""The separation panel says what the sources say, whatever list is pasted into it.

Distances: data/separation.csv with its sources; the thresholds themselves are tested in tests/bus/test_separation.py.
"""

import csv
import io
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.cable.separation import (
    CROSSINGS,
    DIVIDERS,
    SUPPLIES,
    USES,
    Run,
    TrayPicture,
    asked,
    check_runs,
    lettered,
    separation_answer,
)
from helpers.facts import rows
from helpers.panels.cable.separation import place, separation_panel, tray_drawing
from helpers.panels.kit.as_html import html_of
from helpers.plan.my_networks import demo_plan
from helpers.plan.rows import neighbours_in
from helpers.safe_work import cautions
from helpers.verdict import Degree, worst

MILL = demo_plan("the Mill extended").networks[0].neighbours
COLUMNS = "name;use;volts;supply;shielded;parallel;distance;divider;crossing"


def cables(text: str) -> tuple[Run, ...]:
    """Cables as rows of the table, the cells in the order of `COLUMNS`, parted by semicolons."""
    return neighbours_in([tuple(row.split(";")) for row in text.split("\n")])


def view(text: str):
    return separation_answer(cables(text))


def motor(name: str, distance: str, divider: str = "", parallel: str = "20") -> str:
    return f"{name};motor;;;;{parallel};{distance};{divider};"


def written_in(drawing) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", drawing.svg)


def test_the_demo_site_has_one_of_each_and_the_worst_stands_first() -> None:
    shown = separation_answer(MILL)
    assert shown.degree is Degree.BY_EVERY_SOURCE
    assert [(row["cable"], row["verdict"].words) for row in shown.rows] == [
        ("Intake motor", "not allowed, by every source found"),
        ("Pit supply", "outside cautious practice"),
        ("Dryer fan 1 motor", "outside cautious practice"),
        ("the others", "in order"),
    ]
    assert shown.caution == cautions("move cable")


@pytest.mark.parametrize(
    ("line", "degree"),
    [
        # 0.3 m: ABB AC 800M PROFIBUS manual p.97; 0.1 m: from memory.
        ("a;power;690;AC;;20;0.3;;", Degree.IN_ORDER),
        ("a;power;690;AC;;20;0.29;;", Degree.CAUTION),
        ("a;power;690;AC;;20;0.1;;", Degree.CAUTION),
        ("a;power;690;AC;;20;0.09;;", Degree.BY_EVERY_SOURCE),
        # Cables of one class may share a duct; crossings at a right angle: M. Felser, PROFIBUS Manual, distances.
        ("a;power;24;DC;;20;0;;", Degree.IN_ORDER),
        ("a;power;690;AC;;;;;right angle", Degree.IN_ORDER),
        ("a;power;690;AC;;;;;slanting", Degree.CAUTION),
    ],
)
def test_both_sides_of_each_threshold(line: str, degree: Degree) -> None:
    shown = view(line)
    assert shown.degree is degree
    assert bool(shown.caution) is (degree is not Degree.IN_ORDER)
    assert shown.rows[0]["verdict"] is degree


def test_each_distance_is_told_with_the_letter_of_its_source() -> None:
    shown = view("a;power;690;AC;;20;0.2;;slanting")
    letters = dict(re.findall(r"\b([A-Z]) (.*?)(?:;|\.$)(?= |$)", shown.because.partition("Who asks: ")[2]))
    assert letters["A"].startswith("ABB AC 800M")
    assert shown.rows[0]["asked for"].startswith("0.3 m (A) · 0.2 m (B)")
    assert "right angle (" in shown.rows[0]["asked for"]
    used = set(re.findall(r"[A-Z](?=[ )])", shown.rows[0]["asked for"].replace("m (", "(")))
    assert used == set(letters)


def test_letters_follow_the_order_of_the_sources() -> None:
    facts = rows("separation")
    letters = lettered(facts)
    assert list(letters.values()) == list("ABCDEFGH"[: len(letters)])
    assert set(letters) == {fact.cited for fact in facts}
    run = Run("a", volts=690, parallel_m=1)
    told = asked(run, letters)
    assert [distance for distance, _ in told] == sorted((distance for distance, _ in told), reverse=True)


def test_several_sources_of_one_distance_stand_at_one_tick() -> None:
    shown = view(motor("a", "0.4"))
    assert "C D" in written_in(tray_drawing(*shown.pictures))


def test_more_troubles_than_a_panel_holds_are_counted() -> None:
    shown = view("\n".join(motor(f"cable {n}", f"0.0{n}") for n in range(1, 10)))
    assert shown.rows[-1]["cable"] == "… 5 more"
    assert "cable 1, cable 2 and 7 more" in shown.sentence
    assert len(shown.folded[0][1]) == 9


def test_nothing_to_say_says_so() -> None:
    shown = view("a;data;;;;20;0;;\n" + motor("b", "0.5"))
    assert "none lies too near" in shown.sentence
    assert [row["cable"] for row in shown.rows] == ["all"]


def test_the_file_has_every_finding_with_its_sources() -> None:
    (file,) = separation_answer(MILL).files
    told = list(csv.DictReader(io.StringIO(file.content.decode("utf-8-sig"))))
    assert len(told) == len(check_runs(MILL))
    assert all(row["source"] for row in told)
    assert told[0]["verdict"] == "not allowed, by every source found"
    ((_, folded),) = separation_answer(MILL).folded
    assert len(folded) == len(told)


def test_a_name_that_looks_like_a_formula_is_no_formula_in_the_file() -> None:
    (file,) = view(motor("=1+1", "0.1")).files
    assert "'=1+1" in file.content.decode("utf-8-sig")


RUNS = st.lists(
    st.builds(
        Run,
        st.text("abc Ö<&", min_size=1, max_size=60),
        st.sampled_from(USES),
        st.floats(0, 1e5),
        st.sampled_from(SUPPLIES),
        st.booleans(),
        st.sampled_from([0.0, 5.0, 120.0]),
        st.floats(0, 30),
        st.sampled_from(DIVIDERS),
        st.sampled_from(CROSSINGS),
    ),
    min_size=1,
    max_size=20,
)


@given(RUNS)
@settings(max_examples=60, deadline=None)
def test_any_list_is_judged_as_its_worst_cable_and_stays_on_the_sheet(runs: list[Run]) -> None:
    shown = separation_answer(runs)
    assert shown.degree is worst(check_runs(runs))
    drawing = tray_drawing(*shown.pictures)
    assert drawing.width <= 760
    assert drawing.height <= 245
    assert len(shown.rows) <= 6
    for x in re.findall(r'x[12]?="([-\d.]+)"', drawing.svg):
        assert 0 <= float(x) <= drawing.width
    assert "<script" not in html_of(shown, draw={TrayPicture: tray_drawing})


@given(st.floats(0, 100), st.floats(0, 100))
def test_the_scale_rises_and_ends(near: float, far: float) -> None:
    near, far = sorted((near, far))
    assert place(0) <= place(near) <= place(far) <= place(0.5) == place(100)


def test_the_scale_is_even() -> None:
    assert place(0.2) - place(0.1) == pytest.approx(place(0.5) - place(0.4))


def test_names_too_long_and_distances_too_great_are_cut_in_the_drawing_and_told_whole_in_words() -> None:
    name = "the very long name of a cable that runs to the pit"
    run = Run(name, "motor", parallel_m=5, distance_m=3)
    drawing = tray_drawing(TrayPicture(((run, Degree.IN_ORDER),), {fact.cited: "A" for fact in rows("separation")}))
    assert "3 m →" in written_in(drawing)
    assert not [words for words in written_in(drawing) if len(words) > 30]
    assert name in drawing.says


def test_the_divider_is_drawn_and_named() -> None:
    with_steel = tray_drawing(*view(motor("a", "0.4", "steel")).pictures)
    without = tray_drawing(*view(motor("a", "0.4")).pictures)
    assert "steel" in written_in(with_steel)
    assert "steel" not in written_in(without)
    assert with_steel.svg.count("<line") == without.svg.count("<line") + 1 + _more_ticks()


def _more_ticks() -> int:
    """A steel divider has other sources, so other ticks at the zones."""
    with_steel, without = (Run("a", "motor", parallel_m=20, distance_m=0.4, divider=d) for d in ("steel", "none"))
    letters = lettered(rows("separation"))
    return len(asked(with_steel, letters)) - len(asked(without, letters))


@pytest.mark.parametrize(
    "rows",
    [
        (),
        (("fan", *[""] * 8),),
        (("fan", "motor", "", "", "", "far", "away", "", ""),),
        (("", *[""] * 4, "12", "0.1", "", ""),),
        (("a", "data", *[""] * 6, "right angle"),) * 251,
    ],
)
def test_rows_that_cannot_be_read_get_a_sentence_and_the_old_result_stays(rows) -> None:
    panel = separation_panel()
    panel.fields["runs"].widget.put(rows)
    assert "Not usable" in panel.said.value
    assert "failed" not in panel.said.value
    assert "Intake motor" in panel.result.value


def test_a_pasted_table_is_judged() -> None:
    panel = separation_panel()
    table = panel.fields["runs"].widget
    table.box.value = "cable\tcarries\tparallel\tdistance (cm)\nPump\tmotor\t20\t35"
    table.replace.click()
    assert not panel.said.value
    assert "1 cable beside the bus cable" in panel.result.value
