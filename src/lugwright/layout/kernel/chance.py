"""Whole random numbers that are the same on every machine."""

from __future__ import annotations

from lugwright.layout.kernel.compiled import compiled
from lugwright.layout.kernel.tables import Whole

MASK = 0xFFFFFFFF


@compiled
def below(chance: Whole, top: int) -> int:
    """Return a random number from 0 to top - 1.

    Source
    ------
    Xorshift of 32 bits, shifts 13, 17, 5: G. Marsaglia, Xorshift RNGs, Journal of Statistical Software 8 (14), 2003.
    """
    x = chance[0]
    x ^= (x << 13) & MASK
    x ^= x >> 17
    x ^= (x << 5) & MASK
    chance[0] = x
    return int((x * top) >> 32)
