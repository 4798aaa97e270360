"""Plate curves and load lines of every tube section, as built or with values tried."""

from __future__ import annotations

from typing import Any

from lugwright.documents.drawings.plate_curves import heading, load_words, plate_curves_svg
from lugwright.web.asked.asked import LONG, Asked
from lugwright.web.asked.trying import TriedArgs
from lugwright.web.desk import Desk

SIZE_MM = (120.0, 84.0)


def _plate_curves(desk: Desk, args: TriedArgs) -> list[dict[str, Any]]:
    opened = desk.what_if(tuple(args.changes)) if args.changes else desk.opened
    return [
        {
            "sections": list(found.together),
            "title": heading(found),
            "svg": plate_curves_svg(found, size_mm=SIZE_MM),
            "words": load_words(found),
        }
        for found in opened.plate_curves
    ]


PLATE_CURVES = Asked("plate curves", _plate_curves, TriedArgs, LONG, words="the plate curves")
