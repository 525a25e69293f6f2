"""The option `--plan` of every command that can take a network: by the name of one's own, of a demo, or by its path."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.plan.model import Network, Plan
from helpers.plan.my_networks import plan_named

PLAN_HELP = (
    "name of a network of your own or of a demo; or a folder with network.csv, stations.csv and cable.csv; or one "
    ".xlsx workbook with these sheets"
)


def add_network(parser: ArgumentParser) -> None:
    """Let a command take a network."""
    parser.add_argument("--plan", metavar="NAME", help=f"take it from a plan: {PLAN_HELP}")
    parser.add_argument("--network", metavar="NAME", help="of a plan with several networks only the one of this name")


def networks(asked: Namespace) -> tuple[Network, ...]:
    """The networks that are asked for; none if no plan is given."""
    return named_networks(asked).networks if asked.plan else ()


def named_networks(asked: Namespace) -> Plan:
    """The plan that is given, or the one network of it that is asked for."""
    plan = plan_named(asked.plan)
    return Plan(plan.name, (plan.network(asked.network),)) if asked.network else plan
