"""Why something is where it is, in plain words."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from lugwright.cli.printing import table

if TYPE_CHECKING:
    from lugwright.layout.explain_results import Choice, Why

WIDTH = 110


def why_text(why: Why) -> str:
    """Return the sentences of an answer, then the other places as a table."""
    lines = [textwrap.fill(" ".join(why.here), WIDTH)]
    lines += [textwrap.fill(text, WIDTH, initial_indent="- ", subsequent_indent="  ") for text in why.pulls]
    head = f"{why.subject}\n" + "\n".join(lines)
    if not why.choices:
        return head
    rows = ((choice.place, _more(choice), choice.because) for choice in why.choices)
    return f"{head}\n\n{table(('other place', 'costs more', 'because'), rows, right='lr')}"


def _more(choice: Choice) -> str:
    return "cannot be" if choice.more is None else f"{choice.more:.0f}" if round(choice.more) else "0"
