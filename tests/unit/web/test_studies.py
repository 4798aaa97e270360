"""Power, start, spread, stages and hiss on the circuit page: the figures of the commands, and what a try moves."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from lugwright.documents.compared import power_figures
from lugwright.errors import AskError, ChangeError
from lugwright.quantities import with_unit
from lugwright.solve.power_results import NoPower
from lugwright.web.asked import power as power_file
from lugwright.web.asked.asked import LONG
from lugwright.web.asked.table import ASKED
from lugwright.web.desk import Desk, Openings

DUNLIN = Path(__file__).parents[3] / "examples/dunlin_5.toml"
STUDIES = ("power", "start", "spread", "rest and hiss")
told: list[str] = []


@pytest.fixture(scope="module")
def desk() -> Desk:
    """Return a desk with a build that nothing is written of."""
    return Desk(DUNLIN, "", "", Openings(), lambda share, words: told.append(words))


def _html(desk: Any, name: str, **args: Any) -> str:
    asked = ASKED[name]
    found: str = asked.answer(desk, asked.args.model_validate(args))["html"]
    return found


def _words(html: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_what_takes_its_time_is_in_the_lane_for_it_and_writes_nothing() -> None:
    assert [(ASKED[name].lane, ASKED[name].writes) for name in STUDIES] == [(LONG, False)] * len(STUDIES)


def test_power_is_that_of_the_command_and_a_try_stands_beside_it(desk: Desk) -> None:
    power = desk.opened.power_answer
    html = _html(desk, "power")
    assert f"{with_unit(power.full_drive.watts, 'W')} at full drive" in html  # type: ignore[union-attr]
    assert "Measure it with a load on the speaker terminals, never without" in html
    assert "<h3>What moves</h3>" not in html
    told.clear()
    html = _html(desk, "power", changes=["R12=470"])
    assert told == ["as the build is", "with what is tried"]
    after = desk.what_if(("R12=470",)).power_answer
    was, now = ({q.name: q.value for q in power_figures(each)}["power at 10 %"] for each in (power, after))  # type: ignore[arg-type]
    row = f'<th scope="row">power at 10 %</th><td class="number">{with_unit(was or 0, "W")}</td>'
    assert f'{row}<td class="number">{with_unit(now or 0, "W")}</td>' in html
    ids = re.findall(r' id="([^"]+)"', html)
    assert ids
    assert len(ids) == len(set(ids)), "drawings of both states share one page"


def test_the_idle_stands_in_tables_with_the_mains_low_and_high(desk: Desk) -> None:
    words = _words(_html(desk, "idle tables"))
    assert "Certificate: at most" in words
    assert "Mains 10 % low and high" in words
    assert "Live with the plug in" in words
    moved = _html(desk, "idle tables", changes=["R12=100"])
    was, now = (with_unit(each.idle.tubes["V2"].plate_w, "W") for each in (desk.opened, desk.what_if(("R12=100",))))
    row = f'<th scope="row">V2 plate heat</th><td class="number">{was}</td><td class="number">{now}</td>'
    assert row in moved
    assert "The plate of V2 is overloaded" in moved, "a limit that is passed is said, not only the figures"


def test_why_there_is_no_power_is_said_in_words(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    none = NoPower("no output power is promised with V2", "a law of low currents", "rows of a sheet", "measure it")
    monkeypatch.setattr(power_file, "power_or_why_not", lambda opened, wish: none)
    assert (
        "No output power is promised with V2. Found: a law of low currents. Wanted: rows of a sheet. Measure it."
        in _words(_html(desk, "power"))
    )


def test_a_start_says_what_it_may_not_be_taken_for(desk: Desk) -> None:
    words = _words(_html(desk, "start"))
    assert "These times are no permission." in words
    assert "measure every one of them below 60 V" in words
    start = desk.opened.start
    assert start is not None
    assert f"Highest mains current {max(i.peak_a for i in start.inrush):.1f} A" in words


def test_another_way_to_start_that_a_build_does_not_have_says_so_beside_the_start(desk: Desk) -> None:
    words = _words(_html(desk, "start", standby_s=20, silicon=True))
    assert "Standby closed after 20 s There is no standby switch to open: 1 switch, and none carries" in words
    assert "There is no rectifier tube to replace: silicon rectifiers only." in words
    assert "These times are no permission." in words


def test_a_build_without_mains_or_signal_path_has_its_own_words(desk: Desk) -> None:
    opened = SimpleNamespace(start=None, start_ratings=((), ()), readable=None, measured=desk.opened.written)
    bare = SimpleNamespace(opened=opened, tell=lambda share, words: None)
    assert _words(_html(bare, "start")).strip() == (
        "There is no mains inlet in this build, so there is nothing to switch on."
    )
    written = desk.opened.written
    opened.measured = replace(written, parts=tuple(part for part in written.parts if part.name != "LS1"))
    assert _words(_html(bare, "rest and hiss")).strip() == (
        "This build has no input jack or no speaker: there is no way from one to the other."
    )


def test_the_spread_can_be_asked_of_some_readings_and_says_when_there_are_none(desk: Desk) -> None:
    words = _words(_html(desk, "spread", draws=20, only="plate heat"))
    assert "20 builds were drawn" in words
    assert "V2 plate heat" in words
    assert "V2 cathode" not in words
    with pytest.raises(AskError) as error:
        _html(desk, "spread", draws=20, only="flux")
    assert (error.value.what, error.value.found) == ("no reading is called so", "flux")
    assert error.value.wanted == "words in the name of a reading: V1, plate heat, B+"
    assert error.value.do == "leave it empty to see all of them"


def test_hiss_is_held_against_the_watts_that_are_given(desk: Desk) -> None:
    words = _words(_html(desk, "rest and hiss", guitar_ohm=10_000, watts=2.0))
    assert "dB below 2 W" in words
    assert "Stages at 1 kHz" in words


def test_a_part_that_is_not_there_is_refused(desk: Desk) -> None:
    with pytest.raises(ChangeError, match="there is no part R99 to set"):
        _html(desk, "power", changes=["R99=1k"])
