"""`cycle`: how long the bus cycle is, at one bit rate item by item or at each of them."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

from helpers.bus.address.address import LAST_USABLE
from helpers.bus.cable.bit_rates import bit_rates, known_bit_rate
from helpers.bus.time.answers import answer_on_cycles, cycle_rates_answer, every_cycle
from helpers.bus.time.cycle import BusCycle
from helpers.bus.time.message_cycle import Exchange
from helpers.device import formats
from helpers.errors import Unreadable, in_range
from helpers.plan.figures import cycle as plan_cycle
from helpers.plan.model import Network
from helpers.shell.command import Command
from helpers.shell.network import add_network, networks
from helpers.shell.text import say
from helpers.written import read_quantity, whole


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("--stations", help="how many stations the controller polls")
    parser.add_argument("--format", help='data format of each of them: "PPO 4", "standard telegram 1"')
    parser.add_argument("--out", help="or: bytes from the controller to each station")
    parser.add_argument("--in", dest="into", metavar="IN", help="and: bytes from each station to the controller")
    parser.add_argument("--rate", help='one bit rate, item by item: "1.5 Mbit/s"; without it all bit rates')
    add_network(parser)
    parser.add_argument("--masters", default="1", help="controllers and engineering computers together (1)")
    parser.add_argument("--length", default="0", help="cable between the two farthest stations (0 m)")
    parser.add_argument("--repeaters", default="0", help="repeaters between them (0)")


def _run(asked: Namespace) -> int:
    if asked.plan:
        return max(_of_plan(network, asked.rate) for network in networks(asked))
    if not asked.stations:
        raise Unreadable("give --stations and their data, or --plan with the name of a network.")
    count = whole(asked.stations)
    in_range("number of stations", count, 1, LAST_USABLE, source="addresses 1 to 125")
    cycles = every_cycle(
        [Exchange(*_sizes(asked))] * count,
        length_m=read_quantity(asked.length, "length", "m"),
        repeaters=whole(asked.repeaters),
        masters=whole(asked.masters),
    )
    return _say(cycles, asked.rate)


def _of_plan(network: Network, rate: str | None) -> int:
    cycles = [cycle for each in bit_rates() if (cycle := plan_cycle(network, each))]
    if not cycles:
        print(f"{network.name}: no station to poll, so there is no bus cycle.")
        return 0
    return _say(cycles, rate, network.name)


def _say(cycles: Sequence[BusCycle], rate: str | None, name: str = "") -> int:
    """One cycle item by item, or that at every bit rate."""
    if not rate:
        return say(cycle_rates_answer(cycles, name))
    bit_rate = known_bit_rate(read_quantity(rate, "bit rate", "kbit/s"))
    return say(answer_on_cycles(cycles, bit_rate, name=name), everything=True)


def _sizes(asked: Namespace) -> tuple[int, int]:
    if asked.format and not (asked.out or asked.into):
        form = formats.by_name(asked.format)
        return form.bytes_out, form.bytes_in
    if asked.format or not (asked.out and asked.into):
        raise Unreadable('give the data either as --format "PPO 4" or as --out 12 --in 12.')
    return whole(asked.out), whole(asked.into)


CYCLE = Command(
    "cycle",
    "how long the bus cycle is",
    """\
$ python -m helpers cycle --stations 8 --format "PPO 4"
8 stations, 96 bytes out and 96 bytes in together. A cycle takes 467.1 ms at 9.6 kbit/s, 477.9 µs at
12 Mbit/s.

bit rate      best      typical   worst
...
1.5 Mbit/s    2.767 ms  3.123 ms  4.185 ms
...

$ python -m helpers cycle --plan "Saltmarsh Mill"
Mill line: 9 stations, 78 bytes out and 88 bytes in together. A cycle takes 495.9 ms at 9.6 kbit/s,
...
1.5 Mbit/s    2.837 ms  3.451 ms  4.714 ms
...

$ python -m helpers cycle --stations 20 --out 2 --in 2 --rate "1.5 Mbit/s"
At 1.5 Mbit/s the 20 stations are asked once in 4.437 ms; at best in 3.913 ms, at worst in 6.297 ms.
...
item                   standard, bit  handbook, bit  estimate, bit  why
...
""",
    _arguments,
    _run,
)
