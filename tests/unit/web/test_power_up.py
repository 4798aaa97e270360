"""The power-up page: what closes a step, readings judged as they are typed, what says to switch off."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from lugwright.errors import NotYet, ReadingError
from lugwright.web.desk import Desk
from lugwright.workflow import read_in
from lugwright.workflow.readings import SaidReading

Ask = Callable[..., dict[str, Any]]


def _looked_over(desk: Desk, ask: Ask) -> None:
    """Tick what is looked at, and read what guards the first step with the plug in."""
    for key in ("look", "earth", "polarity", "ohms"):
        step = next(s for s in desk.opened.power_up if s.key == key)
        read_in(
            desk.opened,
            [
                SaidReading(f"{r.red or r.joint} to {r.black}" + (f", {r.at}" if r.at else ""), _as_said(r.expected))
                for r in step.readings
                if r.guards
            ],
            step=key,
        )
        ask("step done", step=key)


def _as_said(ohm: float) -> str:
    return "OL" if ohm > 1e8 else f"{ohm:.4g}"


def test_a_step_is_closed_until_what_guards_it_is_done_and_deadly_things_are_never_passed_over(ask: Ask) -> None:
    found = ask("power up", step="ohms")
    step = found["parts"]["power-step"]
    assert "✕ Not yet: 3 things before it are not as they should be" in step
    assert "Can hurt: step 2, Earth bond: 11 readings to come" in step
    assert 'href="#step=look">Go to step 1, Look it over</a>' in step
    assert "This cannot be passed over: it can hurt." in step
    assert "<input" not in step
    with pytest.raises(NotYet) as closed:
        ask("reading", step="ohms", point="B+1", value="220k")
    assert closed.value.what == "step 4, Ohms chart, may not be taken yet"
    assert closed.value.do == "do step 1 first"


def test_a_reading_is_judged_at_once_and_one_that_can_hurt_keeps_the_plug_out(desk: Desk, ask: Ask) -> None:
    ask("step done", step="look")
    row = next(r for r in desk.opened.before_mains if r.key == "earth").readings[0]
    place = f"{row.red} to {row.black}" + (f", {row.at}" if row.at else "")
    good = ask("reading", step="earth", point=place, value="0.04")
    assert (good["shown"], good["verdict"], good["mark"], good["burns"]) == ("40 mΩ", "inside", "●", "")
    assert ask("power up")["parts"]["power-alarm"].strip() == ""
    bad = ask("reading", step="earth", point=place, value="14")
    assert (bad["verdict"], bad["mark"], bad["kind"]) == ("can hurt: keep the plug out", "■", "burns")
    found = ask("power up")
    assert "; before that 40 mΩ, 20" in found["parts"]["power-readings"]
    alarm = found["parts"]["power-alarm"]
    assert "■ KEEP THE PLUG OUT" in alarm
    assert "<strong>P1 earth pin to bare chassis metal beside the earth bolt shows 14 Ω</strong>" in alarm
    assert "This stays here until it is read or looked for anew, or taken back." in alarm
    assert "SWITCH OFF NOW" not in alarm
    assert found["step"] == "earth"
    ask("take reading back", step="earth", point=place)
    assert ask("power up")["parts"]["power-alarm"].strip() == ""


def test_a_live_reading_at_which_something_burns_says_switch_off(desk: Desk, ask: Ask) -> None:
    _looked_over(desk, ask)
    found = ask("power up")
    assert found["step"] == "no tubes, lamp"
    assert "B+2 to ground under 255 V: R15 gets more than its 5 W." in found["parts"]["power-step"]
    judged = ask("reading", step="no tubes, lamp", point="B+2", value="190 V")
    assert judged["verdict"] == "switch off now"
    assert judged["burns"] == "R15 gets more than its 5 W"
    found = ask("power up")
    alarm = found["parts"]["power-alarm"]
    assert "■ SWITCH OFF NOW" in alarm
    assert "Plug out of the wall. Hands off until every filter capacitor is measured below 60 V." in alarm
    assert "190 V dc</strong> at step 5, Every tube out; good builds 278 V to 314 V. R15 gets more" in alarm
    assert "switch off now</b>" in found["parts"]["power-step"]
    assert "190 V dc" in found["parts"]["power-readings"]
    dull = ask("reading", step="no tubes, lamp", point="lamp", value="dull")
    assert (dull["verdict"], dull["burns"]) == ("inside", "")
    lit = ask("reading", step="no tubes", point="lamp", value="full")
    assert lit["verdict"] == "switch off now"
    assert lit["burns"] == "something draws too much: no full mains before you know what"
    ask("sign", sign="red plate V2", seen=True)
    alarm = ask("power up")["parts"]["power-alarm"]
    assert "<strong>limiter lamp shows full brightness" in alarm
    assert "<strong>red plate V2</strong> was seen. What glows red burns within a minute." in alarm


def test_a_feed_in_doubt_stands_on_top_until_it_is_read_anew(desk: Desk, ask: Ask) -> None:
    _looked_over(desk, ask)
    ask("reading", step="no tubes, lamp", point="B+1", value="205 V")
    judged = ask("reading", step="no tubes, lamp", point="B+2", value="204 V")
    assert (judged["verdict"], judged["mark"], judged["kind"]) == ("in doubt: read its feed again", "▼", "off")
    parts = ask("power up")["parts"]
    assert "▼ IN DOUBT: READ AGAIN" in parts["power-alarm"]
    assert "SWITCH OFF NOW" not in parts["power-alarm"]
    assert (
        "<strong>B+2 to ground shows 204 V dc</strong> at step 5, Every tube out; good builds 278 V to 314 V. Read B+1 "
        "again, before anything else: R15 gets more than its 5 W unless B+1 really stands at the 205 V read there"
    ) in parts["power-alarm"]
    assert "in doubt: read its feed again</b>" in parts["power-step"]
    with pytest.raises(NotYet) as refused:
        ask("pass over", step="heaters", reason="another lamp is in the limiter today")
    assert refused.value.do.startswith("read B+1 again, before anything else: R15 gets more than its 5 W unless B+1 ")
    ask("reading", step="no tubes, lamp", point="T1 hv.1 to hv.3", value="297 Vac")
    assert ask("power up")["parts"]["power-alarm"].strip() == ""
    assert ask("pass over", step="heaters", reason="another lamp is in the limiter today")["passed"]


def test_what_is_off_can_be_passed_over_with_a_reason_that_the_log_keeps(desk: Desk, ask: Ask) -> None:
    _looked_over(desk, ask)
    closed = ask("power up", step="heaters")["parts"]["power-step"]
    assert "Why is it right to go on all the same? The log keeps the reason." in closed
    with pytest.raises(NotYet) as refused:
        ask("pass over", step="heaters", reason="because")
    assert refused.value.what == "step 6 is not taken without a reason"
    assert ask("pass over", step="heaters", reason="the lamp is broken, a new one is on its way")["passed"]
    opened = ask("power up", step="heaters")["parts"]
    assert "✕ Not yet" not in opened["power-step"]
    assert "the lamp is broken, a new one is on its way" in opened["power-steps"]


def test_a_value_that_no_meter_shows_is_refused_with_how_to_write_it(ask: Ask) -> None:
    ask("step done", step="look")
    with pytest.raises(ReadingError) as refused:
        ask("reading", step="earth", point="P1.earth to chassis", value="about five")
    assert "about five" in refused.value.found or "about five" in refused.value.what


def test_the_probes_are_shown_where_they_are_held(ask: Ask) -> None:
    found = ask("probes", red="V1.6")
    assert found["red"] == "V1 pin 6"
    assert found["black"].startswith(
        "circuit ground; any ground point will do, clipped on with the plug out. Nearest: "
    )
    assert found["svg"].count(">RED</text>") == 1
    assert found["svg"].count(">BLACK</text>") == 1
    assert "Dunlin 5: where the tips are held" in found["svg"]
    assert ask("probes", red="B+1")["red"] == "B+1, at C6 lug a"


@pytest.mark.parametrize("red", ["P1.earth", "J1.tip", "V1.6", "T1.hv.1", "LS1.plus", "DS1.1", "C6.a"])
@pytest.mark.parametrize("whole", [False, True])
def test_both_flags_stand_inside_the_picture(ask: Ask, red: str, whole: bool) -> None:
    svg = ask("probes", red=red, whole=whole)["svg"]
    left, top, wide, high = map(float, svg.partition('viewBox="')[2].partition('"')[0].split())
    flags = svg[svg.index('class="probes"') :]
    boxes = re.findall(r'<rect x="([-.\d]+)" y="([-.\d]+)" width="([-.\d]+)" height="([-.\d]+)"', flags)
    assert len(boxes) == 2
    for x, y, w, h in (map(float, box) for box in boxes):
        assert left <= x <= x + w <= left + wide
        assert top <= y <= y + h <= top + high


def test_bare_metal_is_told_in_words_and_not_drawn(ask: Ask) -> None:
    assert ask("probes", red="R5.metal") == {
        "svg": "",
        "red": "as the reading says",
        "black": "circuit ground; any ground point will do, clipped on with the plug out",
    }
