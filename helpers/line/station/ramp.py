"""The ramp generator of a drive: its output follows the setpoint no faster than the ramp times allow.

Up is away from 0, down is towards it. A change of direction goes down to 0 first, then up.
"""

from __future__ import annotations


class Ramp:
    """output_hz is what the motor is fed with, goal_hz what it makes for; rates in Hz per second."""

    def __init__(self) -> None:
        self.output_hz = self.goal_hz = 0.0
        self.up_hz_s = self.down_hz_s = 1.0

    def advance(self, dt_s: float) -> None:
        """Let time pass, in s.

        >>> ramp = Ramp()
        >>> ramp.goal_hz, ramp.up_hz_s = 50.0, 10.0
        >>> ramp.advance(0.5)
        >>> ramp.output_hz
        5.0
        """
        now, goal = self.output_hz, self.goal_hz
        if now == goal:
            return
        if now * goal >= 0 and abs(goal) > abs(now):
            step = self.up_hz_s * dt_s
            self.output_hz = min(now + step, goal) if goal > 0 else max(now - step, goal)
        else:
            step = self.down_hz_s * dt_s
            end = goal if now * goal > 0 else 0.0
            self.output_hz = max(now - step, end) if now > 0 else min(now + step, end)
