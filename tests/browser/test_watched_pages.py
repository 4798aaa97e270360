"""The fixtures of this folder hear what they are there to hear."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

import pytest
from playwright.sync_api import Page

from .watch import Watch

ROOT = Path(__file__).parents[2]
FIND = [sys.executable, "-m", "tests.browser.find_chromium"]
GOOD = (
    "<!doctype html><html lang=en><title>Bench</title><link rel=icon href=data:,>"
    "<main><h1>Bench</h1><p>Plug out.</p></main></html>"
)


class Silent(SimpleHTTPRequestHandler):
    """Serves a folder and prints nothing."""

    def log_message(self, format: str, *args: object) -> None:
        """Print nothing."""


@pytest.fixture
def origin(tmp_path: Path) -> Iterator[str]:
    """Return the address of a server on this machine whose front page is in order."""
    (tmp_path / "index.html").write_text(GOOD, encoding="utf-8")
    with ThreadingHTTPServer(("127.0.0.1", 0), partial(Silent, directory=str(tmp_path))) as server:
        thread = Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
        thread.join()


def test_a_page_in_order_leaves_no_complaint(page: Page, origin: str, axe: Callable[[Page], list[str]]) -> None:
    page.goto(origin)
    assert page.inner_text("h1") == "Bench"
    assert axe(page) == []


@pytest.mark.parametrize(("size", "wanted"), [("desktop", [1024, 768, 0]), ("phone", [390, 844, 1])])
def test_a_page_has_the_size_of_its_device(page: Page, origin: str, wanted: list[int]) -> None:
    page.goto(origin)
    page.set_content(GOOD.replace("<title>", "<meta name=viewport content='width=device-width'><title>"))
    assert page.evaluate("[innerWidth, innerHeight, navigator.maxTouchPoints]") == wanted


def test_planted_barriers_are_found_and_named(page: Page, axe: Callable[[Page], list[str]]) -> None:
    page.goto("data:text/html," + GOOD.replace("<p>", "<p style='color:silver'>").replace("</main>", "<img></main>"))
    assert [line.split(":")[0] for line in axe(page)] == ["color-contrast (serious)", "image-alt (critical)"]
    assert all(line.endswith(end) for line, end in zip(axe(page), ("at p", "at img"), strict=True))


def test_errors_and_strange_addresses_are_written_down(page: Page, origin: str, watch: Watch) -> None:
    page.goto(origin)
    page.evaluate("console.error('planted')")
    page.evaluate("setTimeout(() => { throw new Error('thrown') }, 0)")
    page.evaluate("fetch('http://elsewhere.invalid/x').catch(() => 0)")
    page.evaluate("new Promise(done => { new WebSocket('ws://127.0.0.1:9/y').onerror = done })")
    page.evaluate("new Image().src = 'data:image/gif;base64,R0lGODlhAQABAAAAACwAAAAAAQABAAA='")
    told = watch.left_over()
    assert "console error: planted" in told
    assert "page error: thrown" in told
    assert "asked another origin: http://elsewhere.invalid/x" in told
    assert "asked another origin: ws://127.0.0.1:9/y" in told
    assert not [line for line in told if "data:" in line]
    watch.heard.clear()


def test_an_expected_complaint_may_come_and_has_to(page: Page, origin: str, watch: Watch) -> None:
    watch.expect(r"404.*\(/missing\)$")
    page.goto(origin)
    assert watch.left_over() == ["expected, but never came: 404.*\\(/missing\\)$"]
    assert page.evaluate("fetch('/missing').then(answer => answer.status)") == 404
    page.evaluate("0")
    assert [line.split(":")[0] for line in watch.heard] == ["console error"]
    assert watch.left_over() == []


PLANTED = """
def test_in_order(page):
    page.goto("data:text/html,<p>fine")

def test_console(page):
    page.evaluate("console.error('planted')")

def test_thrown(page):
    page.goto("data:text/html,<script>throw new Error('thrown')</script>")

def test_strange_address(page):
    page.goto("data:text/html,<img src=http://elsewhere.invalid/x>")
"""


def inner_pytest(folder: Path) -> str:
    """Return what a run of the tests in a folder prints."""
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-q", "-rA", "--rootdir", folder, folder]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=60).stdout


def _told(printed: str, outcome: str) -> list[str]:
    return re.findall(rf"^{outcome} (?:\S*/)?(\S+)", printed, re.MULTILINE)


def test_a_test_with_an_unforeseen_complaint_fails(tmp_path: Path) -> None:
    (tmp_path / "conftest.py").write_text("from tests.browser.conftest import *\n", encoding="utf-8")
    (tmp_path / "test_planted.py").write_text(PLANTED, encoding="utf-8")
    printed = inner_pytest(tmp_path)
    assert _told(printed, "ERROR") == [
        f"test_planted.py::{name}" for name in ("test_console", "test_thrown", "test_strange_address")
    ]
    assert "4 passed, 3 errors" in printed


EMPTY_MODULE_TEST = 'import test from "node:test";\n'
MODULE_TEST = (
    EMPTY_MODULE_TEST + 'import assert from "node:assert/strict";\ntest("sum", () => assert.equal(1 + 1, %s));\n'
)


MODULE_TESTS = {
    "right": MODULE_TEST % 2,
    "wrong": MODULE_TEST % 3,
    "empty": EMPTY_MODULE_TEST,
    "skipped": MODULE_TEST.replace("() ", "{skip: true}, () ") % 2,
}


def test_a_file_of_module_tests_has_to_run_and_pass(tmp_path: Path) -> None:
    (tmp_path / "conftest.py").write_text("from tests.browser.js.conftest import *\n", encoding="utf-8")
    for name, text in MODULE_TESTS.items():
        (tmp_path / f"{name}.test.mjs").write_text(text, encoding="utf-8")
    done = inner_pytest(tmp_path)
    assert _told(done, "PASSED") == ["right.test.mjs::node"]
    assert _told(done, "FAILED") == ["empty.test.mjs::node", "skipped.test.mjs::node", "wrong.test.mjs::node"]


@pytest.mark.parametrize(
    ("named", "found"),
    [
        ("", "none of chromium, chromium-browser, google-chrome, google-chrome-stable on the path"),
        ("/no/such/chromium", "CHROMIUM=/no/such/chromium, which is no program"),
    ],
)
def test_without_a_chromium_it_is_said_what_to_install(named: str, found: str, tmp_path: Path) -> None:
    environ = {"PATH": str(tmp_path), "CHROMIUM": named, "PLAYWRIGHT_BROWSERS_PATH": str(tmp_path)}
    done = subprocess.run(FIND, env=environ, cwd=ROOT, capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        "no Chromium was found to test the bench in\n"
        f"  found:  {found}\n"
        "  wanted: Chromium or Chrome, or CHROMIUM with the path of one\n"
        '  do:     sudo apt-get install chromium, or ".venv/bin/playwright install chromium", '
        "then the same command again\n"
    )


def test_the_chromium_that_is_named_is_taken(tmp_path: Path) -> None:
    mine = tmp_path / "chromium"
    mine.write_text("#!/bin/sh\n", encoding="utf-8")
    mine.chmod(0o755)
    for environ in ({"CHROMIUM": str(mine), "PATH": ""}, {"PATH": str(tmp_path)}):
        done = subprocess.run(
            FIND,
            env=environ,
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
            timeout=60,
        )
        assert done.stdout == f"{mine}\n"
