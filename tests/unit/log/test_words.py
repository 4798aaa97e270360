"""Entries of the log in one line each."""

from __future__ import annotations

from lugwright.log.events import Entry
from lugwright.log.words import entry_words


def words(kind: str, subject: str, body: dict[str, object]) -> str:
    return entry_words(Entry("0" * 32, "2026-11-26T12:00:00.000000Z", "1", kind, subject, body))


def test_what_was_read_and_measured_is_told_with_its_value() -> None:
    volts = {"quantity": "V dc", "value": 281.04, "unit": "V", "step": "all tubes"}
    assert words("reading", "B+1 to ground", volts) == "B+1 to ground: 281.04 V dc (all tubes)"
    over = {"quantity": "ohm", "value": None, "unit": "ohm", "step": "ohms"}
    assert words("reading", "R14", over) == "R14: over range (ohms)"
    sign = {"quantity": "sign", "value": 1.0, "unit": "", "step": "signs"}
    assert words("reading", "hum", sign) == "hum: yes"
    assert words("reading", "hum", sign | {"value": 0.0}) == "hum: no"
    lamp = {"quantity": "lamp", "value": 0.15, "unit": "", "step": "no tubes, lamp"}
    assert words("reading", "limiter lamp", lamp) == "limiter lamp: 15 % of the mains on it (no tubes, lamp)"
    assert words("as built", "R3", {"value": 98700.0, "unit": "ohm"}) == "R3: 98700 Ω"
    assert words("photo", "a.jpg", {"file": "a.jpg", "text": "heaters"}) == "a.jpg: heaters"
    assert words("note", "", {"text": "hm"}) == "hm"
    assert words("note", "card 8", {"text": "loose"}) == "card 8: loose"
    assert words("lead in", "R3 lead 1 to A 1", {}) == "R3 lead 1 to A 1"
    assert words("seen some day", "x", {"a": 1}) == "x"
