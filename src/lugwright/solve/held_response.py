"""The response curve of a build with values changed, quickly: only what a change moves is worked out again.

A change that leaves the rectifiers as they are (a tone control, a coupling capacitor, a grid leak) needs no mains
cycle: its idle is direct current alone, most often the one without the change, and its curve the signal's circuit at
its frequencies. Whether it does is not assumed: the idle is followed with the mains cycle closed, where the value
stands and then at both ends of the range that it is moved over, one end with each further step of its slider,
everything else as it is. Only where the cycle holds at all three without another round is it held in between. Every
other change has its idle followed from where the nearest places that its slider has been at point to, and certified.
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
from lugwright.solve.mains_harmonics import kept_harmonics
from lugwright.solve.passed import Passed
from lugwright.solve.response_results import ResponseCurve
from lugwright.solve.solved import Solved
from lugwright.solve.study import Study

MOST_KEPT = 12  # idles, the one of the build not counted
MOST_TOLD = 1000  # ranges over which an idle holds or does not
Key = tuple[str, ...]  # the other changes
Slider = tuple[str, Key]


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
        self._kept = kept_harmonics(study.solved.system, study.solved.values)
        self._stood: dict[Slider, int] = {}  # at how many of its ends a value has been found to move no rectifier
        self._shifting: set[Slider] = set()  # values that move a joint, though no rectifier
        self._moving: set[str] = set()  # values that are known to move the rectifiers
        self._passed: OrderedDict[Slider, Passed] = OrderedDict()

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
        solved = self._solved((varied.name, key), varied, base, rest)
        if solved is base:
            return HeldCurve(self._study.curve_at(base, whole), levels, bool(others))
        return HeldCurve(self._study.curve_at(solved, whole), read_levels(solved), True)

    def _solved(self, slider: Slider, varied: Varied, base: Solved, rest: Edit) -> Solved:
        """Return the idle with a value moved: the one without, where that stands."""
        whole = _together([rest, varied.now])
        if varied.inside and self._stood.get(slider) == len(varied.ends):
            if slider not in self._shifting:
                return base
            beside = Following(base, whole, self._kept).beside_rectifiers()
            if beside is not None:
                return beside
        passed = self._passed_by(slider, varied.built, base)
        following = Following(passed.near(varied.at), whole, self._kept)
        if varied.inside and varied.name not in self._moving and following.rectifiers_stand:
            self._look_further(slider, base, [_together([rest, end]) for end in varied.ends])
            if following.joints_stand:
                return base
            self._shifting.add(slider)
            return following.solved()
        moved = following.solved()
        self._moving.add(varied.name)
        passed.add(varied.at, moved)
        return moved

    def _passed_by(self, slider: Slider, built: float, base: Solved) -> Passed:
        """Return where a value has been of late."""
        passed = self._passed.setdefault(slider, Passed(built, base))
        self._passed.move_to_end(slider)
        while len(self._passed) > MOST_KEPT:
            self._passed.popitem(last=False)
        return passed

    def _idle(self, key: Key, edit: Edit) -> tuple[Solved, Levels]:
        """Return the certified idle under some changes; those asked for lately are kept."""
        if not key:
            return self._as_built
        if key not in self._idles:
            solved = Following(self._as_built[0], edit, self._kept).solved()
            self._idles[key] = solved, read_levels(solved)
        self._idles.move_to_end(key)
        while len(self._idles) > MOST_KEPT:
            self._idles.popitem(last=False)
        return self._idles[key]

    def _look_further(self, slider: Slider, base: Solved, ends: Sequence[Edit]) -> None:
        """Look whether a value that has been found to move no rectifier moves one at a further end of its range.

        One that moves any somewhere is taken to do so under every other change, too: following is never wrong.
        """
        if len(self._stood) >= MOST_TOLD:
            self._stood.clear()
            self._shifting.clear()
        stood = self._stood.setdefault(slider, -1) + 1  # with its first step a slider is kept waiting for no end
        if stood > 0:
            end = Following(base, ends[stood - 1], self._kept)
            if not _rectifiers_stand(end):
                self._moving.add(slider[0])
                return
            if not end.joints_stand:
                self._shifting.add(slider)
        self._stood[slider] = stood


def _rectifiers_stand(end: Following) -> bool:
    try:
        return end.rectifiers_stand
    except NoIdlePoint:
        return False


def _together(edits: Sequence[Edit]) -> Edit:
    return Edit("", tuple(change for edit in edits for change in edit.changes))
