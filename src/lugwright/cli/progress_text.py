"""How far the work is, in words for someone who comes back to it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lugwright.workorder.results import Progress


def done_line(progress: Progress) -> str:
    """Return what is done in one sentence."""
    done = sum(1 for card in progress.cards if card.state == "done")
    return (
        f"Copy {progress.serial}: {done} of {len(progress.cards)} cards done, {progress.leads_in} of {progress.leads} "
        f"leads in, {progress.soldered} of {progress.joints} joints soldered."
    )


def last_line(progress: Progress, now: datetime) -> str:
    """Return when something was written last, and how long ago that is."""
    if not progress.last:
        return "Nothing is ticked yet."
    then = datetime.fromisoformat(progress.last).astimezone(UTC)
    days = (now.astimezone(UTC).date() - then.date()).days
    ago = {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")
    return f"Last entry: {then.day} {then:%B %Y}, {ago}."


def half_done_text(progress: Progress) -> str:
    """Return the cards that are begun and the joints that wait with leads in them; nothing when there are none."""
    begun = [f"  card {card.number}, {card.title}" for card in progress.cards if card.state == "begun"]
    waiting = [
        f"  {joint.label}: {', '.join(joint.there)} in it, "
        + (f"still to come {', '.join(joint.to_come)}" if joint.to_come else "all in: solder it")
        for joint in progress.half_done
    ]
    opened = [f"  {label}: melt it again, something is still to go in" for label in progress.reopened]
    blocks = (("Begun:", begun), ("Not soldered yet:", waiting), ("Soldered too early:", opened))
    return "\n".join(line for head, lines in blocks if lines for line in (head, *lines))
