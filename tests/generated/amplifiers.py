"""Whole build files by number: the same number is the same text, on any machine."""

from __future__ import annotations

import random

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_text

from .circuit import draw_circuit
from .metal import metal_text

GENEROUS = (
    1.35  # every other dozen of builds gets about the lugs a first builder gives, the others the least and a tenth
)
LEAST_PARTS, MOST_PARTS, MOST_TUBES = 20, 250, 12


def build_text(seed: int, *, tubes: int = 0, parts: int = 0) -> str:
    """Return a build file of 20 to 250 parts and 1 to 12 tubes; tubes and about how many parts may be given."""
    rng = random.Random(seed)
    tubes = tubes or 1 + seed % MOST_TUBES
    sheet = draw_circuit(seed, tubes)
    plain = len(_circuit(sheet.text()).parts)
    most = min(MOST_PARTS - 3, parts or plain + round(rng.random() * 0.5 * plain))
    sheet.add_extras(max(0, most - plain))
    text = sheet.text()
    return text + metal_text(_circuit(text), seed, lug_share=GENEROUS if is_generous(seed) else 1.0)


def is_generous(seed: int) -> bool:
    """Return whether a build has a third more lugs than the least it needs."""
    return seed // MOST_TUBES % 2 == 1


def _circuit(text: str) -> Build:
    result = read_text(text, "drawn.toml")
    if result.build is None:
        raise ValueError("\n".join(str(finding) for finding in result.findings))
    return result.build
