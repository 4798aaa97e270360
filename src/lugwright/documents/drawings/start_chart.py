"""The supply over the first minute, and over the time it takes to become safe after switch-off."""

from __future__ import annotations

from collections.abc import Iterable

from lugwright.circuit.starting import Line, Start
from lugwright.documents.drawings.chart import Axis, Mark, Series, chart_svg

SIZE_MM = (165.0, 88.0)
SAFE_V = 60.0
_LEAST_DECAY_S = 5.0
_FIRST_S = 0.02  # decades from here on: both the charging and the warming up are seen


def start_chart_svg(start: Start, *, title: str = "After switch-on", compared: Start | None = None) -> str:
    """Return the volts of every supply joint from switch-on; ``compared``: its first joint in another case, too."""
    lines = [_series(line, line.joint) for line in start.lines]
    if compared is not None and compared.lines:
        first = compared.lines[0]
        lines.append(_series(first, f"{first.joint}, {compared.how}"))
    return chart_svg(
        lines,
        x=Axis("seconds after switch-on", low=_FIRST_S, high=start.duration_s, kind="log"),
        y=Axis("volts against ground", low=0.0 if _positive(start.lines) else None),
        title=title,
        legend="below",
        size_mm=SIZE_MM,
    )


def decay_chart_svg(start: Start, *, title: str = "After switch-off, tubes warm") -> str:
    """Return the volts of every supply joint from switch-off, with the 60 V below which it may be touched."""
    until = min(start.decay_s, max(_LEAST_DECAY_S, 1.5 * max((_safe_s(line) for line in start.decay), default=0.0)))
    lines = [_series(_cut(line, until), line.joint) for line in start.decay]
    positive = _positive(start.decay)
    return chart_svg(
        lines,
        x=Axis("seconds after switch-off", low=0.0, high=until),
        y=Axis("volts against ground", low=0.0 if positive else None),
        marks=[Mark("60 V", y=SAFE_V)],
        title=title,
        legend="below",
        size_mm=SIZE_MM,
    )


def _series(line: Line, name: str) -> Series:
    return Series(name, tuple(zip(line.seconds, line.volts, strict=True)))


def _positive(lines: Iterable[Line]) -> bool:
    return all(min(line.volts) > -1.0 for line in lines)


def _safe_s(line: Line) -> float:
    above = [s for s, v in zip(line.seconds, line.volts, strict=True) if abs(v) > SAFE_V]
    return above[-1] if above else 0.0


def _cut(line: Line, until: float) -> Line:
    kept = [(s, v) for s, v in zip(line.seconds, line.volts, strict=True) if s <= 1.2 * until]
    return Line(line.joint, tuple(s for s, _ in kept), tuple(v for _, v in kept))
