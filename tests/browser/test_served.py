"""The bench that tests are served: pages come from it, and it can be killed and started again at its port."""

from __future__ import annotations

from playwright.sync_api import Page

from .serving import Bench
from .watch import Watch


def test_a_page_comes_back_after_the_server_was_killed_and_started_again(
    page: Page, bench: Bench, watch: Watch
) -> None:
    watch.expect(r"ERR_CONNECTION_REFUSED \(/static/link.js\)$")
    page.goto(bench.at("work"), wait_until="networkidle")
    assert page.inner_text("h1") == "Work"
    first = bench.address
    bench.kill()
    page.wait_for_selector("#link:not([hidden])")
    assert page.inner_text("#link") == "No connection to the bench: trying again."
    bench.start()
    page.wait_for_selector("#link", state="hidden")
    assert bench.address == first
