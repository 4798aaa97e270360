"""Write docs/reference/faults.md: every kind of fault, how it shows, and how often it is reckoned with.

python tools/faults_page.py
"""

from __future__ import annotations

from pathlib import Path

from lugwright.bringup.faults.known import KNOWN
from lugwright.bringup.faults.odds import ODDS

PAGE = Path(__file__).parents[1] / "docs/reference/faults.md"
INTRO = """# Faults: what goes wrong, and how it shows

Made by `tools/faults_page.py` from `known.py` and `odds.py` in `src/lugwright/bringup/faults`; change those, not this
page.

The program reads the faults of a build off its own lug plan: each planned wire that may be missing, each lug that may
be bridged to its neighbor. Each of them comes under one of the entries below.
"""
ODDS_INTRO = """## How often

Odds of a kind of fault somewhere in a build, against the other kinds: 8 very common, 4 common, 2 occasional, 1 rare.
They are impressions, from memory of first power-ups; nobody counted. A kind shares its odds among its faults, so a
build with two hundred wires is not taken for one with two hundred times the mistakes.
"""
OUT = """## Not in the list

What a meter cannot tell, or what is no mistake of the wiring.
"""


def page() -> str:
    """Return the page."""
    lines = [INTRO, "| entry | fault | how it shows |", "|---|---|---|"]
    lines += [f"| {code} | {known.name} | {known.shows} |" for code, known in KNOWN.items() if not known.left_out]
    lines += ["", OUT, "| entry | fault | how it shows | why not |", "|---|---|---|---|"]
    lines += [
        f"| {code} | {known.name} | {known.shows} | {known.left_out} |"
        for code, known in KNOWN.items()
        if known.left_out
    ]
    lines += ["", ODDS_INTRO, "| kind | odds | why |", "|---|---|---|"]
    lines += [f"| {name} | {odds:g} | {why} |" for name, (odds, why) in ODDS.items()]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
