"""`segment`: is a segment of evenly spaced stations in order, and which bit rate does its cable carry."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import replace

from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.bus.cable.laid import Segment, cable_types, even_line
from helpers.bus.cable.segment import Highest, check, highest_bit_rate
from helpers.errors import Unreadable
from helpers.plan.model import Network, titled
from helpers.shell.command import Command
from helpers.shell.network import add_network, networks
from helpers.shell.text import findings, paragraph
from helpers.verdict import worst
from helpers.written import read_quantity, whole


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--length", help="cable from end to end: 180 m, 600 ft; without a unit in m")
    parser.add_argument("--stations", help="everything on the cable: controller and repeaters too")
    parser.add_argument(
        "--rate", help='bit rate: "1.5 Mbit/s", "500 kbit/s"; without it the highest possible is sought'
    )
    parser.add_argument("--cable", default="A", choices=cable_types(), help="type of the cable (A)")
    parser.add_argument("--stub", default="0", help="length of the stub at each station between the ends (0)")
    add_network(parser)
    parser.add_argument("--all", action="store_true", help="list what is in order too")


def _run(asked: Namespace) -> int:
    rate = read_quantity(asked.rate, "bit rate", "kbit/s") if asked.rate else None
    if asked.plan:
        return max(_of_plan(network, rate, asked.all) for network in networks(asked))
    if not (asked.length and asked.stations):
        raise Unreadable("give --length and --stations, or --plan with the name of a network.")
    line = even_line(
        stations=whole(asked.stations),
        length_m=read_quantity(asked.length, "length", "m"),
        bit_rate=rate or bit_rates()[0],
        cable=asked.cable,
        stub_length_m=read_quantity(asked.stub, "length", "m"),
    )
    return _judged(line, everything=asked.all, at_rate=rate is not None)


def _of_plan(network: Network, rate: float | None, everything: bool) -> int:
    """Each segment of a network, at a bit rate or at its own."""
    status = 0
    for part in replace(network, bit_rate=rate or network.bit_rate).segments:
        line = titled(part)
        print(f"{network.name}, {line.name}")
        status = max(status, _judged(line, everything=everything))
        print()
    return status


def _judged(line: Segment, *, everything: bool, at_rate: bool = True) -> int:
    """What is said of one segment: its findings at its bit rate, and how fast it may be."""
    status = 0
    if at_rate:
        found = check(line)
        print(f"{bit_rate_text(line.bit_rate)}: {worst(found).words}")
        blocks = findings(found, everything=everything)
        print(f"\n{blocks}\n\n" if blocks else "", end="")
        status = int(worst(found).forbidden)
    by_all, by_some = (highest_bit_rate(line, leniently=leniently) for leniently in (False, True))
    if by_some.bit_rate != by_all.bit_rate:
        print(_highest("highest bit rate in order", by_all))
    head = "highest bit rate" + (" by the most lenient source" if by_some.bit_rate != by_all.bit_rate else "")
    print(_highest(head, by_some))
    return status


def _highest(head: str, answer: Highest) -> str:
    rate = bit_rate_text(answer.bit_rate) if answer.bit_rate else "none"
    why = answer.why[0] if answer.why else None
    if why and answer.at_none:
        return paragraph(f"{head}: {rate}; at any bit rate {why.rule} {why.found}, {why.allowed}", "  ")
    limit = f"; beyond it {why.rule} {why.allowed}" if why else ""
    return paragraph(f"{head}: {rate}{limit}", "  ")


SEGMENT = Command(
    "segment",
    "is a segment in order, and which bit rate does its cable carry",
    """\
$ python -m helpers segment --length "180 m" --stations 20 --rate "1.5 Mbit/s"
1.5 Mbit/s: in order
highest bit rate: 1.5 Mbit/s; beyond it length of the segment at most 100 m

$ python -m helpers segment --plan "Saltmarsh Mill"
Mill line, segment 1
1.5 Mbit/s: in order
...

$ python -m helpers segment --length "700 ft" --stations 12 --rate "1.5 Mbit/s"
1.5 Mbit/s: not allowed, by the standard

NOT ALLOWED, BY THE STANDARD: length of the segment, segment
  found    213.36 m of type A at 1.5 Mbit/s
  allowed  at most 200 m
  source   PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.32 (standard)
  to do    Shorten the cable, choose a lower bit rate, or divide the segment with a repeater.

highest bit rate: 500 kbit/s; beyond it length of the segment at most 200 m
""",
    _arguments,
    _run,
)
