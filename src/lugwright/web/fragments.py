"""Templates, and pieces of pages made from them; a worker that answers with a piece needs no server for it."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined


@lru_cache(maxsize=1)
def environment() -> Environment:
    """Return the templates; every text in them is escaped."""
    return Environment(
        loader=PackageLoader("lugwright.web"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip


def fragment(template: str, **context: Any) -> str:
    """Return a piece of a page; the page puts it where it belongs, and keeps what is being typed there."""
    return environment().get_template(f"{template}.html.jinja").render(**context)
