"""Where to idle: by class, and within its band by taste."""

from __future__ import annotations

from lugwright.bringup.idle.stage import Stage
from lugwright.bringup.idle_results import Target
from lugwright.errors import ReadingError

# kind -> least and most share of the plate limit; all from memory of common practice
BANDS = {
    "fixed bias, push-pull": (0.50, 0.70),
    "fixed bias, one tube": (0.70, 0.85),
    "cathode bias": (0.80, 1.00),
}
_WHY = {
    "fixed bias, push-pull": "the plates take more than that at full drive; start at the cold end",
    "fixed bias, one tube": "alone it works in class A, where idle is the hottest it gets; start at the cold end",
    "cathode bias": "the cathode resistor holds the tube back, and heat falls with signal; set by that resistor",
}
MIDDLE = "middle"
TASTES = {"cool": 0.0, MIDDLE: 0.5, "hot": 1.0}  # place within the band
LOWEST_AIM, HIGHEST_AIM = 0.2, 1.0


def target_of(stage: Stage, wish: str = MIDDLE) -> Target:
    """Return the target of a stage: ``wish`` is a taste, or a share of the plate limit such as ``60%``.

    Raises
    ------
    ReadingError
        It is neither.
    """
    kind = "cathode bias"
    if stage.fixed:
        kind = "fixed bias, one tube" if len(stage.tubes) == 1 else "fixed bias, push-pull"
    least, most = BANDS[kind]
    words = f"{least * 100:.0f} to {most * 100:.0f} percent of the plate limit, from memory of common practice: "
    return Target(kind, least, most, _aim(wish, least, most), words + _WHY[kind])


def _aim(wish: str, least: float, most: float) -> float:
    if wish in TASTES:
        return least + TASTES[wish] * (most - least)
    try:
        share = float(wish.removesuffix("%").strip()) / 100.0
    except ValueError:
        share = float("nan")
    if not LOWEST_AIM <= share <= HIGHEST_AIM:
        raise ReadingError(
            what="that is no target for an idle",
            found=repr(wish[:40]),
            wanted=f"{', '.join(TASTES)}, or {LOWEST_AIM:.0%} to {HIGHEST_AIM:.0%} of the plate limit, such as 60%",
            do="leave it away to aim at the middle of the band",
        )
    return share
