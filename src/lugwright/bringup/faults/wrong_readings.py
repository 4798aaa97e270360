"""Readings that are wrong though the build is right: the tip on the next pin, the range, the wrong kind of volts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

NEXT_PIN, RANGE, COUPLING = 4.0, 1.0, 2.0  # how often, against each other: impressions, from memory of benches
DECADES = ((0.1, "ten times too low"), (10.0, "ten times too high"), (1e-3, "a thousand times too low"),
           (1e3, "a thousand times too high"))  # fmt: skip
OTHER_COUPLING = {"V dc": "V ac", "V ac": "V dc"}


@dataclass(frozen=True)
class WrongReading:
    """One way to take a reading wrongly: where the tip was, what the meter measured, by what it was off."""

    key: str
    what: str
    do: str
    odds: float
    red: str  # the terminal the tip was on
    quantity: str  # what the meter was set to
    factor: float = 1.0

    def shown(self, reading: Callable[[str, str], float]) -> float:
        """Return what the meter shows, from what a terminal has of a quantity."""
        return self.factor * reading(self.red, self.quantity)


def wrong_readings(
    red: str, quantity: str, *, beside: Mapping[str, tuple[str, ...]], labels: Callable[[str], str]
) -> Iterator[WrongReading]:
    """Yield the ways in which one reading may have been taken wrongly; ``beside``: the neighbors of each terminal."""
    for other in beside.get(red, ()):
        count = "the pins from below" if " pin " in labels(red) else "the lugs"
        yield WrongReading(
            f"tip on {other}", f"the tip was on {labels(other)} instead of {labels(red)}",
            f"read it again, and count {count}", NEXT_PIN / len(beside[red]), other, quantity,
        )  # fmt: skip
    for factor, words in DECADES:
        yield WrongReading(
            f"range {factor:g}", f"the reading is {words}: the range, or the k or m beside it, was misread",
            "read it again on a range chosen by hand", RANGE / len(DECADES), red, quantity, factor,
        )  # fmt: skip
    if quantity in OTHER_COUPLING:
        other = OTHER_COUPLING[quantity]
        yield WrongReading(
            f"set to {other}", f"the meter was set to {other} instead of {quantity}",
            "look at the dial and read it again", COUPLING, red, other,
        )  # fmt: skip
