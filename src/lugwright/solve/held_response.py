"""The response curve of a build with values changed, quickly: only what a change moves is worked out again.

A change that leaves the idle where it is (a tone control, a coupling capacitor) needs nothing but the signal's
circuit at its frequencies. Whether it does is not assumed: the idle is followed with the mains cycle closed, where the
value stands and then at both ends of the range that it is moved over, everything else as it is, and only where it holds
at all three without another round is it held in between. Every other change has its idle followed from where the
nearest places that its slider has been at point to, and certified.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

from lugwright.circuit.edits import Edit
from lugwright.circuit.operating import Levels
from lugwright.errors import NoIdlePoint
from lugwright.solve.followed import Following
from lugwright.solve.levels import read_levels
from lugwright.solve.passed import Passed
from lugwright.solve.response_results import ResponseCurve
from lugwright.solve.solved import Solved
from lugwright.solve.study import Study

MOST_KEPT = 12  # idles, the one of the build not counted
MOST_TOLD = 1000  # ranges over which an idle holds or does not
Key = tuple[str, ...]


@dataclass(frozen=True)
class Varied:
    """One value that is being moved: its edit as it is now, and at the ends of what it is moved over."""

    name: str
    built: float  # where it stands without the change, on a scale on which its slider moves evenly
    at: float  # where it stands now
    now: Edit
    ends: tuple[Edit, ...]
    inside: bool  # it is not beyond these ends


@dataclass(frozen=True)
class HeldCurve:
    """A response curve, and the levels of the idle it is of; ``followed`` says whether it had to be solved again."""

    curve: ResponseCurve
    levels: Levels
    followed: bool


class HeldResponse:
    """One build between two points, ready to be asked for its curve under changes again and again."""

    def __init__(self, study: Study, levels: Levels) -> None:
        self._study = study
        self._idles: OrderedDict[Key, tuple[Solved, Levels]] = OrderedDict()
        self._as_built = (study.solved, levels)
        self._holds: dict[tuple[str, Key], bool] = {}
        self._moving: set[str] = set()  # values that are known to move the idle
        self._passed: OrderedDict[tuple[str, Key], Passed] = OrderedDict()

    def curve(self, varied: Varied | None, others: Sequence[tuple[str, Edit]] = ()) -> HeldCurve:
        """Return the curve with some values changed, one of which is being moved.

        Parameters
        ----------
        varied : Varied or None
            The value being moved; None where none is.
        others : sequence of (str, Edit)
            The other changes, each with words that tell it from any other. [-]

        Returns
        -------
        HeldCurve
            Gain, phase and impedances as in `response_curves`.

        Raises
        ------
        NoIdlePoint
            There is no idle under the changes, or none that is certified.

        Source
        ------
        `linearized` at an idle from `Following`.
        """
        key = tuple(words for words, _ in others)
        rest = _together([edit for _, edit in others])
        base, levels = self._idle(key, rest)
        if varied is None:
            return HeldCurve(self._study.curve_at(base, rest), levels, bool(others))
        whole = _together([rest, varied.now])
        if self._holds.get((varied.name, key), False) and varied.inside:
            return HeldCurve(self._study.curve_at(base, whole), levels, bool(others))
        passed = self._passed_by(varied, key, base)
        following = Following(passed.near(varied.at), whole)
        if varied.inside and following.stands and self._held(varied, key, rest, base):
            return HeldCurve(self._study.curve_at(base, whole), levels, bool(others))
        moved = following.solved()
        found = HeldCurve(self._study.curve_at(moved, whole), read_levels(moved), True)
        self._moving.add(varied.name)
        passed.add(varied.at, moved)
        return found

    def _passed_by(self, varied: Varied, key: Key, base: Solved) -> Passed:
        """Return where a value has been of late."""
        slider = varied.name, key
        passed = self._passed.setdefault(slider, Passed(varied.built, base))
        self._passed.move_to_end(slider)
        while len(self._passed) > MOST_KEPT:
            self._passed.popitem(last=False)
        return passed

    def _idle(self, key: Key, edit: Edit) -> tuple[Solved, Levels]:
        """Return the certified idle under some changes; those asked for lately are kept."""
        if not key:
            return self._as_built
        if key not in self._idles:
            solved = Following(self._as_built[0], edit).solved()
            self._idles[key] = solved, read_levels(solved)
        self._idles.move_to_end(key)
        while len(self._idles) > MOST_KEPT:
            self._idles.popitem(last=False)
        return self._idles[key]

    def _held(self, varied: Varied, key: Key, rest: Edit, base: Solved) -> bool:
        """Return whether the idle stays where it is over the whole range of a value.

        One that moves it somewhere is taken to move it under every other change, too: following is never wrong.
        """
        asked = varied.name, key
        if asked not in self._holds:
            if len(self._holds) >= MOST_TOLD:
                self._holds.clear()
            self._holds[asked] = varied.name not in self._moving and all(
                _stands(base, _together([rest, end])) for end in varied.ends
            )
        return self._holds[asked]


def _stands(base: Solved, edit: Edit) -> bool:
    try:
        return Following(base, edit).stands
    except NoIdlePoint:
        return False


def _together(edits: Sequence[Edit]) -> Edit:
    return Edit("", tuple(change for edit in edits for change in edit.changes))
