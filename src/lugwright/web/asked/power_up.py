"""The first power-up: where it stands, its steps with their charts, readings typed into them."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from lugwright.bringup.results import Alarm, JudgedReading, PowerUp
from lugwright.documents.book.bench_pages import mains_words
from lugwright.web.asked.asked import METER, Args, Asked
from lugwright.web.desk import Desk
from lugwright.web.fragments import fragment
from lugwright.web.shown import readings
from lugwright.workflow import (
    Opened,
    alarms_now,
    pass_over,
    power_up_now,
    reading_at,
    readings_before,
    readings_now,
    step_done,
    step_number,
    take_readings_back,
)

Step = Annotated[str, Field(min_length=1, max_length=100)]
Words = Annotated[str, Field(min_length=1, max_length=300)]
LAMP = "lamp"  # quantity of a reading
TICKED_LINES = ("look", "polarity")  # every line of these steps is looked at by itself
CHARTS = (
    ("ohms_chart", "the ohms chart: what every pin and lug reads with the plug out"),
    ("before_mains", "the steps before the plug goes in"),
    ("steps", "the windows of every step with the plug in"),
)


class StepArgs(Args):
    """A step by its key, number or title; "" the next one."""

    step: Annotated[str, Field(max_length=100)] = ""


class ReadingArgs(Args):
    """What a meter shows at a point of a step, in words: ``203``, ``98k2``, ``OL``."""

    step: Step
    point: Words
    value: Annotated[str, Field(min_length=1, max_length=60)]


class BackArgs(Args):
    """A point whose readings in a step do not count."""

    step: Step
    point: Words


class DoneArgs(Args):
    """A step that is done; ``undo``: it is not done after all."""

    step: Step
    undo: bool = False


class OverArgs(Args):
    """A step that is taken although something before it is not as it should be, and why that is right."""

    step: Step
    reason: Annotated[str, Field(max_length=1000)]


def _worked_out(desk: Desk) -> Opened:
    """Return the build with every chart; what takes its time is told."""
    opened = desk.opened
    for place, (name, words) in enumerate(CHARTS):
        if name not in opened.__dict__ and name not in opened.computed.__dict__:
            desk.tell(place / len(CHARTS), words)
        getattr(opened, name)
    return opened


def _power_up(desk: Desk, args: StepArgs) -> dict[str, Any]:
    opened = _worked_out(desk)
    number = step_number(opened, args.step) if args.step else None
    found, alarms = power_up_now(opened, number=number), alarms_now(opened)
    shown = found.shown
    return {
        "step": shown.key if shown else "",
        "number": shown.number if shown else 0,
        "next": found.next,
        "copy": opened.bench_log.copy,
        "parts": {
            "power-alarm": fragment("power/alarm", alarms=alarms),
            "power-steps": _steps(found),
            "power-step": _step(opened, found, alarms),
            "power-readings": fragment("power/readings", taken=_taken(opened)),
        },
    }


def _steps(found: PowerUp) -> str:
    number = found.shown.number if found.shown else 0
    states = [(state, readings.state_words(state, found.next, number)) for state in found.states]
    return fragment("power/steps", found=found, states=states, shown=number)


def _step(opened: Opened, found: PowerUp, alarms: tuple[Alarm, ...]) -> str:
    shown = found.shown
    state = next((s for s in found.states if shown is not None and s.number == shown.number), None)
    guarded = [s.number for s in opened.power_up if s.key in TICKED_LINES or any(r.guards for r in s.readings)]
    return fragment(
        "power/step",
        found=found,
        step=shown,
        state=state,
        expected=list(mains_words(shown)) if shown is not None else [],
        sections=readings.sections(found, alarms),
        blocking=readings.blocking(found, guarded),
        deadly=any(refusal.grade.value == "danger" for refusal in found.refusals),
        by_line=shown is not None and shown.key in TICKED_LINES,
        lamp=_lamp(opened, found),
    )


def _lamp(opened: Opened, found: PowerUp) -> dict[str, str] | None:
    """Return how the limiter lamp of the step shown was told to look."""
    if found.shown is None or found.shown.lamp_window is None or not opened.bench_log.path.exists():
        return None
    told = [r for r in readings_now(opened, step=found.shown.key) if r.quantity == LAMP]
    return _judged(told[-1]) if told else None


def _judged(reading: JudgedReading) -> dict[str, str]:
    """Return how a reading was judged, in words and as a mark."""
    verdict = readings.alarm_words(reading.live) if reading.burns else readings.verdict_words(reading)
    mark, kind = readings.MARKS.get(verdict, ""), readings.kind_of(verdict)
    return {"shown": reading.shown, "window": reading.window, "verdict": verdict, "mark": mark, "kind": kind}


def _taken(opened: Opened) -> list[dict[str, Any]]:
    """Return the readings that count, each with what the same showed before."""
    if not opened.bench_log.path.exists():
        return []
    before: dict[tuple[str, ...], list[str]] = {}
    for each in readings_before(opened):
        before.setdefault(_place(each), []).append(f"{each.shown}, {readings.clock(each.time)}")
    return [
        {
            "reading": each,
            "kind": readings.kind_of(readings.verdict_words(each)),
            "verdict": readings.verdict_words(each),
            "time": readings.clock(each.time),
            "place": f"{each.red} to {each.black}" + (f", {each.condition}" if each.condition else ""),
            "before": before.get(_place(each), []),
        }
        for each in readings_now(opened)
    ]


def _place(reading: JudgedReading) -> tuple[str, ...]:
    return reading.step, reading.red, reading.black, reading.quantity, reading.condition


def _reading(desk: Desk, args: ReadingArgs) -> dict[str, Any]:
    judged = reading_at(_worked_out(desk), args.step, args.point, args.value)
    return {"point": judged.point, "burns": judged.burns, **_judged(judged)}


def _take_back(desk: Desk, args: BackArgs) -> dict[str, Any]:
    return {"written": [e.subject for e in take_readings_back(_worked_out(desk), [args.point], step=args.step)]}


def _done(desk: Desk, args: DoneArgs) -> dict[str, Any]:
    opened = _worked_out(desk)
    number = step_number(opened, args.step)
    title = step_done(opened, number, undo=args.undo)
    return {"number": number, "title": title, "next": power_up_now(opened).next}


def _over(desk: Desk, args: OverArgs) -> dict[str, Any]:
    opened = _worked_out(desk)
    return {"passed": list(pass_over(opened, step_number(opened, args.step), args.reason))}


POWER_UP = Asked("power up", _power_up, StepArgs, METER)  # where readings are written, so that charts are made once
READING = Asked("reading", _reading, ReadingArgs, METER, writes=True)
TAKE_BACK = Asked("take reading back", _take_back, BackArgs, METER, writes=True)
STEP_DONE = Asked("step done", _done, DoneArgs, METER, writes=True)
PASS_OVER = Asked("pass over", _over, OverArgs, METER, writes=True)
