"""`address`: what a bus address means, how its switches stand, what is wrong with a list, a list for a new line."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.bus.address.address import KINDS, LAST_USABLE, Holder, check, classify, next_free, propose, read, spell
from helpers.bus.address.switches import DipSwitches, RotarySwitches, read_positions
from helpers.errors import OutOfRange, Unreadable
from helpers.shell.command import Command
from helpers.shell.text import findings, paragraph, table
from helpers.verdict import worst
from helpers.written import whole


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("address", nargs="*", help="one address, or all addresses of a line: 12, 16#0C, 2#0000_1100")
    parser.add_argument("--kind", default="drive", choices=KINDS, help="what has the one address (drive)")
    parser.add_argument("--dip", metavar="SETTING", help="read DIP switches, the left one counts 1: 'ON OFF ON ...'")
    parser.add_argument("--rotary", metavar="SETTING", help="read two rotary switches 0 to F, the left one high: 7E")
    parser.add_argument("--new", nargs="+", metavar="GROUP=COUNT", help="propose addresses for a new line")


def _run(asked: Namespace) -> int:
    if asked.new:
        return _new(asked.new)
    if asked.dip:
        positions = read_positions(asked.dip)
        switches = DipSwitches(tuple(2**place for place in range(len(positions))))
        return _one(switches.address(positions) or 0, asked.kind)
    if asked.rotary:
        return _one(RotarySwitches().address(asked.rotary), asked.kind)
    if not asked.address:
        raise Unreadable("no address is given; write for example: address 16#7E, or see address --help.")
    if len(asked.address) == 1:
        return _one(read(asked.address[0]), asked.kind)
    return _list([whole(text) for text in asked.address])


def _one(address: int, kind: str) -> int:
    meant, spelling = classify(address, kind), spell(address)
    dip = " ".join("ON" if on else "OFF" for on in DipSwitches().setting(address))
    print(f"{spelling.decimal} = {spelling.hexadecimal} = {spelling.binary}: {meant.meaning}, {meant.verdict}")
    print(paragraph(" ".join(filter(None, (meant.reason, meant.to_do)))))
    print(f"DIP switches, left one counts 1: {dip}")
    print(f"rotary switches, 0 to F:         {RotarySwitches().setting(address)}")
    print(f"source: {meant.source}")
    return int(meant.degree.forbidden)


def _list(addresses: list[int]) -> int:
    holders = [Holder(f"station {n}", "drive", address) for n, address in enumerate(addresses, 1)]
    found = check(holders)
    print(findings(found) or f"{len(addresses)} addresses, all different and all usable.")
    try:
        print(f"next free address: {next_free(addresses)}")
    except OutOfRange as error:
        print(error)
    return int(worst(found).forbidden)


def _new(groups: list[str]) -> int:
    counts = {}
    for text in groups:
        name, sign, count = text.rpartition("=")
        if not (sign and name):
            raise Unreadable(
                f"{text!r} is not a group; write its name and how many stations it has, for example fans=3."
            )
        counts[name] = whole(count)
    lines = propose(counts)
    print(table([{"address": line.address, "station": line.holder, "why": line.why} for line in lines]))
    print(f"126 stays free for new devices; nothing above {LAST_USABLE} is for a station.")
    return 0


ADDRESS = Command(
    "address",
    "what a bus address means, its switches, the faults of a list, a list for a new line",
    """\
$ python -m helpers address 16#0C
12 = 16#0C = 2#0000_1100: usable, in order
1 to 125 may be given to any station.
DIP switches, left one counts 1: OFF OFF ON ON OFF OFF OFF
rotary switches, 0 to F:         0C
source: M. Felser, PROFIBUS Manual, addressing (handbook)

$ python -m helpers address --dip "ON ON OFF OFF OFF OFF OFF"
3 = 16#03 = 2#0000_0011: usable, in order
...

$ python -m helpers address 3 4 4 7
NOT ALLOWED, CANNOT WORK: address given twice, station 2, station 3
  found    4 is given 2 times
...
next free address: 1

$ python -m helpers address --new intake=2 dryer=3
address  station               why
0        engineering computer  Leave 0 to the engineering computer.
1        controller            Controllers are numbered from 1 upward.
10       intake 1              The group starts at a multiple of 10, with room to grow.
...
""",
    _arguments,
    _run,
)
