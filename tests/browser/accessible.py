"""What keeps a page from being used by everybody: as axe-core finds it, and measured with a finger."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SCRIPT = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"
RUN = "rules => axe.run(document, {runOnly: {type: 'tag', values: rules}}).then(found => found.violations)"

LEAST_TAP_PX = 43.9  # 44, less what rounding takes
SMALL = """least => [...document.querySelectorAll("button, .press, .tick, nav a, select, summary, textarea, "
        + "input:not([type=checkbox], [type=radio], [type=hidden], .out-of-sight)")]
    .filter(each => each.checkVisibility() && each.getBoundingClientRect().height < least)
    .map(each => `${each.tagName} ${each.id || each.className} "${each.textContent.trim().slice(0, 30)}": `
        + each.getBoundingClientRect().height.toFixed(1))"""


@cache
def _script() -> str:
    if not SCRIPT.is_file():
        pytest.fail(
            "axe-core is not installed\n"
            "  found:  no tests/browser/node_modules/axe-core\n"
            "  wanted: the packages of tests/browser/package-lock.json\n"
            "  do:     tools/set_up test",
            pytrace=False,
        )
    return SCRIPT.read_text(encoding="utf-8")


def violations(page: Page) -> list[str]:
    """Return a line for each broken rule of WCAG 2.2, levels A and AA, with every element that breaks it."""
    page.evaluate(_script())
    return [
        f"{rule['id']} ({rule['impact']}): {rule['help']}; at "
        + ", ".join(" ".join(map(str, node["target"])) for node in rule["nodes"])
        for rule in page.evaluate(RUN, RULES)
    ]


def barriers(page: Page) -> dict[str, Any]:
    """Return what of a page is not for everybody, by kind; nothing where all is right."""
    found = {
        "axe": violations(page),
        "wider than the screen by": page.evaluate("document.documentElement.scrollWidth - innerWidth"),
        "smaller than a finger": page.evaluate(SMALL, LEAST_TAP_PX),
    }
    return {kind: each for kind, each in found.items() if each}
