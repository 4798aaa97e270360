"""Parts that are written and could not be read: the joints they name all the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from lugwright.buildfile.joints import Joints, looks_like_terminal, plain_terminal
from lugwright.buildfile.kinds import kind_of
from lugwright.buildfile.locate import KeyPath


@dataclass(frozen=True)
class TornParts:
    """Parts as written, by designator, with where they stand.

    ``alone`` says that nothing else is missing: no stage or section whose parts nobody knows.
    """

    written: Mapping[str, tuple[Any, KeyPath]]
    alone: bool

    @property
    def all_ends_known(self) -> bool:
        """Return whether it is sure where all of them end."""
        return not self.written or (self.alone and all(_ends_known(p, raw) for p, (raw, _) in self.written.items()))

    @cached_property
    def named(self) -> Mapping[str, frozenset[str]]:
        """Return every text in each of them: among these are the joints that it ends on."""
        return {part: frozenset(map(plain_terminal, _texts(raw))) for part, (raw, _) in self.written.items()}

    def joints(self, joints: Joints) -> set[str]:
        """Return the joints that are named in any of them."""
        return {joints.name_of(name) for names in self.named.values() for name in names}

    def ends_alone(self, joints: Joints) -> Iterator[tuple[str, str, KeyPath]]:
        """Yield the ends on joints that nothing else in the file names: part, joint as written, where."""
        for part, (raw, path) in self.written.items():
            ends = raw.get("ends") if isinstance(raw, dict) else None
            for k, end in enumerate(ends if isinstance(ends, list) else ()):
                if isinstance(end, str) and self._is_alone(part, plain_terminal(end), joints):
                    yield part, end, (*path, "ends", k)

    def _is_alone(self, part: str, name: str, joints: Joints) -> bool:
        elsewhere = any(name in names for other, names in self.named.items() if other != part)
        return not (elsewhere or looks_like_terminal(name) or joints.is_named(name))


def _ends_known(part: str, raw: Any) -> bool:
    """Return whether a part says where it ends, also if all else in it is wrong; a tube ends nowhere of itself."""
    if part.startswith("V"):
        return True
    ends = raw.get("ends") if isinstance(raw, dict) else None
    if not isinstance(ends, list) or not all(isinstance(end, str) and end and end.isprintable() for end in ends):
        return False
    return len(ends) >= (3 if kind_of(part, raw) == "pot" else 2)


def _texts(raw: Any) -> Iterator[str]:
    if isinstance(raw, str):
        yield raw
    elif isinstance(raw, dict):
        for value in raw.values():
            yield from _texts(value)
    elif isinstance(raw, list):
        for value in raw:
            yield from _texts(value)
