"""What stands beside a step: idle setting, as-built values, tracing with signs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from lugwright.errors import ReadingError
from lugwright.web.asked.trace import alarm_beyond
from lugwright.web.desk import Desk
from lugwright.web.fragments import fragment
from lugwright.web.shown.trace import chance_words
from lugwright.workflow import fault_bench, measured_in, read_in
from lugwright.workflow.readings import SaidReading

Ask = Callable[..., dict[str, Any]]


def test_the_idle_is_told_in_watts_of_the_limit_once_it_is_read(desk: Desk, ask: Ask) -> None:
    before = ask("idle setting")["parts"]["power-idle"]
    assert "Nothing was read yet: what follows is computed." in before
    assert "Aim: 90% of the plate limit for the hottest tube (cathode bias)." in before
    assert 'data-step="all tubes" data-point="V2 pin 8 (cathode) to ground"' in before
    assert "Clip the meter on with the plug out and below 60 V measured on every filter capacitor" in before
    read_in(desk.opened, [SaidReading("V2 pin 8", "14.0 V")], step="all tubes")
    after = ask("idle setting", target="cool")["parts"]["power-idle"]
    assert "Nothing was read yet" not in after
    assert "W of 12 W: " in after
    assert 'aria-label="V2 plate heat"' in after
    assert "<option selected>cool</option>" in after


def test_what_is_measured_is_kept_and_taken_back_and_windows_follow_it(desk: Desk, ask: Ask) -> None:
    assert "Nothing was measured, fitted or set yet" in ask("as built rows")["parts"]["power-as-built"]
    window = next(s for s in desk.opened.steps if s.key == "no tubes").readings[0]
    assert ask("as built", what="mains", value="112")["written"]
    rows = ask("as built rows")["parts"]["power-as-built"]
    assert "<b>mains</b> 112" in rows
    lower = next(s for s in desk.opened.steps if s.key == "no tubes").readings[0]
    assert lower.expected < 0.96 * window.expected
    ask("as built back", what="mains")
    assert "Nothing was measured, fitted or set yet" in ask("as built rows")["parts"]["power-as-built"]
    with pytest.raises(ReadingError) as refused:
        ask("as built", what="R999", value="1k")
    assert "R999" in refused.value.found


def test_tracing_names_suspects_what_to_measure_next_and_takes_signs_by_a_tap(desk: Desk, ask: Ask) -> None:
    nothing = ask("trace")
    assert nothing["state"] == "nothing read"
    assert "No reading yet. Begin with what looked wrong, or with the reading below." in nothing["parts"]["power-trace"]
    read_in(desk.opened, [SaidReading("V2 pin 8", "14 V")], step="all tubes")
    ask("sign", sign="red plate V2", seen=True)
    found = ask("trace")
    html = found["parts"]["power-trace"]
    assert 'data-sign="red plate V2" data-seen="yes" aria-pressed="true"' in html
    assert "<h3>Measure next</h3>" in html
    assert 'data-deed="reading" data-step="ohms"' in html, "with the plug out, where something burns"
    assert "faults on the list" in html
    assert ": nothing wrong" in html
    above = ask("power up")["parts"]["power-alarm"]
    assert "■ SWITCH OFF NOW" in above
    assert "What glows red burns within a minute." in above
    assert not found["parts"]["trace-alarm"].strip(), "what stands there already is not said once more"
    assert "svg" in ask("suspects")["svg"]
    ask("sign back", sign="red plate V2")
    assert 'data-sign="red plate V2" data-seen="yes" aria-pressed="false"' in ask("trace")["parts"]["power-trace"]


def test_tracing_says_which_feed_is_in_doubt(desk: Desk, ask: Ask) -> None:
    read_in(desk.opened, [SaidReading("B+1", "205 V"), SaidReading("B+2", "204 V")], step="no tubes, lamp")
    above = ask("power up")["parts"]["power-alarm"]
    assert "▼ IN DOUBT: READ AGAIN" in above
    assert "Read B+1 again, before anything else: R15 gets more than its 5 W unless B+1 really stands" in above
    assert not ask("trace")["parts"]["trace-alarm"].strip(), "what stands there already is not said once more"


def test_what_the_search_finds_dangerous_is_said_whatever_else_stands_there(desk: Desk, ask: Ask) -> None:
    ask("sign", sign="red plate V2", seen=True)
    bench = fault_bench(desk.opened)
    bench.take_logged()
    found = bench.tracing(count=1)
    assert found.live, "a red plate is seen with the plug in"
    other = replace(found, switch_off="C9 gets warm, its plus on the minus side", again="read B+1 again")
    words = fragment("power/trace_alarm", **alarm_beyond(desk, other))
    assert "■ SWITCH OFF NOW" in words
    assert "<p>C9 gets warm, its plus on the minus side. Plug out of the wall;" in words
    assert "▼ IN DOUBT: READ AGAIN" in words
    assert "<p>Read B+1 again.</p>" in words


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.995, "almost certain, over 99 %"), (0.7, "very likely, 70 %"), (0.43, "likely, 43 %"),
     (0.12, "possible, 12 %"), (0.03, "unlikely, 3 %"), (0.001, "hardly, under 1 %")],
)  # fmt: skip
def test_a_chance_is_told_in_words_and_in_numbers(chance: float, words: str) -> None:
    assert chance_words(chance) == words


def test_the_fault_list_is_kept_while_readings_come_and_made_anew_for_another_build(desk: Desk) -> None:
    first = fault_bench(desk.opened)
    tracer = first.tracer
    read_in(desk.opened, [SaidReading("V1 pin 1", "98k")], step="ohms")
    second = fault_bench(desk.opened, before=first)
    second.take_logged()
    assert second.tracer is tracer
    assert (len(first.taken), len(second.taken)) == (0, 1)
    measured_in(desk.opened, [("R3", "98.7k")])
    assert fault_bench(desk.opened, before=second).tracer is not tracer
