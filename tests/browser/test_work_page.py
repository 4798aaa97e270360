"""The Work page: cards ticked by finger, what is left, notes, photos, copies, another device, and print."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from .serving import Bench, run

LEAST_TAP_PX = 56.0  # of what a gloved finger ticks

MOST_SHEETS = 10  # for 31 cards: three and more on each


def stored(page: Page) -> None:
    """Wait until nothing that was done here is on its way."""
    expect(page.locator(".pending")).to_have_count(0)


@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_a_card_is_ticked_and_the_next_one_waits_to_be_asked_for(
    page: Page, bench: Bench, axe: Callable[[Page], list[str]], size: str
) -> None:
    copy = {"desktop": "1", "phone": "2"}[size]
    page.goto(bench.at(f"work?copy={copy}"))
    page.locator("#now [data-whole]").check()
    expect(page.locator("#go-on")).to_have_text("Next: card 2")
    expect(page.locator("#now-title")).to_have_text("Card 1 is done")
    expect(page.locator("#done")).to_contain_text("1 of 31 cards done")
    expect(page.locator("#now .job-head .title")).to_have_text("Drill, punch, deburr")
    page.click("#go-on")
    expect(page.locator("#now .job-head .title")).to_have_text("Mount: Sockets")
    expect(page.locator("#now-title")).to_have_text("Next")
    expect(page.locator("#now .job-head")).to_be_focused()
    page.goto(bench.at(f"work?copy={copy}#card-8"))
    expect(page.locator("#card-8 .drawing svg").first).to_be_visible()
    for box in page.locator("#card-8 .tick").all():
        shape = box.bounding_box()
        assert shape is not None
        assert shape["height"] >= LEAST_TAP_PX
    assert axe(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), "nothing sticks out sideways"


def test_every_box_goes_into_the_log_and_comes_out_after_a_question(page: Page, bench: Bench) -> None:
    page.goto(bench.at("work?copy=boxes#card-8"))
    leads, joints = page.locator("#card-8 input[data-lead]"), page.locator("#card-8 input[data-joint]")
    for box in (*leads.all(), *joints.all()):
        box.check()
    stored(page)
    expect(page.locator("#card-8 [data-words]")).to_have_text("done")
    log = json.loads(run("log", bench.file(), "--serial", "boxes", "--json"))["entries"]
    assert [entry["kind"] for entry in log] == ["lead in"] * 4 + ["soldered"] * 2
    leads.first.click()
    expect(page.locator("#undo-title")).to_have_text("W6 → T1 primary.1 lead: take it back?")
    expect(page.locator("#undo-words")).to_have_text("The lead comes out again, and its joint counts as open.")
    page.click("#undo-no")
    expect(leads.first).to_be_checked()
    leads.first.click()
    page.click("#undo-yes")
    expect(page.locator("#card-8 [data-words]")).to_have_text("3 of 4 leads in, 2 of 2 soldered")
    expect(leads.first).to_be_focused()


def test_the_command_line_and_another_device_are_seen_at_once(
    page: Page, open_page: Callable[..., Page], bench: Bench
) -> None:
    other = open_page("phone")
    for each in (page, other):
        each.goto(bench.at("work?copy=both#card-6"))
    page.locator("#card-6 input[data-lead]").first.check()
    expect(other.locator("#card-6 input[data-lead]").first).to_be_checked()
    other.fill("#note textarea", "half a sentence")
    run("tick", bench.file(), "1", "--serial", "both")
    for each in (page, other):
        expect(each.locator("[data-whole='1']")).to_be_checked()
    expect(other.locator("#note textarea")).to_have_value("half a sentence")


def test_notes_and_photos_are_kept_shown_and_taken_back(page: Page, bench: Bench, tmp_path: Path) -> None:
    page.goto(bench.at("work?copy=notes"))
    page.click("#now [data-about]")
    expect(page.locator("#note input[name=about]")).to_have_value("card 1, Drill, punch, deburr")
    page.fill("#note textarea", "the <b>earth bolt</b> sits loose")
    page.click("#note button")
    expect(page.locator("#log li").first).to_contain_text(
        "note: card 1, Drill, punch, deburr: the <b>earth bolt</b> sits loose"
    )
    picture = tmp_path / "anything.jpg"
    page.screenshot(path=picture, type="jpeg")
    page.fill("#note textarea", "bare metal")
    page.set_input_files("#picture", picture)
    expect(page.locator("#sending")).to_have_text("The photo is stored.")
    image = page.locator("#photos img")
    expect(image).to_have_attribute("alt", "card 1, Drill, punch, deburr: bare metal")
    image.scroll_into_view_if_needed()
    expect(image).to_have_js_property("complete", True)
    assert image.evaluate("image => image.naturalWidth") == 1024
    (kept,) = bench.file().with_name("dunlin_5.photos").iterdir()
    assert re.fullmatch(r"card-1-drill-punch-deburr-[0-9a-f]{12}\.jpg", kept.name)
    assert kept.read_bytes() == picture.read_bytes()
    page.locator("#log li").first.get_by_role("button").click()
    expect(page.locator("#photos li")).to_have_count(0)
    assert kept.exists(), "nothing is erased"


def test_a_copy_is_chosen_and_a_new_one_started_in_the_head(page: Page, bench: Bench) -> None:
    page.goto(bench.at("work?copy=first"))
    page.locator("#now [data-whole]").check()
    stored(page)
    page.click(".copies summary")
    page.get_by_label("Serial number of a new copy").fill("second")
    page.click("text=Start it")
    expect(page.locator(".copies summary")).to_have_text("copy second")
    expect(page.locator("#done")).to_contain_text("0 of 31 cards done")
    page.locator("#now [data-whole]").check()
    stored(page)
    page.click(".copies summary")
    page.get_by_label("Copy of this build").select_option("first")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator("#done")).to_contain_text("1 of 31 cards done")
    page.click("text=Parts")
    expect(page.locator(".copies summary")).to_have_text("copy first")


def test_printed_every_card_stands_whole_with_boxes_for_a_pen(page: Page, bench: Bench) -> None:
    page.goto(bench.at("work?copy=printed"))
    page.emulate_media(media="print")
    for text in ("W6: T1 primary.1 lead (gray)", "Last look before the meter"):
        expect(page.get_by_text(text).first).to_be_visible()
    assert page.locator(".job-body:visible").count() == 31
    assert page.locator(".job input[data-lead]:visible").count() == 135
    expect(page.locator(".caution").first).to_be_visible()
    for gone in ("#note", "#log", "#link", ".head"):
        expect(page.locator(gone)).to_be_hidden()
    sheets = [" ".join(each.extract_text().split()) for each in PdfReader(io.BytesIO(page.pdf(format="A4"))).pages]
    assert len(sheets) <= MOST_SHEETS
    text = " ".join(sheets)
    whole = [text.index(f"Card {number} is done") for number in range(1, 32)]
    assert whole == sorted(whole), "on paper they stand in their order, also the one that is next"
    for number, title in enumerate(page.locator(".job .title").all_inner_texts(), 1):
        (sheet,) = (sheet for sheet in sheets if f"Card {number} is done" in sheet)
        assert f"{number} {title}" in sheet, "a card is not torn apart"
    page.emulate_media(media="screen")
    expect(page.locator("#now .job-body")).to_be_visible()
