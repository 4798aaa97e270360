"""The first power-up as it is lived through: where one copy stands, what was read, what may come next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from lugwright.bringup.charted import Charts, charted_steps, step_named
from lugwright.bringup.fed_limits import ReadVolts, read_volts, with_feed
from lugwright.bringup.gate import Guard, guards_before, guards_of, missing, never_passed, refusals
from lugwright.bringup.lamp_reading import BEHIND, LAMP
from lugwright.bringup.reading_points import Held
from lugwright.bringup.reading_text import YES_FROM
from lugwright.bringup.reading_words import SIGN, reading_again
from lugwright.bringup.results import Alarm, JudgedReading, PowerUp, Reading, Step, StepState
from lugwright.bringup.signs import signs_of
from lugwright.errors import NoSuchPoint, NotYet
from lugwright.log.events import JOB_CHECKED, NOTE, TAKEN_OUT
from lugwright.log.state import Bench, TakenReading
from lugwright.workflow.bench import BenchLog
from lugwright.workflow.opened import Opened
from lugwright.workflow.readings import SaidReading, read_in, seen_in
from lugwright.workflow.ticking import one_copy

PHASE = "power-up"  # of a ticked step in the log, where job cards have theirs
WENT_ON = "went_on"  # in a note: what was passed over
LEAST_REASON = 10  # letters


@dataclass(frozen=True)
class _Bench:
    """What the log holds of the power-up of one copy."""

    steps: tuple[Step, ...]
    charts: Charts
    bench: Bench
    passed_over: frozenset[str]
    notes: tuple[str, ...]

    @property
    def ticked(self) -> frozenset[str]:
        return frozenset(title for phase, title in self.bench.cards if phase == PHASE)

    def taken(self) -> Mapping[tuple[str, str], JudgedReading]:
        """Return the readings that count, by step and row of its chart."""
        found: dict[tuple[str, str], JudgedReading] = {}
        volts = read_volts(self.charts, seen_in(self.bench))
        for each in self.bench.counting.values():
            row, judged = self._judged(each, volts)
            if row is not None:
                found[each.body.step, row.point] = judged
        return found

    def _judged(self, each: TakenReading, volts: ReadVolts) -> tuple[Reading | None, JudgedReading]:
        judged = with_feed(reading_again(self.charts, each.body), volts)
        points = self.charts.points
        held = Held(points.spot(each.body.red), points.spot(each.body.black), each.body.condition)
        found = self.charts.row(each.body.step, held, each.body.quantity)
        return (None if found is None else found[0]), replace(judged, id=each.id, time=each.time)


def _bench_of(opened: Opened) -> _Bench:
    log = BenchLog(opened.bench_log.path, opened.bench_log.copy)  # as it is now, not as it was when it was opened
    notes = [e for e in log.entries if e.copy == log.copy and e.kind == NOTE and isinstance(e.body.get(WENT_ON), list)]
    passed = frozenset(str(name) for entry in notes for name in entry.body[WENT_ON])
    words = tuple(str(entry.body.get("text", "")) for entry in notes)
    return _Bench(opened.power_up, opened.charts, _known(log.bench, opened), passed, words)


def _known(bench: Bench, opened: Opened) -> Bench:
    """Return the bench without readings whose points are no longer in the build."""
    points = opened.charts.points

    def known(each: TakenReading) -> bool:
        try:
            points.spot(each.body.red), points.spot(each.body.black)
        except NoSuchPoint:
            return False
        return True

    return replace(bench, readings=tuple(each for each in bench.readings if known(each)))


def taken_readings(opened: Opened) -> Mapping[tuple[str, str], JudgedReading]:
    """Return the readings of the log that count, by key of the step and point of its chart; none without a log."""
    if not opened.bench_log.path.exists() or not opened.bench_log.bench.readings:
        return {}
    return _bench_of(opened).taken()


def power_up_now(opened: Opened, *, number: int | None = None) -> PowerUp:
    """Return where the power-up stands; ``number``: the step that is asked for, else the next one.

    Raises
    ------
    NotYet
        There is no such step.
    """
    at = _bench_of(opened)
    taken = at.taken()
    states = tuple(_state(at, step, taken) for step in at.steps)
    following = next((s.number for s in states if not s.passed), 0)
    wanted = number or following or (at.steps[-1].number if at.steps else 0)
    shown = _step(at.steps, wanted) if at.steps else None
    left = _missing(at, wanted, taken)
    readings = tuple(taken.get((shown.key, r.point)) for r in shown.readings) if shown else ()
    return PowerUp(states, following, shown, readings, refusals(left, taken), at.notes)


def step_number(opened: Opened, said: str) -> int:
    """Return the number of the step that is said by its number, key or title.

    Raises
    ------
    NotYet
        There is no step of that number.
    ReadingError
        There is no step of that name.
    """
    if said.strip().isdecimal():
        return _step(opened.power_up, int(said)).number
    return step_named(said, charted_steps(opened.power_up)).number


def _step(steps: tuple[Step, ...], number: int) -> Step:
    found = next((step for step in steps if step.number == number), None)
    if found is None:
        raise NotYet(
            what=f"there is no step {number}",
            found=f"{len(steps)} steps",
            wanted=f"1 to {len(steps)}",
            do="look at the steps: lugwright power-up FILE --list",
        )
    return found


def _missing(at: _Bench, number: int, taken: Mapping[tuple[str, str], JudgedReading]) -> tuple[Guard, ...]:
    return missing(guards_before(at.steps, number), taken, ticked=at.ticked, passed_over=at.passed_over)


def _state(at: _Bench, step: Step, taken: Mapping[tuple[str, str], JudgedReading]) -> StepState:
    found = [reading for r in step.readings if (reading := taken.get((step.key, r.point))) is not None]
    guards = tuple(guards_of(step))
    left = missing(guards, taken, ticked=at.ticked, passed_over=at.passed_over)
    return StepState(
        step.number,
        step.key,
        step.title,
        step.mains,
        len(step.readings),
        len(found),
        tuple(reading for reading in found if reading.verdict != "ok" or reading.burns),
        step.key in at.ticked,
        not left if guards else step.key in at.ticked,
    )


def alarms_now(opened: Opened) -> tuple[Alarm, ...]:
    """Return what was read or seen that says: switch off now, keep the plug out, or read its feed again."""
    at = _bench_of(opened)
    taken = at.taken()
    read = (
        _alarm(step, row.point, reading)
        for step in at.steps
        for row in step.readings
        if (reading := taken.get((step.key, row.point))) is not None and (reading.burns or reading.doubt)
    )
    return (*read, *_lamps(opened, at), *_signs(opened))


def _lamps(opened: Opened, at: _Bench) -> Iterator[Alarm]:
    """Yield the limiter lamp where it was brighter than behind a good build."""
    steps = {step.key: step for step in at.steps}
    for each in opened.bench_log.bench.counting.values():
        if each.body.quantity == LAMP and each.body.step in steps:
            judged = reading_again(at.charts, each.body)
            if judged.burns:
                yield _alarm(steps[each.body.step], judged.point, judged)


def _signs(opened: Opened) -> Iterator[Alarm]:
    """Yield the signs that were seen and go on doing harm."""
    harm = {sign.name: sign.harm for sign in signs_of(opened.written)}
    for each in opened.bench_log.bench.counting.values():
        if each.body.quantity == SIGN and each.body.shown >= YES_FROM and harm.get(each.body.red):
            yield Alarm(0, True, each.body.red, each.body.red, "was seen", harm[each.body.red])


def _alarm(step: Step, point: str, reading: JudgedReading) -> Alarm:
    rest = f"at step {step.number}, {step.title}; good builds {reading.window}"
    why, doubt = reading.burns or reading.again, not reading.burns
    return Alarm(step.number, step.live, point, f"{point} shows {reading.shown}", rest, why, doubt)


def reading_at(opened: Opened, said: str, point: str, value: str) -> JudgedReading:
    """Write one reading of a step into the log; return it held against its window.

    A step that nothing was read in yet is not begun before what guards it is as it should be, or was passed over.

    Raises
    ------
    NotYet
        The step may not be begun.
    ReadingError, NoSuchPoint
        There is no such step or point, or the value cannot be understood.
    LogError
        The log cannot be written.
    """
    at = _bench_of(opened)
    step = _step(at.steps, step_number(opened, said))
    lamp = point.strip().casefold() == LAMP
    if lamp:
        step = next((s for s in at.steps if s.key == f"{step.key}{BEHIND}"), step)
    taken = at.taken()
    left = _missing(at, step.number, taken)
    if left and not any(key == step.key for key, _ in taken):
        raise _not_yet(step, left, do=f"do step {left[0].step.number} first")
    (judged,) = read_in(opened, [SaidReading(point, value)], step=step.key)
    return judged


def step_reading(opened: Opened, step: Step, row: Reading, value: str, *, meter: str = "") -> JudgedReading:
    """Write the reading of one row into the log; return it held against its window.

    Raises
    ------
    ReadingError
        The value cannot be understood.
    LogError
        The log cannot be written.
    """
    point = f"{row.red or row.joint} to {row.black}" + (f", {row.at}" if row.at else "")
    (judged,) = read_in(opened, [SaidReading(point, value)], step=step.key, meter=meter)
    return judged


def step_done(opened: Opened, number: int, *, undo: bool = False) -> str:
    """Write into the log that a step is done, or that it is not; return its title.

    Raises
    ------
    NotYet
        There is no such step, or one before it is not as it should be.
    LogError
        The log cannot be written.
    """
    one_copy(opened)
    at = _bench_of(opened)
    step = _step(at.steps, number)
    left = _missing(at, number, at.taken())
    if left and not undo:
        raise _not_yet(step, left, do=f"do step {left[0].step.number} first: lugwright power-up FILE")
    body: dict[str, object] = {"phase": PHASE, "title": step.key, "lines": list(step.do)}
    subject = f"step {step.number}, {step.title}"
    draft = (TAKEN_OUT, subject, {"undone": JOB_CHECKED, **body}) if undo else (JOB_CHECKED, subject, body)
    opened.bench_log.log.append(opened.bench_log.copy, [draft])
    return step.title


def pass_over(opened: Opened, number: int, reason: str) -> tuple[str, ...]:
    """Write into the log that a step is taken although something before it is not as it should be; return what.

    Raises
    ------
    NotYet
        It can hurt, something burns at what was read, or no reason is given.
    LogError
        The log cannot be written.
    """
    one_copy(opened)
    at = _bench_of(opened)
    step = _step(at.steps, number)
    taken = at.taken()
    left = _missing(at, number, taken)
    never = tuple(guard for guard in left if never_passed(guard, taken))
    if never:
        raise _not_yet(step, never, do=_no_way_past(never[0], taken))
    if left and len(reason.strip()) < LEAST_REASON:
        raise NotYet(
            what=f"step {number} is not taken without a reason",
            found=repr(reason),
            wanted=f"why it is right to go on, in {LEAST_REASON} letters or more: the log keeps it",
            do='write it: --anyway "B+ is high because the mains stands at 128 V"',
        )
    if left:
        names = [guard.id for guard in left]
        text = f"went on to step {number}, {step.title}, without {'; '.join(names)}: {reason.strip()}"
        body: dict[str, object] = {"text": text[:2000], WENT_ON: names}
        opened.bench_log.log.append(opened.bench_log.copy, [(NOTE, PHASE, body)])
    return tuple(guard.id for guard in left)


def _no_way_past(guard: Guard, taken: Mapping[tuple[str, str], JudgedReading]) -> str:
    reading = None if guard.reading is None else taken.get((guard.step.key, guard.reading.point))
    again = "" if reading is None or guard.deadly or reading.burns else reading.again
    return again or "put it right: this one cannot be passed over"


def _not_yet(step: Step, left: tuple[Guard, ...], *, do: str) -> NotYet:
    first = left[0]
    what = first.reading.point if first.reading is not None else first.step.title
    more = f", and {len(left) - 1} more" if len(left) > 1 else ""
    return NotYet(
        what=f"step {step.number}, {step.title}, may not be taken yet",
        found=f"not as it should be at step {first.step.number}: {what}{more}",
        wanted=f"every reading that guards it, inside its window: {first.burns}",
        do=do,
    )
