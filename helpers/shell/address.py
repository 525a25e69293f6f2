"""`address`: what a bus address means, how its switches stand, what is wrong with a list, a list for a new line."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.bus.address.address import KINDS, Holder, read
from helpers.bus.address.answers import address_answer, address_list_answer, new_line_answer, switches_answer
from helpers.bus.address.switches import DipSwitches, RotarySwitches, read_positions
from helpers.errors import Unreadable
from helpers.shell.command import Command
from helpers.shell.network import add_network, networks
from helpers.shell.text import say
from helpers.written import whole


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("address", nargs="*", help="one address, or all addresses of a line: 12, 16#0C, 2#0000_1100")
    add_network(parser)
    parser.add_argument("--kind", default="drive", choices=KINDS, help="what has the one address (drive)")
    parser.add_argument("--dip", metavar="SETTING", help="read DIP switches, the left one counts 1: 'ON OFF ON ...'")
    parser.add_argument("--rotary", metavar="SETTING", help="read two rotary switches 0 to F, the left one high: 7E")
    parser.add_argument("--new", nargs="+", metavar="GROUP=COUNT", help="propose addresses for a new line")


def _run(asked: Namespace) -> int:
    if asked.new:
        return say(new_line_answer(_groups(asked.new)), everything=True)
    if asked.dip:
        switches = DipSwitches(tuple(2**place for place in range(len(read_positions(asked.dip)))))
        return say(switches_answer(switches, asked.dip, asked.kind), sources=True)
    if asked.rotary:
        return say(switches_answer(RotarySwitches(), asked.rotary, asked.kind), sources=True)
    if asked.plan:
        return max(say(address_list_answer(network.holders, network.hsa)) for network in networks(asked))
    if not asked.address:
        raise Unreadable("no address is given; write for example: address 16#7E, or see address --help.")
    if len(asked.address) == 1:
        return say(address_answer(read(asked.address[0]), asked.kind), sources=True)
    stations = [Holder(f"station {n}", "drive", whole(text)) for n, text in enumerate(asked.address, 1)]
    return say(address_list_answer(stations))


def _groups(typed: list[str]) -> dict[str, int]:
    counts = {}
    for text in typed:
        name, sign, count = text.rpartition("=")
        if not (sign and name):
            raise Unreadable(
                f"{text!r} is not a group; write its name and how many stations it has, for example fans=3."
            )
        counts[name] = whole(count)
    return counts


ADDRESS = Command(
    "address",
    "what a bus address means, its switches, the faults of a list, a list for a new line",
    """\
$ python -m helpers address 16#0C
IN ORDER: Address 12 = 16#0C = 2#0000_1100: usable.
1 to 125 may be given to any station.

switches                             stand at
DIP switches, the left one counts 1  OFF OFF ON ON OFF OFF OFF
rotary switches, 0 to F              0C

source: M. Felser, PROFIBUS Manual, addressing (handbook)

$ python -m helpers address --dip "ON ON OFF OFF OFF OFF OFF"
IN ORDER: Address 3 = 16#03 = 2#0000_0011: usable.
...
also read as  by                    what is right
96            order reversed        Switch 1 counts 1 on this device. Start there.
...

$ python -m helpers address 3 4 4 7
NOT ALLOWED, CANNOT WORK: 4 addresses: 1 against the standard. Next free from 1: 1.
...
NOT ALLOWED, CANNOT WORK
  where  station 2, station 3
  found  4 is given 2 times
...

$ python -m helpers address --plan "Saltmarsh Mill"
IN ORDER: 11 addresses, all different and all usable. Next free from 1: 2.
...

$ python -m helpers address --new intake=2 dryer=3
5 stations and 1 controller fit; 119 addresses are left for later.
...
intake                10, 11     19          The group starts at a multiple of 10, with room to
...
""",
    _arguments,
    _run,
)
