"""`segment`: is a segment of evenly spaced stations in order, and which bit rate does its cable carry."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import replace

from helpers.answer import Answer
from helpers.bus.cable.bit_rates import bit_rates, known_bit_rate
from helpers.bus.cable.laid import Segment, cable_types, even_line
from helpers.bus.cable.segment import highest_bit_rate
from helpers.bus.cable.segment_answer import segment_answer
from helpers.errors import Unreadable
from helpers.plan.model import titled
from helpers.shell.command import Command
from helpers.shell.network import add_network, networks
from helpers.shell.text import say, say_all
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
    rate = known_bit_rate(read_quantity(asked.rate, "bit rate", "kbit/s")) if asked.rate else None
    if asked.plan:
        lines = [
            replace(titled(part), name=f"{network.name}, segment {part.name}", bit_rate=rate or network.bit_rate)
            for network in networks(asked)
            for part in network.segments
        ]
        return say_all((_answer(line, asked, named=True) for line in lines), everything=asked.all, sources=True)
    if not (asked.length and asked.stations):
        raise Unreadable("give --length and --stations, or --plan with the name of a network.")
    line = even_line(
        stations=whole(asked.stations),
        length_m=read_quantity(asked.length, "length", "m"),
        bit_rate=rate or bit_rates()[0],
        cable=asked.cable,
        stub_length_m=read_quantity(asked.stub, "length", "m"),
    )
    if not rate:
        fastest = highest_bit_rate(line, leniently=False).bit_rate or highest_bit_rate(line, leniently=True).bit_rate
        line = replace(line, bit_rate=fastest or line.bit_rate)
    return say(_answer(line, asked), everything=asked.all, sources=True)


def _answer(line: Segment, asked: Namespace, *, named: bool = False) -> Answer:
    answer = segment_answer(line, whole=True)
    if not (answer.degree or asked.all):  # all rules are kept
        answer = replace(answer, rows=(), sources=())
    return replace(answer, sentence=f"{line.name}: {answer.sentence}") if named else answer


SEGMENT = Command(
    "segment",
    "is a segment in order, and which bit rate does its cable carry",
    """\
$ python -m helpers segment --length "180 m" --stations 20 --rate "1.5 Mbit/s"
IN ORDER: 20 bus interfaces on 180 m of type A at 1.5 Mbit/s. This cable carries up to 1.5 Mbit/s.
3 Mbit/s fails: length of the segment 180 m of type A, at most 100 m.

$ python -m helpers segment --plan "Saltmarsh Mill"
IN ORDER: Mill line, segment 1: 9 bus interfaces on 16 m of type A at 1.5 Mbit/s. This cable carries
up to 12 Mbit/s.

IN ORDER: Mill line, segment 2: 4 bus interfaces on 88 m of type A at 1.5 Mbit/s. This cable carries
up to 12 Mbit/s.

$ python -m helpers segment --length "700 ft" --stations 12 --rate "1.5 Mbit/s"
NOT ALLOWED, BY THE STANDARD: 12 bus interfaces on 213.36 m of type A at 1.5 Mbit/s: trouble with
length of the segment. This cable carries up to 500 kbit/s.
...
NOT ALLOWED, BY THE STANDARD
  rule     length of the segment
  found    213.36 m of type A at 1.5 Mbit/s
  allowed  at most 200 m
...
""",
    _arguments,
    _run,
)
