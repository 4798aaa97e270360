"""Every page on every kind of device: by axe's rules, within the width of the screen, large enough for a finger."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from .accessible import barriers
from .conftest import OpenPage, Serve
from .serving import Bench, run

PAGES = ("shelf", "wiring", "work", "power-up", "circuit", "ratings", "parts", "book")
WITHIN_MS = 240_000  # what takes its time waits for what other pages asked before
DEVICES = {
    "desktop light": ("desktop", "light", "usual"),
    "desktop dark": ("desktop", "dark", "usual"),
    "phone light": ("phone", "light", "usual"),
    "phone dark": ("phone", "dark", "usual"),
    "desktop dark, large letters": ("desktop", "dark", "large"),
    "phone light, large letters": ("phone", "light", "large"),
}


@pytest.fixture(scope="module")
def worked_on(serve: Serve) -> Bench:
    """Return a bench with a Dunlin that is begun, in two copies, and of which no plan is older than its file."""
    bench = serve("dunlin_5")
    run("tick", bench.file(), *range(1, 9))
    run("tick", bench.file(), 1, "--serial", "2")
    run("tick", bench.file(), 9, "--serial", "1")
    return bench


@pytest.fixture(params=DEVICES)
def device(request: pytest.FixtureRequest, open_page: OpenPage) -> Page:
    """Return a page on a device that has been told light and letters."""
    size, scheme, letters = DEVICES[request.param]
    page = open_page(size, color_scheme=scheme)
    page.add_init_script(f"localStorage.setItem('letters', '{letters}')")
    return page


def settled(page: Page, bench: Bench, name: str) -> Page:
    """Open a page and wait until what it asked for is there."""
    page.goto(f"{bench.address}/" if name == "shelf" else bench.at(name))
    page.wait_for_load_state("networkidle")
    if name == "shelf":
        page.wait_for_selector("text=joints soldered", timeout=WITHIN_MS)
    if name == "ratings":
        page.wait_for_selector("text=every check made", timeout=WITHIN_MS)
    return page


def test_every_page_is_for_everybody(device: Page, worked_on: Bench) -> None:
    found = {name: barriers(settled(device, worked_on, name)) for name in PAGES}
    assert {name: each for name, each in found.items() if each} == {}
