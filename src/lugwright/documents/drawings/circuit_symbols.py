"""Symbols of circuit drawings on a 2.5 mm grid, y down. Two-lead symbols lie from -5 to +5, first terminal left."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lugwright.documents.drawings.svg import Markup, circle, el, line, num, path_data, rect, text

THIN, THICK = 0.25, 0.5
PIN_SIZE = 1.6
Bounds = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y


@dataclass(frozen=True)
class Port:
    """Where a wire meets a symbol of several terminals. ``way``: N, S, E, W, or F for a flag to the right."""

    terminal: str
    x: float
    y: float
    way: str


@dataclass(frozen=True)
class Symbol:
    """A symbol of several terminals about its middle."""

    shapes: tuple[Markup, ...]
    ports: tuple[Port, ...]
    bounds: Bounds
    numbers: tuple[tuple[float, float], ...] = ()  # where pin numbers stand


def path(data: str, *, width: float = THIN, fill: str = "none") -> Markup:
    """Return a path."""
    return el("path", {"d": data, "stroke": "#000", "stroke-width": width, "fill": fill, "stroke-linecap": "round"})


def _leads(reach: float) -> list[Markup]:
    return [line((-5, 0), (-reach, 0)), line((reach, 0), (5, 0))]


def _resistor() -> list[Markup]:
    return [*_leads(3), rect((-3, -1), (6, 2), fill="#fff")]


def _rheostat() -> list[Markup]:
    arrow = path_data([(1.9, -1.2), (2.1, -2.2), (1.1, -2.0)], closed=True)
    return [*_resistor(), line((-2, 2), (2, -2.1)), path(arrow, fill="#000")]


def _capacitor() -> list[Markup]:
    plates = [line((x, -1.75), (x, 1.75), width=THICK) for x in (-0.5, 0.5)]
    return [*_leads(0.5), *plates]


def _polar() -> list[Markup]:
    plus = [line((-2.4, -1.2), (-1.2, -1.2), width=0.2), line((-1.8, -1.8), (-1.8, -0.6), width=0.2)]
    plates = [line((-0.6, -1.75), (-0.6, 1.75), width=THICK), path("M1.1 -1.75Q-0.1 0 1.1 1.75", width=THICK)]
    return [*_leads(0.55), *plates, *plus]


def _choke() -> list[Markup]:
    humps = "M-4 0" + "".join(f"A1 1 0 0 1 {num(-2 + 2 * k)} 0" for k in range(4))
    return [*_leads(4), path(humps), line((-4, -1.6), (4, -1.6)), line((-4, -2.1), (4, -2.1))]


def _diode() -> list[Markup]:
    body = path_data([(-1.25, -1.5), (1.25, 0), (-1.25, 1.5)], closed=True)
    return [*_leads(1.25), path(body, fill="#000"), line((1.25, -1.5), (1.25, 1.5), width=THICK)]


def _zener() -> list[Markup]:
    bar = path_data([(0.5, -1.9), (1.25, -1.5), (1.25, 1.5), (2.0, 1.9)])
    return [*_diode()[:3], path(bar, width=THICK)]


def _fuse() -> list[Markup]:
    return [line((-5, 0), (5, 0)), rect((-3, -1), (6, 2))]


def _lamp() -> list[Markup]:
    r = 1.3
    return [*_leads(1.85), circle((0, 0), 1.85), line((-r, -r), (r, r)), line((-r, r), (r, -r))]


def _thermistor() -> list[Markup]:
    return [*_resistor(), path("M-3.2 1.9L-2 1.9L2 -1.9")]


def _speaker() -> list[Markup]:
    horn = path_data([(-1.5, -1), (-3, -2.75), (3, -2.75), (1.5, -1)])
    return [*_leads(1.5), rect((-1.5, -1), (3, 2), fill="#fff"), path(horn)]


def _contact_open() -> list[Markup]:
    return [
        *_leads(2.4),
        circle((-2, 0), 0.4, fill="#fff"),
        circle((2, 0), 0.4, fill="#fff"),
        line((-1.7, -0.25), (1.7, -1.7)),
    ]


def _contact_closed() -> list[Markup]:
    return [
        *_leads(2.4),
        circle((-2, 0), 0.4, fill="#fff"),
        circle((2, 0), 0.4, fill="#fff"),
        line((-1.65, -0.3), (2, -0.4)),
    ]


def _heater() -> list[Markup]:
    return [*_leads(2.5), path("M-2.5 0L-2.5 1.2L0 -1.6L2.5 1.2L2.5 0")]


def _bond() -> list[Markup]:
    return [line((-5, 0), (5, 0), width=THICK)]


_TWO_LEAD: dict[str, tuple[Callable[[], list[Markup]], float]] = {
    "resistor": (_resistor, 1.0), "rheostat": (_rheostat, 2.2), "capacitor": (_capacitor, 1.75),
    "polar": (_polar, 1.9), "choke": (_choke, 2.1), "diode": (_diode, 1.5), "zener": (_zener, 1.9),
    "fuse": (_fuse, 1.0), "lamp": (_lamp, 1.85), "thermistor": (_thermistor, 1.9), "speaker": (_speaker, 2.75),
    "contact open": (_contact_open, 1.75), "contact closed": (_contact_closed, 0.75), "heater": (_heater, 1.6),
    "bond": (_bond, 0.5),
}  # fmt: skip


def two_lead(kind: str) -> list[Markup]:
    """Return the shapes of a lying two-lead symbol."""
    return _TWO_LEAD[kind][0]()


def half_height_mm(kind: str) -> float:
    """Return how far a lying two-lead symbol reaches above and below its leads.

    Parameters
    ----------
    kind : str
        A two-lead symbol. [-]

    Returns
    -------
    float
        Half its height. [mm]

    Source
    ------
    The symbols of this file.
    """
    return _TWO_LEAD[kind][1]


def ground() -> list[Markup]:
    """Return the circuit ground, hanging from the origin."""
    bars = [line((-w, 1.25 + 0.7 * k), (w, 1.25 + 0.7 * k), width=0.3) for k, w in enumerate((1.75, 1.1, 0.45))]
    return [line((0, 0), (0, 1.25)), *bars]


def chassis() -> list[Markup]:
    """Return the metal, hanging from the origin."""
    strokes = [line((x, 1.25), (x - 0.8, 2.6)) for x in (-1.5, 0, 1.5)]
    return [line((0, 0), (0, 1.25)), line((-1.75, 1.25), (1.75, 1.25), width=0.3), *strokes]


def earth() -> list[Markup]:
    """Return the protective earth, hanging from the origin: the ground bars in a ring."""
    bars = [line((-w, 1.7 + 0.6 * k), (w, 1.7 + 0.6 * k), width=0.3) for k, w in enumerate((1.2, 0.8, 0.35))]
    return [line((0, 0), (0, 1.7)), *bars, circle((0, 1.95), 1.6)]


def _pin(at: tuple[float, float], words: str) -> Markup:
    return text(at, words, PIN_SIZE, fill="#333")


def _cathode() -> list[Markup]:
    return [path("M-2.5 3.2L-2.5 2.5L2.5 2.5", width=THICK), line((0, 2.5), (0, 7.5))]


def triode(pins: dict[str, str]) -> Symbol:
    """Return a triode; ``pins`` are the pin numbers by electrode."""
    shapes = [
        circle((0, 0), 5.0, fill="#fff"), line((-2.5, -2.5), (2.5, -2.5), width=THICK), line((0, -2.5), (0, -7.5)),
        *_grid_line(0.0), *_cathode(), _pin((1.6, -6.0), pins["plate"]), _pin((-6.3, -1.3), pins["grid"]),
        _pin((1.6, 6.1), pins["cathode"]),
    ]  # fmt: skip
    ports = (Port("plate", 0, -7.5, "N"), Port("cathode", 0, 7.5, "S"), Port("grid", -7.5, 0, "W"))
    return Symbol(tuple(shapes), ports, (-5, -5, 5, 5), ((1.6, -6.0), (-6.3, -1.3), (1.6, 6.1)))


def _grid_line(y: float) -> list[Markup]:
    dashes = [line((x, y), (x + 1.1, y), width=THICK) for x in (-2.75, -0.55, 1.65)]
    return [line((-7.5, 0), (-4.0, 0)), line((-4.0, 0), (-4.0, y)), line((-4.0, y), (-2.75, y)), *dashes]


def _right_grid(y: float, out_y: float) -> list[Markup]:
    dashes = [line((x, y), (x + 1.1, y), width=THICK) for x in (-2.75, -0.55, 1.65)]
    return [*dashes, line((2.75, y), (3.5, y)), line((3.5, y), (3.5, out_y)), line((3.5, out_y), (7.5, out_y))]


def pentode(pins: dict[str, str]) -> Symbol:
    """Return a pentode or beam tube; without a suppressor pin the beam plates are joined to the cathode inside."""
    shapes = [
        circle((0, 0), 5.0, fill="#fff"), line((-2.5, -3.1), (2.5, -3.1), width=THICK), line((0, -3.1), (0, -7.5)),
        *_grid_line(1.2), *_right_grid(-0.3, -0.3), *_cathode(), _pin((1.6, -6.0), pins["plate"]),
        _pin((-6.3, -1.3), pins["grid"]), _pin((6.2, 0.9), pins["screen"]), _pin((1.6, 6.1), pins["cathode"]),
    ]  # fmt: skip
    ports = [Port("plate", 0, -7.5, "N"), Port("screen", 7.5, -0.3, "N"), Port("cathode", 0, 7.5, "S"),
             Port("grid", -7.5, 0, "W")]  # fmt: skip
    if "suppressor" in pins:
        dashes = [line((x, -1.7), (x + 1.1, -1.7), width=THICK) for x in (-2.75, -0.55, 1.65)]
        outward = [line((2.75, -1.7), (4.1, -1.7)), line((4.1, -1.7), (4.1, 2.5)), line((4.1, 2.5), (7.5, 2.5))]
        shapes += [*dashes, *outward, _pin((6.2, 3.7), pins["suppressor"])]
        ports.append(Port("suppressor", 7.5, 2.5, "S"))
    else:
        shapes += [path("M-2.5 -1.7L-3.3 -1.7L-3.3 2.5L-2.5 2.5"), path("M2.5 -1.7L3.0 -1.7L3.0 2.5L2.5 2.5")]
    numbers = [(1.6, -6.0), (-6.3, -1.3), (1.6, 6.1), (6.2, 0.9), (6.2, 3.7)]
    if "shield" in pins:
        dashes = [line((-4.4, y), (-4.4, y + 0.8), width=THICK) for y in (-1.9, -0.9, 0.6, 1.6)]
        shapes += [*dashes, path("M-4.4 2.4L-4.4 3.3L-10 3.3L-10 7.5"), _pin((-6.3, 4.4), pins["shield"])]
        ports.append(Port("shield", -10, 7.5, "S"))
        numbers.append((-6.3, 4.4))
    return Symbol(tuple(shapes), tuple(ports), (-5, -5, 5, 5), tuple(numbers))


def rectifier(pins: dict[str, str]) -> Symbol:
    """Return a full-wave rectifier lying: plates left, cathode right."""
    shapes = [circle((0, 0), 5.0, fill="#fff")]
    for name, y in (("plate1", -2.0), ("plate2", 2.0)):
        shapes += [line((-2.0, y - 1.3), (-2.0, y + 1.3), width=THICK), line((-2.0, y), (-7.5, y)),
                   _pin((-6.2, y - 1.2 if y < 0 else y + 1.3), pins[name])]  # fmt: skip
    shapes += [path("M2.2 -2.2L1.5 -2.2L1.5 2.2L2.2 2.2", width=THICK), line((1.5, 0), (7.5, 0)),
               _pin((6.3, -1.3), pins["cathode"])]  # fmt: skip
    ports = (Port("plate1", -7.5, -2.0, "N"), Port("plate2", -7.5, 2.0, "S"), Port("cathode", 7.5, 0, "E"))
    return Symbol(tuple(shapes), ports, (-5, -5, 5, 5), ((-6.2, -3.2), (-6.2, 3.3), (6.3, -1.3)))


def pot(top: str, bottom: str) -> Symbol:
    """Return a pot standing, the terminals named so at its ends, the wiper to the right."""
    arrow = path_data([(1, 0), (2.4, -0.8), (2.4, 0.8)], closed=True)
    shapes = (
        line((0, -7.5), (0, -3)), line((0, 3), (0, 7.5)), rect((-1, -3), (2, 6), fill="#fff"), path(arrow, fill="#000"),
        line((2.4, 0), (5, 0)), _pin((-1.3, -4.2), top), _pin((-1.3, 4.3), bottom), _pin((3.6, -1.3), "2"),
    )  # fmt: skip
    ports = (Port(top, 0, -7.5, "N"), Port(bottom, 0, 7.5, "S"), Port("2", 5, 0, "E"))
    return Symbol(shapes, ports, (-1.8, -5, 2.4, 5), ((3.6, -1.3),))


def jack(*, switched: bool, mirrored: bool) -> Symbol:
    """Return a jack with its tip to the right, or mirrored to the left."""
    way = -1.0 if mirrored else 1.0
    spring = path_data([(way * x, y) for x, y in ((5, 0), (1.5, 0), (0.5, 1.0), (-0.5, 0))])
    shapes = [rect((-2.9 if not mirrored else 2.1, -2.0), (0.8, 4.0), fill="#fff"),
              line((-2.5 * way, 2.0), (-2.5 * way, 5.0)), path(spring)]  # fmt: skip
    ports = [Port("tip", 5 * way, 0, "W" if mirrored else "E"), Port("sleeve", -2.5 * way, 5, "S")]
    if switched:
        head = path_data([(2.5 * way, 0.2), (2.5 * way - 0.6, 1.5), (2.5 * way + 0.6, 1.5)], closed=True)
        shapes += [path(head, fill="#000"), line((2.5 * way, 1.5), (2.5 * way, 5.0))]
        ports.append(Port("tip_switch", 2.5 * way, 5, "S"))
    return Symbol(tuple(shapes), tuple(ports), (-3.2, -2.5, 3.6, 4.8) if not mirrored else (-3.6, -2.5, 3.2, 4.8))


def inlet() -> Symbol:
    """Return the mains inlet or cord: line up, neutral down, earth below."""
    shapes = (
        rect((-5, -5), (7.5, 10), fill="#fff", radius=1), line((2.5, -2.5), (5, -2.5)), line((2.5, 2.5), (5, 2.5)),
        line((-1.25, 5), (-1.25, 7.5)), text((0.9, -2.5), "L", 1.8), text((0.9, 2.5), "N", 1.8),
        text((-1.25, 3.7), "E", 1.8), text((-2.9, 0), "~", 3.0),
    )  # fmt: skip
    ports = (Port("line", 5, -2.5, "N"), Port("neutral", 5, 2.5, "S"), Port("earth", -1.25, 7.5, "S"))
    return Symbol(shapes, ports, (-5, -5, 2.5, 5))


def change_over(*, upper: bool, throws: tuple[str, str], common: str) -> Symbol:
    """Return a two-way contact: common left, throws right; it rests on the upper or the lower one."""
    end = -2.1 if upper else 2.1
    shapes = (
        line((-5, 0), (-2.4, 0)), circle((-2, 0), 0.4, fill="#fff"), circle((2, -2.5), 0.4, fill="#fff"),
        circle((2, 2.5), 0.4, fill="#fff"), line((-1.6, 0.15 if end > 0 else -0.15), (1.7, end)),
        line((2.4, -2.5), (5, -2.5)), line((2.4, 2.5), (5, 2.5)),
    )  # fmt: skip
    ports = (Port(common, -5, 0, "W"), Port(throws[0], 5, -2.5, "N"), Port(throws[1], 5, 2.5, "S"))
    return Symbol(shapes, ports, (-2.5, -3.2, 2.5, 3.2))


def rotary(throws: tuple[str, ...], *, common: str, resting: str) -> Symbol:
    """Return a switch pole of three or more throws: common left, a flag at each throw."""
    ys = [5.0 * k - 2.5 * (len(throws) - 1) for k in range(len(throws))]
    arm = ys[throws.index(resting)] if resting in throws else 0.0
    shapes = [line((-7.5, 0), (-4.4, 0)), circle((-4, 0), 0.4, fill="#fff"), line((-3.6, 0), (1.5, arm))]
    for name, y in zip(throws, ys, strict=True):
        number = _pin((3.6, y - 1.2), name.rsplit(".", 1)[-1])
        shapes += [circle((2, y), 0.4, fill="#fff"), line((2.4, y), (5, y)), number]
    ports = [Port(common, -7.5, 0, "W"), *(Port(t, 5, y, "F") for t, y in zip(throws, ys, strict=True))]
    return Symbol(tuple(shapes), tuple(ports), (-4.5, ys[0] - 1.0, 2.5, ys[-1] + 1.0))


def rows_of_flags(terminals: tuple[str, ...]) -> Symbol:
    """Return a plain box whose terminals all lead to flags on its right."""
    ys = [5.0 * k - 2.5 * (len(terminals) - 1) for k in range(len(terminals))]
    width = max(7.5, max(len(t) for t in terminals) * 1.6 * 0.62 + 2.0)
    shapes = [rect((-width, ys[0] - 2.5), (width, 5.0 * len(terminals)), fill="#fff")]
    for name, y in zip(terminals, ys, strict=True):
        shapes += [line((0, y), (2.5, y)), text((-1.0, y), name, 1.6, anchor="end")]
    return Symbol(tuple(shapes), tuple(Port(t, 2.5, y, "F") for t, y in zip(terminals, ys, strict=True)),
                  (-width, ys[0] - 2.5, 0, ys[-1] + 2.5))  # fmt: skip
