"""The command line, one file per verb. Nothing is computed here."""

from __future__ import annotations

import gc
import os


def main() -> None:
    """Run the command line."""
    # Our matrices are small; a second thread of the linear algebra library only gets in the way of the first.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.set_threshold(50_000)  # we leave hardly any rings of dead objects: looking for them costs more than it frees
    from lugwright.cli.app import app

    app()
