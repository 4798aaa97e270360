"""A tablet beside the machine of the bench: paired by a code, at work, sent away, paired again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, cast

import pytest
from playwright.sync_api import Page, expect
from tests.planned_examples import FOLDER, copied_with_plan

from .accessible import barriers
from .conftest import SIZES, OpenPage
from .serving import Bench
from .watch import Watch

THERE = "127.0.0.2"  # as good as an address of a network: the bench tells devices by the address they come in at


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """Return a bench that tablets may use."""
    folder = tmp_path_factory.mktemp("tablet")
    copied_with_plan(FOLDER / "dunlin_5.toml", folder)
    bench = Bench(folder, "--tablet", "--host", THERE)
    bench.start()
    bench.open_all()
    yield bench
    bench.stop()
    assert bench.errors() == ""


def barriers_of(page: Page) -> list[dict[str, Any]]:
    """Return what is not for everybody, on a large light screen and on a small dark one."""
    size, found = page.viewport_size, []
    for device, scheme in (("desktop", "light"), ("phone", "dark")):
        page.set_viewport_size(SIZES[device]["viewport"])
        page.emulate_media(color_scheme=cast(Any, scheme))
        found.append(barriers(page))
    page.set_viewport_size(cast(Any, size))
    return [each for each in found if each]


def test_a_tablet_is_paired_works_and_is_sent_away(open_page: OpenPage, bench: Bench, watch: Watch) -> None:
    for complaint in ("status of 401 ", "status of 403 ", "response code: 403", r"another origin: \w+://127\.0\.0\.2:"):
        watch.expect(complaint)
    home, tablet = open_page(), open_page("phone")
    home.goto(bench.address)
    home.click("text=Devices: tablets and phones")
    code = home.inner_text("strong.code").replace(" ", "")
    assert barriers_of(home) == []

    tablet.goto(f"{bench.address.replace('127.0.0.1', THERE)}/build/dunlin-5/work")
    expect(tablet.locator("h1")).to_have_text("Pair this device with the bench")
    assert barriers_of(tablet) == []
    tablet.fill("input.code", f"{(int(code) + 1) % 10**8:08d}")
    tablet.keyboard.press("Enter")
    expect(tablet.locator("[role=alert] h2")).to_have_text("this is not the code")
    assert barriers_of(tablet) == []
    tablet.fill("input.code", f"{code[:4]} {code[4:]}")
    tablet.click("button")
    expect(tablet.locator("h1")).to_have_text("Builds on this bench")
    tablet.click("h2 a")
    expect(tablet.locator("#link")).to_be_hidden()

    home.click("text=Look again")
    expect(home.locator("tbody tr")).to_have_count(1)
    assert barriers_of(home) == []
    home.click("[aria-label^='End device']")
    expect(home.locator(".empty")).to_have_text("No device is paired.")
    expect(tablet.locator("#link")).to_have_text(
        "This device is not paired any more: load the page again, and give a new code."
    )
    assert barriers_of(home) == []
    home.click("text=New code")
    again = home.inner_text("strong.code")
    assert again.replace(" ", "") != code
    tablet.reload()
    tablet.fill("input.code", again)
    tablet.click("button")
    expect(tablet.locator("h1")).to_have_text("Builds on this bench")
