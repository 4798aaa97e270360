"""Readings of the idle out of the log: those of the step in which the idle is set."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from lugwright.bringup.idle.readings import IdleReading, Reader, volts_or_other
from lugwright.bringup.reading_text import shown_text
from lugwright.errors import NoSuchPoint, ReadingError
from lugwright.findings import Finding, Grade
from lugwright.log.measured_bodies import ReadingBody
from lugwright.log.state import Bench

IDLE_STEP = "all tubes"  # key of the step in which every tube is in, at full mains, idle set
NOW = "9"  # later than any time in a log
TELLS_CURRENT = ("cathode", "cathode to ground", "primary")


def logged_readings(reader: Reader, bench: Bench) -> tuple[IdleReading, ...]:
    """Return the readings of the log that tell of an output tube at idle; none where no current was read."""
    found = {}
    for taken in bench.counting.values():
        if taken.body.step == IDLE_STEP and taken.body.quantity == "V dc" and not taken.body.over_range:
            reading = _reading(reader, taken.body, taken.subject)
            if reading is not None:
                found[reading.tube, reading.what] = reading
    readings = tuple(found.values())
    return readings if any(r.what in TELLS_CURRENT for r in readings) else ()


def _reading(reader: Reader, body: ReadingBody, subject: str) -> IdleReading | None:
    """Return one reading, None where it tells nothing of the idle or the build has changed under it."""
    try:
        red, black = (reader.points.spot(key).joint for key in (body.red, body.black))
        found = reader.between(red, black)
        if found is None:
            return None
        tube, key, sign = found
        said = f"{subject} = {shown_text(body.shown, '', body.unit, digit=body.digit)}"
        return volts_or_other(tube, key, sign * body.shown, body.digit, said)
    except (NoSuchPoint, ReadingError):
        return None


def last_read(bench: Bench) -> str:
    """Return when the idle was last read, UTC; empty where it never was."""
    return max((taken.time for taken in bench.counting.values() if taken.body.step == IDLE_STEP), default="")


def changed_since(bench: Bench, names: Collection[str]) -> Iterator[Finding]:
    """Yield what was fitted or set after the idle was read: these readings are of another state."""
    first = min((taken.time for taken in bench.counting.values() if taken.body.step == IDLE_STEP), default="")
    tubes = ((socket, each) for socket, each in bench.tubes.items() if socket in names)
    fitted = [(each.time, f"{socket} {each.body.type} {each.body.label}".strip()) for socket, each in tubes]
    turned = [(each.time, f"{name} {each.body.position}") for name, each in bench.settings.items() if name in names]
    later = [(time, words) for time, words in sorted([*fitted, *turned]) if first and time > first]
    if later:
        yield Finding(
            rule="idle-read-before-change", grade=Grade.DOUBT, part=later[0][1].split(" ")[0],
            source="the log of the build",
            what="something was changed after the idle was read",
            found=", ".join(f"{words} ({time[:16].replace('T', ' ')})" for time, words in later[:6]),
            wanted=f"readings later than that; the first of these is of {first[:16].replace('T', ' ')}",
            do=f'read every cathode and plate again: lugwright read FILE --step "{IDLE_STEP}"',
        )  # fmt: skip


def noted_settings(bench: Bench, *, until: str = NOW) -> dict[str, float]:
    """Return where controls were noted to stand up to some time, as shares of their rotation."""
    settings = ((name, each) for name, each in bench.settings.items() if each.time <= until)
    return {name: each.body.share for name, each in settings if each.body.share is not None}
