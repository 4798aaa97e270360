"""Readings written into the log, and held against the charts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from lugwright.bringup.charted import HIGH, LOW, OHMS, ChartedStep, Charts, step_named
from lugwright.bringup.fed_limits import DC, ReadVolts, Seen, read_volts, with_feed
from lugwright.bringup.lamp_reading import LAMP
from lugwright.bringup.reading_text import shown_text
from lugwright.bringup.reading_words import SIGN, SIGNS, body_of_reading, reading_again, reading_from_words
from lugwright.bringup.results import JudgedReading
from lugwright.errors import LugwrightError, NoSuchPoint, ReadingError
from lugwright.findings import Finding, Grade
from lugwright.log.events import Entry
from lugwright.log.measured_bodies import READING, TAKEN_BACK, ReadingBody
from lugwright.log.state import Bench, TakenReading, played
from lugwright.log.store import Draft
from lugwright.meters.logger_file import logged_values, with_points
from lugwright.workflow.bench import BenchLog
from lugwright.workflow.opened import Opened
from lugwright.workflow.ticking import one_copy

MOST_TOLD = 20


@dataclass(frozen=True)
class SaidReading:
    """A reading as somebody said it; ``step`` "": the step that readings were last taken in."""

    point: str
    value: str
    step: str = ""
    where: str = ""  # of the file it comes from: "meter.csv, line 4"
    meter_time: str = ""  # by the meter's own clock


def read_in(
    opened: Opened, said: Sequence[SaidReading], *, step: str = "", meter: str = ""
) -> tuple[JudgedReading, ...]:
    """Write readings into the log, all or none, and return them held against the charts.

    Raises
    ------
    ReadingError
        One of them cannot be understood; all such are told.
    LogError
        The log cannot be written.
    """
    one_copy(opened)
    charts = opened.charts
    judged: list[JudgedReading] = []
    mistakes: list[LugwrightError] = []
    for each in said:
        try:
            in_step = step_of(opened, charts, each.step or step)
            judged.append(reading_from_words(charts, in_step, each.point, each.value))
        except (ReadingError, NoSuchPoint) as error:
            mistakes.append(_at(each, error))
    if mistakes:
        raise all_of(mistakes)
    log = opened.bench_log
    entries = log.log.append(log.copy, [_draft(one, each, meter) for one, each in zip(judged, said, strict=True)])
    kept = [replace(one, id=e.id, time=e.time) for one, e in zip(judged, entries, strict=True)]
    if not any(one.quantity == DC for one in kept):
        return tuple(kept)
    volts = read_volts(charts, seen_in(BenchLog(log.path, log.copy).bench))
    return tuple(with_feed(one, volts) for one in kept)


def said_in_file(path: Path, points: Sequence[str]) -> list[SaidReading]:
    """Return the readings in the file of a meter's logger; ``points`` where it has none, in the order of its lines.

    Raises
    ------
    FileAccessError
        The file cannot be read.
    ReadingError
        It is no such file, or points and lines do not go together.
    """
    return [
        SaidReading(point, value.value, value.step, f"{path.name}, line {value.line}", value.time)
        for value, point in with_points(logged_values(path), points)
    ]


def readings_now(opened: Opened, *, step: str = "") -> tuple[JudgedReading, ...]:
    """Return the readings that count, held against the charts as they are now, in the order of the steps."""
    charts = opened.charts
    only = SIGNS if step.strip().casefold() == SIGNS else step_named(step, charts.steps).key if step else ""
    order = {each.key: place for place, each in enumerate(charts.steps)}
    taken = [each for each in opened.bench_log.bench.counting.values() if only in ("", each.body.step)]
    taken.sort(key=lambda each: (order.get(each.body.step, len(order)), each.time))
    volts = read_volts(charts, seen_in(opened.bench_log.bench))
    return tuple(_again(each, volts) for each in taken)


def seen_in(bench: Bench) -> Iterator[Seen]:
    """Yield step, red, black, quantity and value of the readings that count and hang on nothing besides."""
    for each in bench.counting.values():
        if not each.body.condition:
            yield seen_of(each.body)


def seen_of(body: ReadingBody) -> Seen:
    """Return what a reading of the log says."""
    return body.step, body.red, body.black, body.quantity, body.shown


def readings_before(opened: Opened) -> tuple[JudgedReading, ...]:
    """Return the readings that no longer count because the same was read again, held against the charts of now."""
    bench = opened.bench_log.bench
    counting = {each.id for each in bench.counting.values()}
    nothing = read_volts(opened.charts, ())
    return tuple(_again(each, nothing) for each in bench.readings if each.id not in counting)


def take_readings_back(opened: Opened, points: Sequence[str], *, step: str = "") -> tuple[Entry, ...]:
    """Take back the readings of some points in one step, every one of them; nothing is erased.

    Raises
    ------
    ReadingError
        No reading of that point counts in that step.
    """
    one_copy(opened)
    charts = opened.charts
    in_step = step_of(opened, charts, step)
    drafts: list[Draft] = []
    for point in points:
        held = charts.held(in_step.key, point)
        condition = charts.full_condition(in_step.key, held)
        at = (in_step.key, held.red.key, held.black.key)
        found = [r for r in opened.bench_log.bench.readings if r.point[:3] == at and r.body.condition == condition]
        if not found:
            raise ReadingError(
                what=f"no reading of {held.words} is in the log",
                found=f"none at {in_step.words}",
                wanted="a point that was read in that step",
                do="look at the readings: lugwright read FILE --list",
            )
        drafts += [(TAKEN_BACK, each.subject, {"entry": each.id}) for each in found]
    return opened.bench_log.log.append(opened.bench_log.copy, drafts)


def stirred_up(opened: Opened, just: Sequence[JudgedReading]) -> tuple[JudgedReading, ...]:
    """Return the readings taken before at which something burns, or may, by what was just read elsewhere."""
    charts, ids = opened.charts, {one.id for one in just}
    bench = BenchLog(opened.bench_log.path, opened.bench_log.copy).bench
    before = replace(bench, readings=tuple(each for each in bench.readings if each.id not in ids))
    then, now = (read_volts(charts, seen_in(each)) for each in (before, bench))
    feeds = {(one.step, charts.points.spot(one.red).joint) for one in just if one.quantity == DC}
    found = ((each, _again(each, now)) for each in bench.counting.values() if each.id not in ids)
    return tuple(
        judged
        for each, judged in found
        if (judged.burns or judged.doubt) and ((judged.step, judged.feed) in feeds or judged != _again(each, then))
    )


def reading_findings(readings: Sequence[JudgedReading]) -> tuple[Finding, ...]:
    """Return what is outside its window, and what may burn there because its feed was perhaps read too low."""
    found: list[Finding] = []
    for each in readings:
        if each.burns or each.verdict in (HIGH, LOW):
            found.append(_burning(each) if each.burns else _outside(each))
        if each.doubt:
            found.append(_in_doubt(each))
    return tuple(found)


_AGAIN = "read it once more with the right range of the meter; if it stays so: lugwright trace FILE"
_LAMP_LOW = "something draws too little: is all of it in, and does it light? If so: lugwright trace FILE"
_AT_ONCE = {  # whether the plug is in -> name of the rule, what to do
    True: (
        "switch-off-now",
        "SWITCH OFF, pull the plug, hands off until every filter capacitor is measured below 60 V; then: lugwright "
        "trace FILE",
    ),
    False: ("plug-stays-out", "the plug stays out of the wall until this is right: lugwright trace FILE"),
}


def _burning(reading: JudgedReading) -> Finding:
    """Return what says: switch off now, or do not plug in; it comes before any second reading."""
    rule, do = _AT_ONCE[reading.live]
    return Finding(
        rule=rule, grade=Grade.DANGER, what=f"{reading.point} reads {reading.off}: {reading.burns}",
        found=reading.doubted, wanted=reading.window, do=do, source=reading.title,
    )  # fmt: skip


def _in_doubt(reading: JudgedReading) -> Finding:
    return Finding(
        rule="feed-in-doubt", grade=Grade.DOUBT,
        what=f"{reading.point} reads {reading.off}, and nothing explains how low {reading.feed} was read",
        found=f"{reading.doubted}: {reading.doubt}",
        wanted="the feed inside its window, or a winding of the transformer low by the same share",
        do=f"read {reading.feed} again before anything else; if it stays so and no winding is as low: SWITCH OFF, pull "
        "the plug, then lugwright trace FILE; is the mains low? lugwright as-built FILE mains VOLTS",
        source=reading.title,
    )  # fmt: skip


def _outside(reading: JudgedReading) -> Finding:
    return Finding(
        rule="reading-outside-window",
        grade=Grade.FAULT,
        what=f"{reading.point} reads {reading.off}",
        found=reading.doubted,
        wanted=reading.window,
        do=_LAMP_LOW if reading.quantity == LAMP else _AGAIN,
        source=reading.title,
    )


def step_of(opened: Opened, charts: Charts, step: str) -> ChartedStep:
    """Return the step that is meant: as said, or the one that readings were last taken in.

    Raises
    ------
    ReadingError
        There is no such step, or none is said and no reading is in the log.
    """
    if step:
        return step_named(step, charts.steps)
    log = opened.bench_log
    taken = played(log.log.entries((READING, TAKEN_BACK)), log.copy).readings
    readings = [each for each in taken if each.body.quantity != SIGN]
    if not readings:
        raise ReadingError(
            what="nobody knows yet at which step this was read",
            found="no reading in the log, and no --step",
            wanted=f"the step: {'; '.join(each.key for each in charts.steps)}; or its number",
            do=f"add --step, such as --step {OHMS}; it holds for the next readings too",
        )
    return step_named(readings[-1].body.step, charts.steps)


def _again(taken: TakenReading, volts: ReadVolts) -> JudgedReading:
    try:
        judged = with_feed(reading_again(volts.charts, taken.body), volts)
    except NoSuchPoint:
        body = taken.body
        text = shown_text(body.shown, body.quantity, body.unit, digit=body.digit)
        judged = JudgedReading(
            body.step, body.step, taken.subject, body.red, body.black, body.quantity, body.shown, body.unit, body.digit,
            text, condition=body.condition, note="this point is no longer in the build",
        )  # fmt: skip
    return replace(judged, id=taken.id, time=taken.time)


def _draft(taken: JudgedReading, said: SaidReading, meter: str) -> Draft:
    body = body_of_reading(taken, words=f"{said.point} = {said.value}"[:400], meter=meter)
    return READING, taken.point[:400], body | ({"meter_time": said.meter_time} if said.meter_time else {})


def _at(said: SaidReading, error: LugwrightError) -> LugwrightError:
    if not said.where:
        return error
    return ReadingError(what=f"{said.where}: {error.what}", found=error.found, wanted=error.wanted, do=error.do)


def all_of(mistakes: Sequence[LugwrightError]) -> ReadingError:
    """Return all mistakes as one error; of very many the first ones."""
    first, *rest = mistakes
    whole = ReadingError(what=first.what, found=first.found, wanted=first.wanted, do=first.do)
    whole.others = tuple(rest[: MOST_TOLD - 1])
    if len(mistakes) > MOST_TOLD:
        whole.others += (
            ReadingError(
                what=f"{len(mistakes) - MOST_TOLD} more cannot be understood",
                found=f"{len(mistakes)} in all",
                wanted="nothing is written before all are right",
                do="correct these first",
            ),
        )
    return whole
