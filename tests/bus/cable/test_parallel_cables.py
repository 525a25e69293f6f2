"""Cables beside the bus cable as people write or paste them: what can be read is read, the rest is refused by name."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.parallel_cables import MOST_RUNS, read_runs
from helpers.bus.cable.separation import CROSSINGS, DIVIDERS, SUPPLIES, USES, Run
from helpers.errors import OutOfRange, Unreadable, WorkbookError

FAN = Run("Fan 1", "motor", shielded=True, parallel_m=12, distance_m=0.1, divider="steel", crossing="right angle")


@pytest.mark.parametrize(
    "line",
    [
        "Fan 1: motor, shielded, 12 m at 0.1 m, steel divider, right angle",
        "Fan 1: motor, shielded, 12 m at 0,1 m, steel divider, right angle",
        "Fan 1: crosses at a right angle; STEEL divider; 12m at 10cm; shielded; motor cable",
        "Fan 1\tmotor\tshielded\tparallel 12 m\t0.1 m apart\tsteel divider\tcrossing right angle",
        "Fan 1; motor; with shield; over 1200 cm; distance 100 mm; steel divider; right angles",
        "  Fan 1 :  motor ,  shielded,12 m at 0.1 m,  steel divider,  right angle ,  ",
        "cable;kind;shielded;parallel;distance;divider;crossing\nFan 1;motor;yes;12;0.1;steel;right angle",
        "cable,kind,shielded,parallel (m),distance (cm),divider,crossing\nFan 1,motor,x,12,10,steel,right angle",
        "name\tuse\tshield\tlength in m\tdistance [mm]\tcrosses\tdivider\n"
        "Fan 1\tMotor\tYes\t12\t100\tright angle\tsteel",
        '"cable";"kind";"shielded";"parallel";"distance";"divider";"crossing";\n'
        '"Fan 1";motor;y;12 m;0,1 m;steel;right angle;',
    ],
)
def test_one_cable_in_every_spelling(line: str) -> None:
    assert read_runs(line) == (FAN,)


@pytest.mark.parametrize(
    ("said", "use", "volts", "supply"),
    [
        ("400 V AC", "power", 400, "AC"), ("400 V", "power", 400, "AC"), ("AC 230 V", "power", 230, "AC"),
        ("24 V DC", "power", 24, "DC"), ("dc 110v", "power", 110, "DC"), ("6 kV", "power", 6000, "AC"),
        ("3 x 400 V", "power", 400, "AC"), ("3~690 V AC", "power", 690, "AC"), ("power 230 V AC", "power", 230, "AC"),
        ("mains cable 230 V", "power", 230, "AC"), ("motor 400 V", "motor", 400, "AC"), ("bus", "data", 400, "AC"),
        ("telephone", "telephone", 400, "AC"), ("outdoor cable", "outdoor", 400, "AC"),
    ],
)  # fmt: skip
def test_what_it_carries(said: str, use: str, volts: float, supply: str) -> None:
    (in_words,) = read_runs(f"it: {said}, 3 m at 0.2 m")
    (in_a_table,) = read_runs(f"cable\tkind\tparallel\tdistance\nit\t{said}\t3\t0.2")
    assert in_words == in_a_table == Run("it", use, volts, supply, parallel_m=3, distance_m=0.2)


def test_a_table_may_keep_use_voltage_and_supply_apart_in_any_order() -> None:
    for heading, cells in (
        ("use;voltage (V);supply", "power;48;DC"), ("supply;voltage;use", "DC;48 V;power"), ("voltage;supply", "48;dc")
    ):  # fmt: skip
        (run,) = read_runs(f"cable;{heading};parallel;distance\nit;{cells};3;0.2")
        assert (run.use, run.volts, run.supply) == ("power", 48, "DC")
    for heading, cells in (("use;voltage", "motor;400"), ("voltage;use", "400;motor"), ("voltage;use", "-;motor")):
        assert read_runs(f"cable;{heading};parallel;distance\nit;{cells};3;0.2")[0].use == "motor"


def test_empty_lines_and_remarks_are_passed_over_and_the_order_stays() -> None:
    text = "# the tray in the pit\n\nb: data, 3 m at 0 m\r\n   \na: motor, crosses slanting\n"
    assert [run.name for run in read_runs(text)] == ["b", "a"]


def test_a_cell_may_be_empty_where_nothing_is_to_be_said() -> None:
    (run,) = read_runs("cable;kind;shielded;parallel;distance;divider;crossing\nLights;230 V;;0;0;none;right angle")
    assert run == Run("Lights", "power", 230.0, crossing="right angle")
    (run,) = read_runs("cable;kind;shielded;parallel;distance;divider;crossing\nLights;230 V;no;-;–;;right angle")
    assert run.parallel_m == 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "holds no cable"),
        ("# only a remark", "holds no cable"),
        ("cable;kind;parallel;distance", "holds no cable"),
        ("Fan 1", "'Fan 1': what does it carry"),
        ("Fan 1: 12 m at 0.1 m", "what does it carry"),
        ("Fan 1: power, 12 m at 0.1 m", "needs its voltage"),
        ("Fan 1: motor, parallel 12 m", "at what distance"),
        ("Fan 1: motor, 0.1 m apart", "over what length"),
        ("Fan 1: motor, shielded", "run beside the bus cable"),
        ("Fan 1: motor, 0 m at 0.1 m", "run beside the bus cable"),
        ("Fan 1: motor, loud, 12 m at 0.1 m", "'loud' is not understood"),
        ("Fan 1: motor, 12 m", "'12 m' is not understood"),
        ("Fan 1: motor, data, 12 m at 0.1 m", "'data' comes on top"),
        ("Fan 1: motor, 12 m at 0.1 m, 13 m at 0.1 m", "'13 m at 0.1 m' comes on top"),
        ("Fan 1: motor, 1.2.3 m at 0.1 m", "is not a unit of length"),
        (": motor, 12 m at 0.1 m", "has no name"),
        ("cable;kind;weight;parallel;distance\nFan 1;motor;3;12;0.1", "heading 'weight' is not known"),
        ("cable;kind;parallel;distance\nFan 1;motor;12;0.1;steel", "5 cells stand below 4 headings"),
        ("cable;kind;parallel;distance\nFan 1;water;12;0.1", "kind is 'water'"),
        ("cable;kind;parallel;distance\nFan 1;motor;far;0.1", "is not a length"),
        ("cable;kind;shielded;parallel;distance\nFan 1;motor;maybe;12;0.1", "shielded is 'maybe'"),
        ("cable;kind;divider;parallel;distance\nFan 1;motor;wood;12;0.1", "divider is 'wood'"),
        ("cable;kind;crossing\nFan 1;motor;often", "crossing is 'often'"),
        ("cable;kind;supply;crossing\nFan 1;motor;sun;right angle", "supply is 'sun'"),
        ("cable;voltage;crossing\nFan 1;high;right angle", "voltage is 'high'"),
    ],
)
def test_what_cannot_be_read_is_refused_and_said(text: str, said: str) -> None:
    with pytest.raises(Unreadable, match=re.escape(said)):
        read_runs(text)


def test_a_number_that_no_cable_has_is_refused_with_its_range() -> None:
    with pytest.raises(OutOfRange, match=r"distance of Fan 1 is .*allowed is 0 to"):
        read_runs("Fan 1: motor, 12 m at 1000 km")
    with pytest.raises(OutOfRange, match=f"number of lines is {MOST_RUNS + 1}"):
        read_runs("a: data, right angle\n" * (MOST_RUNS + 1))
    assert len(read_runs("a: data, right angle\n" * MOST_RUNS)) == MOST_RUNS


RUNS = st.builds(
    Run,
    st.from_regex(r"[A-Z][a-z]{2,8}( [0-9]{1,2})?", fullmatch=True),
    st.sampled_from(USES),
    st.integers(0, 1000).map(float),
    st.sampled_from(SUPPLIES),
    st.booleans(),
    st.integers(1, 400).map(float),
    st.integers(0, 100).map(lambda cm: cm / 100),
    st.sampled_from(DIVIDERS),
    st.sampled_from(CROSSINGS),
)


@given(st.lists(RUNS, min_size=1, max_size=8))
def test_what_is_written_in_words_or_as_a_table_is_read_back(runs: list[Run]) -> None:
    words = "\n".join(
        f"{r.name}: {r.use} {r.volts:g} V {r.supply}, {'' if r.shielded else 'un'}shielded, {r.parallel_m:g} m at "
        f"{r.distance_m:g} m, {'no' if r.divider == 'none' else r.divider} divider"
        + (f", {r.crossing}" if r.crossing != "none" else "")
        for r in runs
    )
    table = "distance (cm)\tcrossing\tname\tdivider\tvoltage\tuse\tsupply\tshielded\tparallel\n" + "\n".join(
        f"{100 * r.distance_m:g}\t{r.crossing}\t{r.name}\t{r.divider}\t{r.volts:g}\t{r.use}\t{r.supply}\t"
        f"{'yes' if r.shielded else 'no'}\t{r.parallel_m:g}"
        for r in runs
    )
    assert read_runs(words) == tuple(runs)
    assert [r.distance_m for r in read_runs(table)] == pytest.approx([r.distance_m for r in runs])
    assert [(r.name, r.use, r.volts, r.crossing) for r in read_runs(table)] == [
        (r.name, r.use, r.volts, r.crossing) for r in runs
    ]


@given(st.text(max_size=80) | st.text("cablekindmotor 0123.,;:\t\nVACDm", max_size=60))
def test_any_text_is_read_or_refused_with_a_sentence(text: str) -> None:
    try:
        assert read_runs(text)
    except WorkbookError as error:
        assert str(error).endswith((".", "?", ")."))
