"""Labels find a place beside their thing, move a neighbor, or are led away; the check sees every overlap."""

from __future__ import annotations

from dataclasses import replace

from lugwright.documents.drawings.geometry import Box, boxes_overlap
from lugwright.documents.drawings.label_placer import Soft, place_labels
from lugwright.documents.drawings.labels import Label, Labelled, Obstacle, Placed, Spot, label_overlaps, texts

SHEET = (0.0, 0.0, 100.0, 60.0)


def label(key: str, *spots: tuple[float, float], own: str = "", rank: int = 5) -> Label:
    places = tuple(Spot(x, y, 0.0, 0.1 * k) for k, (x, y) in enumerate(spots))
    return Label(key, texts(key), 2.5, places, (spots[0],), frozenset({own} if own else ()), rank=rank)


def test_a_free_label_stands_at_its_first_spot_without_a_leader() -> None:
    (placed,) = place_labels([label("R1", (20, 20), (30, 20))], [], [], SHEET).placed
    assert (placed.box.x, placed.box.y, placed.pointer) == (20, 20, None)


def test_a_label_goes_to_its_next_spot_when_a_body_is_in_the_way() -> None:
    (placed,) = place_labels([label("R1", (20, 20), (40, 20))], [Obstacle("C1", Box(20, 20, 8, 8))], [], SHEET).placed
    assert placed.box.x == 40


def test_a_label_may_lie_on_its_own_body() -> None:
    body = Obstacle("part R1", Box(20, 20, 12, 6))
    (placed,) = place_labels([label("R1", (20, 20), own="part R1")], [body], [], SHEET).placed
    assert (placed.box.x, placed.pointer) == (20, None)


def test_a_label_keeps_off_wires_when_it_can() -> None:
    wire = Soft("W1", (0, 20), (50, 20))
    (placed,) = place_labels([label("R1", (20, 20), (20, 26))], [], [wire], SHEET).placed
    assert placed.box.y == 26


def test_a_neighbor_moves_over_for_a_label_with_only_one_spot() -> None:
    labelled = place_labels([label("A1", (20, 20), (40, 20)), label("B1", (20, 20))], [], [], SHEET)
    at = {p.label.key: (p.box.x, p.pointer) for p in labelled.placed}
    assert at == {"A1": (40, None), "B1": (20, None)}


def test_a_label_without_room_is_led_away_and_points_at_its_thing() -> None:
    labelled = place_labels([label("R1", (20, 20))], [Obstacle("C1", Box(20, 20, 8, 8))], [], SHEET)
    (placed,) = labelled.placed
    assert placed.pointer == (20, 20)
    assert label_overlaps(labelled) == []


def test_a_label_led_away_does_not_hide_the_body_it_names() -> None:
    body = Obstacle("part R1", Box(20, 20, 3, 3))
    small = replace(label("R1", (20, 20), own="part R1"), inside=Box(20, 20, 3, 3))
    (placed,) = place_labels([small], [body], [], SHEET).placed
    assert placed.pointer == (20, 20)
    assert not boxes_overlap(placed.box, body.box)


def test_a_name_that_lies_over_a_wire_moves_so_that_a_leader_reaches_the_wire() -> None:
    name = label("bolt", (20, 20), (60, 20), own="disc", rank=1)
    labelled = place_labels([name, label("W1", (20, 20))], [Obstacle("disc", Box(20, 20, 1, 1))], [], SHEET)
    at = {p.label.key: (p.box.x, p.pointer) for p in labelled.placed}
    assert at["bolt"] == (60, None)
    assert at["W1"][1] == (20, 20)
    assert label_overlaps(labelled) == []


def test_a_name_that_has_no_other_place_stays_on_the_wire_and_the_check_says_so() -> None:
    name = label("bolt", (20, 20), own="disc", rank=1)
    wall = [Obstacle("left", Box(8, 30, 16, 60)), Obstacle("right", Box(62, 30, 76, 60))]
    wall += [Obstacle("above", Box(20, 8, 8, 16)), Obstacle("below", Box(20, 42, 8, 36))]
    labelled = place_labels([name, label("W1", (20, 20))], [Obstacle("disc", Box(20, 20, 1, 1)), *wall], [], SHEET)
    assert labelled.left_out == ("W1",)


def test_a_label_in_a_crowd_goes_to_the_margin() -> None:
    labelled = place_labels([label("R1", (50, 30))], [Obstacle("crowd", Box(50, 30, 92, 59.5))], [], SHEET)
    (placed,) = labelled.placed
    assert placed.box.x < 4 or placed.box.x > 96
    assert label_overlaps(labelled) == []


def test_a_label_that_fits_nowhere_is_reported_by_the_check() -> None:
    labelled = place_labels([label("R1", (50, 30))], [Obstacle("all", Box(50, 30, 120, 80))], [], SHEET)
    assert labelled.left_out == ("R1",)
    assert label_overlaps(labelled) == ["label R1 has no place"]


def test_hundreds_of_labels_in_one_place_never_overlap() -> None:
    labels = [label(f"W{k}", (50.0 + 0.1 * k, 30.0)) for k in range(150)]
    labelled = place_labels(labels, [], [], SHEET)
    assert len(labelled.placed) + len(labelled.left_out) == 150
    assert [f for f in label_overlaps(labelled) if "no place" not in f] == []


def test_the_check_sees_labels_on_labels_on_bodies_and_leaders_through_labels() -> None:
    one, two, three = label("R1", (20, 20)), label("R2", (22, 20)), label("R3", (40, 20))
    placed = tuple(Placed(k, (k.key,), k.box(k.spots[0], (k.key,)), p) for k, p in
                   ((one, None), (two, None), (three, (10.0, 20.0))))  # fmt: skip
    found = label_overlaps(Labelled(placed, (Obstacle("part C1", Box(42, 20, 4, 4)),)))
    assert found == [
        "label R1 on label R2",
        "leader of R3 through label R1",
        "leader of R3 through label R2",
        "label R3 on part C1",
    ]
