"""Nothing acknowledged is lost and nothing is stored twice, whatever happens to server, link, disk and files."""

from __future__ import annotations

import contextlib
import json
import os
import resource
import signal
import sqlite3
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from lugwright.log.events import id_of_command

from .serving import Bench, run
from .watch import Watch

REFUSED = r"(ERR_CONNECTION_REFUSED|ERR_CONNECTION_RESET|Error during WebSocket handshake).*\(/static/link.js\)$"
EARTH = "P1 earth pin to bare chassis metal beside the earth bolt"
# Ticks 100 boxes and writes 100 readings in between, faster than they can be stored, and keeps what is acknowledged.
QUICK_WORK = """async () => {
  const link = await import("/static/link.js");
  window.acknowledged = [];
  window.refused = [];
  link.on("stored", (message) => window.acknowledged.push(message.cid));
  const boxes = [...document.querySelectorAll("input[data-lead]")].slice(0, 100);
  for (const [number, box] of boxes.entries()) {
    box.click();
    const value = (0.01 + number / 1000).toFixed(3);
    link.deed("reading", { step: "earth", point: EARTH, value }).catch((error) => window.refused.push(error.lines));
    await new Promise((later) => setTimeout(later, 25));
  }
  return boxes.length;
}""".replace("EARTH", json.dumps(EARTH))


def entries(bench: Bench, copy: str) -> list[tuple[str, str, str]]:
    """Return id, kind and words of what is in the log of a copy, and see that its file, if there is one, is whole."""
    file = bench.file().with_suffix(".log.sqlite")
    if not file.exists():  # nothing was ever stored; to connect would make an empty one
        return []
    words = "subject || ifnull(json_extract(body, '$.text'), '') || ifnull(json_extract(body, '$.value'), '')"
    with contextlib.closing(sqlite3.connect(file)) as log:
        assert log.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        return log.execute(
            f"SELECT id, kind, {words} FROM entries WHERE copy = ? ORDER BY position", (copy,)
        ).fetchall()


def unsaved(page: Page) -> int:
    """Return how many deeds the tab still keeps."""
    return int(page.evaluate("import('/static/link.js').then((link) => link.unsaved())"))


def note(page: Page, words: str) -> None:
    """Write a note dbench."""
    page.fill("#note textarea", words)
    page.click("#note button[type=submit]")


def children(process: int) -> list[int]:
    """Return the workers of a server."""
    return [int(each) for each in Path(f"/proc/{process}/task/{process}/children").read_text().split()]


def test_a_server_killed_again_and_again_loses_nothing_and_stores_nothing_twice(
    page: Page, bench: Bench, watch: Watch
) -> None:
    watch.expect(REFUSED)
    page.goto(bench.at("work?copy=killed"), wait_until="networkidle")
    page.evaluate("import('/static/link.js').then((link) => link.deed('step done', { step: 'look' }))")
    begun = entries(bench, "killed")
    working = page.evaluate_handle(f"({{done: ({QUICK_WORK})()}})")
    acknowledged: set[str] = set()
    for count in (20, 60, 110):
        while len(acknowledged) < count:
            page.wait_for_timeout(50)
            acknowledged = set(page.evaluate("window.acknowledged ?? []"))
        bench.kill()
        acknowledged = set(page.evaluate("window.acknowledged"))
        stored = {each for each, _, _ in entries(bench, "killed")}
        assert {id_of_command(cid, 0) for cid in acknowledged} <= stored, "acknowledged, but not in the log"
        bench.start()
    assert working.evaluate("work => work.done") == 100
    expect(page.locator("#link")).to_be_hidden(timeout=60_000)
    expect(page.locator(".pending")).to_have_count(0)
    assert unsaved(page) == 0
    assert page.evaluate("window.refused") == []
    acknowledged = set(page.evaluate("window.acknowledged"))
    found = entries(bench, "killed")[len(begun) :]
    assert len(acknowledged) == 200
    assert {id_of_command(cid, 0) for cid in acknowledged} == {each for each, _, _ in found}
    twice = [key for key, count in Counter((kind, words) for _, kind, words in found).items() if count > 1]
    assert twice == []
    assert Counter(kind for _, kind, _ in found) == {"lead in": 100, "reading": 100}


def test_what_was_done_while_the_server_was_away_waits_over_a_reload(page: Page, bench: Bench, watch: Watch) -> None:
    watch.expect(REFUSED)
    page.goto(bench.at("work?copy=away#card-8"), wait_until="networkidle")
    bench.kill()
    page.locator("#card-8 input[data-lead]").first.check()
    expect(page.locator("#card-8 .tick.pending .since")).to_have_text("storing")
    expect(page.locator("#link")).to_have_text(
        "No connection to the bench: trying again. 1 not stored yet; kept in this tab."
    )
    expect(page.locator("#done")).to_contain_text("0 of 135 leads in"), "what is pending is not counted"
    bench.start()
    page.reload()
    expect(page.locator("#done")).to_contain_text("1 of 135 leads in")
    expect(page.locator("#card-8 input[data-lead]").first).to_be_checked()
    assert [kind for _, kind, _ in entries(bench, "away")] == ["lead in"]


def test_a_server_that_went_silent_is_told_apart_from_one_that_answers(page: Page, bench: Bench) -> None:
    """As after sleep: the socket looks open, and nobody holds the other end."""
    page.goto(bench.at("work?copy=silent#card-8"), wait_until="networkidle")
    os.kill(bench.process_id, signal.SIGSTOP)
    try:
        note(page, "written while nobody listens")
        page.evaluate("dispatchEvent(new Event('online'))")
        expect(page.locator("#link")).to_contain_text("No connection to the bench: trying again.", timeout=20_000)
    finally:
        os.kill(bench.process_id, signal.SIGCONT)
    expect(page.locator("#link")).to_be_hidden(timeout=30_000)
    expect(page.locator("#log li").first).to_contain_text("written while nobody listens")
    assert [words for _, _, words in entries(bench, "silent")] == ["written while nobody listens"]


def test_a_tab_that_was_doubled_stores_what_both_keep_once(page: Page, bench: Bench) -> None:
    page.goto(bench.at("work?copy=doubled"), wait_until="networkidle")
    note(page, "first of all")
    expect(page.locator("#log li").first).to_contain_text("first of all")
    with contextlib.closing(sqlite3.connect(bench.file().with_suffix(".log.sqlite"), isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")  # another writer holds the log
        note(page, "kept by two tabs")
        with page.expect_popup() as opened:
            page.evaluate("window.open(location.href)")
        double = opened.value
        double.wait_for_load_state("networkidle")
        assert unsaved(double) == 1, "the browser gives the new tab a copy of what the first one keeps"
        other.execute("ROLLBACK")
    for each in (page, double):
        expect(each.locator("#link")).to_be_hidden(timeout=30_000)
        expect(each.locator("#log li").first).to_contain_text("kept by two tabs")
        assert unsaved(each) == 0
    assert [words for _, _, words in entries(bench, "doubled")] == ["first of all", "kept by two tabs"]


@contextlib.contextmanager
def full_disk(bench: Bench) -> Iterator[None]:
    """Let the workers write nothing more, as on a disk without room."""
    workers = children(bench.process_id)
    (_, most) = resource.prlimit(workers[0], resource.RLIMIT_FSIZE)
    for worker in workers:
        resource.prlimit(worker, resource.RLIMIT_FSIZE, (1, most))
    yield
    for worker in workers:
        with contextlib.suppress(ProcessLookupError):
            resource.prlimit(worker, resource.RLIMIT_FSIZE, (most, most))


@contextlib.contextmanager
def write_protected(bench: Bench) -> Iterator[None]:
    """Let nothing be written in the folder."""
    log = bench.file().with_suffix(".log.sqlite")
    modes = {path: path.stat().st_mode for path in (log, bench.folder)}
    for path, mode in modes.items():
        path.chmod(mode & ~0o222)
    yield
    for path, mode in modes.items():
        path.chmod(mode)


@contextlib.contextmanager
def renamed(path: Path) -> Iterator[None]:
    """Let a file have another name for a while."""
    away = path.rename(path.with_name(f"{path.name}.away"))
    yield
    away.rename(path)


@contextlib.contextmanager
def damaged(path: Path) -> Iterator[None]:
    """Let a file hold something else for a while."""
    held = {each: each.read_bytes() for each in path.parent.glob(f"{path.name}*")}
    path.write_bytes(b"no database at all, but long enough to be looked into" * 99)
    yield
    for each, content in held.items():
        each.write_bytes(content)


TROUBLES: dict[str, tuple[Callable[[Bench], Any], str]] = {
    "full disk": (full_disk, "dunlin_5.log.sqlite cannot be opened"),
    "folder without leave to write": (write_protected, "dunlin_5.log.sqlite cannot be opened"),
    "renamed build file": (lambda bench: renamed(bench.file()), "dunlin_5.toml cannot be read"),
    "damaged log": (
        lambda bench: damaged(bench.file().with_suffix(".log.sqlite")),
        "dunlin_5.log.sqlite cannot be read as a log",
    ),
}


@pytest.mark.parametrize("trouble", TROUBLES)
def test_what_cannot_be_stored_is_kept_told_and_stored_once_it_can_be(page: Page, bench: Bench, trouble: str) -> None:
    happen, what = TROUBLES[trouble]
    copy = trouble.replace(" ", "-")
    page.goto(bench.at(f"work?copy={copy}#card-8"), wait_until="networkidle")
    note(page, "before")
    expect(page.locator("#log li").first).to_contain_text("before")
    with happen(bench):
        note(page, "meanwhile")
        page.locator("#card-8 input[data-lead]").first.check()
        expect(page.locator(".kept h2")).to_have_text(what)
        expect(page.locator(".kept p")).to_have_text(
            "It is kept and tried again every two seconds. What you did after it waits for it."
        )
        expect(page.locator("#link")).to_have_text("2 not stored yet; kept in this tab.")
        expect(page.locator("#card-8 .tick.pending .since")).to_have_text("storing")
    expect(page.locator(".kept")).to_have_count(0, timeout=30_000)
    expect(page.locator("#link")).to_be_hidden()
    expect(page.locator("#card-8 [data-words]")).to_have_text("1 of 4 leads in, 0 of 2 soldered")
    assert [(kind, words[:9]) for _, kind, words in entries(bench, copy)] == [
        ("note", "before"), ("note", "meanwhile"), ("lead in", "W6 (T1.pr"),
    ]  # fmt: skip


def test_a_photo_waits_for_the_server_and_is_kept_once(page: Page, bench: Bench, watch: Watch, tmp_path: Path) -> None:
    watch.expect(r"ERR_CONNECTION_(REFUSED|RESET)")
    page.goto(bench.at("work?copy=photo"), wait_until="networkidle")
    picture = tmp_path / "inside.png"
    page.screenshot(path=picture)
    bench.kill()
    page.set_input_files("#picture", picture)
    expect(page.locator("#sending")).to_have_text(
        "The photo is being stored; until then this browser keeps it. It could not be stored yet; trying again."
    )
    bench.start()
    expect(page.locator("#sending")).to_have_text("The photo is stored.", timeout=60_000)
    assert kept_photos(page) == 0
    ((_, kind, name),) = entries(bench, "photo")
    assert kind == "photo"
    assert (bench.folder / "dunlin_5.photos" / name).read_bytes() == picture.read_bytes()


def kept_photos(page: Page) -> int:
    """Return how many photos the browser keeps."""
    return int(page.evaluate("import('/static/photos_kept.js').then(async (kept) => (await kept.keptPhotos()).length)"))


def test_a_photo_that_could_not_be_sent_is_kept_over_a_reload_and_sent_once(
    page: Page, bench: Bench, watch: Watch, tmp_path: Path
) -> None:
    watch.expect(r"ERR_FAILED")
    page.goto(bench.at("work?copy=kept-photo"), wait_until="networkidle")
    picture = tmp_path / "inside.png"
    page.screenshot(path=picture)
    page.route("**/photos?*", lambda route: route.abort())
    page.set_input_files("#picture", picture)
    expect(page.locator("#sending")).to_contain_text("until then this browser keeps it")
    assert kept_photos(page) == 1
    page.unroute("**/photos?*")
    page.reload()
    expect(page.locator("#sending")).to_have_text("The photo is stored.", timeout=60_000)
    assert kept_photos(page) == 0
    assert [kind for _, kind, _ in entries(bench, "kept-photo")] == ["photo"]


def test_a_page_whose_cards_have_changed_says_so_and_ticks_nothing(page: Page, bench: Bench) -> None:
    page.goto(bench.at("work?copy=changed#card-8"), wait_until="networkidle")
    plan = bench.file().with_suffix(".plan.json")
    with renamed(plan):
        expect(page.locator("#moved-what")).to_have_text("there is no plan to tick off")
        expect(page.locator("#moved-words")).to_have_text(
            "no dunlin_5.plan.json; wanted: the plan whose cards are done. plan first: lugwright plan FILE."
        )
    expect(page.locator("#moved")).to_be_hidden()
    text = bench.file().read_text(encoding="utf-8")
    bench.file().write_text(text.replace('value = "68k"', 'value = "47k"', 1), encoding="utf-8")
    assert bench.file().read_text(encoding="utf-8") != text
    run("plan", bench.file())
    expect(page.locator("#moved-what")).to_have_text("The job cards have changed", timeout=60_000)
    page.locator("#card-8 input[data-lead]").first.click()  # and not check(): it is refused, and may be so at once
    expect(page.locator("#told h2")).to_have_text("the job cards have changed since this was ticked")
    expect(page.locator("#card-8 input[data-lead]").first).not_to_be_checked()
    page.click("#reload")
    expect(page.locator("#moved")).to_be_hidden()
    page.locator("#card-8 input[data-lead]").first.check()
    expect(page.locator("#card-8 [data-words]")).to_have_text("1 of 4 leads in, 0 of 2 soldered")


def test_what_cannot_be_stored_can_be_given_up(page: Page, bench: Bench) -> None:
    page.goto(bench.at("work?copy=given-up#card-8"), wait_until="networkidle")
    with renamed(bench.file()):
        page.locator("#card-8 input[data-lead]").first.check()
        page.get_by_role("button", name="Do not store it").click()
        expect(page.locator("#told h2")).to_have_text("it was not stored")
        expect(page.locator("#card-8 input[data-lead]").first).not_to_be_checked()
        expect(page.locator("#link")).to_be_hidden()
    assert unsaved(page) == 0
    assert entries(bench, "given-up") == []


def test_a_browser_that_keeps_nothing_is_told_of(page: Page, bench: Bench, watch: Watch) -> None:
    watch.expect(REFUSED)
    page.add_init_script("Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceededError') }")
    page.goto(bench.at("work?copy=nothing#card-8"), wait_until="networkidle")
    bench.kill()
    note(page, "kept in the page alone")
    expect(page.locator("#link")).to_have_text(
        "No connection to the bench: trying again. 1 not stored yet; leave this page open: the browser keeps nothing."
    )
    bench.start()
    expect(page.locator("#log li").first).to_contain_text("kept in the page alone", timeout=30_000)
