"""The things of a wiring side as SVG, each drawn once however many sheets, layers and cards show it."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.bodies import SeatedBody, body_markup
from lugwright.documents.drawings.fittings import Fittings
from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.label_markup import label_markup
from lugwright.documents.drawings.labels import Placed
from lugwright.documents.drawings.metal import buses_markup, metal_markup, strips_markup
from lugwright.documents.drawings.svg import Markup
from lugwright.documents.drawings.terminal_points import terminal_markup
from lugwright.documents.drawings.wires import wire_markup
from lugwright.layout.results import Plan, PlanTerminal, Wire


@dataclass(frozen=True)
class SideMarkup:
    """What each thing of one wiring side looks like; the fields are those of `WiringSide`."""

    build: Build
    plan: Plan
    fittings: Fittings
    points: Mapping[str, Point]
    drawn: Mapping[int, tuple[Point, ...]]
    band: float
    terminal_text_mm: float
    _done: dict[Hashable, Markup] = field(default_factory=dict)

    @cached_property
    def metal(self) -> list[Markup]:
        """Return the chassis and what is bolted to it."""
        return metal_markup(self.build, self.plan, self.fittings, self.band)

    @cached_property
    def strips(self) -> list[Markup]:
        """Return the boards of the strips."""
        return strips_markup(self.build, self.fittings)

    @cached_property
    def buses(self) -> list[tuple[str, Markup]]:
        """Return every bus with its name."""
        return list(zip((bus.name for bus in self.build.buses), buses_markup(self.build), strict=True))

    def wire(self, wire: Wire, *, faded: bool = False) -> Markup:
        """Return a wire as it lies."""
        return self._once(
            ("wire", wire.number, faded),
            lambda: wire_markup(wire, self.drawn[wire.number], faded=faded, braid_to=self.points.get(wire.shield)),
        )

    def body(self, body: SeatedBody, *, faded: bool = False) -> Markup:
        """Return a part between its leads."""
        return self._once(("part", body.part.name, faded), lambda: body_markup(body, faded=faded))

    def terminal(self, terminal: PlanTerminal, *, used: bool, faded: bool = False) -> Markup:
        """Return a terminal with its number."""
        at, size = self.points[terminal.key], self.terminal_text_mm
        return self._once(
            ("terminal", terminal.key, used, faded),
            lambda: terminal_markup(terminal, at, size, used=used, faded=faded),
        )

    def label(self, placed: Placed) -> Markup:
        """Return a label of the wiring side where it stands there."""
        return self._once(("label", placed.label.key), lambda: label_markup(placed))

    def _once(self, key: Hashable, draw: Callable[[], Markup]) -> Markup:
        if key not in self._done:
            self._done[key] = draw()
        return self._done[key]
