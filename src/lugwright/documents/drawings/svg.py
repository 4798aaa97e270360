"""SVG text: every drawing is built from these elements. Measures in mm, two decimals, nothing unescaped."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

FONT = "DejaVu Sans Mono"
CHARACTER_WIDTH = 0.602  # of the size; DejaVu Sans Mono, every glyph alike
CAP_HEIGHT = 0.73  # of the size
_XML = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"})
_HIDDEN = {code: None for code in range(32) if code not in (9, 10, 13)}

Attribute = str | float | int | None
Point = tuple[float, float]


@lru_cache(maxsize=32768)
def num(value: float) -> str:
    """Return a number with at most two decimals, without trailing zeros or a negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


@lru_cache(maxsize=4096)
def escaped(text: str) -> str:
    """Return text that may stand in an SVG element or attribute; control characters are left out."""
    return text.translate(_HIDDEN).translate(_XML)


class Markup(str):
    """Finished SVG, not to be escaped again."""

    __slots__ = ()


def el(tag: str, attrs: Mapping[str, Attribute] | None = None, *children: str) -> Markup:
    """Return one element. A child that is not `Markup` is text and is escaped; attributes of None are left out."""
    written = ""
    for name, value in (attrs or {}).items():
        if value is not None:
            written += f' {name}="{escaped(value) if isinstance(value, str) else num(value)}"'
    inner = "".join([child if isinstance(child, Markup) else escaped(child) for child in children])
    return Markup(f"<{tag}{written}>{inner}</{tag}>" if inner else f"<{tag}{written}/>")


def group(children: Iterable[Markup], **attrs: Attribute) -> Markup:
    """Return a ``g`` element; ``class_`` and ``data_part`` become ``class`` and ``data-part``."""
    named = {name.rstrip("_").replace("_", "-"): value for name, value in attrs.items()}
    return el("g", named, Markup("\n" + "\n".join(children) + "\n"))


def path_data(points: Sequence[Point], *, closed: bool = False) -> str:
    """Return the ``d`` of a straight-sided path."""
    start, *rest = points
    return f"M{num(start[0])} {num(start[1])}" + "".join(f"L{num(x)} {num(y)}" for x, y in rest) + "Z" * closed


def line(a: Point, b: Point, *, width: float = 0.25, stroke: str = "#000", dash: str | None = None) -> Markup:
    """Return a straight line."""
    return el(
        "line",
        {"x1": a[0], "y1": a[1], "x2": b[0], "y2": b[1], "stroke": stroke, "stroke-width": width,
         "stroke-dasharray": dash},
    )  # fmt: skip


def circle(at: Point, radius: float, *, fill: str = "none", stroke: str = "#000", width: float = 0.25,
           dash: str | None = None) -> Markup:  # fmt: skip
    """Return a circle."""
    return el(
        "circle",
        {"cx": at[0], "cy": at[1], "r": radius, "fill": fill, "stroke": stroke, "stroke-width": width,
         "stroke-dasharray": dash},
    )  # fmt: skip


def rect(at: Point, size: Point, *, fill: str = "none", stroke: str = "#000", width: float = 0.25,
         radius: float = 0.0, dash: str | None = None) -> Markup:  # fmt: skip
    """Return a rectangle from its upper left corner."""
    return el(
        "rect",
        {"x": at[0], "y": at[1], "width": size[0], "height": size[1], "rx": radius or None, "fill": fill,
         "stroke": stroke, "stroke-width": width, "stroke-dasharray": dash},
    )  # fmt: skip


def text(at: Point, words: str, size: float, *, anchor: str = "middle", turn: float = 0.0, bold: bool = False,
         fill: str = "#000") -> Markup:  # fmt: skip
    """Return a line of text whose capitals are centered on the height of ``at``."""
    x, y = at
    return el(
        "text",
        {"x": x, "y": y + CAP_HEIGHT * size / 2.0, "font-size": size, "text-anchor": anchor, "fill": fill,
         "font-weight": "bold" if bold else None,
         "transform": f"rotate({num(turn)} {num(x)} {num(y)})" if turn else None},
        words,
    )  # fmt: skip


def text_width_mm(words: str, size_mm: float) -> float:
    """Return how wide a line of text is.

    Parameters
    ----------
    words : str
        The text. [-]
    size_mm : float
        Font size. [mm]

    Returns
    -------
    float
        Width. [mm]

    Source
    ------
    Advance width in the font file of DejaVu Sans Mono: 1233 of 2048 units.
    """
    return len(words) * CHARACTER_WIDTH * size_mm


def document(children: Iterable[Markup], *, box: tuple[float, float, float, float], scale: float = 1.0,
             title: str = "") -> str:  # fmt: skip
    """Return a whole SVG file. ``box`` is x, y, width, height in mm; ``scale`` the size on paper."""
    x, y, width, height = box
    attrs: dict[str, Attribute] = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": " ".join(num(v) for v in (x, y, width, height)),
        "width": num(width * scale) + "mm",
        "height": num(height * scale) + "mm",
        "font-family": FONT,
    }
    heading = [el("title", {}, title)] if title else []
    paper = rect((x, y), (width, height), fill="#fff", stroke="none")
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + el(
        "svg", attrs, Markup("\n" + "\n".join([*heading, paper, *children]) + "\n")
    ) + "\n"  # fmt: skip
