"""What keeps a page from being used by everybody, as axe-core finds it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SCRIPT = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"
RUN = "rules => axe.run(document, {runOnly: {type: 'tag', values: rules}}).then(found => found.violations)"


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
