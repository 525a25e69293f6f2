"""Terminators: where they must be, what feeds them, and what a plug's switch cuts off.

"Both ends, nowhere else" and "powered at all times": M. Felser, PROFIBUS Manual, bus termination. What the
usual plug does to its outgoing cable, and the terminator with its own supply, are common practice.
"""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.cable.laid import Piece, Plug, Segment, even_line
from helpers.bus.cable.termination import check_termination, cut_parts, feeders, lost, switches, terminated, when_off
from helpers.verdict import Degree, Finding, worst

# Both ends, nowhere else: M. Felser, PROFIBUS Manual, bus termination; HBK AED9101D manual p.82; Omron PRT21
# manual p.60. Only the first speaks of the supply, so it advises. Who is cut off by a plug can't exchange data.
IN_ORDER, CAUTION, FORBIDDEN = Degree.IN_ORDER, Degree.CAUTION, Degree.BY_EVERY_SOURCE
CUT_OFF = Degree.CANNOT_WORK


def line(on: str, *, count: int = 5, bit_rate: float = 500_000, **changes: dict[str, object]) -> Segment:
    """Devices A, B, C …, A the controller; `on` names those with the terminator on; changes by name."""
    names = "ABCDEFGH"[:count]
    plugs = tuple(
        replace(
            Plug(name, "drive" if n else "controller", terminator_on=name in on),
            **changes.get(name, {}),  # type: ignore[arg-type]
        )
        for n, name in enumerate(names)
    )
    return Segment("s", plugs, (Piece(5),) * (count - 1), bit_rate)


def told(findings: tuple[Finding, ...]) -> list[tuple[str, str, Degree]]:
    return [(f.rule.removeprefix("termination: "), f.place.removeprefix("s: "), f.degree) for f in findings]


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        ("AE", [("both ends", "s", IN_ORDER)]),
        ("A", [("both ends", "E", FORBIDDEN)]),
        ("E", [("both ends", "A", FORBIDDEN)]),
        ("", [("both ends", "A", FORBIDDEN), ("both ends", "E", FORBIDDEN)]),
        ("ACE", [("both ends", "C", CUT_OFF)]),
        ("AC", [("both ends", "C", CUT_OFF), ("both ends", "E", FORBIDDEN)]),
        ("BD", [("both ends", n, CUT_OFF if n in "BD" else FORBIDDEN) for n in "ABDE"]),
    ],
)
def test_none_one_two_and_three_terminators(on: str, expected: list[tuple[str, str, Degree]]) -> None:
    assert told(check_termination(line(on))) == expected


def test_the_switches_that_must_be_on() -> None:
    assert [s.on for s in switches(line("C"))] == [True, False, False, False, True]


def test_a_terminator_with_its_own_supply_takes_over_and_the_plug_is_off() -> None:
    own = line("A", E={"own_supply": True})
    assert told(check_termination(own)) == [("both ends", "s", IN_ORDER)]
    assert [s.on for s in switches(own)] == [True, False, False, False, False]
    doubled = check_termination(line("AE", E={"own_supply": True}))
    assert told(doubled) == [("both ends", "E", FORBIDDEN)]
    assert doubled[0].found == "two terminators at this end"


def test_a_terminator_with_its_own_supply_in_the_middle() -> None:
    (finding,) = check_termination(line("AE", C={"own_supply": True}))
    assert (finding.place, finding.degree, finding.to_do) == ("s: C", FORBIDDEN, "Take it out.")
    assert "lost" not in finding.found


def test_a_terminator_at_a_place_of_its_own() -> None:
    at_end = line("A", E={"kind": "terminator"})
    assert told(check_termination(at_end)) == [("both ends", "s", IN_ORDER)]
    assert told(check_termination(line("AE", E={"kind": "terminator"}))) == [("both ends", "E", FORBIDDEN)]
    dead = line("A", E={"kind": "terminator", "powered": False})
    assert told(check_termination(dead)) == [("supplied", "E", CAUTION)]


# Common practice: above 1.5 Mbit/s terminators with their own supply.
@pytest.mark.parametrize(
    ("bit_rate", "degree"), [(1_500_000, IN_ORDER), (3_000_000, CAUTION), (6_000_000, CAUTION), (12_000_000, CAUTION)]
)
def test_own_supply_is_advised_above_1500(bit_rate: float, degree: Degree) -> None:
    findings = check_termination(line("AE", bit_rate=bit_rate))
    assert worst(findings) is degree
    if degree is CAUTION:
        assert told(findings) == [("own supply", "A", CAUTION), ("own supply", "E", CAUTION)]
        own = line("", bit_rate=bit_rate, A={"own_supply": True}, E={"own_supply": True})
        assert worst(check_termination(own)) is IN_ORDER


def test_a_repeater_at_the_end_brings_its_own() -> None:
    repeater = {"kind": "repeater", "plug_type": "device"}
    at_end = line("AE", bit_rate=12_000_000, A={"own_supply": True, "terminator_on": False}, E=repeater)
    assert told(check_termination(at_end)) == [("both ends", "s", IN_ORDER)]
    assert "repeater" in switches(at_end)[-1].why
    dead = line("AE", E={**repeater, "powered": False})
    assert told(check_termination(dead)) == [("supplied", "E", CAUTION)]


# M. Felser, PROFIBUS Manual, bus termination: in the device not recommended, not allowed at 12 Mbit/s.
@pytest.mark.parametrize(("bit_rate", "degree"), [(500_000, CAUTION), (6_000_000, CAUTION), (12_000_000, CAUTION)])
def test_a_terminator_inside_a_device(bit_rate: float, degree: Degree) -> None:
    inside = line("AE", bit_rate=bit_rate, A={"own_supply": True, "terminator_on": False}, E={"plug_type": "device"})
    assert told(check_termination(inside)) == [("in the device", "E", degree)]


def test_a_device_without_terminator_in_its_plug_needs_a_plug_that_has_one() -> None:
    (finding,) = check_termination(line("A", E={"plug_type": "device"}))
    assert (finding.degree, finding.to_do) == (FORBIDDEN, "Fit a plug with a terminator, and switch it on.")


def test_an_end_device_that_is_off_leaves_its_terminator_dead() -> None:
    good = line("AE")
    assert told(when_off(good, "E")) == [("supplied", "E", CAUTION)]
    assert told(when_off(good, "AE")) == [("supplied", "A", CAUTION), ("supplied", "E", CAUTION)]
    assert worst(when_off(good, "BCD")) is IN_ORDER
    assert feeders(good) == ("A", "E")


def test_a_terminator_with_its_own_supply_outlives_its_device() -> None:
    own = line("A", E={"own_supply": True})
    assert worst(when_off(own, "E")) is IN_ORDER
    assert feeders(own) == ("A",)


def test_own_supply_is_advised_where_the_end_device_may_be_off() -> None:
    assert told(check_termination(line("AE", E={"may_be_off": True}))) == [("own supply, end device off", "E", CAUTION)]
    assert worst(check_termination(line("AE", C={"may_be_off": True}))) is IN_ORDER


def names(parts: tuple[tuple[Plug, ...], ...]) -> list[str]:
    return ["".join(plug.name for plug in part) for part in parts]


@pytest.mark.parametrize(
    ("segment", "parts", "gone"),
    [
        (line("AE"), ["ABCDE"], ""),
        (line("ACE"), ["ABC", "DE"], "DE"),
        (line("ACE", C={"plug_type": "through"}), ["ABCDE"], ""),
        (line("ACE", C={"plug_type": "device"}), ["ABCDE"], ""),
        (line("ACE", C={"sides_exchanged": True}), ["AB", "CDE"], "CDE"),
        (line("ACE", C={"stub_length_m": 1.0}), ["ABCDE"], ""),
        (line("ABDE"), ["AB", "CD", "E"], "CDE"),
        (line("AE", A={"sides_exchanged": True}), ["A", "BCDE"], "BCDE"),
        (line("AE", E={"sides_exchanged": True}), ["ABCD", "E"], "E"),
        (line("A", E={"sides_exchanged": True}), ["ABCDE"], ""),
        (line("ACE", A={"kind": "drive"}, E={"kind": "controller"}), ["ABC", "DE"], "ABC"),
        (line("ACE", A={"kind": "drive"}, D={"kind": "repeater"}), ["ABC", "DE"], "ABC"),
        (line("ACE", A={"kind": "drive"}), ["ABC", "DE"], "DE"),
        (line("AD", count=4, B={"terminator_on": True, "sides_exchanged": True}), ["A", "BCD"], "BCD"),
    ],
)
def test_what_a_cutting_plug_cuts_off(segment: Segment, parts: list[str], gone: str) -> None:
    assert names(cut_parts(segment)) == parts
    assert "".join(lost(segment)) == gone


def test_the_finding_names_who_is_lost() -> None:
    (cut,) = check_termination(line("ACE"))
    assert cut.found == "a terminator in the middle; it cuts off its outgoing cable: D, E lost"
    (through,) = check_termination(line("ACE", C={"plug_type": "through"}))
    assert through.found == "a terminator in the middle"
    hidden = check_termination(line("ABDE"))
    assert [f.found.rsplit(": ", 1)[1] for f in hidden] == ["C, D lost", "C, D, E lost"]


def test_sides_exchanged_at_an_end_opens_the_cable() -> None:
    (finding,) = check_termination(line("AE", E={"sides_exchanged": True}))
    assert (finding.rule, finding.degree) == ("termination: sides of the plug", CUT_OFF)
    assert "E lost" in finding.found and "open" in finding.found


def test_sides_exchanged_in_the_middle_wait_for_the_switch() -> None:
    assert told(check_termination(line("AE", C={"sides_exchanged": True}))) == [("sides of the plug", "C", CAUTION)]
    harmless = line("AE", C={"sides_exchanged": True, "plug_type": "through"})
    assert told(check_termination(harmless)) == [("both ends", "s", IN_ORDER)]


FLAGS = st.lists(st.booleans(), min_size=4, max_size=4)
KINDS = ["controller", "drive", "repeater"]
PLUGS = ["cutting", "through", "device"]


@st.composite
def segments(draw: st.DrawFn) -> Segment:
    count = draw(st.integers(2, 7))
    plugs = []
    for n in range(count):
        kinds = [*KINDS, "terminator"] if n in (0, count - 1) else KINDS
        kind, plug, stub_m = draw(st.sampled_from([(k, p, m) for k in kinds for p in PLUGS for m in (0.0, 1.0)]))
        on, own, exchanged, off = draw(FLAGS)
        stub = {"stub_length_m": stub_m, "plug_type": plug, "terminator_on": on, "own_supply": own}
        plugs.append(Plug(f"device {n}", kind, sides_exchanged=exchanged, may_be_off=off, **stub))
    return Segment("s", tuple(plugs), (Piece(2),) * (count - 1), draw(st.sampled_from(bit_rates())))


@given(segments())
def test_a_segment_put_right_is_in_order_and_whole(segment: Segment) -> None:
    right = terminated(segment)
    assert worst(check_termination(right)) is IN_ORDER
    assert lost(right) == ()
    assert terminated(right) == right
    assert [s.on for s in switches(right)] == [plug.terminator_on for plug in right.plugs]


@given(segments(), st.integers(0))
def test_every_wrong_switch_is_found(segment: Segment, which: int) -> None:
    right = terminated(segment)
    n = which % len(right.plugs)
    wrong = replace(right.plugs[n], terminator_on=not right.plugs[n].terminator_on)
    findings = check_termination(replace(right, plugs=(*right.plugs[:n], wrong, *right.plugs[n + 1 :])))
    assert [f.place for f in findings] == [f"s: {wrong.name}"]
    assert worst(findings).forbidden


@given(segments())
def test_the_pieces_hold_every_device_once_in_order(segment: Segment) -> None:
    assert tuple(plug for part in cut_parts(segment) for plug in part) == segment.plugs
    assert all(cut_parts(segment))


@given(segments())
def test_both_ends_is_kept_exactly_if_one_terminator_is_on_at_each_end(segment: Segment) -> None:
    """Second method: list the places of all terminators, and compare with the two ends."""
    at = [
        n
        for n, plug in enumerate(segment.plugs)
        for on in (plug.terminator_on, plug.own_supply or plug.kind == "terminator")
        if on
    ]
    broken = any(f.rule == "termination: both ends" and f.degree.forbidden for f in check_termination(segment))
    assert broken == (at != [0, len(segment.plugs) - 1])


def test_a_line_of_two_has_two_ends() -> None:
    assert worst(check_termination(even_line(stations=2, length_m=10, bit_rate=500_000))) is IN_ORDER
    turned = line("AB", count=2, B={"sides_exchanged": True})
    assert names(cut_parts(turned)) == ["A", "B"]
