"""How long ago something was, as one says it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta


def since_words(then: str, now: datetime) -> str:
    """Return how long ago a time of the log was: "just now", "12 minutes ago", "5 hours ago", "7 days ago"."""
    ago = now.astimezone(UTC) - datetime.fromisoformat(then).astimezone(UTC)
    if ago < timedelta(minutes=1):
        return "just now"
    for unit, name in ((timedelta(days=1), "day"), (timedelta(hours=1), "hour"), (timedelta(minutes=1), "minute")):
        if ago >= unit:
            count = ago // unit
            return f"{count} {name}{'s' * (count > 1)} ago"
    return "just now"


def day_words(then: str) -> str:
    """Return the day of a time of the log, in UTC: "19 November 2026"."""
    moment = datetime.fromisoformat(then).astimezone(UTC)
    return f"{moment.day} {moment:%B %Y}"
