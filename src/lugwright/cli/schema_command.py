"""``lugwright schema``: JSON Schema of the build file, or of what a command prints with --json."""

from __future__ import annotations

import json

import click

# command, or plan-why, plan-compare, what-if: a command with that option -> record in lugwright.cli.reports
_REPORTS = {
    "check": "CheckReport",
    "idle": "IdleReport",
    "start": "StartReport",
    "ohms": "OhmsReport",
    "strips": "StripsReport",
    "plan": "PlanReport",
    "plan-why": "WhyReport",
    "plan-compare": "CompareReport",
    "jobs": "JobsReport",
    "tick": "TickReport",
    "next": "NextReport",
    "log": "LogReport",
    "read": "ReadReport",
    "as-built": "AsBuiltReport",
    "power-up": "PowerUpReport",
    "charts": "ChartsReport",
    "bias": "BiasReport",
    "trace": "TraceReport",
    "response": "ResponseReport",
    "spread": "SpreadReport",
    "power": "PowerReport",
    "book": "BookReport",
    "parts": "PartsReport",
    "expand": "ExpandReport",
    "curves": "CurvesReport",
    "fit": "FitReport",
    "what-if": "WhatIfReport",
}


@click.command()
@click.option(
    "--of",
    "name",
    type=click.Choice(list(_REPORTS)),
    help="A command; plan-why, plan-compare for plan with --why, --compare; what-if for one with --set.",
)
@click.option("--json", "as_json", is_flag=True, help="Accepted for evenness: a schema is JSON anyway.")
def command(name: str | None, as_json: bool) -> None:
    """Print the JSON Schema of the build file, so that an editor completes and checks it."""
    click.echo(json.dumps(report_schema(name) if name else _build_file_schema(), indent=1, ensure_ascii=False))


def report_schema(name: str) -> object:
    """Return the JSON Schema of what a command prints with --json."""
    from lugwright.cli import reports
    from lugwright.cli.plain import schema_of

    return schema_of(getattr(reports, _REPORTS[name]))


def _build_file_schema() -> object:
    from lugwright.buildfile.schema import json_schema

    return json_schema()
