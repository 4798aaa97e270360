"""Whether a tube's published rows suffice to promise what it can deliver, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

LOW_CURRENT = 0.6  # a low-current row carries at most this share of a full point's plate current


@dataclass(frozen=True)
class PublishedRow:
    """One published row as its file has it: how it is used, how sure it is, whether plate and screen are joined."""

    use: str
    confidence: str
    tied: bool
    figures: Mapping[str, float]

    @property
    def is_sound(self) -> bool:
        """Return whether a law may rest on it."""
        return self.use != "check" and self.confidence != "low"


def power_doubt(kind: str, rows: Sequence[PublishedRow], driven: Sequence[PublishedRow], supplies: int) -> str | None:
    """Return why the type's law promises no power, None if it does.

    A promise takes three sound rows: a full point (plate and screen current, gm), a low-current row and, for
    pentodes and beam tetrodes, a row at full drive, which alone shows the knee. A triode has no knee of its
    own. A rectifier takes an operating row with its first capacitor.

    Parameters
    ----------
    kind : str
        Kind of tube. [-]
    rows, driven : sequence of PublishedRow
        Points, and figures at full drive. [V, A, S, W]
    supplies : int
        How many operating rows of a rectifier there are. [-]

    Returns
    -------
    str or None
        The reason in words. [-]

    Valid
    -----
    Every kind of the catalogue.

    Source
    ------
    Derived below: fits that lacked one of these rows missed the power of rows they had not seen by more than 12 %.
    """
    if kind == "rectifier":
        missing = [] if supplies else ["an operating row with its first capacitor"]
    else:
        missing = [*_points_missing(kind, [row for row in rows if row.is_sound])]
        if "triode" not in kind and not any(row.is_sound and "power_w" in row.figures for row in driven):
            missing.append("a row at full drive")
    if not missing:
        return None
    return f"too few published rows: {' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing"


def _points_missing(kind: str, sound: Sequence[PublishedRow]) -> list[str]:
    needed = {"plate_a", "gm_s"} if "triode" in kind else {"plate_a", "screen_a", "gm_s"}
    full = [row.figures["plate_a"] for row in sound if needed <= set(row.figures) and not row.tied]
    missing = [] if full else ["a full point"]
    lowest = min((row.figures["plate_a"] for row in sound if "plate_a" in row.figures), default=0.0)
    if not full or lowest > LOW_CURRENT * max(full):
        missing.append("a low-current row")
    return missing
