"""`description`: show and check a device description, compare two, and put a station together from one."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.device.description.checks import check
from helpers.device.description.compare import Effect, compare, steps
from helpers.device.description.modules import configure
from helpers.device.description.on_bus import who_tells
from helpers.device.description.read import read_description
from helpers.errors import Unreadable
from helpers.shell.command import Command
from helpers.shell.text import findings, paragraph, table
from helpers.verdict import worst
from helpers.written import whole

_FILE = "a device description (.gsd, or .gse, .gsg … for a language)"


def _check_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", help=_FILE)
    parser.add_argument("--all", action="store_true", help="list what is in order too")


def _check(asked: Namespace) -> int:
    description = read_description(asked.file)
    found = check(description)
    print(f"{description.text('Model_Name') or 'no name'}, {description.file_name}: {worst(found).words}")
    if description.unknown:
        names = ", ".join(dict.fromkeys(one.keyword for one in description.unknown))
        print(paragraph(f"unknown keywords, kept: {names}", "  "))
    blocks = findings(found, everything=asked.all)
    if blocks:
        print(f"\n{blocks}")
    return int(worst(found).forbidden)


def _show_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", help=_FILE)
    parser.add_argument("--sources", action="store_true", help="what the device says on the bus, what only the file")


def _show(asked: Namespace) -> int:
    description = read_description(asked.file)
    if asked.sources:
        rows = [
            {"what": one.what, "on the bus": one.on_the_bus or "–", "in the file": one.in_the_file or "–"}
            for one in who_tells(description)
        ]
        print(table(rows))
        return 0
    ident = "–" if description.ident is None else f"16#{description.ident:04X}"
    print(f"{description.text('Vendor_Name')}, {description.text('Model_Name')}, ident number {ident}\n")
    print(
        table(
            [
                {
                    "module": module.name,
                    "reference": "–" if module.reference is None else module.reference,
                    "identifiers": module.identifiers.hex(" ").upper(),
                    "parameters": len(module.layout.references),
                }
                for module in description.modules
            ]
        )
    )
    settings = [
        {
            "parameter": f"{one.number}: {one.name}",
            "default": description.text_of(one, one.default),
            "allowed": one.range_text,
        }
        for one in description.parameters.values()
    ]
    if settings:
        print(f"\n{table(settings)}")
    return 0


def _compare_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("old", help=f"the older one: {_FILE}")
    parser.add_argument("new", help="the newer one")
    parser.add_argument("--used", action="append", metavar="MODULE", help="a module that the network uses; repeatable")


def _compare(asked: Namespace) -> int:
    changes = compare(read_description(asked.old), read_description(asked.new), asked.used)
    if not changes:
        print("No difference.")
        return 0
    rows = [
        {"what": one.what, "before": one.before or "–", "after": one.after or "–", "effect": one.effect.words}
        for one in changes
    ]
    print(table(rows))
    if to_do := steps(changes):
        print("\nto do")
        for number, step in enumerate(to_do, 1):
            print(paragraph(f"{number}. {step}", "   "))
    return int(any(one.effect is Effect.BREAKS for one in changes))


def _octets_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", help=_FILE)
    parser.add_argument(
        "--module", action="append", default=[], metavar="NAME", help="name or reference number; repeat in order"
    )
    parser.add_argument(
        "--set", action="append", default=[], metavar="PLACE:PARAMETER=VALUE",
        help='place 0 is the device, 1 the first module: "0:3=500", "0:when the bus fails=coast to a stop"',
    )  # fmt: skip


def _octets(asked: Namespace) -> int:
    description = read_description(asked.file)
    names = {module.name for module in description.modules}
    modules = [name if name in names or not name.isdecimal() else int(name) for name in asked.module]
    setup = configure(description, modules, dict(map(_setting, asked.set)))
    print(f"identifiers       {setup.identifiers.hex(' ').upper()}")
    print(paragraph(f"parameter octets  {setup.user_parameters.hex(' ').upper() or 'none'}", " " * 18))
    print(f"Set_Prm           {setup.set_prm_octets} octets")
    print(f"data              {setup.bytes_out} bytes out, {setup.bytes_in} bytes in\n")
    print(
        table(
            [
                {
                    "module": area.module,
                    "direction": area.direction,
                    "from byte 0": area.address,
                    "size": area.consistency,
                }
                for area in setup.image
            ]
        )
    )
    for complaint in setup.complaints:
        print(paragraph(f"\nnot allowed: {complaint}"))
    return int(bool(setup.complaints))


def _setting(text: str) -> tuple[tuple[int, str | int], int | str]:
    """`0:3=500` as place, parameter and value; a number may be written in any of the usual ways."""
    name, equal, value = text.rpartition("=")
    place, colon, parameter = name.partition(":")
    if not (equal and colon):
        raise Unreadable(f"{text[:60]!r} is not a setting; write for example 0:3=500.")
    return (whole(place), _number(parameter)), _number(value)


def _number(text: str) -> int | str:
    try:
        return whole(text)
    except Unreadable:
        return text.strip()


DESCRIPTION = Command(
    "description",
    "read a device description (GSD): show, check, compare, octets",
    parts=(
        Command(
            "check",
            "what is missing, wrong or unusual; exit status 1 if something is not allowed",
            """\
$ python -m helpers description check data/demo/descriptions/Mil_FFF3.gsd
Mill drive 1, Mil_FFF3.gsd: outside cautious practice

OUTSIDE CAUTIOUS PRACTICE: automatic bit-rate detection, Auto_Baud_supp
  found    no
  allowed  yes; else the bit rate is set at the device
  source   Delta PD-01 manual p.21, printed description of revision 1 (device manual)
  to do    Set the bit rate at the device itself, to that of the line, and switch its supply off and
           on.
""",
            _check_arguments,
            _check,
        ),
        Command(
            "show",
            "modules, parameters, and who tells what",
            """\
$ python -m helpers description show data/demo/descriptions/Mil_FFF2.gsd
Saltmarsh Drives, Mill drive C, ident number 16#FFF2

module  reference  identifiers  parameters
PPO 3   –          F1           0
""",
            _show_arguments,
            _show,
        ),
        Command(
            "compare",
            "what changed, and what has to be done; exit status 1 if a change breaks a network that uses it",
            """\
$ python -m helpers description compare data/demo/descriptions/Mil_FFF1.gsd data/demo/descriptions/newer/Mil_FFF1.gsd
what                     before                   after                     effect
module Mill 3/5          E2 D4                    –                         breaks a network that
                                                                            uses it
...
to do
1. Save a copy of the project and of the older file.
...
""",
            _compare_arguments,
            _compare,
        ),
        Command(
            "octets",
            "identifiers, parameter octets and addresses from chosen modules and values",
            """\
$ python -m helpers description octets data/demo/descriptions/Mil_FFF1.gsd --module "Mill 2/3" --set "0:3=500"
identifiers       E1 D2
parameter octets  00 00 00 81 01 F4 00
Set_Prm           14 octets
data              4 bytes out, 6 bytes in

module    direction  from byte 0   size
Mill 2/3  output     %QB0 to %QB3  2 words, whole
Mill 2/3  input      %IB0 to %IB5  3 words, whole
""",
            _octets_arguments,
            _octets,
        ),
    ),
)
