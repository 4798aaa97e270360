"""The Wiring side: what hangs together lights up, by pointer, finger and keyboard; moved by hand, undone, kept."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from .conftest import OpenPage, Serve
from .serving import Bench, run

LIT = """() => ({
  terminals: [...document.querySelectorAll("#sheet > .over [data-terminal]")].map((e) => e.dataset.terminal).sort(),
  wires: [...document.querySelectorAll("#sheet > .over [data-wire]")].map((e) => e.dataset.wire).sort(),
  parts: [...document.querySelectorAll("#sheet > .over [data-part]")].map((e) => e.dataset.part).sort(),
})"""
MIDDLE = """(key) => {
  const element = document.querySelector(`#sheet > svg:first-of-type [data-terminal="${CSS.escape(key)}"]`);
  const box = element.getBoundingClientRect();
  const at = {x: box.x + box.width / 2, y: box.y + box.height / 2};
  return element.contains(document.elementFromPoint(at.x, at.y)) ? at : null;
}"""
VIEW = """() => {
  const [x, y, width, height] = document.querySelector("#sheet > svg").getAttribute("viewBox").split(" ").map(Number);
  return {x, y, width, height};
}"""
DRAWN = "() => document.querySelector('#sheet > svg').outerHTML.replace(/viewBox=\"[^\"]*\"/, '')"
FRAMES = """() => {
  window.frames_ms = [];
  let last = performance.now();
  const tick = (now) => { window.frames_ms.push(now - last); last = now; requestAnimationFrame(tick); };
  requestAnimationFrame(tick);
}"""


def opened(page: Page, bench: Bench, copy: str = "") -> None:
    """Open the page and wait until it answers to the pointer."""
    page.goto(bench.at(f"wiring?copy={copy}" if copy else "wiring"))
    page.wait_for_selector("#wiring[data-ready]")


def plan_of(bench: Bench) -> dict[str, Any]:
    """Return the plan beside the build file, read without the program."""
    found: dict[str, Any] = json.loads(bench.file().with_suffix(".plan.json").read_text(encoding="utf-8"))
    return found


def ends(bench: Bench, part: str) -> set[str]:
    """Return where a part hangs in the stored plan."""
    return set(next(seat["terminals"] for seat in plan_of(bench)["seats"] if seat["part"] == part))


def until(page: Page, condition: str) -> None:
    """Wait until an expression is true; the page itself may evaluate no text."""
    for _ in range(600):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"it never came to be that {condition}")


def find(page: Page, name: str) -> None:
    """Find something by its name, and light it."""
    page.fill("#find", name)
    page.keyboard.press("Enter")


def test_a_lug_under_the_pointer_lights_everything_on_its_joint_and_nothing_else(page: Page, bench: Bench) -> None:
    opened(page, bench)
    plan = plan_of(bench)
    tried = 0
    for terminal in plan["terminals"][::4]:
        at = page.evaluate(MIDDLE, terminal["key"]) if terminal["kind"] in ("lug", "pin", "pot", "can") else None
        if not at or not terminal["joint"]:
            continue
        tried += 1
        page.mouse.move(at["x"], at["y"])
        expect(page.locator("#card h2")).to_have_text(terminal["label"])
        on = sorted(t["key"] for t in plan["terminals"] if t["joint"] == terminal["joint"])
        lit = page.evaluate(LIT)
        drawn = [key for key in on if page.locator(f'#sheet > svg:first-of-type [data-terminal="{key}"]').count()]
        assert lit["terminals"] == drawn
        wires = {f"W{w['number']}" for w in plan["wires"] if {*w["terminals"], w["shield"]} & set(on)}
        assert set(lit["wires"]) == wires
        assert set(lit["parts"]) == {s["part"] for s in plan["seats"] if set(s["terminals"]) & set(on)}
    assert tried >= 10
    page.mouse.move(2, 2)
    expect(page.locator("#card h2")).to_have_text("Nothing lit")
    assert page.evaluate(LIT) == {"terminals": [], "wires": [], "parts": []}


def test_the_card_tells_volts_ohms_length_color_and_the_job(page: Page, bench: Bench) -> None:
    opened(page, bench)
    wire = next(w for w in plan_of(bench)["wires"] if w["joint"] == "B+3")
    find(page, f"W{wire['number']}")
    card = page.locator("#card")
    expect(card.locator("h2")).to_have_text(f"W{wire['number']}, {wire['color']}")
    expect(card).to_contain_text(re.compile(r"Cut\s*\d+ mm"))
    expect(card).to_contain_text(re.compile(r"Strip\s*[\d.]+ mm and [\d.]+ mm"))
    expect(card).to_contain_text(re.compile(r"Idle\s*2\d\d V dc"))
    expect(card).to_contain_text(re.compile(r"Ohms to ground\s*2\d\d kΩ \(2\d\d kΩ to 2\d\d kΩ\)"))
    expect(card.locator(".hot")).to_contain_text("Measure below 60 V before a hand goes in.")
    link = card.get_by_role("link", name=re.compile("^Card "))
    assert re.search(r"/build/dunlin-5/work#card-\d+$", link.first.get_attribute("href") or "")
    card.get_by_role("button", name="All of B+3").click()
    expect(card.locator("h2")).to_be_focused()
    expect(card.locator("h2")).to_have_text("Joint B+3")
    page.keyboard.press("Escape")
    expect(card.locator("h2")).to_have_text("Nothing lit")


def test_the_keyboard_moves_enlarges_and_shows_all(page: Page, bench: Bench) -> None:
    opened(page, bench)
    page.focus("#board")
    whole = page.evaluate(VIEW)
    page.keyboard.press("+")
    until(page, f"({VIEW})().width < {whole['width'] * 0.8}")
    large = page.evaluate(VIEW)
    page.keyboard.press("ArrowRight")
    until(page, f"({VIEW})().x > {large['x'] + large['width'] * 0.14}")
    page.keyboard.press("-")
    until(page, f"Math.abs(({VIEW})().width - {whole['width']}) < 0.01")
    page.keyboard.press("0")
    until(page, f"Math.abs(({VIEW})().x - {whole['x']}) < 0.01")


def test_dragging_moves_the_drawing_by_as_much_as_the_hand(
    page: Page, bench: Bench, record_property: Callable[[str, object], None]
) -> None:
    opened(page, bench)
    before = page.evaluate(VIEW)
    box = page.locator("#board").bounding_box()
    assert box is not None
    a_mm = before["width"] / page.evaluate("document.getElementById('board').clientWidth")
    x, y = box["x"] + 20, box["y"] + 20
    page.evaluate(FRAMES)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 200, y + 100, steps=60)
    page.mouse.up()
    times = sorted(page.evaluate("window.frames_ms"))
    record_property("frames_ms_p50_p95", (times[len(times) // 2], times[int(len(times) * 0.95)]))
    after = page.evaluate(VIEW)
    assert (before["x"] - after["x"], before["y"] - after["y"]) == pytest.approx((200 * a_mm, 100 * a_mm), rel=0.06)
    assert after["width"] == pytest.approx(before["width"], rel=1e-3)


def test_two_fingers_enlarge_and_a_finger_beside_a_lug_still_takes_it(open_page: OpenPage, bench: Bench) -> None:
    page = open_page("phone")
    opened(page, bench)
    page.locator("#board").scroll_into_view_if_needed()
    before = page.evaluate(VIEW)
    box = page.locator("#board").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    fingers = page.context.new_cdp_session(page)

    def touch(kind: str, *apart: float) -> None:
        points = [{"x": x + sign * apart[0], "y": y, "id": n} for n, sign in enumerate((-1, 1)) for _ in apart]
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", 30)
    for apart in range(30, 95, 5):
        touch("touchMove", apart)
    touch("touchEnd")
    until(page, f"({VIEW})().width < {before['width'] * 0.5}")
    page.locator("#whole").tap()
    find(page, "A.4")
    at = page.evaluate(MIDDLE, "A.4")
    page.keyboard.press("Escape")
    page.touchscreen.tap(at["x"], at["y"])
    expect(page.locator("#card h2")).to_have_text("strip A lug 4 (foot)")
    expect(page.locator("#card")).to_contain_text("Kept lit; tap beside it or press Escape to put it out.")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing sticks out sideways"


def test_two_taps_tell_the_ohms_between_and_a_plan_is_kept_only_when_it_is_said_twice(
    page: Page, bench: Bench, axe: Callable[[Page], list[str]]
) -> None:
    opened(page, bench)
    find(page, "R3")
    page.get_by_role("button", name="Why is it there?").click()
    expect(page.locator("#why h2")).to_have_text("Why R3 is there")
    page.get_by_role("button", name="Put away").click()
    one, other = ends(bench, "R3")
    find(page, one)
    page.get_by_role("button", name="Red tip here").click()
    expect(page.locator("#between .answer")).to_have_text("Now the black tip: tap where it goes.")
    find(page, other)
    page.get_by_role("button", name="Black tip here").click()
    expect(page.locator("#between .reads")).to_have_text(re.compile(r"^100 kΩ \(\d.*Ω to 1\d+ kΩ\)$"))
    page.locator("#plans > summary").click()
    page.get_by_role("button", name="Plan afresh, and keep that").click()
    expect(page.locator("#choose-title")).to_have_text("Plan afresh?")
    page.get_by_role("button", name="Leave the stored one").click()
    page.locator("#strip-lines > summary").click()
    page.get_by_role("button", name="As they are planned").click()
    expect(page.locator("#strip-lines pre")).to_contain_text("[strips]\nA = { lugs = 8")
    assert axe(page) == []


def test_filters_leave_what_is_asked_for(page: Page, bench: Bench) -> None:
    opened(page, bench, copy="filters")
    page.fill("#by-volts", "200")
    expect(page.locator("#card h2")).to_have_text("Lit: 200 V and more from ground; rings mark what is above 60 V")
    lit = page.evaluate(LIT)
    joints = {t["key"]: t["joint"] for t in plan_of(bench)["terminals"]}
    at = {joints[key] for key in lit["terminals"]}
    assert {"B+1", "B+2", "B+3", "V2.plate", "V1a.plate"} <= at
    assert not at & {"ground", "heater 1", "V1a.grid", "V1a.cathode"}
    assert page.locator("#sheet .ring").count() == len(lit["terminals"])
    page.fill("#by-volts", "")
    page.select_option("#by-step", "heaters")
    heaters = {f"W{w['number']}" for w in plan_of(bench)["wires"] if w["kind"] == "heater"}
    assert heaters <= set(page.evaluate(LIT)["wires"])
    wire = sorted(heaters)[0]
    run("tick", bench.file(), "--serial", "filters", "--lead", wire)
    page.select_option("#by-work", "done")
    until(page, f"JSON.stringify(({LIT})().wires) === '[\"{wire}\"]'")
    page.select_option("#by-work", "to do")
    assert set(page.evaluate(LIT)["wires"]) & heaters == heaters - {wire}
    page.select_option("#by-work", "")
    page.select_option("#by-step", "")
    page.select_option("#by-layer", "parts")
    lit = page.evaluate(LIT)
    assert lit["wires"] == []
    assert set(lit["parts"]) == {s["part"] for s in plan_of(bench)["seats"] if s["layer"] == 1}
    expect(page.locator("#card h2")).to_have_text("Lit: parts")


def test_the_next_job_is_lit_alone_and_follows_the_log(page: Page, bench: Bench) -> None:
    run("tick", bench.file(), "1", "--serial", "jobs")
    opened(page, bench, copy="jobs")
    page.click("#next-job")
    expect(page.locator("#card h2")).to_have_text("Card 2: Mount: Sockets")
    for _ in range(9):
        page.click("#card-after")
    jobs = json.loads(run("jobs", bench.file(), "--json"))["work_order"]["jobs"]
    job = jobs[10]
    expect(page.locator("#card h2")).to_have_text(f"Card 11: {job['title']}")
    lit = page.evaluate(LIT)
    assert set(lit["wires"]) == {f"W{number}" for number in job["wires"]}
    assert set(lit["terminals"]) == {lead["terminal"] for lead in job["leads"]}
    expect(page.locator("#card-after")).to_be_focused()
    page.click("#next-job")
    page.click("#next-job")
    run("tick", bench.file(), "2", "--serial", "jobs")
    expect(page.locator("#card h2")).to_have_text(f"Card 3: {jobs[2]['title']}")


def test_other_sides_and_enlarged_strips_take_its_place(page: Page, bench: Bench) -> None:
    opened(page, bench)
    page.select_option("#side", "top")
    expect(page.locator("#sheet > svg").first).to_contain_text("TOP SIDE")
    find(page, "V1a.plate")
    assert "V1" in page.evaluate(LIT)["parts"]
    find(page, "B+3")
    page.select_option("#side", "strip A")
    expect(page.locator("#sheet > svg").first).to_contain_text("strip A, lug 1 is its left end")
    assert page.evaluate(LIT)["terminals"] == sorted(
        t["key"] for t in plan_of(bench)["terminals"] if t["joint"] == "B+3" and t["owner"] == "A"
    )
    find(page, "V1a.plate")
    page.select_option("#side", "socket V1")
    expect(page.locator("#sheet > svg").first).to_contain_text("V1 12AX7, wiring side")
    assert page.evaluate(LIT)["terminals"] == ["V1.1"]
    page.select_option("#side", "")
    expect(page.locator('#sheet > svg [data-part="R3"]').first).to_be_visible()


def test_a_dragged_part_is_planned_around_and_undone_and_kept(
    open_page: OpenPage, serve: Serve, axe: Callable[[Page], list[str]]
) -> None:
    bench = serve("dunlin_5")
    far = [
        w for w in plan_of(bench)["wires"] if not w["twist"] and not re.search(r"\b(A|V1)\.", " ".join(w["terminals"]))
    ]
    laid = [f"W{w['number']}" for w in far]
    assert len(laid) > 5
    run("tick", bench.file(), *(word for name in laid for word in ("--lead", name)))
    page, other = open_page(), open_page("phone")
    opened(page, bench)
    opened(other, bench)
    before, stored, was = page.evaluate(DRAWN), plan_of(bench), ends(bench, "R3")
    drag(page, "R3", -12.0)
    expect(page.locator("#tries h2")).to_have_text("Tried out: R3", timeout=120_000)
    expect(page.locator("#tries")).to_contain_text("Nothing is written yet.")
    tried = page.evaluate(DRAWN)
    assert tried != before
    for name in laid:
        assert wire(tried, name) == wire(before, name), f"{name} is laid already"
    assert plan_of(bench) == stored
    assert axe(page) == []
    page.click('[data-act="undo"]')
    expect(page.locator("#tries h2")).to_have_text("Nothing tried out")
    assert page.evaluate(DRAWN) == before
    page.keyboard.press("Control+Shift+Z")
    expect(page.locator("#tries h2")).to_have_text("Tried out: R3")
    assert page.evaluate(DRAWN) == tried
    page.reload()
    expect(page.locator("#tries")).to_contain_text("Taken up again as it was when the page was left.")
    expect(page.locator("#tries h2")).to_have_text("Tried out: R3")
    assert page.evaluate(DRAWN) == tried
    page.click('[data-act="keep"]')
    expect(page.locator("#wiring[data-ready] #tries")).to_be_hidden()
    page.wait_for_selector("#wiring[data-ready]")
    assert page.evaluate(DRAWN) != before
    now = ends(bench, "R3")
    assert now != was
    find(other, "R3")
    for key in sorted(now):
        expect(other.locator("#card")).to_contain_text(key.split(".")[1])


def test_a_strip_is_moved_by_its_form_and_the_file_changes_only_after_its_line_was_shown(
    page: Page, serve: Serve
) -> None:
    bench = serve("dunlin_5")
    text = bench.file().read_text(encoding="utf-8")
    opened(page, bench)
    find(page, "A")
    page.get_by_text("Move strip A").click()
    page.get_by_label("Lug 1 from the left edge, mm").fill("27")
    page.fill("#by-volts", "100")  # the card is made anew
    expect(page.get_by_label("Lug 1 from the left edge, mm")).to_have_value("27")
    page.fill("#by-volts", "")
    page.get_by_role("button", name="Plan around it").click()
    expect(page.locator("#tries pre")).to_have_text(
        "-A = { lugs = 8, foot = 4, at = [25, 112] }\n+A = { lugs = 8, foot = 4, at = [27, 112] }", timeout=120_000
    )
    assert bench.file().read_text(encoding="utf-8") == text
    page.get_by_role("button", name="Keep, and change dunlin_5.toml").click()
    expect(page.locator("#wiring[data-ready] #tries")).to_be_hidden()
    page.wait_for_selector("#wiring[data-ready]")
    assert bench.file().read_text(encoding="utf-8") == text.replace("at = [25, 112]", "at = [27, 112]")


def test_what_cannot_be_says_why_and_what_is_tried_out_outlives_a_change_elsewhere(page: Page, serve: Serve) -> None:
    bench = serve("dunlin_5")
    run("tick", bench.file(), "--lead", "R3")
    opened(page, bench)
    drag(page, "R3", -12.0)
    expect(page.locator("#told h2")).to_have_text("R3 cannot be moved (put there by hand)", timeout=120_000)
    page.get_by_role("button", name="Put away").click()
    run("tick", bench.file(), "--undo", "--lead", "R3")
    drag(page, "R3", -12.0)
    expect(page.locator("#tries h2")).to_have_text("Tried out: R3", timeout=120_000)
    with bench.file().open("a", encoding="utf-8") as file:
        file.write("# a thought\n")
    expect(page.locator("#tries .hot").first).to_have_text("The build or its plan has changed elsewhere since.")
    expect(page.locator("#tries h2")).to_have_text("Tried out: R3")
    page.get_by_role("button", name="Show it as it is now").click()
    expect(page.locator("#tries")).to_contain_text(
        "What was tried out here is dropped: the build or its plan has changed since."
    )
    page.reload()
    page.wait_for_selector("#wiring[data-ready]")
    expect(page.locator("#tries")).to_be_hidden()


def test_a_build_without_a_plan_is_planned_by_a_button(page: Page, serve: Serve) -> None:
    bench = serve("dunlin_5")
    stored = plan_of(bench)
    bench.file().with_suffix(".plan.json").unlink()
    page.goto(bench.at("wiring"))
    expect(page.locator("#no-plan")).to_contain_text("There is no plan yet")
    page.click("#plan-it")
    page.reload()
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    expect(page.locator("#planning")).to_contain_text("planning")
    page.wait_for_selector("#wiring[data-ready]", timeout=300_000)
    assert plan_of(bench) == stored


@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_the_page_can_be_used_by_everybody(
    page: Page, bench: Bench, axe: Callable[[Page], list[str]], size: str
) -> None:
    opened(page, bench)
    assert axe(page) == []
    find(page, "V1a.plate")
    assert axe(page) == []
    for button in page.locator("#wiring button:visible, #wiring select:visible, #wiring input:visible").all():
        shape = button.bounding_box()
        assert shape is not None
        assert shape["height"] >= 44.0, button.inner_text()


def drag(page: Page, part: str, right_mm: float) -> None:
    """Drag a part on the drawing to the right by so many millimeters of chassis."""
    if page.get_attribute("#arrange", "aria-pressed") == "false":
        page.click("#arrange")
    box = page.locator(f'#sheet > svg:first-of-type [data-label^="{part}"]').first.bounding_box()
    assert box is not None
    px_a_mm = page.evaluate("document.querySelector('#sheet > svg').getScreenCTM().a")
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + right_mm * px_a_mm, y, steps=8)
    page.mouse.up()


def wire(svg: str, name: str) -> str:
    """Return how a wire is drawn."""
    found = re.search(rf'<g class="wire"[^>]*data-wire="{name}".*?</g>', svg, re.DOTALL)
    assert found, name
    return found[0]
