"""How the numbers of `data/` are known: what each standing means."""

from __future__ import annotations

import pandas as pd

from helpers.facts import STANDINGS
from helpers.panels.kit.tables import frame

MEANING = {
    "standard": "printed in the standard itself",
    "handbook": "printed in a handbook of the bus",
    "publication": "printed elsewhere: by the user organisation, a journal, a maker of parts, an open program",
    "device manual": "printed in the manual of a device: true there, often elsewhere",
    "calculated": "worked out from the others; the way is shown",
    "common practice": "what careful people do; no published source",
    "own setting": "chosen by this workbook for its simulation or its own rules: true for no plant",
    "memory": "known from memory; the source says where it was looked for: look it up before you rely on it",
}


def standings_of_facts() -> pd.DataFrame:
    """Each standing with its meaning.

    >>> standings_of_facts()["standing"].iloc[0]
    'standard'
    """
    return frame({"standing": standing, "means": MEANING[standing]} for standing in STANDINGS)
