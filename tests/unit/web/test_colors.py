"""The colors of look.css by numbers: every pair readable, states told apart by eyes that see fewer colors.

Contrast is that of WCAG 2.2, 1.4.3 (words: 4.5 to 1) and 1.4.11 (what a control is known by, the focus: 3 to 1).

Fewer colors: the matrices of Machado, Oliveira and Fernandes, "A Physiologically-based Model for Simulation of Color
Vision Deficiency", IEEE Transactions on Visualization and Computer Graphics 15 (2009) 6, severity 1.0, for linear RGB.
Two states have to stay 10 units of CIELAB apart, four times what is just noticed (2.3: Mahy, Van Eycken and
Oosterlinck, Color Research and Application 19 (1994) 2). Every state has a word and a shape besides.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence
from importlib import resources

import pytest

LOOK = resources.files("lugwright.web").joinpath("static/look.css").read_text(encoding="utf-8")
ON_SCREEN = LOOK[: LOOK.index("@media print")]
BLOCK = re.compile(r"(:root[^{]*)\{([^{}]*--paper:[^{}]*)\}")
TOKEN = re.compile(r"--([a-z-]+): (#[0-9a-f]{6});")
Three = tuple[float, float, float]

EYES: dict[str, tuple[Three, Three, Three]] = {
    "all colors": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "no red cones": (
        (0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998),
    ),
    "no green cones": (
        (0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881),
    ),
    "no blue cones": (
        (1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900),
    ),
}  # fmt: skip
LEAST_APART = 10.0
WORDS = ("ink", "faint", "mark", "good", "off", "warn")
UNDER = ("paper", "panel", "warn-paper")


def themes() -> dict[str, dict[str, str]]:
    """Return the tokens of each theme by the selector they stand at."""
    found = {selector.strip(): dict(TOKEN.findall(body)) for selector, body in BLOCK.findall(ON_SCREEN)}
    light = found.pop(":root")
    return {"light": light} | {
        name: {**light, **found[selector]}
        for name, selector in {
            "dark, as the device": ':root:not([data-light="light"])',
            "dark, chosen": ':root[data-light="dark"]',
        }.items()
    }


THEMES = themes()


def sumprod(one: Sequence[float], other: Sequence[float]) -> float:
    return sum(a * b for a, b in zip(one, other, strict=True))


def linear(color: str) -> Three:
    red, green, blue = (int(color[at : at + 2], 16) / 255.0 for at in (1, 3, 5))
    return _linear(red), _linear(green), _linear(blue)


def _linear(value: float) -> float:
    return float(value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    lights = sorted(sumprod((0.2126, 0.7152, 0.0722), linear(color)) for color in (one, other))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def lab(color: str, eyes: str) -> Three:
    """Return CIELAB (D65) of a color as those eyes see it."""
    seen = [min(1.0, max(0.0, sumprod(row, linear(color)))) for row in EYES[eyes]]
    to_xyz = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))
    white = (0.9505, 1.0, 1.089)
    x, y, z = (_root(sumprod(row, seen) / full) for row, full in zip(to_xyz, white, strict=True))
    return 116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)


def _root(share: float) -> float:
    return float(share ** (1 / 3) if share > (6 / 29) ** 3 else share / (3 * (6 / 29) ** 2) + 4 / 29)


def test_contrast_of_black_and_white_is_21() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


def test_both_dark_themes_are_the_same() -> None:
    assert THEMES["dark, as the device"] == THEMES["dark, chosen"]
    assert THEMES["dark, chosen"] != THEMES["light"]


@pytest.mark.parametrize("theme", THEMES)
def test_words_can_be_read(theme: str) -> None:
    tokens = THEMES[theme]
    pairs = [*itertools.product(WORDS, UNDER), ("on-mark", "mark"), ("paper", "off"), ("sheet-ink", "sheet")]
    pairs += [("on-head", "head"), ("head-mark", "head")]
    unread = {pair: round(contrast(tokens[pair[0]], tokens[pair[1]]), 2) for pair in pairs}
    assert {pair: found for pair, found in unread.items() if found < 4.5} == {}


@pytest.mark.parametrize("theme", THEMES)
def test_controls_and_the_focus_can_be_seen(theme: str) -> None:
    tokens = THEMES[theme]
    pairs = [*itertools.product(("edge", "mark"), ("paper", "panel")), ("head-mark", "head")]
    unseen = {pair: round(contrast(tokens[pair[0]], tokens[pair[1]]), 2) for pair in pairs}
    assert {pair: found for pair, found in unseen.items() if found < 3.0} == {}


@pytest.mark.parametrize("eyes", EYES)
@pytest.mark.parametrize("theme", THEMES)
def test_states_are_told_apart(theme: str, eyes: str) -> None:
    tokens = THEMES[theme]
    apart = {
        pair: round(math.dist(*(lab(tokens[name], eyes) for name in pair)), 1)
        for pair in itertools.combinations(("good", "off", "warn"), 2)
    }
    assert {pair: found for pair, found in apart.items() if found < LEAST_APART} == {}


def test_colors_stand_in_tokens_only() -> None:
    outside = re.sub(r"--[a-z-]+: #[0-9a-f]{6};", "", LOOK)
    assert re.findall(r"#[0-9a-f]{3,8}\b(?=[;\s)])", outside) == []


STUDIES = resources.files("lugwright.web").joinpath("static/studies.css").read_text(encoding="utf-8")
INKS = re.compile(r"(:root[^{]*)\{([^{}]*--ink-2:[^{}]*)\}")


def test_lines_of_plots_can_be_seen_in_light_and_dark() -> None:
    blocks = [dict(re.findall(r"--(ink-\d): (#[0-9a-f]{6});", body)) for _, body in INKS.findall(STUDIES)]
    assert len(blocks) == 3
    assert blocks[1] == blocks[2], "dark as the device, and dark chosen"
    for inks, theme in zip(blocks, THEMES.values(), strict=True):
        faint = {name: round(contrast(ink, theme["paper"]), 2) for name, ink in inks.items()}
        assert {name: found for name, found in faint.items() if found < 3.0} == {}
