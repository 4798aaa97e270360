"""A real Chromium, and pages in it that fail the test on any error or any request to another origin."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Error, Page, expect
from tests.planned_examples import FOLDER, copied_with_plan

from .accessible import violations
from .find_chromium import NoChromium, find_chromium
from .node import playwright_by_our_node
from .serving import Bench
from .watch import Watch

# Chromium looks for updates and syncs at start; nothing of this may leave the machine.
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE localhost , EXCLUDE 127.0.0.1 , EXCLUDE 127.0.0.2 , EXCLUDE [::1]",
)
SIZES: dict[str, dict[str, Any]] = {
    "desktop": {"viewport": {"width": 1024, "height": 768}},
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True},
}
# A limit for what never comes, not for what is slow: both processors may be busy with other tests.
RELOADS = 5  # one after the other, at most
WAITS_MS = 30_000
expect.set_options(timeout=WAITS_MS)
OpenPage = Callable[..., Page]
Serve = Callable[..., Bench]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Return the browser; without one the tests fail and say what to install."""
    with playwright_by_our_node() as playwright:
        try:
            path = find_chromium(playwright)
        except NoChromium as missing:
            pytest.fail(str(missing), pytrace=False)
        browser = playwright.chromium.launch(executable_path=path, headless=True, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def watch() -> Watch:
    """Return what listens to the pages of this test; tell it which complaints are expected."""
    return Watch()


@pytest.fixture
def open_page(chromium: Browser, watch: Watch) -> Iterator[OpenPage]:
    """Return a function that opens a page as on a device of its own: ``open_page("phone", color_scheme="dark")``."""
    contexts = []

    def opened(size: str = "desktop", **options: Any) -> Page:
        context = chromium.new_context(**SIZES[size], **options)
        context.set_default_timeout(WAITS_MS)
        context.set_default_navigation_timeout(2 * WAITS_MS)
        contexts.append(context)
        watch.listen(context)
        return context.new_page()

    yield opened
    for context in contexts:
        for page in context.pages:
            _heard_out(page)
        context.close()
    assert watch.left_over() == []


def _heard_out(page: Page) -> None:
    """Wait until everything has been heard that a page said before this; it may just be loading itself anew."""
    for _ in range(RELOADS):
        try:
            page.evaluate("0")
        except Error as error:
            if "navigation" not in error.message:
                raise
            page.wait_for_load_state()
        else:
            return
    pytest.fail(f"{page.url} does not come to rest")


@pytest.fixture
def size() -> str:
    """Return the size of ``page``; a test that wants both parametrizes this."""
    return "desktop"


@pytest.fixture
def page(open_page: OpenPage, size: str) -> Page:
    """Return a page as on a device of its own."""
    return open_page(size)


@pytest.fixture(scope="session")
def axe() -> Callable[[Page], list[str]]:
    """Return the function that lists what keeps a page from being used by everybody."""
    return violations


@pytest.fixture(scope="module")
def serve(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serve]:
    """Return a function that serves copies of planned examples: ``serve("dunlin_5", "godwit_40")``."""
    benches: list[Bench] = []

    def served(*names: str) -> Bench:
        folder = tmp_path_factory.mktemp("bench")
        for name in names:
            copied_with_plan(FOLDER / f"{name}.toml", folder)
        benches.append(Bench(folder))
        benches[-1].start()
        benches[-1].open_all()
        return benches[-1]

    yield served
    for bench in benches:
        bench.stop()
    assert [bench.errors() for bench in benches if bench.errors()] == []


@pytest.fixture(scope="module")
def bench(serve: Serve) -> Bench:
    """Return a bench of this module's own with the Dunlin on it, planned; nothing is logged yet."""
    return serve("dunlin_5")
