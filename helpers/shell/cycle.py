"""`cycle`: how long the bus cycle is, at one bit rate item by item or at each of them."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Sequence

from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.bus.time.cycle import BusCycle, OtherMaster, bus_cycle
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.timing import signal_delay_bits
from helpers.device import formats
from helpers.errors import Unreadable, in_range
from helpers.plan.figures import cycle
from helpers.quantity import time_text
from helpers.shell.command import Command
from helpers.shell.network import add_network, networks
from helpers.shell.text import table
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
    rates = [read_quantity(asked.rate, "bit rate", "kbit/s")] if asked.rate else bit_rates()
    if asked.plan:
        for network in networks(asked):
            found = [bus for rate in rates if (bus := cycle(network, rate))]
            print(f"{network.name}: {len(network.slaves)} stations\n")
            _show(found, items=bool(asked.rate))
        return 0
    if not asked.stations:
        raise Unreadable("give --stations and their data, or --plan with the name of a network.")
    stations, masters, repeaters = whole(asked.stations), whole(asked.masters), whole(asked.repeaters)
    in_range("number of stations", stations, 1, 125, source="addresses 1 to 125")
    in_range("number of masters", masters, 1, 125)
    out, into = _sizes(asked)
    length_m = read_quantity(asked.length, "length", "m")
    cycles = [
        bus_cycle(
            [Exchange(out, into)] * stations,
            bit_rate=rate,
            others=[OtherMaster()] * (masters - 1),
            delay_bits=signal_delay_bits(length_m=length_m, bit_rate=rate, repeaters=repeaters),
        )
        for rate in rates
    ]
    print(f"{stations} × {out} bytes out, {into} bytes in\n")
    _show(cycles, items=bool(asked.rate))
    return 0


def _show(cycles: Sequence[BusCycle], *, items: bool) -> None:
    """One cycle item by item, or several in a table."""
    if not cycles:
        print("No station to poll, so there is no bus cycle.")
    elif items:
        print(f"{cycles[0]}\n\n{cycles[0].typical}")
    else:
        rows = (
            (bit_rate_text(c.timing.bit_rate), *(time_text(case.seconds) for case in (c.best, c.typical, c.worst)))
            for c in cycles
        )
        print(table([dict(zip(("bit rate", "best", "typical", "worst"), row, strict=True)) for row in rows]))


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
8 × 12 bytes out, 12 bytes in

bit rate      best      typical   worst
...
1.5 Mbit/s    2.767 ms  3.123 ms  4.185 ms
...

$ python -m helpers cycle --plan "Saltmarsh Mill"
Mill line: 9 stations

bit rate      best      typical   worst
...
1.5 Mbit/s    2.837 ms  3.451 ms  4.714 ms
...

$ python -m helpers cycle --stations 20 --out 2 --in 2 --rate "1.5 Mbit/s"
20 × 2 bytes out, 2 bytes in

Bus cycle at 1.5 Mbit/s
  best      3.913 ms  (5870 bit)
  typical   4.437 ms  (6656 bit)
  worst     6.297 ms  (9445 bit)
...
""",
    _arguments,
    _run,
)
