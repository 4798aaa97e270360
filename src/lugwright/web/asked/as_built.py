"""As-built values: what was measured, fitted and set, which every window then uses."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import Field

from lugwright.buildfile.build import Build, Can, Capacitor, Choke, Pot, Resistor, Transformer, Tube
from lugwright.buildfile.part_words import value_words
from lugwright.web.asked.asked import METER, Args, Asked, NoArgs
from lugwright.web.desk import Desk
from lugwright.web.fragments import fragment
from lugwright.workflow import as_built_rows, measured_in, take_as_built_back


class MeasuredArgs(Args):
    """A thing and what it is: ``R3`` and ``98.7k``, ``mains`` and ``118``."""

    what: Annotated[str, Field(min_length=1, max_length=100)]
    value: Annotated[str, Field(min_length=1, max_length=120)]


class WhatArgs(Args):
    """A thing that something was written down of."""

    what: Annotated[str, Field(min_length=1, max_length=100)]


def _as_built(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = desk.opened
    rows, findings = as_built_rows(opened)
    html = fragment("power/as_built", rows=rows, findings=findings, names=list(_names(opened.written)))
    return {"parts": {"power-as-built": html}}


def _names(build: Build) -> Iterator[tuple[str, str]]:
    """Yield what can be measured, fitted or set, and what the build file says of it."""
    for part in build.parts:
        words = value_words(part.values)
        if isinstance(part.values, Transformer):
            yield from ((f"{part.name} {winding.name}", words) for winding in part.values.windings)
        elif isinstance(part.values, Can):
            yield from ((f"{part.name}.{chr(ord('a') + k)}", words) for k in range(len(part.values.farads)))
        elif isinstance(part.values, Tube | Resistor | Capacitor | Pot | Choke):
            yield part.name, words


def _measured(desk: Desk, args: MeasuredArgs) -> dict[str, Any]:
    return {"written": [e.subject for e in measured_in(desk.opened, [(args.what, args.value)])]}


def _back(desk: Desk, args: WhatArgs) -> dict[str, Any]:
    return {"written": [e.subject for e in take_as_built_back(desk.opened, [args.what])]}


AS_BUILT = Asked("as built rows", _as_built, NoArgs, METER)
MEASURED = Asked("as built", _measured, MeasuredArgs, METER, writes=True)
AS_BUILT_BACK = Asked("as built back", _back, WhatArgs, METER, writes=True)
