"""Wire colors as ink: told apart in color, and by darkness, marks and numbers in black and white."""

from __future__ import annotations

# Trade color word -> ink. A pale ink still shows: every wire is drawn with a dark edge.
INK = {
    "black": "#1a1a1a", "brown": "#7a4a21", "red": "#d21f1f", "orange": "#f08a1c", "yellow": "#f5d90a",
    "green": "#1f8f3a", "blue": "#2058c8", "violet": "#8a3fb0", "gray": "#8c8c8c", "white": "#ffffff",
    "pink": "#f19bb5", "turquoise": "#2cb5b0",
}  # fmt: skip
# What tells plain colors of like darkness apart in gray: a lighter or darker line along the middle, and its dashes.
MARKS = {
    "brown": ("#d2a679", "0.5 2.1"), "blue": ("#9dbdf7", "3 1.5"), "green": ("#8fd6a2", "0.5 1.1 2.4 1.1"),
    "violet": ("#d3a8ea", "1.3 4.2"), "yellow": ("#5c5200", "0.5 3.2"), "gray": ("#222222", "0.5 2.1"),
    "turquoise": ("#063836", "3 1.5"), "pink": ("#5a1030", "1.3 4.2"),
}  # fmt: skip
BARE = "#c9c2b4"  # tinned copper
BRAID = "#d9d9d9"
FADED, FADED_EDGE = "#e6e6e6", "#c4c4c4"


def inks(color: str) -> tuple[str, str | None]:
    """Return the ink of a wire's color and of its stripe: ``red/yellow`` and ``green-yellow`` have one."""
    known = [INK[word] for word in _words(color) if word in INK]
    if not known:
        return BARE, None
    return known[0], known[1] if len(known) > 1 else None


def mark(color: str) -> tuple[str, str] | None:
    """Return ink and dashes of the line that marks a plain color in gray; None for one that needs none."""
    words = _words(color)
    return MARKS.get(words[0]) if len(words) == 1 else None


def _words(color: str) -> list[str]:
    return color.casefold().replace("-", "/").replace(" ", "/").split("/")
