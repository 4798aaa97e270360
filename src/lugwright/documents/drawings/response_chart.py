"""Charts of small signals: gain over frequency, tone controls, the loop gain of the feedback."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from lugwright.documents.drawings.chart import Axis, Mark, Series, chart_svg
from lugwright.quantities import with_unit
from lugwright.solve.response_results import AmplifierResponse, KnobEffect, LoopGain, ResponseCurve

SIZE_MM = (165.0, 92.0)
SPAN_DB = 60.0  # below the highest point nothing is drawn: a closed volume control would flatten the rest
LOOP_HZ = (1.0, 1e6)
MOST_KNOBS = 4  # drawn; more pens cannot be told apart
LEAST_REACH_DB = 3.0
_FREQUENCY = "frequency, Hz"


class ResponseChart(NamedTuple):
    """One chart with the name its file bears."""

    name: str
    caption: str
    svg: str


def response_charts(response: AmplifierResponse) -> Iterator[ResponseChart]:
    """Yield every chart there is something for."""
    yield ResponseChart("response_gain", "Gain over frequency", gain_chart_svg(response))
    if reach := _widest(response.knobs):
        svg = tone_chart_svg(reach, response.curves[0])
        yield ResponseChart("response_tone", "Each knob at both ends, the others as set", svg)
    if response.loop is not None:
        yield ResponseChart("response_loop", "Gain and phase around the feedback", loop_chart_svg(response.loop))


def _widest(knobs: Sequence[KnobEffect]) -> list[KnobEffect]:
    """Return the tone controls with the widest reach, in the order of the panel."""
    reach = [k for k in knobs if k.shapes and abs(k.most_db) >= LEAST_REACH_DB]
    widest = sorted(reach, key=lambda k: -abs(k.most_db))[:MOST_KNOBS]
    return [k for k in reach if k in widest]


def gain_chart_svg(response: AmplifierResponse) -> str:
    """Return gain over frequency, one line for each setting that was asked for; one alone with its phase."""
    title = f"Gain from {response.source} to {response.output}"
    if len(response.curves) == 1:
        return _with_phase(response.curves[0], title)
    lines = [_line(curve, curve.setting, k) for k, curve in enumerate(response.curves)]
    return _gains(lines, response.curves, title)


def _with_phase(curve: ResponseCurve, title: str) -> str:
    phase = tuple(zip(curve.hertz, curve.phase_deg, strict=True))
    return chart_svg(
        [_line(curve, "gain", 0), Series("phase", phase, right=True, style=1)],
        x=Axis(_FREQUENCY, curve.hertz[0], curve.hertz[-1], kind="log"),
        y=Axis("gain, dB", low=_floor_db([curve])),
        right=Axis("phase, degrees", step=90.0),
        title=title,
        size_mm=SIZE_MM,
    )


def tone_chart_svg(knobs: Sequence[KnobEffect], as_built: ResponseCurve) -> str:
    """Return the reach of knobs, each with a pen of its own: both ends, the others as set."""
    low, high = (edge(curve.hertz[k] for knob in knobs for curve in knob.ends) for edge, k in ((min, 0), (max, -1)))
    middle = _line(as_built, "knobs as set", 0)
    lines = [replace(middle, points=tuple(p for p in middle.points if low <= p[0] <= high))]
    for pen, knob in enumerate(knobs, start=1):
        closed, full = knob.ends
        lines += [_line(closed, f"{knob.label}, 0 and full", pen), replace(_line(full, "", pen), named="no")]
    return _gains(lines, [curve for knob in knobs for curve in knob.ends], "Reach of the tone controls")


def _line(curve: ResponseCurve, name: str, pen: int) -> Series:
    return Series(name, tuple(zip(curve.hertz, curve.gain_db, strict=True)), style=pen)


def _gains(lines: Sequence[Series], curves: Sequence[ResponseCurve], title: str) -> str:
    """Return the chart of some lines; the curves say how far the axes reach."""
    across = Axis(_FREQUENCY, min(c.hertz[0] for c in curves), max(c.hertz[-1] for c in curves), kind="log")
    return chart_svg(lines, x=across, y=Axis("gain, dB", low=_floor_db(curves)), title=title, size_mm=SIZE_MM)


def _floor_db(curves: Sequence[ResponseCurve]) -> float | None:
    """Return where the chart ends below, None where the lines themselves say it."""
    highest = max(max(curve.gain_db) for curve in curves)
    lowest = min(min(curve.gain_db) for curve in curves)
    return None if lowest > highest - SPAN_DB else 10.0 * round((highest - SPAN_DB) / 10.0)


def loop_chart_svg(loop: LoopGain) -> str:
    """Return gain and phase around the feedback loop, with its margins."""
    inside = [k for k, f in enumerate(loop.hertz) if LOOP_HZ[0] <= f <= LOOP_HZ[1]]
    gain = tuple((loop.hertz[k], loop.gain_db[k]) for k in inside)
    phase = tuple((loop.hertz[k], loop.phase_deg[k]) for k in inside)
    marks = [Mark("", y=0.0)]
    for margin in loop.margins:
        if not LOOP_HZ[0] <= margin.hertz <= LOOP_HZ[1]:
            continue
        at = with_unit(margin.hertz, "Hz", figures=2)
        if margin.phase_deg is not None and margin.phase_deg < 90.0:
            marks.append(Mark(f"{margin.phase_deg:.0f}° left at {at}", x=margin.hertz, y=0.0))
        if margin.gain_db is not None:
            marks.append(Mark(f"{margin.gain_db:.0f} dB left at {at}", x=margin.hertz, y=-margin.gain_db))
    return chart_svg(
        [Series("loop gain", gain), Series("phase", phase, right=True)],
        x=Axis(_FREQUENCY, *LOOP_HZ, kind="log"),
        y=Axis("loop gain, dB", low=10.0 * round((max(g for _, g in gain) - 70.0) / 10.0)),
        right=Axis("phase, degrees", low=-270.0, high=270.0, step=90.0),
        marks=marks,
        title=f"Around the feedback through {' and '.join(loop.parts)}",
        size_mm=SIZE_MM,
    )
