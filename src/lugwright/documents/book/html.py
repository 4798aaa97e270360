"""The book as one HTML file: no scripts, nothing fetched, drawings inline, prints like the PDF."""

from __future__ import annotations

import re
from functools import cache
from importlib import resources

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup, escape

from lugwright.documents.book.blocks import (
    Block,
    Content,
    Figure,
    Sheet,
    alternative,
    book_columns,
    cell_words,
    figure_size_mm,
)

_PROLOGUE = re.compile(r"^\s*<\?xml[^>]*\?>\s*")
_ID = re.compile(r' id="([^"]*)"')
_REFERENCE = re.compile(r"url\(#([^)]*)\)")


def html_text(content: Content) -> str:
    """Return the book as HTML; every word of the builder is escaped."""
    return _template().render(book=content)


@cache
def _template() -> Template:
    environment = Environment(
        loader=FunctionLoader(_read), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.globals |= {"kind": _kind, "inline": inline_drawing, "enlarged": _enlarged, "columns": book_columns,
                            "words": cell_words, "style": Markup(_read("book.css"))}  # fmt: skip
    return environment.get_template("book.html.jinja")


def _read(name: str) -> str:
    return resources.files(__package__).joinpath(name).read_text(encoding="utf-8")


def _kind(block: Block) -> str:
    return type(block).__name__.lower()


def _enlarged(figure: Figure) -> str:
    return f"{figure_size_mm(figure.svg)[0] * figure.grow:.1f}"


def inline_drawing(block: Figure | Sheet, before: str = "") -> Markup:
    """Return a drawing to stand in the page; its ids are made its own, since many drawings share one page.

    ``before`` tells it from the same drawing of another state of the build.
    """
    plain = _PROLOGUE.sub("", block.svg)
    plain = plain.replace("<svg ", f'<svg role="img" aria-label="{escape(alternative(block))}" ', 1)
    key = before + re.sub(r"[^A-Za-z0-9-]", "-", block.name)
    plain = _ID.sub(lambda m: f' id="{key}-{m[1]}"', plain)
    return Markup(_REFERENCE.sub(lambda m: f"url(#{key}-{m[1]})", plain))
