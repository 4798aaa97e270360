"""Plate curves: where each tube stands on its curves, and what it works into."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.documents.book.blocks import Block, Figure, Items, Paragraph, Section
from lugwright.documents.drawings.plate_curves import PlateChart

MOST_MM = 84.0
IN_WORDS = "The lines below say where the tube idles, its loads and its limit."


def plate_pages(charts: Sequence[PlateChart]) -> Section:
    """Return the plate curves of every kind of tube section."""
    text = (
        "Each curve is one voltage between grid and cathode. The tube idles where the point stands; a signal moves it "
        "along the AC load line, which bends where the other tube of a pair is cut off. The line in watts is the "
        "plate's limit: idle stays below it. Curves are those of an average tube, or of the measured one where the "
        "build file has its figures."
    )
    blocks: list[Block] = [Paragraph(text)] if charts else []
    for chart in charts:
        caption = f"Plate curves of {chart.name.replace('_', ', ')}"
        blocks += [Figure(f"plate-{chart.name}", chart.svg, caption, MOST_MM, instead=IN_WORDS), Items(chart.words)]
    return Section("plates", "Plate curves and load lines", tuple(blocks), follows=True)
