"""A build file changed in few places keeps everything else as it was written."""

from __future__ import annotations

import pytest

from lugwright.buildfile.write import with_strips_at
from lugwright.errors import ChangeError

TEXT = """\
format = 1   # of the file

[strips]     # from the left
A = { lugs = 8, foot = 4, at = [25, 112] }   # over the input
B = { lugs = 7, foot = 4,  at = [40.5, 32], turn = 90 }

[strips.C]
lugs = 3
at = [1, 2]  # near the lamp
"""


def test_the_line_of_a_strip_alone_changes() -> None:
    text = with_strips_at(TEXT, {"A": ((29.0, 112.5), 0.0)}, "amp.toml")
    assert text == TEXT.replace("[25, 112]", "[29, 112.5]")


def test_a_turn_is_written_where_there_is_one_to_say() -> None:
    text = with_strips_at(TEXT, {"B": ((40.5, 32.0), 0.0), "C": ((1.0, 2.0), 180.0)}, "amp.toml")
    assert "B = { lugs = 7, foot = 4,  at = [40.5, 32], turn = 0 }" in text
    assert text.endswith("[strips.C]\nlugs = 3\nat = [1, 2]  # near the lamp\nturn = 180\n")


@pytest.mark.parametrize("text", [TEXT, "format = 1\n"])
def test_a_strip_that_the_file_does_not_state_is_refused(text: str) -> None:
    with pytest.raises(ChangeError) as refused:
        with_strips_at(text, {"Q": ((1.0, 1.0), 0.0)}, "amp.toml")
    assert str(refused.value) == (
        "strip Q cannot be moved in amp.toml\n  found:  it states no strip Q under [strips]\n"
        "  wanted: a strip that the file states\n  do:     keep the plan without the file"
    )
