"""What eyes and ears told, written into the log beside what the meter showed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lugwright.bringup.reading_words import SIGN, SIGNS, judged_sign
from lugwright.bringup.results import JudgedReading
from lugwright.bringup.signs import Sign, sign_named, signs_of
from lugwright.buildfile.mistakes import printable
from lugwright.errors import ReadingError
from lugwright.log.events import Entry
from lugwright.log.measured_bodies import READING, TAKEN_BACK
from lugwright.log.store import Draft
from lugwright.workflow.opened import Opened
from lugwright.workflow.readings import all_of
from lugwright.workflow.ticking import one_copy


@dataclass(frozen=True)
class SaidSign:
    """A sign that somebody looked for."""

    sign: str
    seen: bool


def signs_in(opened: Opened, said: Sequence[SaidSign]) -> tuple[JudgedReading, ...]:
    """Write signs into the log, all or none; of one sign the last answer counts.

    Raises
    ------
    ReadingError
        The build has none of that name; all such are told.
    LogError
        The log cannot be written.
    """
    one_copy(opened)
    check_signs(opened, said)
    found = _named(opened, [each.sign for each in said])
    drafts: list[Draft] = [(READING, sign.name, _body(sign, each)) for sign, each in zip(found, said, strict=True)]
    entries = opened.bench_log.log.append(opened.bench_log.copy, drafts)
    return tuple(
        replace(judged_sign(e.subject, float(s.seen)), id=e.id, time=e.time) for e, s in zip(entries, said, strict=True)
    )


def check_signs(opened: Opened, said: Sequence[SaidSign]) -> None:
    """Raise ReadingError for signs that the build does not have, or that are said to be there and not to be there."""
    found = _named(opened, [each.sign for each in said])
    both = {a.name for a, x in zip(found, said, strict=True) for b, y in zip(found, said, strict=True)
            if a.name == b.name and x.seen != y.seen}  # fmt: skip
    if both:
        raise ReadingError(
            what=f"{', '.join(sorted(both))} cannot be there and not be there", found="both --sign and --no-sign",
            wanted="one answer for each sign", do="leave one of the two out",
        )  # fmt: skip


def take_signs_back(opened: Opened, names: Sequence[str]) -> tuple[Entry, ...]:
    """Take back what was told of some signs; nothing is erased.

    Raises
    ------
    ReadingError
        Nothing was told of one of them.
    """
    one_copy(opened)
    drafts: list[Draft] = []
    for sign in _named(opened, names):
        told = [r for r in opened.bench_log.bench.readings if r.body.quantity == SIGN and r.body.red == sign.name]
        if not told:
            raise ReadingError(
                what=f"nothing about {sign.name!r} is in the log", found="neither seen nor not seen",
                wanted="a sign that was looked for", do="look at the readings: lugwright read FILE --list",
            )  # fmt: skip
        drafts += [(TAKEN_BACK, each.subject, {"entry": each.id}) for each in told]
    return opened.bench_log.log.append(opened.bench_log.copy, drafts)


def _named(opened: Opened, names: Sequence[str]) -> list[Sign]:
    signs, found, mistakes = signs_of(opened.written), [], []
    for name in names:
        try:
            found.append(sign_named(name, signs))
        except ReadingError as error:
            mistakes.append(error)
    if mistakes:
        raise all_of(mistakes)
    return found


def _body(sign: Sign, said: SaidSign) -> dict[str, object]:
    return {
        "step": SIGNS, "red": sign.name, "black": SIGNS, "quantity": SIGN, "value": float(said.seen), "unit": "",
        "over_range": False, "words": printable(said.sign)[:400],
    }  # fmt: skip
