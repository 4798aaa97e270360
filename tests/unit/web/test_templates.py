"""What every page says of the build it shows."""

from __future__ import annotations

import re

from lugwright.web.pages.page import environment
from lugwright.web.pages.table import PAGES

OUTLINE = {
    "title": "Dunlin 5 <b>",
    "file": "dunlin_5.toml",
    "readable": True,
    "findings": 0,
    "parts": 40,
    "copy": "7",
    "copies": ["7", "1"],
    "planned": True,
    "position": 0,
    "last": "",
}


def base(copy: str = "") -> str:
    page = next(each for each in PAGES if each.name == "work")
    template = environment().get_template("base.html.jinja")
    return template.render(build="dunlin-5", copy=copy, page=page, pages=PAGES, builds=["dunlin-5"], outline=OUTLINE)


def test_a_page_asks_for_the_copy_last_worked_on_where_the_address_names_none() -> None:
    assert 'data-copy="7"' in base()
    assert 'data-copy="1"' in base("1")


def test_the_head_names_build_and_copy_and_escapes_the_title() -> None:
    assert "Dunlin 5 &lt;b&gt;</strong>" in base()
    assert "<summary>copy 7</summary>" in base()
    assert "<b>" not in base()


def test_every_page_is_one_tap_away_and_keeps_the_copy() -> None:
    links = re.findall(r'<a href="(/build/dunlin-5/[^"]+)"', base("1"))
    assert links == [f"/build/dunlin-5/{page.name}?copy=1" for page in PAGES]
