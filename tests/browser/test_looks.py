"""Shelf, ratings, parts, book, and the look of all pages, as somebody with a tablet meets them."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from .conftest import OpenPage
from .serving import Bench, run
from .watch import Watch

WITHIN_MS = 240_000  # a book on a busy machine
FONTS = """async () => { await document.fonts.ready;
    return [...document.fonts].filter(f => f.status == "loaded").map(f => `${f.family} ${f.weight}`).sort() }"""


def test_the_shelf_shows_how_far_a_build_is_and_follows_the_command_line(page: Page, bench: Bench) -> None:
    page.goto(f"{bench.address}/")
    card = page.locator("[data-shelf=dunlin-5]")
    expect(card.get_by_role("img", name="Dunlin 5: its wiring side, small")).to_be_visible(timeout=WITHIN_MS)
    expect(card).to_contain_text("0 of 31 cards done")
    run("tick", bench.file(), 1)
    page.reload()
    expect(card).to_contain_text("1 of 31 cards done", timeout=WITHIN_MS)
    expect(card).to_contain_text("Next: Card 2: Mount: Sockets")
    card.get_by_role("link", name="Dunlin 5").click()
    expect(page).to_have_url(bench.at("wiring"))


def test_what_is_chosen_under_look_stays_on_this_device(page: Page, bench: Bench) -> None:
    page.goto(bench.at("parts"))
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="To the page")).to_be_focused()
    page.get_by_role("button", name="Look").focus()
    page.keyboard.press("Enter")
    page.get_by_role("radio", name="dark").check()
    page.get_by_role("radio", name="large").check()
    page.keyboard.press("Escape")
    page.goto(bench.at("book"))
    assert page.evaluate("({...document.documentElement.dataset})") == {"light": "dark", "letters": "large"}
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(21, 25, 28)"
    assert page.evaluate("getComputedStyle(document.documentElement).fontSize") == "20px"


def test_letters_are_our_own_also_for_signs(page: Page, bench: Bench) -> None:
    page.goto(bench.at("parts"))
    loaded = page.evaluate(FONTS)
    assert {"DejaVu Sans 400", "DejaVu Sans 700", "DejaVu Sans Mono 400"} <= set(loaded)
    assert page.evaluate("document.fonts.check('16px \"DejaVu Sans\"', 'ΩµΔ→±°½²≤≥×✓☐☑▲⚡')")


def test_pages_are_at_the_thumb_on_a_phone(open_page: OpenPage, bench: Bench) -> None:
    page = open_page("phone")
    page.goto(bench.at("ratings"))
    links = page.get_by_role("navigation", name="Pages").get_by_role("link")
    expect(links).to_have_count(7)
    boxes = [link.bounding_box() for link in links.all()]
    assert all(box and box["y"] > 780 and box["y"] + box["height"] <= 844 for box in boxes)
    assert [link.inner_text() for link in links.all()][:3] == ["Wiring", "Work", "Power"]


def test_ratings_come_at_once_and_every_check_a_moment_later(page: Page, bench: Bench) -> None:
    page.goto(bench.at("ratings"))
    status = page.locator("#found > [role=status]")
    expect(status).to_have_text("every check made", timeout=WITHIN_MS)
    grades = page.locator(".finding .grade").all_inner_texts()
    assert grades == sorted(grades, key=["danger", "fault", "doubt", "note"].index)
    folded = page.locator("#far tbody tr").last
    page.emulate_media(media="print")
    expect(folded).to_be_visible()
    page.emulate_media(media="screen")
    expect(folded).to_be_hidden()
    page.locator("#far summary").click()
    rows = page.locator(".rated tbody tr")
    assert rows.count() > 40
    rows.first.get_by_role("link").click()
    expect(page).to_have_url(re.compile(r"/wiring#part=\w+$"))


def test_a_change_of_the_file_is_checked_again(page: Page, bench: Bench, watch: Watch) -> None:
    path = bench.file()
    text = path.read_text()
    page.goto(bench.at("ratings"))
    status = page.locator("#found > [role=status]")
    expect(status).to_have_text("every check made", timeout=WITHIN_MS)
    try:
        path.write_text(text.replace("[tubes]", "[tubs]", 1))
        watch.expect(r"409 \(Conflict\)")
        expect(page.locator("h1")).to_have_text("dunlin_5.toml has to be corrected first", timeout=WITHIN_MS)
        expect(page.locator(".grade.fault").first).to_be_visible()
    finally:
        path.write_text(text)
    expect(page.locator("#found > [role=status]")).to_have_text("every check made", timeout=WITHIN_MS)


def test_what_to_buy_is_taken_away_and_printed(open_page: OpenPage, bench: Bench) -> None:
    page = open_page("desktop", color_scheme="dark")
    page.goto(bench.at("parts"))
    with page.expect_download() as taken:
        page.get_by_role("link", name="Shopping as CSV").click()
    assert taken.value.suggested_filename == "dunlin-5_shopping.csv"
    assert Path(taken.value.path()).read_text(encoding="utf-8").startswith("count,kind,value,parts")
    page.emulate_media(media="print")
    expect(page.get_by_role("navigation", name="Pages")).to_be_hidden()
    expect(page.locator(".on-paper").first).to_contain_text("Dunlin 5, copy 1, dunlin_5.toml: Parts")
    assert page.evaluate("getComputedStyle(document.body).color") == "rgb(31, 38, 43)"


@pytest.fixture
def made(page: Page, bench: Bench) -> Page:
    """Return the page Book with a book on it."""
    page.goto(bench.at("book"))
    if page.get_by_role("link", name="Read and print").count() == 0:
        page.get_by_role("button", name="Make the book").click()
        expect(page.locator("#under-way")).to_be_visible()
        expect(page.get_by_role("link", name="Read and print")).to_be_visible(timeout=WITHIN_MS)
    return page


def test_a_book_is_made_read_and_taken_away(made: Page, bench: Bench) -> None:
    expect(made.locator("#under-way")).to_be_hidden()
    with made.expect_download() as pdf:
        made.get_by_role("link", name=re.compile(r"^PDF, ")).click()
    assert pdf.value.suggested_filename == "dunlin_5_a4.pdf"
    assert Path(pdf.value.path()).read_bytes().startswith(b"%PDF-")
    with made.expect_download() as packed:
        made.get_by_role("link", name="Everything in one ZIP").click()
    names = zipfile.ZipFile(io.BytesIO(Path(packed.value.path()).read_bytes())).namelist()
    assert {"dunlin_5.html", "dunlin_5_a4.pdf", "tables/parts.csv", "drawings/drill_plate.dxf"} <= set(names)
    with made.expect_popup() as opened:
        made.get_by_role("link", name="Read and print").click()
    book = opened.value
    expect(book.get_by_role("heading", name="Dunlin 5", exact=True)).to_be_visible()
    assert book.evaluate("getComputedStyle(document.body).maxWidth") == "960px"
    assert list(bench.folder.glob("*book*")) == []


def test_a_book_older_than_the_log_says_so(made: Page, bench: Bench) -> None:
    run("tick", bench.file(), "--note", "the day after")
    expect(made.get_by_text("older than the build")).to_be_visible()


def test_making_a_book_is_stopped_and_can_be_asked_for_again(page: Page, bench: Bench) -> None:
    page.goto(bench.at("book"))
    page.get_by_role("radio", name="Letter").check()
    page.get_by_role("button", name="Make the book").click()
    page.get_by_role("button", name="Stop").wait_for()
    page.reload()
    expect(page.locator("#under-way p")).to_contain_text("Making the book")
    expect(page.locator("#link")).to_be_hidden()
    page.get_by_role("button", name="Stop").click()
    expect(page.locator("#under-way")).to_be_hidden(timeout=30_000)
    expect(page.get_by_role("button", name="Make the book")).to_be_focused()
    expect(page.locator("#made")).not_to_contain_text("Letter, made")
    expect(page.locator("#told")).to_be_empty()
