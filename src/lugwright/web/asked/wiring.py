"""The wiring side: its drawing, what hangs together in it, how far the work is, what a meter reads there."""

from __future__ import annotations

import hashlib
import math
from typing import Annotated, Any

from pydantic import Field

from lugwright.bringup.results import Reading
from lugwright.buildfile.build import Build, Tube
from lugwright.documents.drawings.layer_drawing import LAYERS
from lugwright.documents.drawings.socket_detail import socket_detail_svg
from lugwright.documents.drawings.strip_detail import strip_detail_svg
from lugwright.documents.drawings.top_side import top_side_svg
from lugwright.documents.drawings.wiring_side import wiring_side_svg
from lugwright.errors import AskError
from lugwright.quantities import with_unit
from lugwright.web.asked.asked import Args, Asked, NoArgs
from lugwright.web.asked.wiring_tables import wiring_tables
from lugwright.web.desk import Desk
from lugwright.workflow import Opened, plan_stands, side_of, worst_volts

NO_PLAN, STALE, WHOLE = "none", "stale", "whole"
_IN_WORDS = {
    NO_PLAN: "There is no plan yet: which lug carries what has not been worked out.",
    STALE: "The build file has changed since this was planned; the plan has to follow it.",
    WHOLE: "",
}


def plan_state(opened: Opened) -> str:
    """Return whether there is a plan to show: "none", "stale" or "whole"."""
    if opened.readable is None or opened.stored_plan is None:
        return NO_PLAN
    return WHOLE if plan_stands(opened) else STALE


def inline(svg: str) -> str:
    """Return a drawing as it stands inside a page: without the line that only a file needs."""
    return svg.partition("?>\n")[2] or svg


def _wiring(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = desk.opened
    _ = opened.written  # a build that cannot be read says so
    state = plan_state(opened)
    found: dict[str, Any] = {"plan": state, "words": _IN_WORDS[state], "svg": "", "strips": [], "sockets": []}
    if state != WHOLE:
        return found
    return found | {
        "svg": inline(wiring_side_svg(side_of(opened))),
        "phases": list(dict.fromkeys(job.phase for job in opened.work_order.jobs)),
        "layers": list(LAYERS),
        "strips": [strip.name for strip in opened.build.strips],
        "sockets": sockets(opened.build),
    }


def _tables(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = desk.opened
    if plan_state(opened) != WHOLE:
        return {"plan": plan_state(opened)}
    tables = wiring_tables(opened.build, opened.plan, opened.work_order, opened.idle, worst_volts(opened))
    return {"plan": WHOLE, "fingerprint": opened.plan.fingerprint, "mark": _mark(opened), **tables}


def _mark(opened: Opened) -> str:
    """Return what tells whether a plan that is tried out is tried on the build and the plan as they are now."""
    texts = opened.path.read_bytes(), opened.plan_path.read_bytes()
    return hashlib.sha256(b"\0".join(texts)).hexdigest()[:16]


def _state(desk: Desk, args: NoArgs) -> dict[str, Any]:
    """Return what is in and soldered, by names of the tables."""
    opened = desk.opened
    if plan_state(opened) != WHOLE:
        return {"plan": plan_state(opened)}
    bench, progress = opened.bench_log.bench, opened.progress
    return {
        "plan": WHOLE,
        "fingerprint": opened.plan.fingerprint,
        "next": progress.next_card,
        "cards": [card.state for card in progress.cards],
        "leads": [f"{part}.{lead}" for part, lead in bench.leads],
        "wires": {f"W{wire.record['number']}": sorted(wire.ends) for wire in bench.wires.values()},
        "soldered": sorted(bench.soldered),
        "in": progress.leads_in,
        "of": progress.leads,
    }


def _readings(desk: Desk, args: NoArgs) -> dict[str, Any]:
    """Return what an ohmmeter reads with the plug out, by joint."""
    opened = desk.opened
    found: dict[str, list[dict[str, str]]] = {}
    for reading in opened.ohms_chart.readings:
        row = {"at": reading.point, "reads": ohms_words(reading), "note": reading.note}
        found.setdefault(reading.joint, []).append(row)
    return {"ohms": found, "meter": opened.ohms_chart.meter}


class View(Args):
    """Another view: "top", "strip A", "socket V1"."""

    name: Annotated[str, Field(min_length=1, max_length=60)]


def _view(desk: Desk, args: View) -> dict[str, str]:
    """Return another drawing of the same plan."""
    opened = desk.opened
    build, plan, order = opened.build, opened.plan, opened.work_order
    kind, _, name = args.name.partition(" ")
    if kind == "top":
        return {"svg": inline(top_side_svg(build, plan, opened.hardware))}
    if kind == "strip" and name in build.strip_names:
        return {"svg": inline(strip_detail_svg(build, plan, opened.hardware, name, order))}
    if kind == "socket" and name in sockets(build):
        return {"svg": inline(socket_detail_svg(build, plan, opened.hardware, name, order))}
    raise AskError(
        what="there is no such view",
        found=args.name,
        wanted='"top", "strip A" or "socket V1" of this build',
        do="choose one of the list",
    )


def sockets(build: Build) -> list[str]:
    """Return the tubes that have a socket on the chassis."""
    return [part.name for part in build.parts if isinstance(part.values, Tube) and part.name in build.placements]


def ohms_words(reading: Reading) -> str:
    """Return what an ohmmeter should show, and the window of good parts."""
    if math.isinf(reading.expected):
        return f"over range, at least {with_unit(reading.low, 'Ω')}"
    window = f"{with_unit(reading.low, 'Ω')} " + (
        "and more" if math.isinf(reading.high) else f"to {with_unit(reading.high, 'Ω')}"
    )
    return f"{with_unit(reading.expected, 'Ω')} ({window})"


WIRING = Asked("wiring", _wiring)
WIRING_TABLES = Asked("wiring tables", _tables)
WIRING_STATE = Asked("wiring state", _state)
WIRING_VIEW = Asked("wiring view", _view, View)
WIRING_READINGS = Asked("wiring readings", _readings)
