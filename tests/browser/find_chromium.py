"""Where a Chromium is; ``python -m tests.browser.find_chromium`` prints the path, or what to install."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Mapping
from pathlib import Path

from playwright.sync_api import Playwright

from lugwright.errors import LugwrightError

from .node import playwright_by_our_node

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


class NoChromium(LugwrightError):
    """There is no browser to test in."""


def find_chromium(playwright: Playwright, environ: Mapping[str, str] = os.environ) -> Path:
    """Return the Chromium that CHROMIUM names, else one on the path, else Playwright's own.

    Raises
    ------
    NoChromium
        None is there.
    """
    named = environ.get("CHROMIUM", "")
    for name in (named,) if named else NAMES:
        if there := shutil.which(name, path=environ.get("PATH", os.defpath)):
            return Path(there)
    own = Path(playwright.chromium.executable_path)
    if own.exists() and not named:
        return own
    raise NoChromium(
        what="no Chromium was found to test the bench in",
        found=f"CHROMIUM={named}, which is no program" if named else f"none of {', '.join(NAMES)} on the path",
        wanted="Chromium or Chrome, or CHROMIUM with the path of one",
        do='sudo apt-get install chromium, or ".venv/bin/playwright install chromium", then the same command again',
    )


def main() -> None:
    """Print the path, or what to install and end with 1."""
    with playwright_by_our_node() as playwright:
        try:
            sys.stdout.write(f"{find_chromium(playwright)}\n")
        except NoChromium as missing:
            raise SystemExit(str(missing)) from None


if __name__ == "__main__":
    main()
