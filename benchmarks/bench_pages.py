"""The bench in a browser: from its start to the first page painted, how heavy each page is, memory with five tabs.

python benchmarks/bench_pages.py examples/godwit_40.toml

Needs Chromium (on the path, or in CHROMIUM) and psutil. The build is copied and planned in a folder of its own.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import psutil
from playwright.sync_api import Browser, Page, sync_playwright

COMMAND = (sys.executable, "-c", "from lugwright.cli import main; main()")
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update")
PAGES = ("wiring", "work", "power-up", "circuit", "ratings", "parts", "book")
STARTS = 5
PAINTED = """() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(
    () => done(performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? -1))))"""
WEIGHT = """() => [...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")]
    .map(each => each.transferSize)"""


class Served:
    """A server that has just been started."""

    def __init__(self, folder: Path) -> None:
        self.began = time.perf_counter()
        self.process = subprocess.Popen(
            [*COMMAND, "bench", folder, "--port", "0"], stdout=subprocess.PIPE, text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )  # fmt: skip
        assert self.process.stdout is not None
        self.address = self.process.stdout.readline().split("at ")[1].split(" ")[0]

    def computed_s(self) -> float:
        """Return the seconds that the server and its workers have computed."""
        server = psutil.Process(self.process.pid)
        times = [each.cpu_times() for each in (server, *server.children(recursive=True))]
        return sum(each.user + each.system for each in times)

    def memory_mb(self) -> list[float]:
        """Return the memory that is each process's alone or shared by it in part, the server's first."""
        server = psutil.Process(self.process.pid)
        return [each.memory_full_info().pss / 1e6 for each in (server, *server.children(recursive=True))]

    def stop(self) -> None:
        """End it."""
        self.process.terminate()
        self.process.wait(20)


def first_page_s(browser: Browser, folder: Path) -> tuple[float, float]:
    """Return the seconds from the start of the server to the shelf painted, and those it computed until then."""
    served = Served(folder)
    page = browser.new_page()
    try:
        page.goto(served.address)
        page.evaluate(PAINTED)
        return time.perf_counter() - served.began, served.computed_s()
    finally:
        page.close()
        served.stop()


def weigh(page: Page, address: str) -> tuple[float, int]:
    """Return the weight of a page opened with nothing kept from before, in kB, and how many requests it made."""
    page.goto(address)
    page.wait_for_load_state("networkidle")
    sizes = page.evaluate(WEIGHT)
    return sum(sizes) / 1e3, len(sizes)


def main(build: Path) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as temporary, sync_playwright() as playwright:
        folder = Path(temporary)
        shutil.copy(build, folder)
        subprocess.run([*COMMAND, "plan", folder / build.name], check=False, capture_output=True)
        path = os.environ.get("CHROMIUM") or shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=path, args=list(FLAGS))
        for what, found in zip(
            ("", ", computing"), zip(*(first_page_s(browser, folder) for _ in range(STARTS)), strict=True), strict=True
        ):
            print(f"start to first page{what}: least {min(found):.2f} s, median {median(found):.2f} s of {STARTS}")
        served = Served(folder)
        name = build.stem.replace("_", "-")
        for page_name in ("", *(f"build/{name}/{each}" for each in PAGES)):
            context = browser.new_context()
            heavy, requests = weigh(context.new_page(), f"{served.address}{page_name}")
            print(f"/{page_name}: {heavy:.0f} kB in {requests} requests")
            context.close()
        print("memory, each page seen once: " + in_words(served.memory_mb()))
        tabs = [browser.new_page() for _ in range(5)]
        for tab in tabs:
            tab.goto(f"{served.address}build/{name}/wiring")
            tab.wait_for_load_state("networkidle")
        print("memory, five tabs more: " + in_words(served.memory_mb()))
        served.stop()
        browser.close()


def in_words(parts: list[float]) -> str:
    """Return megabytes of the server and its workers."""
    return f"{sum(parts):.0f} MB (server {parts[0]:.0f}, workers {', '.join(f'{each:.0f}' for each in parts[1:])})"


if __name__ == "__main__":
    main(Path(sys.argv[1]))
