"""What every command does first and last: open the build file; print, and leave with the right code."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from lugwright.cli import exits
from lugwright.cli.printing import BUILD_FILE, print_findings, say
from lugwright.errors import FileAccessError, NoIdlePoint
from lugwright.findings import Finding, Grade

if TYPE_CHECKING:
    from lugwright.circuit.operating import Idle
    from lugwright.workflow import Opened

Command = TypeVar("Command", bound=Callable[..., Any])
_AS_STATED, _SERIAL, _TOLD = "lugwright.as_stated", "lugwright.serial", "lugwright.as_built_told"


def _remember(ctx: click.Context, param: click.Parameter, value: Path) -> Path:
    ctx.meta[BUILD_FILE] = str(value)
    return value


build_file = click.argument("build_file", type=click.Path(path_type=Path), callback=_remember)
what_if_option = click.option(
    "--set",
    "changes",
    multiple=True,
    metavar="PART=VALUE",
    help="Try a value, as built and changed side by side: R17=220k, C3=47u, V3=12AT7, R5=70% (a pot), S1=on. "
    "May be given more than once; nothing is written.",
)


def _leave_out(ctx: click.Context, param: click.Parameter, value: bool) -> None:
    ctx.meta[_AS_STATED] = value


as_stated_option = click.option(
    "--as-stated", is_flag=True, expose_value=False, callback=_leave_out,
    help="Leave out what the log says was measured, fitted and set.",
)  # fmt: skip


def _of_copy(ctx: click.Context, param: click.Parameter, value: str) -> None:
    ctx.meta[_SERIAL] = value


_SERIAL_HELP = "Which copy of the build is on the bench: the one last worked on."
_copy_option = click.option(
    "--serial", default="", metavar="TEXT", expose_value=False, callback=_of_copy, help=_SERIAL_HELP
)
serial_option = click.option("--serial", default="", metavar="TEXT", help=_SERIAL_HELP)


def set_option(command: Command) -> Command:
    """Add --set, --as-stated and --serial: for a command that computes what the build does."""
    return what_if_option(as_stated_option(_copy_option(command)))


json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON; see: lugwright schema --of NAME.")


def opened_build(path: Path, changes: Sequence[str] = (), *, serial: str = "", unsolder: bool = False) -> Opened:
    """Return the opened build, some values changed for a what-if; when it cannot be read, print why and leave."""
    from lugwright.workflow import open_build

    meta = click.get_current_context().meta
    opened = open_build(
        path,
        changes=changes,
        serial=serial or meta.get(_SERIAL, ""),
        unsolder=unsolder,
        as_stated=bool(meta.get(_AS_STATED, False)),
    )
    if opened.readable is None:
        if changes:
            click.echo(f"with {', '.join(changes)} the build cannot be computed:", err=True)
        print_findings(opened.findings)
        click.get_current_context().exit(exits.UNREADABLE)
    if _AS_STATED in meta:
        _tell_as_built(opened, meta)
    return opened


def _tell_as_built(opened: Opened, meta: dict[str, Any]) -> None:
    """Say once on stderr that measured values stand in place of stated ones."""
    count = len(opened.as_built.used)
    if count and not meta.get(_TOLD):
        meta[_TOLD] = True
        words = "1 as-built value" if count == 1 else f"{count} as-built values"
        click.echo(f"with {words} from the log of copy {opened.bench_log.copy}; without: --as-stated", err=True)


def certified(idle: Idle) -> Idle:
    """Return an idle whose certificate passed; NoIdlePoint otherwise, and no number of it is printed."""
    certificate = idle.certificate
    if certificate.passed:
        return idle
    raise NoIdlePoint(
        what="the idle found does not hold up",
        found=f"{certificate.worst_joint} is {certificate.left_over_a:.3g} A out after {certificate.steps} steps",
        wanted=f"less than {certificate.allowed_a:.3g} A left over at that joint",
        do=f"look at what meets at {certificate.worst_joint}: a missing bias path, a short, a wrong value",
    )


def emit(report: Any, *, as_json: bool, text: Callable[[], str]) -> None:
    """Print a report on stdout, as JSON or as text."""
    if as_json:
        from lugwright.cli.plain import as_plain

        click.echo(json.dumps(as_plain(report), indent=1, ensure_ascii=False))
    else:
        say(text())


def leave(findings: Iterable[Finding]) -> None:
    """Print the findings and leave: with 1 when one of them is a fault or a danger."""
    findings = tuple(findings)
    print_findings(findings)
    bad = any(finding.grade in (Grade.DANGER, Grade.FAULT) for finding in findings)
    click.get_current_context().exit(exits.FINDINGS if bad else exits.FINE)


@contextmanager
def writing() -> Iterator[None]:
    """Turn a file that cannot be written into its own exit code."""
    try:
        yield
    except FileAccessError as error:
        raise exits.NotWritten(what=error.what, found=error.found, wanted=error.wanted, do=error.do) from error
    except OSError as error:
        raise exits.NotWritten(
            what="a file cannot be written",
            found=f"{error.filename}: {error.strerror}",
            wanted="a folder that may be written to, with room in it",
            do="choose another folder, or free some space",
        ) from error
