"""`plan`: check a network plan, see its figures, begin a blank one, turn a folder into a workbook and back."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.plan.answers import network_cycle_answer, verdict_answer
from helpers.plan.columns import TABLES, columns
from helpers.plan.my_networks import my_networks, plan_named
from helpers.plan.save import blank_plan, save_plan
from helpers.shell.command import Command
from helpers.shell.network import PLAN_HELP, named_networks
from helpers.shell.text import paragraph, say_all, table


def _check_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("plan", help=PLAN_HELP)
    parser.add_argument("--all", action="store_true", help="list what is in order too")


def _check(asked: Namespace) -> int:
    plan = plan_named(asked.plan)
    answers = [verdict_answer(plan, network, whole=True) for network in plan]
    return say_all(answers, everything=asked.all, sources=True)


def _figures_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("plan", help=PLAN_HELP)
    parser.add_argument("--network", help="only the network of this name")


def _figures(asked: Namespace) -> int:
    return say_all(map(network_cycle_answer, named_networks(asked)), everything=True)


def _blank_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("plan", help="name of a new folder, or of a new file ending with .xlsx")


def _blank(asked: Namespace) -> int:
    for file in blank_plan(asked.plan):
        print(f"written: {file}")
    return 0


def _copy_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("plan", help=PLAN_HELP)
    parser.add_argument("to", help="name of a new folder, or of a new file ending with .xlsx")


def _copy(asked: Namespace) -> int:
    for file in save_plan(plan_named(asked.plan), asked.to):
        print(f"written: {file}")
    return 0


def _mine_arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--keep", nargs=2, metavar=("PLAN", "NAME"), help=f"keep a plan under a name; PLAN: {PLAN_HELP}"
    )
    parser.add_argument("--replace", action="store_true", help="with --keep: put it in the place of one of that name")
    parser.add_argument("--rename", nargs=2, metavar=("NAME", "NEW"), help="give one of your own another name")
    parser.add_argument("--remove", metavar="NAME", help="remove one of your own for good")


def _mine(asked: Namespace) -> int:
    mine = my_networks()
    if asked.keep:
        source, name = asked.keep
        print(f"kept: {mine.save(name, plan_named(source), overwrite=asked.replace)}")
    if asked.rename:
        print(f"renamed: {mine.rename(*asked.rename)}")
    if asked.remove:
        mine.remove(asked.remove)
        print(f"removed: {asked.remove}")
    print(
        table(
            [{"network": offer.words, "begin with it": "◀" * (offer.plan == mine.chosen())} for offer in mine.offers()]
        )
    )
    return 0


def _columns(asked: Namespace) -> int:
    for name in TABLES:
        rows = [
            {"column": c.heading, "filled": c.filled, "meaning": c.explained, "example": c.example}
            for c in columns(name)
        ]
        print(f"table {name}\n\n{table(rows)}\n")
    print(
        paragraph(
            "A length may be written with its unit (12 m, 40 ft), a bit rate as 1.5 Mbit/s or 1500, a number with a "
            "decimal point or a decimal comma. A unit in brackets in the heading counts for the whole column: length "
            "(ft). Rows and headings that begin with # are remarks and columns of your own."
        )
    )
    return 0


PLAN = Command(
    "plan",
    "check a network plan, see its figures, begin a blank one",
    parts=(
        Command(
            "check",
            "hold a plan against the rules; exit status 0 nothing forbidden, 1 something is not allowed, 2 unreadable",
            """\
$ python -m helpers plan check data/demo/saltmarsh-mill
IN ORDER: Mill line: all 97 checks are in order.
Plan: saltmarsh-mill.

with --all: In order: 97 checks
""",
            _check_arguments,
            _check,
        ),
        Command(
            "figures",
            "stations, cable, data, and the bus cycle at each bit rate",
            """\
$ python -m helpers plan figures data/demo/saltmarsh-mill
Mill line at 1.5 Mbit/s: every station is asked once in 3.451 ms; at best in 2.837 ms, at worst in
...
bit rate      at best   typical   at worst  cable, stubs, spacing  set
...
1.5 Mbit/s    2.837 ms  3.451 ms  4.714 ms  in order               ◀ in the controller
...
""",
            _figures_arguments,
            _figures,
        ),
        Command(
            "blank",
            "write an empty plan to fill in with a spreadsheet program",
            """\
  python -m helpers plan blank my-plan.xlsx
  python -m helpers plan blank my-plan
""",
            _blank_arguments,
            _blank,
        ),
        Command(
            "copy",
            "write a plan anew, as a workbook or as a folder of CSV tables",
            """\
  python -m helpers plan copy data/demo/saltmarsh-mill my-copy.xlsx
""",
            _copy_arguments,
            _copy,
        ),
        Command(
            "mine",
            "the networks that you keep: list them, keep one, rename it, remove it",
            """\
  python -m helpers plan mine
  python -m helpers plan mine --keep my-plan.xlsx "My plant"
  python -m helpers plan check "My plant"
""",
            _mine_arguments,
            _mine,
        ),
        Command("columns", "what stands in the columns of its tables", run=_columns),
    ),
)
