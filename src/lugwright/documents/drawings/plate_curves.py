"""Plate curves as a chart: the tube's curves, load lines, limits, and where it idles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lugwright.documents.drawings.chart import Axis, Mark, Series, chart_svg
from lugwright.documents.drawings.svg import Markup, document, num
from lugwright.quantities import with_unit
from lugwright.solve.results import CurveLine, PlateCurves

TUBE, DC, AC, HEAT = 0, 1, 2, 3
HEAT_POINTS = 60
WIDE_MM, HALF_MM = (168.0, 80.0), (83.0, 62.0)
GAP_MM = 2.0


@dataclass(frozen=True)
class PlateChart:
    """One figure of the book: the chart of a screened tube, or of two triode sections side by side."""

    name: str
    svg: str
    words: tuple[str, ...]  # idle and loads, one entry for each chart in it


def plate_charts(found: Sequence[PlateCurves]) -> tuple[PlateChart, ...]:
    """Return the figures of a build: screened tubes each by itself, triode sections two and two."""
    charts = []
    for one in found:
        if one.screen_v is not None:
            charts.append(PlateChart(_name(one), plate_curves_svg(one, size_mm=WIDE_MM), (load_words(one),)))
    triodes = [one for one in found if one.screen_v is None]
    for pair in (triodes[k : k + 2] for k in range(0, len(triodes), 2)):
        svgs = [plate_curves_svg(one, size_mm=HALF_MM) for one in pair]
        words = tuple(load_words(one) for one in pair)
        charts.append(PlateChart("_".join(_name(one) for one in pair), _side_by_side(svgs), words))
    return tuple(charts)


def _name(found: PlateCurves) -> str:
    return "_".join(found.together)


def _side_by_side(svgs: Sequence[str]) -> str:
    """Return drawings of the triode size in one."""
    places = [(k * (HALF_MM[0] + GAP_MM), svg.split("?>\n", 1)[1]) for k, svg in enumerate(svgs)]
    width = 2.0 * HALF_MM[0] + GAP_MM
    inner = [Markup(svg.replace("<svg ", f'<svg x="{num(x)}" y="0" ', 1).replace('mm"', '"')) for x, svg in places]
    return document(inner, box=(0.0, 0.0, width, HALF_MM[1]))


def plate_curves_svg(found: PlateCurves, *, size_mm: tuple[float, float] = (165.0, 100.0)) -> str:
    """Return the chart of one section."""
    top_ma = 1e3 * found.top_a
    far_v = found.curves[0].volts[-1]
    lines = [_series(line, TUBE, named="end") for line in found.curves]
    lines += [_series(found.dc_line, DC), _series(found.ac_line, AC)]
    lines += [_heat(found.plate_w_limit, far_v, top_ma)] if found.plate_w_limit is not None else []
    marks = [Mark(f"idle {found.idle_grid_v:.3g} V".replace("-", "−"), found.idle_plate_v, 1e3 * found.idle_plate_a)]
    if found.plate_v_limit is not None and found.plate_v_limit <= far_v:
        marks.append(Mark(f"limit {found.plate_v_limit:g} V", x=found.plate_v_limit))
    return chart_svg(
        [line for line in lines if line.points],
        x=Axis("plate to cathode, V", 0.0, far_v),
        y=Axis("plate current, mA", 0.0, top_ma),
        marks=marks,
        title=heading(found),
        legend="below",
        size_mm=size_mm,
    )


def heading(found: PlateCurves) -> str:
    """Return which sections the curves are of, and at which screen volts."""
    screen = "" if found.screen_v is None else f", screen {found.screen_v:.0f} V"
    return f"{', '.join(found.together)}: {found.type}{screen}"


def load_words(found: PlateCurves) -> str:
    """Return idle and loads in a line of text."""
    watts = found.idle_plate_v * found.idle_plate_a
    limit = "" if found.plate_w_limit is None else f" of {found.plate_w_limit:g} W"
    alone = "" if found.ac_alone_ohm is None else f" ({with_unit(found.ac_alone_ohm, 'Ω')} while the other is cut off)"
    idle = f"{found.idle_plate_v:.0f} V, {with_unit(found.idle_plate_a, 'A')} at {found.idle_grid_v:.3g} V on the grid"
    loads = f"DC {with_unit(found.dc_ohm, 'Ω')}, AC {with_unit(found.ac_ohm, 'Ω')}{alone}"
    words = f"{', '.join(found.together)}: idle {idle}, {with_unit(watts, 'W')}{limit}. Load: {loads}."
    return words.replace(" -", " −")


def _series(line: CurveLine, style: int, *, named: str = "legend") -> Series:
    points = tuple((v, 1e3 * a) for v, a in zip(line.volts, line.amps, strict=True))
    return Series(line.label, points, style=style, named="end" if named == "end" else "legend")


def _heat(watts: float, far_v: float, top_ma: float) -> Series:
    """Return the line of the plate's heat limit inside the chart; no points where it does not come into it."""
    first = 1e3 * watts / top_ma
    steps = [first + (far_v - first) * k / (HEAT_POINTS - 1) for k in range(HEAT_POINTS)] if first < far_v else []
    return Series(f"{watts:g} W", tuple((v, 1e3 * watts / v) for v in steps), style=HEAT)
