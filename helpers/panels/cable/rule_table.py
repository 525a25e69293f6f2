"""The rules of a segment beside what its circuit does, as a table for a lesson."""

from __future__ import annotations

import pandas as pd

from helpers.bus.circuit.rules import compared
from helpers.panels.kit.tables import frame


def rules_beside_calculation() -> pd.DataFrame:
    """Each rule with the lines it was tried on: the rule's verdict, the worst margins, what the calculation says.

    >>> rules_beside_calculation()["calculated"].iloc[0]
    'all bits arrive'
    """
    return frame(
        compared(),
        "rule",
        "tried",
        "rate: bit rate",
        "degree: the rule says",
        "margin_v: worst margin in V",
        "weakest_v: with the weakest sender",
        "idle_v: idle level in V",
        "physics: calculated",
    )


def stricter_rules() -> pd.DataFrame:
    """Where a rule says no and a margin is left, and why.

    >>> "100 m, 10 stubs of 3 m" in set(stricter_rules()["tried"])
    True
    """
    against = [row for row in compared() if row.degree and row.margin_v > 0]
    return frame(against, "rule", "tried", "rate: bit rate", "why")
