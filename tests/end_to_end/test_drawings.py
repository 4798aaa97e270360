"""The wiring side of every build: nothing on it covers anything else, and it can be read on paper."""

from __future__ import annotations

import pytest

from lugwright.documents.drawings.labels import label_overlaps
from lugwright.documents.drawings.svg import CAP_HEIGHT
from lugwright.documents.drawings.wiring_side import PAPER_MM, WiringSide, terminal_text, wiring_side
from lugwright.workflow import Opened

LEAST_CAPITALS_MM = 2.0


@pytest.fixture(scope="module")
def side(planned: Opened) -> WiringSide:
    return wiring_side(planned.build, planned.plan, planned.hardware, order=planned.work_order)


def test_no_label_covers_a_label_a_lug_a_frame_or_another_part(side: WiringSide) -> None:
    assert len(side.labelled.placed) > 60
    assert label_overlaps(side.labelled) == []


def test_every_word_and_number_is_2_mm_high_on_paper(side: WiringSide) -> None:
    sizes = [placed.label.size for placed in side.labelled.placed]
    for size in (*sizes, terminal_text(side.scale)):
        assert round(size * side.scale * CAP_HEIGHT, 2) >= LEAST_CAPITALS_MM


def test_the_sheets_fit_their_paper(side: WiringSide) -> None:
    width, height = PAPER_MM[side.paper]
    for _, _, wide, high in side.sheets:
        assert wide * side.scale <= width + 0.5
        assert high * side.scale <= height + 0.5
