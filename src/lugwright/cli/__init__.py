"""The command line, one file per verb. Nothing is computed here."""

from __future__ import annotations

import os


def main() -> None:
    """Run the command line."""
    # Our matrices are small; a second thread of the linear algebra library only gets in the way of the first.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from lugwright.cli.app import app

    app()
