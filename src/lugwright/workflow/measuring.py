"""As-built values, fitted tubes, settings and photos, written into the log and taken back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from lugwright.bringup.as_built_words import as_built_from_words
from lugwright.bringup.results import AsBuiltRow
from lugwright.buildfile.mistakes import nearest, printable
from lugwright.buildfile.part_words import value_words
from lugwright.errors import LogError, LugwrightError, ReadingError
from lugwright.findings import Finding
from lugwright.log.events import Entry
from lugwright.log.measured_bodies import AS_BUILT, PHOTO, TAKEN_BACK, TubeFittedBody
from lugwright.log.state import PREDICTED, Bench, played
from lugwright.log.store import Draft
from lugwright.quantities import with_unit
from lugwright.workflow.opened import Opened
from lugwright.workflow.photos import photo_folder
from lugwright.workflow.readings import all_of
from lugwright.workflow.ticking import one_copy

_SYMBOL = {"ohm": "Ω", "F": "F", "V": "V"}


@dataclass(frozen=True)
class Photo:
    """A picture beside the build file, and what it shows."""

    file: str
    text: str = ""


def measured_in(opened: Opened, said: Sequence[tuple[str, str]], *, accuracy: float | None = None) -> tuple[Entry, ...]:
    """Write what was measured, fitted or set into the log, all or none; the mains count for what stands behind them.

    Raises
    ------
    ReadingError
        Something cannot be so; all such are told.
    LogError
        The log cannot be written.
    """
    one_copy(opened)
    drafts: list[Draft] = []
    mistakes: list[LugwrightError] = []
    bench = opened.bench_log.measured
    for what, value in said:
        try:
            drafts.append(as_built_from_words(opened.written, bench, what, value, accuracy=accuracy))
        except ReadingError as error:
            mistakes.append(error)
        else:
            bench = _after(opened, drafts)
    if mistakes:
        raise all_of(mistakes)
    return opened.bench_log.log.append(opened.bench_log.copy, drafts)


def _after(opened: Opened, drafts: Sequence[Draft]) -> Bench:
    """Return the bench as it will stand, for what is said later in the same line."""
    log = opened.bench_log
    said = [
        Entry(f"{number:032x}", f"9999-01-01T00:00:00.{number:06}Z", log.copy, kind, subject, body)
        for number, (kind, subject, body) in enumerate(drafts)
    ]
    return played([*log.log.entries(PREDICTED), *said], log.copy)


def as_built_rows(opened: Opened) -> tuple[tuple[AsBuiltRow, ...], tuple[Finding, ...]]:
    """Return everything that counts as measured, fitted and set, with what was written just now, and its doubts."""
    anew = _anew(opened)
    rows = _rows(anew, anew.bench_log.measured, dict(anew.as_built.unused))
    return tuple(sorted(rows, key=lambda row: row.time)), anew.as_built.findings


def _anew(opened: Opened) -> Opened:
    """Return the same build with its log read again."""
    return Opened(opened.path, opened.readable, opened.findings, opened.changes, opened.bench_log.copy)


def _rows(opened: Opened, bench: Bench, unused: dict[str, str]) -> Iterator[AsBuiltRow]:
    for subject, each in bench.as_built.items():
        shown = with_unit(each.body.value, _SYMBOL[each.body.unit], figures=4)
        if each.body.at_mains_v is not None:
            shown += f" at {each.body.at_mains_v:g} V mains"
        yield AsBuiltRow(subject, shown, each.body.stated, unused.get(subject, ""), each.id, each.time)
    for socket, tube in bench.tubes.items():
        part = opened.written.part_by_name.get(socket)
        stated = "" if part is None else value_words(part.values)
        what = f"{socket} tube"
        yield AsBuiltRow(what, _tube_words(tube.body), stated, unused.get(what, ""), tube.id, tube.time)
    for control, one in bench.settings.items():
        what = f"{control} setting"
        yield AsBuiltRow(what, one.body.position, "", unused.get(what, ""), one.id, one.time)


def _tube_words(body: TubeFittedBody) -> str:
    found = [f"{body.type} {body.label}".strip()]
    found += [f"{one.section} {with_unit(one.plate_a, 'A')} at {one.plate_v:g} V".strip() for one in body.measured]
    return ", ".join(found)


def take_as_built_back(opened: Opened, whats: Sequence[str]) -> tuple[Entry, ...]:
    """Take back what was measured, fitted or set of some things; nothing is erased, the file's own value counts again.

    Raises
    ------
    LogError
        Nothing of that name counts.
    """
    one_copy(opened)
    known = {row.what: row for row in as_built_rows(opened)[0]}
    drafts: list[Draft] = []
    for what in whats:
        plain = " ".join(what.casefold().split())
        found = [row for name, row in known.items() if plain in (name.casefold(), name.casefold().partition(",")[0])]
        found = found or [row for name, row in known.items() if plain == name.casefold().split(" ")[0]]
        if not found:
            close = nearest(what, known)
            raise LogError(
                what=f"nothing was written down of {printable(what)[:60]}",
                found=", ".join(known) or "nothing at all",
                wanted="one of these",
                do=f"write {close!r}" if close else "look at them: lugwright as-built FILE --list",
            )
        subjects = {row.what for row in found}
        drafts += [(TAKEN_BACK, e.subject, {"entry": e.id}) for e in _entries_of(opened, subjects)]
    return opened.bench_log.log.append(opened.bench_log.copy, drafts)


def _entries_of(opened: Opened, subjects: set[str]) -> Iterator[Entry]:
    """Yield every entry that says something of these, earlier ones too."""
    log = opened.bench_log
    entries = log.log.entries(PREDICTED)
    gone = {entry.body.get("entry") for entry in entries if entry.kind == TAKEN_BACK}
    for entry in entries:
        names = {
            entry.subject if entry.kind == AS_BUILT else "",
            f"{entry.body.get('socket', '')} tube",
            f"{entry.body.get('control', '')} setting",
        }
        if entry.copy == log.copy and entry.id not in gone and names & subjects:
            yield entry


def photographed(opened: Opened, photos: Sequence[Photo]) -> tuple[Entry, ...]:
    """Write the names of pictures into the log; each must lie beside the build file or in its folder of pictures.

    Raises
    ------
    LogError
        There is no such file there, or the log cannot be written.
    """
    one_copy(opened)
    for photo in photos:
        name = Path(photo.file)
        if name.name != photo.file or not photo.file.isprintable() or not _lies_there(opened, name):
            raise LogError(
                what=f"there is no picture {printable(photo.file)[:100]!r} beside the build file",
                found=printable(photo.file)[:100],
                wanted=f"the name of a file in the folder of {opened.path.name}",
                do="put the picture there, and give its name without a folder",
            )
    drafts: list[Draft] = [
        (PHOTO, photo.file, {"file": photo.file, **({"text": photo.text} if photo.text else {})}) for photo in photos
    ]
    return opened.bench_log.log.append(opened.bench_log.copy, drafts)


def _lies_there(opened: Opened, name: Path) -> bool:
    return any((folder / name).is_file() for folder in (opened.path.parent, photo_folder(opened.path)))
