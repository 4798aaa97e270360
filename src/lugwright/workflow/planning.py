"""What is said while a plan is made."""

from __future__ import annotations

from lugwright.layout.kernel.kept import prepared


def planning_words() -> str:
    """Return what is being waited for: the plan, and on a new machine the planner itself."""
    first = "" if prepared() else ": the planner is made ready for this machine first, once, in some 20 s"
    return f"planning lugs and wires{first}"
