"""`description`: show and check a device description, compare two, and put a station together from one."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.device.description.answers import MODULES, SAYS, WHO, description_answer, findings_answer
from helpers.device.description.compare import TO_DO, Effect, compare, revision_answer
from helpers.device.description.modules import configure
from helpers.device.description.read import read_description
from helpers.device.description.set_up_answer import set_up_answer
from helpers.errors import Unreadable
from helpers.shell.command import Command
from helpers.shell.text import say, text_of
from helpers.written import whole

_FILE = "a device description (.gsd, or .gse, .gsg … for a language)"


def _check_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", help=_FILE)
    parser.add_argument("--all", action="store_true", help="list what is in order too")


def _check(asked: Namespace) -> int:
    return say(findings_answer(read_description(asked.file), open_rows=None), everything=asked.all, sources=True)


def _show_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", help=_FILE)
    parser.add_argument("--sources", action="store_true", help="what the device says on the bus, what only the file")


def _show(asked: Namespace) -> int:
    description = read_description(asked.file)
    if asked.sources:
        return say(description_answer(description, WHO))
    print(f"{text_of(description_answer(description, SAYS))}\n")
    say(description_answer(description, MODULES), everything=True)
    return 0


def _compare_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("old", help=f"the older one: {_FILE}")
    parser.add_argument("new", help="the newer one")
    parser.add_argument("--used", action="append", metavar="MODULE", help="a module that the network uses; repeatable")


def _compare(asked: Namespace) -> int:
    old, new = read_description(asked.old), read_description(asked.new)
    say(revision_answer(old, new, asked.used), everything=True)
    print()
    say(revision_answer(old, new, asked.used, show=TO_DO))
    return int(any(change.effect is Effect.BREAKS for change in compare(old, new, asked.used)))


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
    return say(set_up_answer(configure(description, modules, dict(map(_setting, asked.set)))), everything=True)


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
OUTSIDE CAUTIOUS PRACTICE: Mill drive 1, issue 1.0: 1 finding, 14 checks in order.
...
OUTSIDE CAUTIOUS PRACTICE
  line              33
  keyword or place  Auto_Baud_supp
  found             no
  expected          yes; else the bit rate is set at the device
...
""",
            _check_arguments,
            _check,
        ),
        Command(
            "show",
            "modules, parameters, and who tells what",
            """\
$ python -m helpers description show data/demo/descriptions/Mil_FFF2.gsd
IN ORDER: Mill drive C, issue 1.0: ident number 16#FFF2, 1 module.
...
module  reference  identifiers  bytes out  bytes in  own parameters  remark
PPO 3   –          F1           4          4         0
""",
            _show_arguments,
            _show,
        ),
        Command(
            "compare",
            "what changed, and what has to be done; exit status 1 if a change breaks a network that uses it",
            """\
$ python -m helpers description compare data/demo/descriptions/Mil_FFF1.gsd data/demo/descriptions/newer/Mil_FFF1.gsd
From Mill drive M, issue 1.1 to Mill drive M, issue 2.0: 13 changes, 2 of them break a running
network that uses what it changes.
...
module Mill 3/5          E2 D4                    –                         ■ breaks a network that
                                                                            uses it
...
1     Save a copy of the project and of the older file.
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
IN ORDER: Mill 2/3: 4 bytes out, 6 bytes in; 2 octets in Chk_Cfg, 14 octets in Set_Prm.
...
The octets in hexadecimal
service                  octets
Chk_Cfg                  E1 D2
Set_Prm from octet 8 on  00 00 00 81 01 F4 00
...
1      Mill 2/3  output     %QB0 to %QB3  2 words, whole
...
""",
            _octets_arguments,
            _octets,
        ),
    ),
)
