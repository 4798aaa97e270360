"""Which of some workers answers for what: each build and copy stays with one, which keeps what it worked out."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable

MOST_KNOWN = 64


class Shares:
    """Workers by number. What is new goes to the one where nobody writes, or did so longest ago."""

    def __init__(self, count: int) -> None:
        self._last = [0] * count  # number of the last deed of each
        self._deeds = 0
        self._known: OrderedDict[Hashable, int] = OrderedDict()

    def place(self, key: Hashable, *, deed: bool) -> int:
        """Return which worker answers for this; ``deed``: it writes something now."""
        if key not in self._known:
            held = list(self._known.values())
            self._known[key] = min(range(len(self._last)), key=lambda k: (self._last[k], held.count(k)))
        self._known.move_to_end(key)
        while len(self._known) > MOST_KNOWN:
            self._known.popitem(last=False)
        place = self._known[key]
        if deed:
            self._deeds += 1
            self._last[place] = self._deeds
        return place
