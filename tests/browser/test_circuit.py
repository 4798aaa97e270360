"""The circuit page: pointing at parts and joints, sliders with their curve, what moves, and nothing written."""

from __future__ import annotations

import json
import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from .conftest import OpenPage
from .serving import Bench, run


def slide(page: Page, what: str, value: str) -> None:
    """Move a slider as a hand does."""
    page.locator(f'.trial[data-set="{what}"] input[type=range]').evaluate(
        "(slider, value) => { slider.value = value; slider.dispatchEvent(new Event('input', { bubbles: true })); }",
        value,
    )


def gain_at_1khz(page: Page, column: int) -> str:
    cell = page.locator("#figures tr", has_text="gain at 1 kHz").locator("td").nth(column)
    return cell.text_content() or ""


def area(page: Page, kind: str, name: str) -> Locator:
    return page.locator(f'.area[data-{kind}="{name}"]').first


@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_a_part_and_a_joint_tell_what_they_carry(
    page: Page, bench: Bench, axe: Callable[[Page], list[str]], size: str
) -> None:
    page.goto(bench.at("circuit"))
    card = page.locator("#card")
    area(page, "part", "R3").locator("rect").first.click()
    expect(card.locator("h3")).to_have_text("R3 100 kΩ 1 W (brown black yellow gold)")
    idle = json.loads(run("idle", bench.file(), "--json"))["idle"]
    watts = 1e3 * idle["parts"]["R3"]["watts"]
    expect(card).to_contain_text(f"{watts:.1f} mW")
    expect(card.locator("a", has_text="On the wiring side")).to_have_attribute(
        "href", re.compile(r"/build/dunlin-5/wiring(\?copy=.*)?#part=R3$")
    )
    expect(page.locator('.area.chosen[data-part="R3"]')).to_have_count(1)
    card.get_by_role("button", name="R3.1: B+3").click()
    expect(card.locator("h3")).to_have_text("Joint B+3")
    expect(card).to_contain_text("ripple, peak to peak")
    assert page.locator('.area.chosen[data-joint="B+3"]').count() > 1
    assert page.url.endswith("#joint=B%2B3")
    assert axe(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing sticks out sideways"
    card.get_by_role("button", name=re.compile(r"^R3\.1$")).click()
    card.locator("a", has_text="On the wiring side").click()
    expect(page.locator("#find")).to_have_value("R3")
    expect(page.locator("h2", has_text=re.compile("^R3$"))).to_be_visible()
    page.locator("a", has_text="In the circuit").click()
    expect(card.locator("h3")).to_have_text("R3 100 kΩ 1 W (brown black yellow gold)")


def test_joints_on_the_mains_are_never_given_as_harmless_volts(page: Page, bench: Bench) -> None:
    page.goto(f"{bench.at('circuit')}#part=P1")
    page.locator("#card").get_by_role("button", name=re.compile(r"^P1\.line")).click()
    expect(page.locator("#card .caution")).to_have_text(
        "On the mains, 120 V: live with the plug in, before the switch also with it off. It can kill."
    )
    expect(page.locator("#card dl")).to_have_count(0)


def test_the_keyboard_reaches_every_part_and_the_address_names_what_is_chosen(page: Page, bench: Bench) -> None:
    page.goto(f"{bench.at('circuit')}#part=V2")
    expect(page.locator("#card h3")).to_have_text("V2 octal socket for 6V6GT")
    expect(page.locator("#card")).to_contain_text("screen heat")
    focused = page.locator(":focus")
    expect(focused).to_have_attribute("data-part", "V2")
    page.keyboard.press("ArrowRight")
    other = focused.get_attribute("data-part")
    assert other not in (None, "V2")
    page.keyboard.press("Enter")
    assert page.url.endswith(f"#part={other}")
    page.fill("#find-name", "R99")
    page.keyboard.press("Enter")
    expect(page.locator("#card")).to_have_text(
        "Nothing drawn here is called R99. Names are as in the build file: R3, V1, B+2."
    )


def test_a_slider_is_followed_by_its_curve_and_nothing_is_written(page: Page, bench: Bench) -> None:
    text = bench.file().read_bytes()
    page.goto(bench.at("circuit"))
    expect(page.locator("#curve-state")).to_have_text("As the build file has it.")
    as_is, tried = page.locator("#chart .as-is"), page.locator("#chart .tried")
    assert len((as_is.get_attribute("points") or "").split()) == 121
    slide(page, "R9", "1.5")
    expect(page.locator("#curve-state")).to_have_text("1 tried; the idle stays.")
    assert len((tried.get_attribute("points") or "").split()) == 121
    assert tried.get_attribute("points") != as_is.get_attribute("points")
    report = json.loads(run("response", bench.file(), "--set", "R9=0.15", "--json"))
    row = next(each for each in report["readings"] if each["name"] == "knobs as set, gain at 1 kHz")
    assert gain_at_1khz(page, 0) == f"{row['as_built']:.1f} dB"
    assert gain_at_1khz(page, 1) == f"{row['changed']:.1f} dB"
    expect(page.locator("#changed li")).to_have_text("R9 Tone: 5 → 1.5 Back")
    expect(page.locator("#changed input")).to_have_value('--set "R9=0.15"')
    expect(page.locator("#tried-findings")).to_contain_text("No finding comes or goes.", timeout=60_000)
    page.get_by_role("button", name="Note in the log").click()
    expect(page.get_by_role("button", name="Noted in the log")).to_be_disabled()
    assert "Tried: R9 Tone 5 → 1.5" in run("log", bench.file(), "--json")
    page.get_by_role("button", name="R9 Tone back").click()
    expect(page.locator("#curve-state")).to_have_text("As the build file has it.")
    expect(page.locator("#changed")).to_be_hidden()
    assert bench.file().read_bytes() == text


def test_a_part_that_carries_current_moves_the_idle_and_the_findings(page: Page, bench: Bench) -> None:
    page.goto(f"{bench.at('circuit')}#part=R12")
    page.get_by_role("button", name="Try other values").click()
    exact = page.get_by_label("R12, exactly")
    expect(exact).to_have_value("330R")
    exact.fill("red")
    exact.press("Enter")
    expect(page.locator("#curve-state")).to_contain_text("R12 cannot be set to 'red': R12=red; wanted: a resistance")
    expect(page.locator("#curve-state")).to_contain_text("No curve is drawn of what is tried.")
    expect(page.locator("#chart .tried")).to_have_attribute("points", "")
    exact.fill("120")
    exact.press("Enter")
    expect(page.locator("#idle-moved summary")).to_contain_text("more that have moved")
    page.locator("#idle-moved summary").click()
    exact.fill("100")
    exact.press("Enter")
    expect(page.locator("#curve-state")).to_have_text("1 tried; the idle has moved.")
    expect(page.locator("#changed li")).to_have_text("R12: 330R → 100 Back")
    expect(page.locator("#idle-moved details")).to_have_attribute("open", "")
    report = json.loads(run("idle", bench.file(), "--set", "R12=100", "--json"))
    row = next(each for each in report["readings"] if each["name"] == "V2 plate")
    moved = page.locator("#idle-moved tr", has_text="V2 plate current").first
    expect(moved.locator("td")).to_have_text([f"{1e3 * row['as_built']:.1f} mA", f"{1e3 * row['changed']:.1f} mA"])
    expect(page.locator("#tried-findings .finding").first).to_contain_text("New, ", timeout=60_000)
    page.locator("#plates summary").click()
    expect(page.locator("#plates figure strong").first).to_have_text("As it is", timeout=60_000)
    expect(page.locator("#plates figure svg").first).to_be_visible()
    page.evaluate("dispatchEvent(new Event('resize'))")
    bench.file().touch()
    expect(page.locator("#changed li")).to_have_text("R12: 330R → 100 Back", timeout=20_000)


def test_another_curve_between_other_points(page: Page, bench: Bench) -> None:
    page.goto(bench.at("circuit"))
    page.select_option("#quantity", "output_ohm")
    page.get_by_text("From where to where").click()
    page.locator("#points [name=source]").fill("V1a.grid")
    page.locator("#points [name=output]").fill("V1a.plate")
    page.get_by_role("button", name="Show that curve").click()
    report = json.loads(run("response", bench.file(), "--from", "V1a.grid", "--to", "V1a.plate", "--json"))
    gain = report["response"]["curves"][0]["gain_1khz_db"]
    expect(page.locator("#figures")).to_contain_text(f"{gain:.1f} dB")
    expect(page.locator("#chart text", has_text="output impedance, Ω")).to_have_count(1)
    page.locator("#points [name=output]").fill("V9.plate")
    page.get_by_role("button", name="Show that curve").click()
    expect(page.locator("#curve-state")).to_contain_text("there is no point 'V9.plate'")
    expect(page.locator("#curve-state")).to_contain_text("No curve is drawn.")
    expect(page.locator("#chart .as-is")).to_have_attribute("points", "")


def test_a_study_is_worked_out_when_opened_and_again_with_what_is_tried(
    open_page: OpenPage, bench: Bench, axe: Callable[[Page], list[str]]
) -> None:
    page = open_page("phone", color_scheme="dark")
    page.goto(f"{bench.at('circuit')}#power")
    expect(page.locator("#power .found")).to_contain_text("Certificate: at every drive")
    slide(page, "R9", "1.5")
    expect(page.locator("#power h3").first).to_have_text("What moves")
    expect(page.locator("#power .pair h3")).to_have_text(["As it is", "Tried"])
    page.locator("#power [name=hertz]").fill("400")
    page.locator("#power [name=hertz]").press("Enter")
    expect(page.locator("#power .found")).to_contain_text("A steady sine of 400 Hz")
    expect(page.locator("#power .state-words")).to_be_empty()
    assert axe(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing sticks out sideways"
