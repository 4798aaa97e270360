"""One reading in words, understood whole: step, point, value; the quantity follows from unit, place and step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lugwright.bringup.charted import OHMS, ChartedStep, Charts
from lugwright.bringup.lamp_reading import BEHIND, LAMP, NAMES, judged_lamp, lamp_volts
from lugwright.bringup.meter_value import Shown, refuse_beyond, shown
from lugwright.bringup.reading_points import Held
from lugwright.bringup.reading_text import said_yes, shown_text
from lugwright.bringup.results import JudgedReading
from lugwright.buildfile.mistakes import printable
from lugwright.errors import ReadingError
from lugwright.log.measured_bodies import QUANTITIES, ReadingBody

SIGNAL, SIGNAL_V = "signal", "signal V ac"
SIGN, SIGNS = "sign", "signs"  # quantity of a sign in the log, and the step all of them are kept under
_BY_UNIT = {"ohm": "ohm", "A": "A dc", "F": "farad"}


def reading_from_words(charts: Charts, step: ChartedStep, point: str, value: str) -> JudgedReading:
    """Return a reading as it goes into the log, held against the chart of its step.

    Parameters
    ----------
    charts : Charts
        The charts of this build.
    step : ChartedStep
        In which it was taken.
    point, value : str
        As a person writes them: ``V1 pin 6``, ``203 V``.

    Returns
    -------
    JudgedReading
        With the window of its step; in volts, ohms, amperes, farads.

    Raises
    ------
    NoSuchPoint
        The build has no such point.
    ReadingError
        The value cannot be understood, or not at this point and step.

    Source
    ------
    The charts of this build.
    """
    if " ".join(point.casefold().split()) in NAMES:
        return _lamp(next((s for s in charts.steps if s.key == f"{step.key}{BEHIND}"), step), value)
    held = charts.held(step.key, point)
    found = shown(value)
    held = replace(held, condition=charts.full_condition(step.key, held))
    quantity = _quantity(found, step, charts.quantities(step.key, held))
    if quantity.endswith("V ac") and found.value < 0.0:
        raise _refused(
            point, value, "volts of alternating current without a sign", "write 'V dc', or take the sign out"
        )
    if quantity == "ohm" and found.value < 0.0:
        raise _refused(
            point, value, "ohms that are not negative",
            "negative ohms mean that volts stand there: plug out, every filter capacitor below 60 V, then read again",
        )  # fmt: skip
    if quantity == "ohm" and step.live:
        raise _refused(
            point, f"{value} at {step.words}", "volts: an ohmmeter on a live circuit lies, and is destroyed",
            f"take ohms with the plug out and every filter capacitor below 60 V, and write --step {OHMS}",
        )  # fmt: skip
    refuse_beyond(value, found.value, QUANTITIES[quantity])
    return charts.judged(_taken(step.key, step.words, held, quantity, found.value, found.digit), held)


def reading_again(charts: Charts, body: ReadingBody) -> JudgedReading:
    """Return a reading of the log, held against the charts as they are now; a sign as it is.

    Raises
    ------
    NoSuchPoint
        Its point is no longer in the build.
    """
    if body.quantity == SIGN:
        return judged_sign(body.red, body.shown)
    if body.quantity == LAMP:
        return _lamp_again(charts, body)
    held = replace(charts.place(body.step, red=body.red, black=body.black), condition=body.condition)
    title = next((step.words for step in charts.steps if step.key == body.step), body.step)
    return charts.judged(_taken(body.step, title, held, body.quantity, body.shown, body.digit), held)


def _lamp(step: ChartedStep, value: str) -> JudgedReading:
    """Return how bright the limiter lamp was."""
    if step.lamp is None:
        raise _refused(
            "the limiter lamp", f"{value} at {step.words}", f"a step behind the lamp, such as 'no tubes{BEHIND}'",
            "say the step that it was seen in",
        )  # fmt: skip
    volts, width_v = lamp_volts(value, step.lamp.mains_v)
    return judged_lamp(step.key, step.words, volts, width_v, step.lamp)


def _lamp_again(charts: Charts, body: ReadingBody) -> JudgedReading:
    step = next((step for step in charts.steps if step.key == body.step), None)
    window = step.lamp if step else None
    mains_v = window.mains_v if window else 1.0
    title = step.words if step else body.step
    return judged_lamp(body.step, title, body.shown * mains_v, body.digit * mains_v, window)


def judged_sign(name: str, value: float) -> JudgedReading:
    """Return a sign among readings: no chart says how it should be."""
    title = "what was seen and heard"
    return JudgedReading(SIGNS, title, name, name, SIGNS, SIGN, value, "", 0.0, said_yes(value), verdict="")


def _taken(step: str, title: str, held: Held, quantity: str, value: float, digit: float) -> JudgedReading:
    unit = QUANTITIES[quantity]
    return JudgedReading(
        step=step,
        title=title,
        point=held.words,
        red=held.red.key,
        black=held.black.key,
        quantity=quantity,
        value=value,
        unit=unit,
        digit=digit,
        shown=shown_text(value, quantity, unit, digit=digit),
        condition=held.condition,
    )


def body_of_reading(taken: JudgedReading, *, words: str, meter: str) -> dict[str, object]:
    """Return what the log keeps of a reading: no window, since the build may change."""
    over = taken.value == float("inf")
    body: dict[str, object] = {
        "step": taken.step, "red": taken.red, "black": taken.black, "quantity": taken.quantity,
        "value": None if over else taken.value, "unit": taken.unit, "over_range": over,
    }  # fmt: skip
    meter, words = printable(meter)[:200], printable(words)[:400]
    told = {"digit": taken.digit, "meter": meter, "condition": taken.condition, "words": words}
    return body | {key: value for key, value in told.items() if value}


def _quantity(found: Shown, step: ChartedStep, charted: Sequence[str]) -> str:
    """Return what was read: by its unit, and where that leaves it open, by what the chart reads there."""
    if found.unit in _BY_UNIT:
        return _BY_UNIT[found.unit]
    if SIGNAL_V in charted and found.alternating is not False:
        return SIGNAL_V
    if not found.unit:
        bare = next((quantity for quantity in charted if quantity in QUANTITIES), "")
        return bare or ("ohm" if step.key == OHMS else "V dc")
    if found.alternating is False:
        return "V dc"
    if found.alternating is None:
        return "V ac" if "V ac" in charted and "V dc" not in charted else "V dc"
    if step.key.startswith(SIGNAL):
        return "signal V ac"
    return "ripple V ac" if "V dc" in charted and "V ac" not in charted else "V ac"


def _refused(point: str, found: str, wanted: str, do: str) -> ReadingError:
    return ReadingError(what=f"{point} cannot read that", found=found, wanted=wanted, do=do)
