"""What reading or writing parameters costs: cyclic channel against acyclic request.

Cyclic channel, one parameter at a time:

    the request goes out with one cycle · the drive works · the answer comes with the first cycle after that
    cycles = n · (1 + ceil(work / cycle)), at least 2 for each; as many again for the pause between equal tasks

Acyclic request, up to 39 parameters at a time:

    cycles = requests · (1 + polls), polls = ceil(work / cycle), at least 1

The second formula takes it that the controller has time for one acyclic telegram in each bus cycle; a controller
with more to do needs longer. The program cycle of the controller comes on top of both. Calculated, not published.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from helpers.drive.parameters.access import highest
from helpers.errors import in_range
from helpers.wording import counted


@dataclass(frozen=True)
class Effort:
    """Bus cycles and seconds that a number of parameters takes, and why, in a sentence."""

    cycles: int
    time_s: float
    sentence: str


def cyclic(parameters: int, *, cycle_s: float, work_s: float, pause: bool = False) -> Effort:
    """The cyclic channel.

    Parameters: parameters, how many; cycle_s, the bus cycle in s; work_s, what the drive needs for one; pause,
    task 0 is sent after each.

    >>> cyclic(10, cycle_s=0.002, work_s=0.010).cycles
    60
    """
    _check(parameters, cycle_s, work_s)
    each = (1 + _cycles(work_s, cycle_s)) + (2 if pause else 0)
    total = parameters * each
    return Effort(
        total,
        total * cycle_s,
        f"One parameter at a time, {each} bus cycles for each: its request out, the drive's work, its answer in. "
        "The channel's 8 octets travel in every cycle, whether used or not.",
    )


def acyclic(parameters: int, *, cycle_s: float, work_s: float) -> Effort:
    """Acyclic requests with as many parameters in each as go into one.

    Parameters: as for `cyclic`; work_s for one parameter, the drive handles them one after the other.

    >>> acyclic(10, cycle_s=0.002, work_s=0.010).cycles
    51
    """
    _check(parameters, cycle_s, work_s)
    most = highest("parameters per request")
    full, rest = divmod(parameters, most)
    sizes = [most] * full + [rest] * bool(rest)
    total = sum(1 + _cycles(size * work_s, cycle_s) for size in sizes)
    requests = counted(len(sizes), "request")
    return Effort(
        total,
        total * cycle_s,
        f"{requests} of up to {most} parameters: written once, then asked for in each cycle until the "
        "drive is ready. The telegrams use time that is left over, and none when nothing is asked.",
    )


def _check(parameters: int, cycle_s: float, work_s: float) -> None:
    in_range("number of parameters", parameters, 0, 100_000)
    in_range("bus cycle", cycle_s, 1e-6, 100, "s")
    in_range("work of the drive", work_s, 0, 100, "s")


def _cycles(work_s: float, cycle_s: float) -> int:
    return max(1, math.ceil(round(work_s / cycle_s, 9)))
