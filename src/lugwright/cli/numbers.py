"""Numbers on the command line: what is no number is refused there."""

from __future__ import annotations

import math
from typing import Any

import click


class Number(click.FloatRange):
    """A number within its range; neither `nan` nor `inf` is one."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the number, or say what is wanted."""
        number = super().convert(value, param, ctx)
        if not math.isfinite(number):
            self.fail(f"{value!r} is not a number", param, ctx)
        return number
