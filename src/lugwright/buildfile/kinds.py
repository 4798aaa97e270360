"""Which kind a part is: by the word it states, else by its letters and keys."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lugwright.buildfile import records as w


def kind_of(name: str, raw: Mapping[str, Any]) -> str:
    """Return the kind of a part as written; its letters where no kind goes with them."""
    if "kind" in raw:
        return str(raw["kind"])
    letters = name.rstrip("0123456789")
    if letters == "R" and "taper" in raw:
        return "pot"
    if letters == "C" and "values" in raw:
        return "can"
    if letters == "CR" and isinstance(raw.get("ends"), list) and len(raw["ends"]) == 4:
        return "bridge"
    return w.KIND_OF_LETTERS.get(letters, letters)
