"""The idle setting in the words of a page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lugwright.bringup.idle_results import Advice, IdleMeasured, SetTo
from lugwright.documents.book.blocks import Column, cell_words
from lugwright.documents.book.idle_setting_tables import reads

_AS_QUANTITY = Column("", kind="quantity")


@dataclass(frozen=True)
class TubeWords:
    """One output tube as it was read: watts of its plate, and of how many."""

    tube: str
    watts: str
    limit: str
    share: float  # of the limit, for a bar
    percent: str
    over: bool


def tube_words(measured: IdleMeasured) -> list[TubeWords]:
    """Return each tube that was read, as watts and share of its limit."""
    return [
        TubeWords(
            t.tube, f"{t.plate_w.value:.1f} ± {t.plate_w.off:.1f} W", f"{t.plate_limit_w:g} W", t.share.value,
            f"{t.share.value:.0%} ± {t.share.off:.0%}", t.share.value > 1.0,
        )
        for t in measured.tubes
        if t.read
    ]  # fmt: skip


def target_words(advice: Advice) -> str:
    """Return where to idle."""
    aim = f"Aim: {advice.target.aim:.0%} of the plate limit for the hottest tube ({advice.target.kind})."
    if advice.high_mains_share is not None and advice.set_to:
        aim += f" Set so, mains 10 % high brings it to {advice.high_mains_share:.0%}."
    return f"{aim} {advice.as_it_is}".rstrip()


def way_words(advice: Advice) -> Iterator[str]:
    """Yield what to turn, and what the meter then shows."""
    for each in advice.set_to:
        yield _way(each)


def _way(each: SetTo) -> str:
    shows = ", ".join(
        f"{cell_words(_AS_QUANTITY, reads(state))} at {state.tube} ({state.share:.0%}, grid {state.grid_v:.1f} V)"
        for state in each.tubes
    )
    if not each.reached:
        return f"{each.control}: the aim is out of its reach; at {each.wanted:.0%} read {shows}."
    turn = "leave it where it is" if each.words.startswith("leave") else f"turn it {each.words}"
    return f"{each.control}, from {each.rotation:.0%} to {each.wanted:.0%}: {turn}; then read {shows}."
