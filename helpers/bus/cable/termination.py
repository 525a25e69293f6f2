"""The ends of a segment: which terminators must be on, and what a plug's switch does to the cable.

Only rules and switches are here; what they do to voltages and resistances is the circuit's business.
The incoming side of a plug is meant for the cable from the previous device in the list; at both ends of a
segment the only cable belongs there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.cable.laid import Plug, Segment
from helpers.facts import Fact, one, where
from helpers.verdict import Degree, Finding, cited, forbidding


@dataclass(frozen=True)
class Switch:
    """How the terminator switch at a device must stand, and why."""

    name: str
    on: bool
    why: str


def switches(segment: Segment) -> tuple[Switch, ...]:
    """How every terminator switch of a segment must stand.

    On at both ends and nowhere else; off at an end where a terminator with its own supply sits.
    Source: M. Felser, PROFIBUS Manual, bus termination; the own supply is common practice.

    >>> from helpers.bus.cable.laid import even_line
    >>> [switch.on for switch in switches(even_line(stations=3, length_m=50, bit_rate=500_000))]
    [True, False, True]
    """
    last = len(segment.plugs) - 1
    return tuple(_switch(plug, at_end=n in (0, last)) for n, plug in enumerate(segment.plugs))


def _switch(plug: Plug, *, at_end: bool) -> Switch:
    if not at_end:
        return Switch(plug.name, False, "not at an end of the segment")
    if plug.has_box:
        return Switch(plug.name, False, "the terminator with its own supply does it")
    if plug.is_repeater:
        return Switch(plug.name, True, "end of the segment; the repeater brings its own terminator")
    return Switch(plug.name, True, "end of the segment")


def terminated(segment: Segment) -> Segment:
    """The same segment with all switches as `switches` wants them, and the plugs' sides in order.

    A terminator with its own supply is added at an end above 1.5 Mbit/s and where the device may be off,
    unless a repeater is there; a device that terminates inside gets a plug that does.

    >>> from helpers.bus.cable.laid import even_line
    >>> line = terminated(even_line(stations=3, length_m=50, bit_rate=12_000_000))
    >>> [(plug.terminator_on, plug.own_supply) for plug in line.plugs]
    [(False, True), (False, False), (False, True)]
    """
    last = len(segment.plugs) - 1
    fast = _applies(one("wiring_rules", rule="own supply"), segment)
    plugs = (_corrected(d, at_end=n in (0, last), fast=fast) for n, d in enumerate(segment.plugs))
    return replace(segment, plugs=tuple(plugs))


def _corrected(plug: Plug, *, at_end: bool, fast: bool) -> Plug:
    wanted = (fast or plug.may_be_off) and not plug.is_repeater
    plug = replace(
        plug,
        own_supply=at_end and (plug.own_supply or wanted),
        sides_exchanged=False,
        plug_type="cutting" if plug.plug_type == "device" and not plug.is_repeater else plug.plug_type,
    )
    return replace(plug, terminator_on=_switch(plug, at_end=at_end).on)


def cut_parts(segment: Segment) -> tuple[tuple[Plug, ...], ...]:
    """The parts into which cutting plugs divide a segment, in order along the cable.

    A cutting plug with its terminator on cuts off its outgoing cable, and its device stays with the
    incoming one. In the middle of a line that is the cable towards the next device, with the sides
    exchanged the one towards the previous. At an end the only cable is on the incoming side and nothing
    is cut; with the sides exchanged the device stands alone. A device on a stub cuts nothing.
    Standing: common practice; see data/plugs.csv.

    >>> from helpers.bus.cable.laid import Piece
    >>> line = Segment("s", tuple(Plug(n, terminator_on=n in "ACE") for n in "ABCDE"), (Piece(9),) * 4, 9600)
    >>> [[plug.name for plug in part] for part in cut_parts(line)]
    [['A', 'B', 'C'], ['D', 'E']]
    """
    cuts = {cut for n in range(len(segment.plugs)) if (cut := _cut(segment, n)) is not None}
    bounds = [0, *sorted(cut + 1 for cut in cuts), len(segment.plugs)]
    return tuple(segment.plugs[a:b] for a, b in pairwise(bounds))


def lost(segment: Segment) -> tuple[str, ...]:
    """Names of the devices that cutting plugs separate from the controller.

    Without a controller in this segment, a repeater is what they are separated from, else the first device.

    >>> from helpers.bus.cable.laid import even_line
    >>> line = even_line(stations=4, length_m=60, bit_rate=500_000)
    >>> wrong = replace(line.plugs[1], terminator_on=True)
    >>> lost(replace(line, plugs=(line.plugs[0], wrong, *line.plugs[2:])))
    ('station 3', 'station 4')
    """
    parts = cut_parts(segment)
    kept = 0
    for kind in ("controller", "repeater"):
        with_it = [n for n, part in enumerate(parts) if any(plug.kind == kind for plug in part)]
        if with_it:
            kept = with_it[0]
            break
    return tuple(plug.name for n, part in enumerate(parts) if n != kept for plug in part)


def feeders(segment: Segment) -> tuple[str, ...]:
    """Names of the devices that must keep their supply, because they feed a terminator at an end.

    >>> from helpers.bus.cable.laid import even_line
    >>> feeders(even_line(stations=3, length_m=50, bit_rate=500_000))
    ('station 1', 'station 3')
    """
    ends = (segment.plugs[0], segment.plugs[-1])
    return tuple(plug.name for plug in ends if plug.terminator_on and not plug.has_box)


def check_termination(segment: Segment) -> tuple[Finding, ...]:
    """All findings on the terminators of a segment; one in order where all rules are kept.

    >>> from helpers.bus.cable.laid import even_line
    >>> [f.verdict for f in check_termination(even_line(stations=3, length_m=50, bit_rate=500_000))]
    ['in order']
    """
    last = len(segment.plugs) - 1
    findings = [
        finding
        for n, plug in enumerate(segment.plugs)
        for finding in (_at_end if n in (0, last) else _in_the_middle)(segment, n, plug)
    ]
    return tuple(findings) or (
        _finding("both ends", segment.name, "a terminator at both ends, nowhere else", "", Degree.IN_ORDER),
    )


def when_off(segment: Segment, names: Iterable[str]) -> tuple[Finding, ...]:
    """The findings on termination while the devices with these names have no supply.

    A terminator in a plug or a device is fed by that device and goes dead with it; one with its own
    supply stays. The cable runs on through the plug.

    >>> from helpers.bus.cable.laid import even_line
    >>> line = even_line(stations=3, length_m=50, bit_rate=500_000)
    >>> [f.place for f in when_off(line, ["station 3"])]
    ['segment: station 3']
    """
    off = set(names)
    plugs = tuple(replace(d, powered=d.powered and d.name not in off) for d in segment.plugs)
    return check_termination(replace(segment, plugs=plugs))


def _at_end(segment: Segment, n: int, plug: Plug) -> list[Finding]:
    place = f"{segment.name}: {plug.name}"
    own, on = plug.has_box, plug.terminator_on
    findings = _sides(segment, n, plug, place)
    if not on and not own:
        bare = plug.plug_type == "device" and not plug.is_repeater
        what = "Fit a plug with a terminator, and switch it on." if bare else "Switch the terminator on."
        findings.append(_finding("both ends", place, "no terminator at this end", what))
    elif on and own:
        what = "Switch off the one in the plug or in the device."
        findings.append(_finding("both ends", place, "two terminators at this end", what))
    elif plug.kind == "terminator":
        if not plug.powered:
            what = "Switch its supply on."
            findings.append(_finding("supplied", place, "its own supply is off", what))
    elif on and not plug.is_repeater:
        findings += _fed_by_device(segment, plug, place)
    elif on and not plug.powered:
        findings.append(_finding("supplied", place, "the repeater has no supply", "Feed the repeater."))
    return findings


def _fed_by_device(segment: Segment, plug: Plug, place: str) -> list[Finding]:
    """A terminator that is on at an end and lives on the supply of its device."""
    rate = bit_rate_text(segment.bit_rate)
    findings = []
    what = "Fit a terminator with its own supply, and switch this one off."
    if not plug.powered:
        what_now = "Feed the device, or fit a terminator with its own supply and switch this one off."
        findings.append(_finding("supplied", place, "on, but its device has no supply", what_now))
    elif plug.may_be_off:
        found = "fed by a device that is switched off now and then"
        findings.append(_finding("own supply, end device off", place, found, what))
    elif _applies(one("wiring_rules", rule="own supply"), segment) and plug.plug_type != "device":
        findings.append(_finding("own supply", place, f"fed by its device at {rate}", what))
    if plug.plug_type == "device":
        rules = [rule for rule in where("wiring_rules", rule="in the device") if _applies(rule, segment)]
        found = f"the terminator inside the device is on at {rate}"
        what = "Use a plug with a terminator, and switch off the one in the device."
        findings.append(_finding("in the device", place, found, what, facts=rules))
    return findings


def _in_the_middle(segment: Segment, n: int, plug: Plug) -> list[Finding]:
    place = f"{segment.name}: {plug.name}"
    if not plug.terminator_on and not plug.has_box:
        return _sides(segment, n, plug, place)
    found, degree = "a terminator in the middle", None
    if _cut(segment, n) is not None:
        degree = Degree.CANNOT_WORK
        found += f"; it cuts off its outgoing cable: {_lost_by(segment, n, replace(plug, terminator_on=False))} lost"
    what = "Take it out." if plug.has_box else "Switch it off."
    return [_finding("both ends", place, found, what, degree)]


def _sides(segment: Segment, n: int, plug: Plug, place: str) -> list[Finding]:
    """Cables exchanged at a cutting plug: they wait for the switch, or the switch has already cut them off."""
    if not plug.sides_exchanged or not plug.cuts or plug.stub_length_m:
        return []
    if _cut(segment, n) is None:
        found = "incoming and outgoing cable exchanged; no harm while the terminator is off"
        what, degree = "Exchange them, before someone switches this terminator on.", Degree.CAUTION
    else:
        gone = _lost_by(segment, n, replace(plug, sides_exchanged=False))
        found = f"the cable is on the outgoing side and cut off there: {gone} lost, and the end of the cable is open"
        what, degree = "Put the cable on the incoming side.", Degree.CANNOT_WORK
    return [_finding("sides of the plug", place, found, what, degree)]


def _lost_by(segment: Segment, n: int, healed: Plug) -> str:
    """Who is lost now and would not be with device n healed; all who are lost where another cut hides it."""
    now = lost(segment)
    still = lost(replace(segment, plugs=(*segment.plugs[:n], healed, *segment.plugs[n + 1 :])))
    return ", ".join([name for name in now if name not in still] or now)


def _cut(segment: Segment, n: int) -> int | None:
    """Index of the section that device n cuts off, if it does."""
    plug, last = segment.plugs[n], len(segment.plugs) - 1
    if not plug.terminator_on or not plug.cuts or plug.stub_length_m:
        return None
    if n in (0, last):
        return max(n - 1, 0) if plug.sides_exchanged else None
    return n - 1 if plug.sides_exchanged else n


def _applies(rule: Fact, segment: Segment) -> bool:
    return not rule.has("from_kbit_s") or segment.bit_rate >= 1000 * rule.number("from_kbit_s")


def _finding(
    rule: str, place: str, found: str, to_do: str, degree: Degree | None = None, facts: Iterable[Fact] | None = None
) -> Finding:
    """A finding on a rule of `data/wiring_rules.csv`; without a degree, as bad as the rule's sources make it."""
    facts = tuple(facts or where("wiring_rules", rule=rule))
    if degree is None:
        degree = forbidding(fact for fact in facts if fact["strength"] == "must") or Degree.CAUTION
    allowed = "; ".join(dict.fromkeys(fact["about"] for fact in facts))
    return Finding(f"termination: {rule}", place, found, allowed, cited(facts), to_do, degree)
