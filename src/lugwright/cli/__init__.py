"""The command line, one file per verb. Nothing is computed here."""

from __future__ import annotations


def main() -> None:
    """Run the command line."""
    from lugwright.cli.app import app

    app()
