"""An entry of the log in one line."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from lugwright.log.events import NOTE, Entry
from lugwright.log.measured_bodies import AS_BUILT, PHOTO, READING

_SYMBOL = {"ohm": "Ω"}


def entry_words(entry: Entry) -> str:
    """Return what an entry is about, and what it says of it where its subject does not."""
    words = _SAID.get(entry.kind)
    return words(entry) if words else entry.subject


def _value(body: Any) -> str:
    value, unit, quantity = body.get("value"), str(body.get("unit", "")), body.get("quantity")
    if value is None:
        return "over range"
    if quantity == "sign":
        return "yes" if value >= 0.5 else "no"
    if quantity == "lamp":
        return f"{100.0 * value:.0f} % of the mains on it"
    return f"{value:.6g} {_SYMBOL.get(unit, unit)}".rstrip()


def _reading(entry: Entry) -> str:
    kind = str(entry.body.get("quantity", "")).partition("V ")[2]
    step = "" if entry.body.get("quantity") == "sign" else f"({entry.body.get('step', '')})"
    return " ".join(filter(None, (f"{entry.subject}: {_value(entry.body)}", kind, step)))


def _as_built(entry: Entry) -> str:
    return f"{entry.subject}: {_value(entry.body)}"


def _photo(entry: Entry) -> str:
    return ": ".join(filter(None, (entry.subject, str(entry.body.get("text", "")))))


def _note(entry: Entry) -> str:
    return ": ".join(filter(None, (entry.subject, str(entry.body.get("text", "")))))


_SAID: dict[str, Callable[[Entry], str]] = {READING: _reading, AS_BUILT: _as_built, PHOTO: _photo, NOTE: _note}
