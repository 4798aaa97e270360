"""How far a build has come, as a small picture."""

from __future__ import annotations

from lugwright.documents.drawings.small_picture import small_picture_svg
from lugwright.log.state import wire_key
from lugwright.workflow.opened import Opened


def small_picture(opened: Opened) -> str:
    """Return the wiring side as a small SVG: what is in in full, what is not yet in light lines."""
    bench = opened.bench_log.bench
    wires = {f"W{w.number}" for w in opened.plan.wires if wire_key(w.terminals) in bench.wires}
    return small_picture_svg(opened.build, opened.plan, opened.hardware, wires | {part for part, _ in bench.leads})
