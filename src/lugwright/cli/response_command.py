"""``lugwright response``: gain and impedances over frequency, stages, feedback, stability, hiss."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.numbers import Number
from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build, set_option, writing
from lugwright.cli.what_if import only_as_built, show_what_if
from lugwright.documents.compared import Quantity, rest_figures
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lugwright.findings import Finding
    from lugwright.solve.response_results import AmplifierResponse, LoopGain, Poles, ResponseCurve, ResponseWish
    from lugwright.workflow import Opened

_LISTED_HZ = (20.0, 50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 10e3, 20e3)
_MOST_POLES, _MOST_SOURCES = 6, 8


@click.command()
@build_file
@click.option("--from", "source", metavar="POINT", help="Where the signal goes in; a joint or a terminal: J1.tip.")
@click.option("--to", "output", metavar="POINT", help="Where it comes out, LS1 for one; A/B: between A and B.")
@click.option(
    "--knob", "knobs", multiple=True, metavar="NAME=TURN,...", help="Settings of a knob, 0 to 1: Treble=0,0.5,1."
)
@click.option("--low", type=Number(min=1e-3), default=10.0, show_default=True, metavar="HZ")
@click.option("--high", type=Number(max=1e9), default=100e3, show_default=True, metavar="HZ")
@click.option("--dummy", is_flag=True, help="A resistor in place of the loudspeaker.")
@click.option("--guitar", "guitar", metavar="OHM", help="This at the input while it hisses, such as 10k.")
@click.option("--watts", type=Number(min=0.001), help="Full power, to compare the hiss with.")
@click.option("--chart", type=click.Path(path_type=Path), metavar="FILE", help="Draw the curves into an SVG file.")
@set_option
@json_option
def command(
    build_file: Path, source: str | None, output: str | None, knobs: tuple[str, ...], low: float, high: float,
    dummy: bool, guitar: str | None, watts: float | None, chart: Path | None, changes: tuple[str, ...], as_json: bool,
) -> None:  # fmt: skip
    """Compute what small signals do: from the first input to the speaker, or between any two points."""
    from lugwright.cli.reports import ResponseReport
    from lugwright.solve.response_results import ResponseWish

    if low >= high:
        raise click.BadParameter("must lie above --low", param_hint="--high")
    wish = ResponseWish(source, output, tuple(_knob(text) for text in knobs), low, high, dummy, _ohm(guitar), watts)
    if changes:
        only_as_built(chart=chart)
        show_what_if(build_file, changes, lambda opened: quantities(opened, wish), doing="computing the response",
                     as_json=as_json, findings=lambda opened: _findings(opened, opened.response_to(wish)))  # fmt: skip
    opened = opened_build(build_file)
    with at_work("computing the response"):
        certified(opened.idle)
        response = opened.response_to(wish)
        findings = _findings(opened, response)
    if chart is not None:
        from lugwright.documents.drawings.response_chart import gain_chart_svg
        from lugwright.workflow import write_drawing

        with writing():
            write_drawing(chart, gain_chart_svg(response))
    report = ResponseReport(opened.written.title, findings, response)
    emit(report, as_json=as_json, text=lambda: response_text(opened.written.title, response))
    leave(findings)


def _findings(opened: Opened, response: AmplifierResponse) -> tuple[Finding, ...]:
    return (*opened.findings, *opened.stability_of(response))


def quantities(opened: Opened, wish: ResponseWish) -> Iterator[Quantity]:
    """Yield the figures of a response that a changed part may move."""
    certified(opened.idle)
    response = opened.response_to(wish)
    for curve in response.curves:
        yield Quantity(f"{curve.setting}, gain at 1 kHz", curve.gain_1khz_db, "dB")
        yield Quantity(f"{curve.setting}, 3 dB down below", curve.low_hz, "Hz")
        yield Quantity(f"{curve.setting}, 3 dB down above", curve.high_hz, "Hz")
        yield Quantity(f"{curve.setting}, input at 1 kHz", curve.input_1khz_ohm, "ohm")
        yield Quantity(f"{curve.setting}, output at 1 kHz", curve.output_1khz_ohm, "ohm")
        for hertz in _listed(curve):
            yield Quantity(f"{curve.setting}, gain at {_hertz(hertz)}", _at(curve, hertz), "dB")
    yield from rest_figures(response)


def _knob(text: str) -> tuple[str, tuple[float, ...]]:
    name, _, turns = text.partition("=")
    try:
        return name, tuple(float(turn) for turn in turns.split(","))
    except ValueError:
        raise click.BadParameter(
            f"{text!r} is not a knob and shares of its rotation such as Treble=0,0.5,1", param_hint="--knob"
        ) from None


def _ohm(text: str | None) -> float | None:
    from lugwright.quantities import component_value

    return None if text is None else component_value(text, "ohm").base


def response_text(title: str, response: AmplifierResponse) -> str:
    """Return every answer as plain tables."""
    from lugwright.documents.book.response_pages import hiss_words, loop_words

    blocks = [
        f"{title}, small signals at idle, from {response.source} to {response.output}",
        _summary(response.curves),
        _gains(response.curves),
        _stages(response),
        *_knobs(response),
        *_feedback(response.loop, loop_words(response.loop) if response.loop is not None else ""),
        *_poles(response.poles),
        f"Hiss: {hiss_words(response.hiss, response.hiss_source)}",
        _sources(response),
    ]
    return "\n\n".join(blocks)


def _db(value: float) -> str:
    """Return decibels to a tenth; what rounds to nothing has no sign."""
    return f"{round(value, 1) + 0.0:.1f} dB"


def _hertz(value: float | None) -> str:
    return "-" if value is None else with_unit(value, "Hz")


def _summary(curves: Sequence[ResponseCurve]) -> str:
    rows = (
        (c.setting, _db(c.gain_1khz_db), _hertz(c.low_hz), _hertz(c.high_hz),
         with_unit(c.input_1khz_ohm, "Ω"), with_unit(c.output_1khz_ohm, "Ω"))
        for c in curves
    )  # fmt: skip
    head = ("knobs", "at 1 kHz", "3 dB down below", "above", "input", "output")
    return table(head, rows, right="lrrrrr")


def _gains(curves: Sequence[ResponseCurve]) -> str:
    rows = ((_hertz(f), *(_db(_at(c, f)) for c in curves)) for f in _listed(curves[0]))
    return table(("", *(c.setting for c in curves)), rows, right="r" * (1 + len(curves)))


def _listed(curve: ResponseCurve) -> list[float]:
    return [f for f in _LISTED_HZ if curve.hertz[0] <= f * 1.0001 and f * 0.9999 <= curve.hertz[-1]]


def _at(curve: ResponseCurve, hertz: float) -> float:
    """Return the gain at a frequency, straight between the steps of the curve."""
    after = next((k for k, f in enumerate(curve.hertz) if f >= hertz * 0.9999), len(curve.hertz) - 1)
    before = max(after - 1, 0)
    low, high = curve.hertz[before], curve.hertz[after]
    share = 1.0 if low == high else math.log(hertz / low) / math.log(high / low)
    return curve.gain_db[before] + share * (curve.gain_db[after] - curve.gain_db[before])


def _stages(response: AmplifierResponse) -> str:
    rows = (
        (s.tube, f"{s.driven_at} to {s.taken_at}", f"{s.gain:.1f}", _hertz(s.low_hz), _hertz(s.high_hz),
         with_unit(s.output_ohm, "Ω"), "-" if s.level_db is None else _db(s.level_db))
        for s in response.stages
    )  # fmt: skip
    head = ("tube", "from and to", "gain", "3 dB down below", "above", "output", "gets")
    return table(head, rows, right="llrrrrr")


def _knobs(response: AmplifierResponse) -> Iterator[str]:
    rows = [
        (k.label, k.part, "tone" if k.shapes else "level", _db(k.most_db), _hertz(k.at_hz))
        for k in response.knobs
        if abs(k.most_db) >= 0.1
    ]
    if rows:
        yield table(("knob", "part", "turns", "at most", "at"), rows, right="lllrr")


def _feedback(loop: LoopGain | None, words: str) -> Iterator[str]:
    if loop is None:
        return
    yield f"Feedback: {words}"
    rows = [
        (_hertz(m.hertz), "-" if m.phase_deg is None else f"{m.phase_deg:.0f}°",
         "-" if m.gain_db is None else _db(m.gain_db))
        for m in loop.margins
    ]  # fmt: skip
    if rows:
        yield table(("at", "phase left", "gain left"), rows, right="rrr")


def _poles(poles: Poles) -> Iterator[str]:
    rows = [
        (_hertz(p.hertz), f"{p.damping:.2f}", "grows" if p.growth_per_s > 0.0 else "dies away", ", ".join(p.joints))
        for p in poles.poles[:_MOST_POLES]
    ]
    if rows:
        yield table(("swings at", "damping", "and", "most of it at"), rows, right="rrll")


def _sources(response: AmplifierResponse) -> str:
    rows = ((s.part, s.what, with_unit(s.volts, "V"), f"{s.share:.0%}") for s in response.hiss.sources[:_MOST_SOURCES])
    return table(("part", "by", "at the output", "share"), rows, right="llrr")
