"""Charts of output power: power and distortion over drive, the speaker's volts over one period."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from lugwright.documents.drawings.chart import Axis, Mark, Series, chart_svg
from lugwright.quantities import with_unit
from lugwright.solve.power_results import Power

SIZE_MM = (165.0, 88.0)
_LEAST_PERCENT = 0.01


class PowerChart(NamedTuple):
    """One chart with the name its file bears."""

    name: str
    caption: str
    svg: str


def power_charts(power: Power) -> Iterator[PowerChart]:
    """Yield every chart there is something for."""
    yield PowerChart("power_drive", "Power and distortion over drive", power_chart_svg(power))
    if power.waves:
        yield PowerChart("power_wave", "The speaker's volts over one period", wave_chart_svg(power))
    if power.over_frequency:
        yield PowerChart("power_band", "Power at ten percent distortion over frequency", band_chart_svg(power))


def power_chart_svg(power: Power) -> str:
    """Return power and distortion over the drive at the input jack."""
    points = sorted(
        {p.drive_rms_v: p for p in (*power.points, power.five_percent, power.ten_percent) if p is not None}.items()
    )
    watts = tuple((1e3 * drive, p.watts) for drive, p in points)
    percent = tuple((1e3 * drive, max(_LEAST_PERCENT, 100.0 * p.distortion)) for drive, p in points)
    marks = [
        Mark(f"{with_unit(p.watts, 'W')} at {share}", x=1e3 * p.drive_rms_v, y=p.watts)
        for share, p in (("5 %", power.five_percent), ("10 %", power.ten_percent))
        if p is not None
    ]
    return chart_svg(
        [Series("power", watts, dots=True), Series("distortion", percent, dots=True, right=True)],
        x=Axis(f"drive at {power.jack}, mV RMS", kind="log"),
        y=Axis("power, W", low=0.0),
        right=Axis("distortion, %", kind="log"),
        marks=marks,
        title="Output power and distortion",
        legend="below",
        size_mm=SIZE_MM,
    )


def wave_chart_svg(power: Power) -> str:
    """Return the speaker's volts over one period at the drives looked at closely."""
    lines = [
        Series(
            with_unit(wave.drive_rms_v, "V"), tuple((1e3 * t, v) for t, v in zip(wave.seconds, wave.volts, strict=True))
        )
        for wave in power.waves
    ]
    return chart_svg(
        lines,
        x=Axis("milliseconds"),
        y=Axis("speaker, V"),
        title="One period at the speaker",
        legend="below",
        size_mm=SIZE_MM,
    )


def band_chart_svg(power: Power) -> str:
    """Return the power at ten percent distortion over frequency, and the drive it takes."""
    watts = tuple((p.hertz, p.watts) for p in power.over_frequency)
    drive = tuple((p.hertz, 1e3 * p.drive_rms_v) for p in power.over_frequency)
    return chart_svg(
        [Series("power at 10 %", watts, dots=True), Series("drive for it", drive, dots=True, right=True)],
        x=Axis("frequency, Hz", kind="log"),
        y=Axis("power, W", low=0.0),
        right=Axis(f"drive at {power.jack}, mV RMS", low=0.0),
        title="Power over frequency",
        legend="below",
        size_mm=SIZE_MM,
    )
