"""How bright the limiter lamp is, in words or in volts, as a reading of its step."""

from __future__ import annotations

from lugwright.bringup.meter_value import shown
from lugwright.bringup.results import JudgedReading, LampWindow
from lugwright.buildfile.mistakes import nearest, printable
from lugwright.errors import ReadingError

LAMP, WORDS = "lamp", "limiter lamp"
BEHIND = ", lamp"  # what the key of a step behind the lamp ends in
NAMES = ("lamp", "limiter", "limiter lamp")
BEND = 1.55  # watts follow the volts of a filament to this power, from memory
DRAWS_TOO_MUCH = "something draws too much: no full mains before you know what"
# What the eye calls it: up to this share of its rated watts, from memory of such lamps.
LOOKS = (("dark", 0.02), ("a dull red glow", 0.1), ("a dim orange glow", 0.35), ("clearly lit", 0.7),
         ("full brightness", 1.0))  # fmt: skip
_SAID = {
    "dark": 0, "off": 0, "out": 0, "dull": 1, "dull red": 1, "red": 1, "dim": 2, "dim orange": 2, "orange": 2, "lit": 3,
    "clearly lit": 3, "full": 4, "bright": 4, "full brightness": 4,
}  # fmt: skip
_WANTED = '"dark", "dull", "dim", "lit" or "full", or the volts across it: "14 V"'


def lamp_volts(text: str, mains_v: float) -> tuple[float, float]:
    """Return the volts across the lamp that a text says, and between what ends they may be: the whole of that width.

    Parameters
    ----------
    text : str
        As a person writes it.
    mains_v : float
        On the lamp at the most. [V]

    Returns
    -------
    tuple of float
        Volts, and the width of what else may be meant. [V]

    Raises
    ------
    ReadingError
        It says neither.

    Source
    ------
    The filament's law, and how such lamps look; both from memory.
    """
    plain = " ".join(text.casefold().split()).removeprefix("a ").removesuffix(" glow")
    if plain in _SAID:
        place = _SAID[plain]
        low, high = (share ** (1.0 / BEND) * mains_v for share in ((0.0, *(s for _, s in LOOKS))[place : place + 2]))
        return 0.5 * (low + high), high - low
    if not any(letter.isdigit() for letter in plain):
        close = nearest(plain, _SAID)
        raise ReadingError(
            what=f"{printable(text)[:40]!r} is not how a lamp looks", found=printable(text)[:40], wanted=_WANTED,
            do=f"write {close!r}" if close else "write one of these words",
        )  # fmt: skip
    found = shown(text)
    if found.unit not in ("", "V") or not 0.0 <= found.value <= 1.2 * mains_v:
        raise ReadingError(
            what=f"{printable(text)[:40]!r} cannot stand on the lamp", found=printable(text)[:40],
            wanted=f"{_WANTED}, at most the {mains_v:.0f} V of the mains", do="say how it looks",
        )  # fmt: skip
    return min(found.value, mains_v), found.digit


def looks_words(share: float) -> str:
    """Return how a filament looks at a share of its rated power, from memory of such lamps."""
    return next((text for text, limit in LOOKS if share < limit), LOOKS[-1][0])


def judged_lamp(step: str, title: str, volts: float, width_v: float, window: LampWindow | None) -> JudgedReading:
    """Return what the lamp showed, held against the lamp of its step; its value is the share of the mains."""
    if window is None:
        return JudgedReading(step, title, WORDS, LAMP, LAMP, LAMP, volts, "", width_v, f"{volts:.2g} of the mains")
    low, high, half = window.low_v, window.high_v, 0.5 * width_v
    verdict = "high" if volts - half > high else "low" if volts + half < low else "ok"
    seen = looks_words((volts / window.mains_v) ** BEND)
    mains_v = window.mains_v
    return JudgedReading(
        step, title, WORDS, LAMP, LAMP, LAMP, volts / mains_v, "", width_v / mains_v, f"{seen}, {volts:.0f} V",
        verdict, window.expected_v / mains_v, low / mains_v, high / mains_v, f"{low:.0f} V to {high:.0f} V",
        burns=DRAWS_TOO_MUCH if verdict == "high" else "",
    )  # fmt: skip
