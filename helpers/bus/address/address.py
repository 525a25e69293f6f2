"""Bus addresses: what each number means, what is wrong with a list of them, and a good list for a new line.

An address is one number from 0 to 127. What each range means is `data/address_ranges.csv`; what practice
adds is `data/address_practice.csv`. Repeaters, couplers and optical converters have no address.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from helpers import facts
from helpers.errors import OutOfRange, in_range, one_of
from helpers.verdict import Degree, Finding, at_most
from helpers.written import whole

# Everything that has an address. `other` is any other station that a controller polls.
KINDS = ("controller", "engineering computer", "drive", "remote I/O", "other")
MASTERS = KINDS[:2]  # these take the token

LOWEST = min(row.whole("low") for row in facts.rows("address_ranges"))
HIGHEST = max(row.whole("high") for row in facts.rows("address_ranges"))
_USABLE = facts.one("address_ranges", meaning="usable")
LAST_USABLE = _USABLE.whole("high")
RANGE_SOURCE = _USABLE.source
_HSA = facts.one("address_practice", rule="highest station address")


@dataclass(frozen=True)
class AddressMeaning:
    """What one number means as the address of one kind of station."""

    address: int
    meaning: str
    reason: str
    to_do: str
    source: str
    degree: Degree

    @property
    def verdict(self) -> str:
        """The degree in words."""
        return self.degree.words


@dataclass(frozen=True)
class Spelling:
    """One address in the three ways in which it is written."""

    decimal: str
    hexadecimal: str
    binary: str


@dataclass(frozen=True)
class Holder:
    """A station and the address it has been given; `kind` is one of `KINDS`."""

    name: str
    kind: str
    address: int


@dataclass(frozen=True)
class Proposed:
    """One line of a proposal: the address, who gets it, and why this one."""

    address: int
    holder: str
    kind: str
    why: str


def classify(address: int, kind: str = "drive") -> AddressMeaning:
    """What a number means as an address: usable, engineering practice, delivery default, broadcast, out of range.

    Parameters: address, any whole number; kind, one of `KINDS`. Raises `Unknown` for another kind.
    Source: M. Felser, PROFIBUS Manual, addressing.

    >>> classify(126).meaning, classify(126).verdict
    ('delivery default', 'not allowed, cannot work')
    >>> classify(0).verdict, classify(0, "engineering computer").verdict
    ('outside cautious practice', 'in order')
    """
    one_of("kind of station", kind, KINDS)
    for row in facts.rows("address_ranges"):
        meant = not row.has("kinds") or kind in row["kinds"].split("|")
        if meant and row.whole("low") <= address <= row.whole("high"):
            degree = Degree[row["degree"]]
            return AddressMeaning(address, row["meaning"], row["reason"], row["to_do"], row.cited, degree)
    return AddressMeaning(
        address,
        "out of range",
        f"An address is one number from {LOWEST} to {HIGHEST}; {address} is not one of them.",
        f"Set an address from {_USABLE['low']} to {LAST_USABLE}.",
        _USABLE.cited,
        Degree.CANNOT_WORK,
    )


def read(text: object) -> int:
    """The address that a text names: `126`, `16#7E`, `0x7E`, `7Eh` or `2#0111_1110`.

    Raises `Unreadable` if it is no whole number, `OutOfRange` if it is not from 0 to 127.

    >>> read("16#7E"), read("2#0000_0101")
    (126, 5)
    """
    address = whole(text)
    in_range("address", address, LOWEST, HIGHEST, source=RANGE_SOURCE)
    return address


def spell(address: int) -> Spelling:
    """The address in decimal, hexadecimal and binary. Raises `OutOfRange` outside 0 to 127.

    >>> spell(126)
    Spelling(decimal='126', hexadecimal='16#7E', binary='2#0111_1110')
    """
    in_range("address", address, LOWEST, HIGHEST, source=RANGE_SOURCE)
    bits = f"{address:08b}"
    return Spelling(str(address), f"16#{address:02X}", f"2#{bits[:4]}_{bits[4:]}")


def duplicates(addresses: Iterable[int]) -> dict[int, tuple[int, ...]]:
    """Every address that occurs more than once, with its places in the list, counted from 0.

    >>> duplicates([3, 4, 3, 5])
    {3: (0, 2)}
    """
    places: dict[int, tuple[int, ...]] = {}
    for place, address in enumerate(addresses):
        places[address] = (*places.get(address, ()), place)
    return {address: found for address, found in places.items() if len(found) > 1}


def next_free(taken: Iterable[int], start: int = 1) -> int:
    """The lowest address from `start` to 125 that nobody has.

    0 is never offered unless asked for with `start=0`; 126 and 127 never are.
    Raises `OutOfRange` if `start` is not from 0 to 125 or nothing is left above it.

    >>> next_free([1, 2, 3, 5])
    4
    """
    in_range("first address to look at", start, LOWEST, LAST_USABLE, source=RANGE_SOURCE)
    used = set(taken)
    for address in range(start, LAST_USABLE + 1):
        if address not in used:
            return address
    raise OutOfRange(f"no address is free from {start} to {LAST_USABLE}, the last usable one ({RANGE_SOURCE}).")


def propose(groups: Mapping[str, int], controllers: int = 1) -> tuple[Proposed, ...]:
    """Addresses for a new line: 0 kept, controllers from 1, each group of stations with room to grow, 126 free.

    Parameters: groups, the number of stations of each group by its name, in the order of the plant;
    controllers, how many there are. Groups start at the next ten, or at the next five where tens do not
    fit, with an address spare at each end; a line too full for that is numbered without gaps.
    Returns the addresses in rising order. Raises `OutOfRange` if the stations do not fit into 1 to 125.
    Source: M. Felser, PROFIBUS Manual, addressing; the groups are common practice.

    >>> [(line.address, line.holder) for line in propose({"intake": 1, "dryer": 2})]
    [(0, 'engineering computer'), (1, 'controller'), (10, 'intake 1'), (20, 'dryer 1'), (21, 'dryer 2')]
    """
    in_range("number of controllers", controllers, 1, LAST_USABLE, source=RANGE_SOURCE)
    for name, count in groups.items():
        in_range(f"number of stations in group {name!r}", count, 1, LAST_USABLE, source=RANGE_SOURCE)
    in_range(
        "number of stations and controllers", controllers + sum(groups.values()), 1, LAST_USABLE, source=RANGE_SOURCE
    )

    kept = facts.one("address_practice", rule="engineering address")
    first = facts.one("address_practice", rule="first controller").whole("value")
    lines = [Proposed(kept.whole("value"), "engineering computer", "engineering computer", kept["advice"])]
    for number in range(controllers):
        name = "controller" if controllers == 1 else f"controller {number + 1}"
        lines.append(Proposed(first + number, name, "controller", "Controllers are numbered from 1 upward."))
    starts, why = _group_starts(groups, first + controllers)
    for (name, count), start in zip(groups.items(), starts, strict=True):
        lines += [Proposed(start + n, f"{name} {n + 1}", "drive", why) for n in range(count)]
    return tuple(lines)


def _group_starts(groups: Mapping[str, int], free_from: int) -> tuple[list[int], str]:
    """Where each group starts, by the widest step that fits, and the sentence that says so."""
    spare = facts.one("address_practice", rule="spare in group").whole("value")
    for step_row in facts.where("address_practice", rule="group start"):
        step = step_row.whole("value")
        starts, free = [], free_from
        for count in groups.values():
            start = -(-free // step) * step
            starts.append(start)
            free = start + count + spare
        if free - 1 <= LAST_USABLE:
            return starts, f"The group starts at a multiple of {step}, with room to grow."
    starts = [free_from + sum(list(groups.values())[:n]) for n in range(len(groups))]
    return starts, "The line is too full for gaps: the groups follow each other closely."


def check(holders: Sequence[Holder], hsa: int | None = None) -> tuple[Finding, ...]:
    """Everything there is to say about the addresses of one network, in the three degrees.

    Parameters: holders, the stations with their addresses; hsa, the highest station address set in the
    controllers, if known. Returns one finding for each station and each address given twice, then the
    order of controllers and stations, the count of stations, and the HSA.

    >>> [f.rule for f in check([Holder("fan", "drive", 5), Holder("screw", "drive", 5)]) if f.degree]
    ['address given twice']
    """
    findings = [_meaning_finding(holder) for holder in holders]
    for address, places in duplicates(holder.address for holder in holders).items():
        names = ", ".join(holders[place].name for place in places)
        findings.append(
            Finding(
                "address given twice",
                names,
                f"{address} is given {len(places)} times",
                "every address once",
                _USABLE.cited,
                "Give all but one of them another address. Until then neither can be relied on.",
                Degree.CANNOT_WORK,
            )
        )
    findings += _order_findings(holders)
    if holders:
        findings.append(check_count(len(holders)))
    if hsa is not None:
        findings += check_hsa(holders, hsa)
    return tuple(findings)


def _meaning_finding(holder: Holder) -> Finding:
    meant = classify(holder.address, holder.kind)
    return Finding(
        "address",
        holder.name,
        f"{holder.address}: {meant.meaning}",
        f"1 to {LAST_USABLE}" + (", or 0" if holder.kind == "engineering computer" else ""),
        meant.source,
        meant.to_do,
        meant.degree,
    )


def _order_findings(holders: Sequence[Holder]) -> list[Finding]:
    """Practice numbers the controllers below the other stations; advice, never a broken rule."""
    advice = facts.one("address_practice", rule="first controller")
    stations = [h.address for h in holders if h.kind not in ("controller", "engineering computer")]
    return [
        Finding(
            "controllers first",
            holder.name,
            f"controller at {holder.address}, above the station at {min(stations)}",
            "controllers below the other stations",
            advice.cited,
            advice["advice"],
            Degree.CAUTION,
        )
        for holder in holders
        if holder.kind == "controller" and stations and holder.address > min(stations)
    ]


def station_counts() -> tuple[facts.Fact, ...]:
    """The figures 124, 126 and 127 that are in print for "how many stations", with what each one counts.

    >>> [(row.whole("figure"), row.whole("in_operation")) for row in station_counts()]
    [(124, 125), (126, 126), (127, 126)]
    """
    return facts.rows("address_counts")


def check_count(stations: int) -> Finding:
    """Judge the number of stations of one network: everything with an address, controllers and computers too.

    >>> [check_count(n).verdict for n in (125, 126, 127)]
    ['in order', 'outside cautious practice', 'not allowed, cannot work']
    """
    in_range("number of stations", stations, 1, float("inf"))
    limit = facts.most(station_counts(), "in_operation")
    advice = "Keep 0 free for the engineering computer, or divide the network."
    found = at_most(rule="number of stations", place="network", value=stations, limit=limit, unit="", to_do=advice)
    # There are no more addresses to give.
    return replace(found, degree=Degree.CANNOT_WORK) if stations > LAST_USABLE - LOWEST + 1 else found


@lru_cache(1024)
def gap(own: int, following: int) -> tuple[int, ...]:
    """The addresses between a master and the one that follows it in the ring, in the order in which it polls them.

    With the HSA at its highest; where a master is alone, it follows itself. Source of the HSA's range: as `check_hsa`.

    >>> gap(1, 4), gap(1, 2), len(gap(1, 1)), gap(124, 1)
    ((2, 3), (), 126, (125, 126, 0))
    """
    addresses = _HSA.whole("value") + 1
    return tuple(a % addresses for a in range(own + 1, following + addresses * (following <= own)))


def check_hsa(holders: Sequence[Holder], hsa: int) -> tuple[Finding, ...]:
    """Judge the highest station address (HSA): the masters look for new stations and pass the token only up to it.

    A master above the HSA never gets the token. Any other station above it is polled all the same by the controller
    that has it in its list; only a search does not find it. Returns one finding for each station above
    the HSA, or one that is in order. Raises `OutOfRange` unless the HSA is from 0 to 126.
    Source: Elpro 105U-G/905U-G manual p.85 for the range; the effect is common practice.

    >>> [f.found for f in check_hsa([Holder("fan", "drive", 31), Holder("screw", "drive", 32)], 31)]
    ['32 is above the HSA of 31']
    """
    in_range("HSA", hsa, LOWEST, _HSA.number("value"), source=_HSA.source)
    above = [holder for holder in holders if holder.address > hsa]
    if not above:
        highest = max((holder.address for holder in holders), default=LOWEST)
        found = f"HSA {hsa}, highest address {highest}"
        return (Finding("HSA", "network", found, "no address above the HSA", _HSA.cited, "", Degree.IN_ORDER),)
    return tuple(
        Finding(
            "HSA",
            holder.name,
            f"{holder.address} is above the HSA of {hsa}",
            f"0 to {hsa}",
            "common practice",
            f"Raise the HSA to {holder.address} or more in every controller, or give a lower address: above the HSA it "
            "never gets the token."
            if holder.kind in MASTERS
            else "The controller that has it in its list polls it all the same. So that a search finds it too, raise "
            f"the HSA to {holder.address} or more.",
            Degree.CAUTION,
        )
        for holder in above
    )


def runs(addresses: Sequence[int]) -> str:
    """Addresses in short: runs of three or more as `10 to 14`.

    >>> runs([1, 10, 11, 12, 20, 21])
    '1, 10 to 12, 20, 21'
    """
    parts: list[list[int]] = []
    for address in sorted(set(addresses)):
        if parts and address == parts[-1][-1] + 1:
            parts[-1].append(address)
        else:
            parts.append([address])
    return ", ".join(f"{p[0]} to {p[-1]}" if len(p) > 2 else ", ".join(map(str, p)) for p in parts)
