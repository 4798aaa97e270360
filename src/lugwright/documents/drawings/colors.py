"""Wire colors as ink: told apart in color, and by darkness and numbers in black and white."""

from __future__ import annotations

# Trade color word -> ink. A pale ink still shows: every wire is drawn with a dark edge.
INK = {
    "black": "#1a1a1a", "brown": "#7a4a21", "red": "#d21f1f", "orange": "#f08a1c", "yellow": "#f5d90a",
    "green": "#1f8f3a", "blue": "#2058c8", "violet": "#8a3fb0", "gray": "#8c8c8c", "white": "#ffffff",
    "pink": "#f19bb5", "turquoise": "#2cb5b0",
}  # fmt: skip
BARE = "#c9c2b4"  # tinned copper
BRAID = "#d9d9d9"
FADED, FADED_EDGE = "#e6e6e6", "#c4c4c4"


def inks(color: str) -> tuple[str, str | None]:
    """Return the ink of a wire's color and of its stripe: ``red/yellow`` and ``green-yellow`` have one."""
    words = color.casefold().replace("-", "/").replace(" ", "/").split("/")
    known = [INK[word] for word in words if word in INK]
    if not known:
        return BARE, None
    return known[0], known[1] if len(known) > 1 else None
