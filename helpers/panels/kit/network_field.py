"""The field by which every panel chooses its network: the demo plans, and the networks that the user keeps."""

from __future__ import annotations

from helpers.errors import WorkbookError
from helpers.panels.kit import fields
from helpers.panels.kit.fields import Field
from helpers.plan.model import Network
from helpers.plan.my_networks import DEMO_SITE, my_networks

Place = tuple[str, str]  # names of a plan and of a network in it


def network_field(label: str = "network", *, own: bool = False) -> Field:
    """A list of all networks there are; reads as a `Network`.

    own: begin with the network that the user has chosen as *my network*, not with the demo site.
    """
    options, start = network_options(own=own)
    return Field(fields.choice(label, options, start).widget, network_at)


def network_options(*, own: bool, usual: str = DEMO_SITE) -> tuple[list[tuple[str, Place]], Place]:
    """What the list shows with what it stands for, and which of it comes first.

    usual: the demo plan to begin with where nothing of one's own is chosen.
    """
    mine = my_networks()
    options = [(offer.words, (offer.plan, offer.network)) for offer in mine.offers()]
    chosen = mine.chosen() if own and mine.chosen() != DEMO_SITE else usual
    start = next(place for _, place in options if place[0] == chosen)
    try:
        mine.network(*start)
    except WorkbookError:  # a panel has to begin with something; who chooses it gets the reason
        start = next(place for _, place in options if place[0] == usual)
    return options, start


def network_at(place: Place) -> Network:
    """The network that is chosen, as it is kept now."""
    return my_networks().network(*place)
