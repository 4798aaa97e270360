"""The response with values being tried, answered while the slider is still moving."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable
from typing import Annotated, Any

from pydantic import Field

from lugwright.quantities import with_unit
from lugwright.solve.response_results import ResponseCurve
from lugwright.web.asked.asked import Asked
from lugwright.web.asked.trying import Change, TriedArgs, moved_rows
from lugwright.web.desk import Desk
from lugwright.workflow import ResponseBench, prepare_sliders

Point = Annotated[str, Field(max_length=80)]
MOST_BENCHES = 6
FIGURES = 5  # of what is drawn


class ResponseArgs(TriedArgs):
    """``moved`` is the change that follows a slider; points are joints, terminals or speakers, "" for the usual."""

    moved: Change | None = None
    source: Point = ""
    output: Point = ""


class Benches:
    """The builds that are tried, held ready from one slider's step to the next."""

    def __init__(self) -> None:
        self._held: OrderedDict[tuple[int, str, str], ResponseBench] = OrderedDict()

    def bench(self, desk: Desk, source: str, output: str) -> ResponseBench:
        """Return what answers for a build between two points."""
        opened = desk.opened
        key = id(opened.solved), source, output  # what is held keeps that alive, so that no other can have its id
        if key not in self._held:
            self._held[key] = ResponseBench(opened, source or None, output or None)
        self._held.move_to_end(key)
        while len(self._held) > MOST_BENCHES:
            self._held.popitem(last=False)
        return self._held[key]


_BENCHES = Benches()


def _response(desk: Desk, args: ResponseArgs) -> dict[str, Any]:
    bench = _BENCHES.bench(desk, args.source, args.output)
    found = bench.response(args.changes, args.moved or "")
    moved = moved_rows(bench.opened.written, bench.opened.idle.levels, found.levels) if found.followed else []
    return {**_curve(found.curve), "idle": moved}


def _curve(curve: ResponseCurve) -> dict[str, Any]:
    return {
        "hertz": _rounded(curve.hertz),
        "gain_db": [round(each, 3) for each in curve.gain_db],
        "phase_deg": [round(each, 2) for each in curve.phase_deg],
        "input_ohm": _rounded(curve.input_ohm),
        "output_ohm": _rounded(curve.output_ohm),
        "words": [
            ("gain at 1 kHz", f"{curve.gain_1khz_db:.1f} dB"),
            ("3 dB down below", _edge(curve.low_hz)),
            ("3 dB down above", _edge(curve.high_hz)),
            ("input at 1 kHz", with_unit(curve.input_1khz_ohm, "Ω")),
            ("output at 1 kHz", with_unit(curve.output_1khz_ohm, "Ω")),
        ],
    }


def _edge(hertz: float | None) -> str:
    return "not in the band" if hertz is None else with_unit(hertz, "Hz")


def _rounded(values: Iterable[float]) -> list[float]:
    return [float(f"{each:.{FIGURES}g}") for each in values]


TRIED_RESPONSE = Asked("tried response", _response, ResponseArgs, afterwards=prepare_sliders)
