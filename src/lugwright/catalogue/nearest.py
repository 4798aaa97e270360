"""The nearest known name to one that is not known."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def nearest_name(name: str, known: Iterable[str]) -> str:
    """Return the known name most like this one, "" when none is near; case does not count."""
    by_folded = {k.casefold(): k for k in sorted(known, reverse=True)}
    found = difflib.get_close_matches(name.casefold(), sorted(by_folded), n=1, cutoff=0.5)
    return by_folded[found[0]] if found else ""
