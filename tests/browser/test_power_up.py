"""The story of a first power-up at the bench: from an open demo build to a finished, bias-set amplifier, with one
planted fault found on the way; readings are those of the circuit as it was wired."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from lugwright.bringup.results import Reading, Step
from lugwright.bringup.trace.exact import ExactReadings
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.records import Probe
from lugwright.workflow import (
    FaultBench,
    SaidReading,
    fault_bench,
    open_build,
    power_up_now,
    read_in,
    readings_now,
    step_done,
)

from .conftest import OpenPage, Serve

FAULT = "decade R3 1e+04"  # 10 kΩ in place of 100 kΩ
BY_LINE = ("look", "polarity")  # steps whose lines are ticked one by one
MOST_READINGS = 8  # that tracing may ask for


@pytest.fixture(params=["desktop", "phone"])
def size(request: pytest.FixtureRequest) -> str:
    """Return both sizes, one after the other."""
    return str(request.param)


@pytest.fixture
def on_the_bench(serve: Serve, open_page: OpenPage, size: str) -> tuple[Page, Path]:
    """Return the power-up page of a Dunlin of its own, and its build file."""
    bench = serve("dunlin_5")
    page = open_page(size)
    page.goto(f"{bench.address}/")
    page.get_by_role("link", name="Dunlin 5", exact=True).first.click()
    page.locator("nav a[href*='power-up']").first.click()
    expect(page.locator("#step-title")).to_contain_text("Step 1: Look it over")
    return page, bench.file()


def said(value: float, unit: str) -> str:
    """Return a value as it is typed from a display."""
    if math.isinf(value):
        return "OL"
    if unit == "ohm":
        for factor, letter in ((1e6, "M"), (1e3, "k")):
            if value >= factor:
                return f"{value / factor:.4g}{letter}"
        return f"{value:.2f}"
    return f"{value:.4g} V" if abs(value) >= 0.1 else f"{1e3 * value:.2f} mV"


class Wired:
    """The amplifier as it was wired, with its fault."""

    def __init__(self, bench: FaultBench) -> None:
        self.bench = bench
        (wired,) = (h for h in hypotheses_of(bench.opened.circuit, [bench.faults[FAULT]]) if h.faults)
        self.exact = ExactReadings(bench.bench, wired)

    def __call__(self, step: Step, row: Reading) -> float:
        """Return what the meter shows at a row of the ohms chart."""
        return self.at(step.key, row.red or row.joint, row.black)

    def at(self, step: str, red: str, black: str) -> float:
        """Return what the ohmmeter shows between two places."""
        assert step == "ohms"
        return self.exact.value(Probe(step, red, black, "ohm", "", 0.0, 0.0))


def test_from_an_open_build_to_a_bias_set_amplifier_with_a_planted_fault_found(
    on_the_bench: tuple[Page, Path], size: str
) -> None:
    page, path = on_the_bench
    opened = open_build(path)
    steps = {step.key: step for step in opened.power_up}
    wired = Wired(fault_bench(opened))

    every = size == "desktop"  # on the phone what guards the steps, and a few more
    _closed_until_looked_over(page)
    _ticked_lines_outlive_a_reload(page)
    for key in ("look", "earth", "polarity"):
        _whole_step(page, steps[key], every=every)
    _read_until_one_is_off(page, steps["ohms"], wired)
    _trace(page, wired)
    _put_right(page, steps["ohms"], every=every)
    for step in opened.power_up[4:]:
        _whole_step(page, step, every=every)
        if step.key == "all tubes":
            _idle_is_shown_in_watts(page, step)
    expect(page.locator(".all-done")).to_have_text("✓ Every step is done. Keep the record: print the book.")

    done = open_build(path)
    assert power_up_now(done).next == 0
    assert [r.point for r in readings_now(done) if r.verdict in ("high", "low")] == []


def test_a_reading_taken_elsewhere_arrives_while_another_is_typed_and_danger_fills_the_page(
    on_the_bench: tuple[Page, Path], axe: Callable[[Page], list[str]]
) -> None:
    page, path = on_the_bench
    step_done(open_build(path), 1)
    page.locator("#all-steps summary").click()
    page.locator("#power-steps a", has_text="2 Earth bond").click()
    expect(page.locator("#step-title")).to_contain_text("Step 2: Earth bond")
    rows = next(s for s in open_build(path).before_mains if s.key == "earth").readings
    first, second = _row(page, rows[0]), _row(page, rows[1])
    second.locator("input").fill("0.0")
    place = first.get_attribute("data-point") or ""
    read_in(open_build(path), [SaidReading(place, "14 ohm")], step="earth")
    expect(first.locator("output b")).to_have_text("can hurt: keep the plug out")
    expect(second.locator("input")).to_have_value("0.0")
    expect(second.locator("input")).to_be_focused()
    alarm = page.locator("#power-alarm .switch-off")
    expect(alarm.locator("h2")).to_have_text("■ KEEP THE PLUG OUT")
    expect(alarm).to_contain_text("shows 14 Ω at step 2, Earth bond")
    width = page.evaluate("document.documentElement.clientWidth")
    assert (alarm.bounding_box() or {"width": 0})["width"] > 0.9 * width
    assert page.evaluate("document.documentElement.scrollWidth") <= width, "nothing sticks out sideways"
    assert axe(page) == []
    page.emulate_media(media="print")
    for told in (alarm, first.locator("output")):
        assert told.evaluate("each => getComputedStyle(each).color") == "rgb(0, 0, 0)", "paper has no red ground"
    page.emulate_media(media="screen")
    _type(first, "0.04")
    expect(first.locator("output b")).to_have_text("inside")
    expect(alarm).to_have_count(0)


def _closed_until_looked_over(page: Page) -> None:
    """A step behind what can hurt shows no field to type into, and no way around."""
    page.locator("#all-steps summary").click()
    page.locator("#power-steps a", has_text="4 Ohms chart").click()
    expect(page.locator(".not-yet h3")).to_have_text("✕ Not yet: 3 things before it are not as they should be")
    expect(page.locator(".not-yet")).to_contain_text("This cannot be passed over: it can hurt.")
    expect(page.locator("#power-step input")).to_have_count(0)
    page.get_by_role("link", name="Go to step 1, Look it over").click()
    expect(page.locator("#step-title")).to_contain_text("Step 1")


def _ticked_lines_outlive_a_reload(page: Page) -> None:
    """A line that was ticked is ticked after a reload, and may be taken back."""
    page.locator("input.line").nth(1).check()
    page.reload()
    expect(page.locator("input.line").nth(1)).to_be_checked()
    page.locator("input.line").nth(1).uncheck()


def _whole_step(page: Page, step: Step, *, every: bool) -> None:
    """Do, read and finish one step, as a good build shows it; ``every`` reading, or those that guard and two more."""
    expect(page.locator("#step-title")).to_contain_text(f"Step {step.number}: {step.title}")
    finish = page.locator(f'form.finish[data-step="{step.key}"] .main-deed')
    expect(page.locator("input.line:checked")).to_have_count(0)
    if step.key in BY_LINE:
        expect(finish).to_be_disabled()
        for line in page.locator("input.line").all():
            line.check()
        expect(finish).to_be_enabled()
    others = [row for row in step.readings if not row.guards]
    rows = [row for row in step.readings if every or row.guards or row in others[:2]]
    for row in rows:
        _type(_row(page, row), said(row.expected, row.unit))
    for row in rows:
        expect(_row(page, row).locator("output b")).to_have_text("inside")
    finish.click()
    expect(finish).to_have_count(0)


def _row(page: Page, row: Reading) -> Locator:
    place = f"{row.red or row.joint} to {row.black}" + (f", {row.at}" if row.at else "")
    return page.locator(f'#power-step form[data-words="{row.point}"][data-point="{place}"]').first


def _type(form: Locator, words: str) -> None:
    form.locator("input[name=value]").fill(words)
    form.locator("input[name=value]").press("Enter")


def _read_until_one_is_off(page: Page, step: Step, wired: Wired) -> None:
    """Go down the chart as builders do, and stop at the first reading outside its window."""
    expect(page.locator("#step-title")).to_contain_text(f"Step {step.number}: {step.title}")
    for row in step.readings:
        form = _row(page, row)
        _type(form, said(wired(step, row), row.unit))
        expect(form.locator("output b")).to_be_visible()
        if "too" in form.locator("output b").inner_text():
            return
    pytest.fail("the planted fault is outside no window of the ohms chart")


def _trace(page: Page, wired: Wired) -> None:
    """Follow what tracing asks for until the planted fault heads its list."""
    page.get_by_role("link", name="What explains this?").first.click()
    _ended_and_begun_again(page)
    planted = wired.bench.faults[FAULT].what
    suspect, words = page.locator("#power-trace .suspects > li").first, page.locator("#power-trace .trace-words")
    expect(words).to_be_visible()
    for _ in range(MOST_READINGS):
        expect(page.locator("#power-trace")).to_have_attribute("aria-busy", "false")
        if planted in suspect.inner_text() and "likely" not in suspect.locator("b").first.inner_text():
            break
        ahead = page.locator("#power-trace form.entry-line").first
        if not ahead.count():
            break
        told = {key: ahead.get_attribute(f"data-{key}") or "" for key in ("step", "red", "black")}
        before = ahead.get_attribute("data-point")
        _type(ahead, said(wired.at(told["step"], told["red"], told["black"]), "ohm"))
        expect(page.locator("#power-trace form.entry-line").first).not_to_have_attribute("data-point", before or "")
    expect(suspect).to_contain_text(planted)
    expect(page.locator("#power-trace .the-rest")).to_contain_text("none of the")


def _ended_and_begun_again(page: Page) -> None:
    """A search for the fault that is under way is ended by hand, and then wanted after all."""
    page.get_by_role("button", name="End this").click()
    expect(page.locator("#side-trace .busy")).to_have_text("Ended.Begin again")
    again = page.get_by_role("button", name="Begin again")
    expect(again).to_be_focused()
    expect(page.locator("#told")).to_be_empty()
    again.click()
    expect(page.get_by_role("button", name="End this")).to_be_visible()


def _put_right(page: Page, step: Step, *, every: bool) -> None:
    """Fit the right resistor, take back what was outside its window, and read the chart again."""
    page.locator("#side-trace > summary").click()
    page.locator("#side-readings > summary").click()
    off = page.locator("#power-readings li.off").get_by_role("button")
    while (left := off.count()) > 0:
        off.first.click()
        expect(off).to_have_count(left - 1)
    page.locator("#side-readings > summary").click()
    _whole_step(page, step, every=every)


def _idle_is_shown_in_watts(page: Page, step: Step) -> None:
    """The idle that is typed beside the step is shown as watts of the plate's limit."""
    page.locator("#side-idle > summary").click()
    cathode = next(row for row in step.readings if row.point.startswith("V2 pin 8"))
    _type(page.locator("#power-idle form.entry-line"), said(cathode.expected, cathode.unit))
    watts = page.locator("#power-idle .tube-watts li")
    expect(watts).to_have_count(1)
    expect(watts).to_contain_text("V2")
    expect(watts).to_contain_text("W of 12 W")
    expect(watts.locator(".off")).to_have_count(0)
    page.locator("#side-idle > summary").click()
