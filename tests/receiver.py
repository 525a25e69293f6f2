"""A receiver written out step by step, for any voltage over time."""

import numpy as np


def receiver_by_hand(times, volts, bits, bit_s):
    """A receiver as it works: wait for B − A to fall through 0 V, sample eleven middles, wait again.

    A fall that is over half a bit later was none. Margins as characters × 11 bits [V], beyond the 0.2 V of RS-485;
    and for each character whether its start edge is a clear one: no other fall within a quarter of a bit.
    """
    margin, clear, ready = [], [], 0.0
    falls = np.flatnonzero((volts[:-1] > 0) & (volts[1:] <= 0))
    for character in np.array(bits).reshape(-1, 11):
        n = next(k for k in falls if times[k] >= ready and np.interp(times[k] + bit_s / 2, times, volts) <= 0)
        edge = times[n] + volts[n] / (volts[n] - volts[n + 1]) * (times[n + 1] - times[n])
        for place, bit in enumerate(character):
            seen = np.interp(edge + (place + 0.5) * bit_s, times, volts)
            margin.append((seen if bit else -seen) - 0.2)
        ready = edge + 10.5 * bit_s
        clear.append((abs(times[falls] - edge) < bit_s / 4).sum() == 1)
    return np.reshape(margin, (-1, 11)), np.array(clear)
