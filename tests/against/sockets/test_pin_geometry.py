"""Sockets of the catalogue: pin circles, chords, the way pins count, the mirror map."""

from __future__ import annotations

import math
from typing import Any

import pytest

from lugwright.catalogue.load import socket_type, tube_names, tube_type
from lugwright.catalogue.records import SocketType


def _at(socket: SocketType, pin: int) -> tuple[float, float]:
    """Return a pin's place with the key at the top (y up), counted clockwise as the wirer sees it."""
    angle = math.radians(socket.first_pin_deg + (pin - 1) * socket.pin_step_deg)
    return socket.pin_circle_mm / 2 * math.sin(angle), socket.pin_circle_mm / 2 * math.cos(angle)


def test_pin_count_circle_and_step(rows: list[dict[str, str]]) -> None:
    assert len(rows) == 3
    for row in rows:
        socket = socket_type(row["socket"])
        assert socket.pin_count == int(row["pins"])
        assert socket.pin_circle_mm == float(row["circle_mm"])
        assert socket.pin_step_deg == float(row["step_deg"])


def test_chord_between_neighboring_pins(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    for row in rows:
        socket = socket_type(row["socket"])
        for pin in range(1, socket.pin_count):
            chord = math.dist(_at(socket, pin), _at(socket, pin + 1))
            assert chord == pytest.approx(float(row["chord_mm"]), abs=tolerance["chord_mm"])


def test_holes_screws_and_leads_to_a_pin(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    for row in rows:
        socket, room = socket_type(row["socket"]), tolerance["hole_mm"]
        assert float(row["least_hole_mm"]) - room <= socket.hole_mm <= float(row["most_hole_mm"]) + room
        assert socket.fixing_centers_mm == pytest.approx(float(row["fixing_mm"]), abs=room)
        assert socket.leads_per_pin <= int(row["leads"])


@pytest.mark.parametrize("name", ["B7G", "noval", "octal"])
def test_key_or_gap_lies_midway_between_last_and_first_pin(name: str) -> None:
    socket = socket_type(name)
    (x1, y1), (xn, yn) = _at(socket, 1), _at(socket, socket.pin_count)
    assert x1 > 0 > xn
    assert x1 == pytest.approx(-xn)
    assert y1 == pytest.approx(yn)
    assert y1 > 0


@pytest.mark.parametrize(("name", "total"), [("noval", 10), ("octal", 9), ("B7G", 8)])
def test_seen_from_above_pin_n_stands_where_pin_total_less_n_stands_from_below(name: str, total: int) -> None:
    socket = socket_type(name)
    for pin in range(1, socket.pin_count + 1):
        x, y = _at(socket, pin)
        assert _at(socket, total - pin) == pytest.approx((-x, y))


def test_noval_mirror_keeps_pin_5_alone() -> None:
    socket = socket_type("noval")
    fixed = [pin for pin in range(1, 10) if abs(_at(socket, pin)[0]) < 1e-9]
    assert fixed == [5]


def test_octal_pin_1_is_just_clockwise_of_the_key() -> None:
    x, y = _at(socket_type("octal"), 1)
    assert math.degrees(math.atan2(x, y)) == pytest.approx(22.5)


def test_every_tube_uses_only_pins_its_socket_has() -> None:
    for name in tube_names():
        tube = tube_type(name)
        for _, electrode, pins in tube.terminals():
            for pin in pins:
                assert 1 <= pin <= socket_type(tube.socket).pin_count, (name, electrode)
