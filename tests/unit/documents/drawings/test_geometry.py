"""Turned boxes, segments and crossings."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lugwright.documents.drawings.geometry import (
    Box,
    along,
    boxes_overlap,
    edge_toward,
    point_in_box,
    segment_hits_box,
    segments_cross,
    upright,
)

NUMBERS = st.floats(-20.0, 20.0)
SIZES = st.floats(0.5, 15.0)
BOXES = st.builds(Box, NUMBERS, NUMBERS, SIZES, SIZES, st.floats(0.0, 360.0))


def test_boxes_that_share_an_edge_do_not_overlap() -> None:
    assert not boxes_overlap(Box(0, 0, 2, 2), Box(2, 0, 2, 2))
    assert boxes_overlap(Box(0, 0, 2, 2), Box(1.99, 0, 2, 2))


def test_a_turned_box_overlaps_only_where_it_is() -> None:
    assert not boxes_overlap(Box(0, 0, 10, 1, 45.0), Box(3.0, -3.0, 1, 1))
    assert boxes_overlap(Box(0, 0, 10, 1, 45.0), Box(3.0, 3.0, 1, 1))


@given(BOXES, BOXES)
def test_overlap_agrees_with_points_of_the_one_inside_the_other(a: Box, b: Box) -> None:
    steps = [-0.45, -0.2, 0.0, 0.2, 0.45]
    angle = math.radians(a.turn)
    points = [
        (a.x + i * a.width * math.cos(angle) - k * a.height * math.sin(angle),
         a.y + i * a.width * math.sin(angle) + k * a.height * math.cos(angle))
        for i in steps for k in steps
    ]  # fmt: skip
    if any(point_in_box(p, b) for p in points):
        assert boxes_overlap(a, b)
        assert boxes_overlap(b, a)


@given(BOXES, st.tuples(NUMBERS, NUMBERS), st.tuples(NUMBERS, NUMBERS))
def test_a_segment_with_a_point_inside_hits_the_box(box: Box, a: tuple[float, float], b: tuple[float, float]) -> None:
    inside = [t / 20 for t in range(1, 20)]
    shrunk = box.grown(-0.01 * min(box.width, box.height))
    if any(point_in_box((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t), shrunk) for t in inside) and a != b:
        assert segment_hits_box(a, b, box)


def test_segments_that_only_touch_do_not_cross() -> None:
    assert segments_cross((0, 0), (2, 2), (0, 2), (2, 0))
    assert not segments_cross((0, 0), (2, 2), (2, 2), (4, 0))


def test_points_along_a_line_keep_their_distance() -> None:
    found = along([(0, 0), (10, 0), (10, 5)], 2.0)
    assert [p for p, _ in found[:2]] == [(1.0, 0.0), (3.0, 0.0)]
    assert found[-1][1] == 90.0


@pytest.mark.parametrize(("turn", "read"), [(0, 0), (180, 0), (90, -90), (-90, -90), (135, -45), (200, 20)])
def test_text_reads_from_below_or_from_the_right(turn: float, read: float) -> None:
    assert upright(turn) == pytest.approx(read)


@given(BOXES, st.floats(0.0, 6.28))
def test_a_line_from_the_middle_leaves_a_box_at_its_edge(box: Box, angle: float) -> None:
    far = (box.x + 90.0 * math.cos(angle), box.y + 90.0 * math.sin(angle))
    x, y = edge_toward(box, far)
    assert point_in_box((x, y), box.grown(0.01))
    assert not point_in_box((x, y), box.grown(-0.01))
    assert (x - box.x) * (far[1] - box.y) == pytest.approx((y - box.y) * (far[0] - box.x), abs=1e-6)
