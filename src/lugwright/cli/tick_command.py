"""``lugwright tick``: work ticked off, or taken back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work
from lugwright.cli.progress_text import done_line
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, serial_option

MOST_LISTED = 12

if TYPE_CHECKING:
    from lugwright.cli.reports import TickReport
    from lugwright.log.events import Entry


@click.command()
@build_file
@click.argument("cards", nargs=-1, type=click.IntRange(min=1))
@click.option("--lead", "leads", multiple=True, metavar="NAME", help="A lead that is in: R3.1, R3 (both), W12, W12.2.")
@click.option(
    "--terminal", "terminals", multiple=True, metavar="NAME",
    help='A terminal that is full and soldered: "strip A lug 4", A.4. With --undo only its solder is opened.',
)  # fmt: skip
@click.option("--note", default="", metavar="TEXT", help="Words to be kept with the build.")
@click.option(
    "--photo", "photos", multiple=True, metavar="FILE[=WORDS]",
    help="A picture beside the build file, by its name; what it shows behind the equals sign.",
)  # fmt: skip
@click.option("--undo", is_flag=True, help="Take it back: leads out, solder opened, card not done.")
@serial_option
@json_option
def command(
    build_file: Path,
    cards: tuple[int, ...],
    leads: tuple[str, ...],
    terminals: tuple[str, ...],
    note: str,
    photos: tuple[str, ...],
    undo: bool,
    serial: str,
    as_json: bool,
) -> None:
    """Tick job cards off, by their numbers, or single leads and terminals.

    The log NAME.log.sqlite beside NAME.toml keeps it: what was put where, not the number of the card.
    """
    from lugwright.cli.reports import TickReport
    from lugwright.workflow import Photo, noted, photographed, progress_now, tick

    if not (cards or leads or terminals or note or photos):
        raise click.UsageError("say what is done: the numbers of cards, --lead, --terminal, --note or --photo")
    opened = opened_build(build_file, serial=serial)
    with at_work("looking at the plan"):
        ticked = tick(opened, cards=cards, leads=leads, terminals=terminals, undo=undo)
        entries = (*ticked.entries, *(noted(opened, note).entries if note else ()))
        if photos:
            pairs = (photo.partition("=") for photo in photos)
            entries += photographed(opened, [Photo(file.strip(), words.strip()) for file, _, words in pairs])
        progress = progress_now(opened)
    report = TickReport(
        opened.written.title,
        opened.findings,
        str(opened.bench_log.path),
        ticked.serial,
        entries,
        ticked.already,
        progress,
    )
    emit(report, as_json=as_json, text=lambda: tick_text(report))
    leave(opened.findings)


def tick_text(report: TickReport) -> str:
    """Return what was written, and what comes next."""
    lines = [*_entry_lines(report.entries), *(f"nothing to do: {subject}" for subject in report.already)]
    if report.progress is None:
        lines.append("The circuit or the plan has changed: plan again, lugwright plan FILE")
        return "\n".join(lines)
    cards = {card.number: card for card in report.progress.cards}
    lines.append(done_line(report.progress))
    after = cards.get(report.progress.next_card)
    lines.append(f"Next: card {after.number}, {after.title}." if after else "Every card is done.")
    return "\n".join(lines)


def _entry_lines(entries: tuple[Entry, ...]) -> list[str]:
    """Return what was written; many leads and joints in numbers."""
    small = [entry for entry in entries if {entry.kind, entry.body.get("undone")} & {"lead in", "soldered"}]
    listed = entries if len(small) <= MOST_LISTED else [entry for entry in entries if entry not in small]
    lines = [f"{'undone' if e.kind == 'taken out' else e.kind}: {e.subject or e.body.get('text', '')}" for e in listed]
    if len(small) > MOST_LISTED:
        leads = sum("soldered" not in (entry.kind, entry.body.get("undone")) for entry in small)
        undone = "undone: " if small[0].kind == "taken out" else ""
        lines.append(f"{undone}{leads} leads in, {len(small) - leads} joints soldered")
    return lines
