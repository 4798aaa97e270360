"""The table of strips is TOML that the build file takes, with what each strip carries behind it."""

from __future__ import annotations

import tomllib

from lugwright.documents.strips_table import strips_table
from lugwright.layout.explain_results import LugCount
from lugwright.layout.results import BusUse, StripUse

A = StripUse("A", 5, (3,), (57.0, 102.5), 0.0, "strip 9.5", True, 3, 1, ("B+1", "in", "drive"))
B = StripUse("B", 7, (2, 6), (7.0, 9.0), 90.0, "strip 6.4", False, 5, 0, ("a", "b", "c", "d", "e", "f"))
EMPTY = StripUse("C", 3, (2,), (80.0, 9.0), 0.0, "strip 9.5", False, 0, 2, ())
BUS = BusUse("zero", "ground", ((22.0, 119.0), (300.5, 119.0)), 14.0, True, 9)
PLAIN = BusUse("ground", "ground", ((22.0, 119.0), (300.0, 119.0)), 12.0, False, 4)


def text(*strips: StripUse) -> str:
    return strips_table("Small", strips, (BUS, PLAIN), LugCount(8, 3, 2, 5))


def test_the_words() -> None:
    assert text(A, B, EMPTY).splitlines() == [
        "# Small: 8 lugs used and 3 spare on 3 strips (wanted spare: 2). "
        "No plan does with fewer than 5 lugs and free pins.",
        "[strips]",
        "A = { lugs = 5, feet = [3], at = [57, 102.5] }                               "
        "# proposed, 3 used, 1 spare: B+1, in, drive",
        'B = { lugs = 7, feet = [2, 6], at = [7, 9], turn = 90, type = "strip 6.4" }  '
        "# 5 used, 0 spare: a, b, c, d and 2 more",
        "C = { lugs = 3, feet = [2], at = [80, 9] }                                   # 0 used, 2 spare",
        "[bus]",
        'zero = { points = [[22, 119], [300.5, 119]], height = 14, joint = "ground" }  # proposed, 9 leads and wires',
        "ground = { points = [[22, 119], [300, 119]], height = 12 }                    # 4 leads and wires",
    ]


def test_it_is_toml_for_the_build_file() -> None:
    read = tomllib.loads(text(A, B))
    assert read["strips"] == {
        "A": {"lugs": 5, "feet": [3], "at": [57, 102.5]},
        "B": {"lugs": 7, "feet": [2, 6], "at": [7, 9], "turn": 90, "type": "strip 6.4"},
    }
    assert read["bus"]["zero"] == {"points": [[22, 119], [300.5, 119]], "height": 14, "joint": "ground"}


def test_one_strip_is_not_strips() -> None:
    assert " on 1 strip (wanted" in text(A)
