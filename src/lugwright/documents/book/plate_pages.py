"""Plate curves: where each tube stands on its curves, and what it works into."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.documents.book.blocks import Block, Figure, Paragraph, Section
from lugwright.documents.drawings.plate_curves import PlateChart

MOST_MM = 95.0


def plate_pages(charts: Sequence[PlateChart]) -> Section:
    """Return the plate curves of every kind of tube section."""
    text = (
        "Each curve is one voltage between grid and cathode. The tube idles where the point stands; a signal moves it "
        "along the AC load line, which bends where the other tube of a pair is cut off. The line in watts is the "
        "plate's limit: idle stays below it. Curves are those of an average tube, or of the measured one where the "
        "build file has its figures."
    )
    blocks: list[Block] = [Paragraph(text)] if charts else []
    blocks += [Figure(f"plate-{chart.name}", chart.svg, chart.words, MOST_MM) for chart in charts]
    return Section("plates", "Plate curves and load lines", tuple(blocks))
