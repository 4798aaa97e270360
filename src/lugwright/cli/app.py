"""The table of commands. A command's file is imported only when it is called."""

from __future__ import annotations

import sys
from importlib import import_module
from typing import Any

import click

from lugwright.cli import exits
from lugwright.errors import LugwrightError

# command -> what --help says of it; the command is lugwright.cli.<name>_command.command, - as _
COMMANDS = {
    "check": "Read the build file; check the circuit and every rating.",
    "idle": "Idle volts at every joint, supply, tubes.",
    "start": "First minute after switch-on: inrush, surge, fuses, time to 60 V.",
    "ohms": "What an ohmmeter reads with the plug out.",
    "strips": "Strips and ground bus, proposed where they are left open.",
    "plan": "Plan every lug and wire; write the plan beside the build file.",
    "jobs": "Job cards in working order, and the cut list.",
    "tick": "Tick work off: cards done, leads in, joints soldered.",
    "next": "Where was I? What is done, what is half done, the next card.",
    "log": "Print, export or import the log of a build.",
    "read": "Write down what the meter shows; told at once whether it is right.",
    "as-built": "Measured parts, windings, mains, tubes: predictions use them.",
    "power-up": "First power-up: where am I, the next step, each reading judged.",
    "charts": "Power-up charts, step by step.",
    "bias": "Idle setting of the output tubes.",
    "trace": "Which fault explains the readings, and what to measure next.",
    "response": "Gain, tone controls, feedback, stability, hiss.",
    "spread": "How far readings and ratings move with real parts.",
    "power": "Output power over drive: watts, distortion, headroom, sag of B+.",
    "bench": "The bench: all of it as pages, for the hours at the chassis.",
    "book": "Make the build book: PDF, HTML, SVG, CSV, DXF.",
    "curves": "Plate curves with load lines and limits.",
    "fit": "Fit measured tubes to their readings; match pairs and quads.",
    "parts": "Parts list.",
    "expand": "Write ready-made stages out as ordinary parts.",
    "schema": "JSON Schema of the build file, or of a command's --json.",
}


class CommandTable(click.Group):
    """A group that knows its commands by name and imports none of them for --help."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command; None when there is no such command."""
        if cmd_name not in COMMANDS:
            return None
        found: click.Command = import_module(f"lugwright.cli.{cmd_name.replace('-', '_')}_command").command
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Offer the nearest command for a misspelled one."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            ctx.fail(_no_such_command(args[0]))
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Print the table above."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; an error of ours is printed in its four lines."""
        try:
            return super().invoke(ctx)
        except LugwrightError as error:
            from lugwright.cli.printing import paint, say

            say(f"{paint('error', 'red', sys.stderr)}: {error}", err=True)
            ctx.exit(exits.code_of(error))


def _no_such_command(name: str) -> str:
    from difflib import get_close_matches

    near = get_close_matches(name, list(COMMANDS), n=1, cutoff=0.5)
    return f"there is no command {name!r}" + (f"; the nearest is {near[0]!r}" if near else "")


@click.command(
    cls=CommandTable,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110},
    epilog="Exit codes: 0 fine, 1 a finding of grade fault or danger, 2 command line or build file cannot be read, "
    "3 no certified result or no plan, 4 a file cannot be written.",
)
@click.version_option(package_name="lugwright")
def app() -> None:
    """From the circuit of a hand-wired tube amplifier to a wired, checked and documented chassis.

    The voltages in these amplifiers kill, also after the plug is out: unplug, wait, measure below 60 V.
    """
