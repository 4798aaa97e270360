"""A build file with mistakes in it: every page says all of them, escaped, and looks again when the file is saved."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.web.pages.table import PAGES

from .served import exchanged, request, served, status_of

ROOT = Path(__file__).parents[3]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Return every page of a Dunlin with two mistakes."""
    folder = tmp_path_factory.mktemp("mistakes")
    text = (ROOT / "examples" / "dunlin_5.toml").read_text()
    text = text.replace('"100k"', '"<b>100x"', 1).replace('V2 = "6V6GT"', 'V2 = "6V6GTT"')
    (folder / "dunlin_5.toml").write_text(text)
    with served(folder) as port:
        return {page.name: exchanged(port, request(port, f"/build/dunlin-5/{page.name}")) for page in PAGES}


@pytest.mark.parametrize("name", [page.name for page in PAGES])
def test_every_page_of_a_file_that_cannot_be_read_says_what_to_correct(pages: dict[str, bytes], name: str) -> None:
    answer = pages[name]
    text = answer.decode()
    assert status_of(answer) == 409
    assert "<h1>dunlin_5.toml has to be corrected first</h1>" in text
    assert "V2: no such tube in the catalogue" in text
    assert "R3: value cannot be used" in text
    assert "write &#39;6V6GT&#39; if that is what you mean" in text
    assert "&lt;b&gt;100x" in text
    assert "<b>100x" not in text
    assert '<script type="module" src="/static/unreadable.js"></script>' in text
