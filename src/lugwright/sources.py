"""Where a figure comes from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Source:
    """A document a figure was taken from.

    Parameters
    ----------
    title : str
        Title of the document, or ``from memory: ...`` with the sheet it is remembered from.
    edition : str
        Edition, date or page; empty when not known.
    read : str
        How it was read (``sheet``, ``quotation``, ``memory``, ``derived``).
    accuracy : str
        What the source says of its own accuracy; empty when it says nothing.
    """

    title: str
    edition: str = ""
    read: str = ""
    accuracy: str = ""

    @property
    def confirmed(self) -> bool:
        """Return False for a figure from memory; it is printed as unconfirmed."""
        return self.read != "memory"

    def __str__(self) -> str:
        """Return the source as it is printed in tables."""
        text = f"{self.title}, {self.edition}" if self.edition else self.title
        return text if self.confirmed else f"{text} (from memory)"
