"""Which stretches of the runs become strips: those whose lugs are used most, for a given number of lugs."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build, OpenStrip, Strip
from lugwright.layout.strip_lines import Run
from lugwright.layout.strip_space import Space

MOST_LUGS = 10  # longest strip proposed, foot included: strips are sold so; from memory
LEAST_LUGS = 3  # shortest: a foot and two lugs
MOST_BEYOND_FOOT = 5  # lugs that a foot carries to one side; a longer arm gives under the iron
END_FOOT_UP_TO = 4  # lugs of a strip that may stand on its end
PRICE_STEPS = 24
NAMES = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # no I, no O: they read as one and zero


@dataclass(frozen=True)
class Window:
    """A stretch of a run that is to be a strip; ``foot`` and ``start`` count places of the run from 0."""

    run: int
    start: int
    count: int
    foot: int
    value: float  # leads its lugs hold, the foot's left out
    feet: tuple[int, ...] = ()  # where the builder states them, counted from 1
    strip: str = ""  # its name, where the builder gives one

    @property
    def free(self) -> int:
        """Return its lugs without the foot."""
        return self.count - max(1, len(self.feet))


def foot_holds(lugs: int, foot: int) -> bool:
    """Return whether a foot under that lug, counted from 1, carries a strip."""
    if lugs > END_FOOT_UP_TO and foot in (1, lugs):
        return False
    return max(foot - 1, lugs - foot) <= MOST_BEYOND_FOOT


def windows_for(
    runs: Sequence[Run], leads: Mapping[tuple[int, int], int], space: Space, lugs: int, strip_price: float
) -> tuple[Window, ...]:
    """Return stretches with so many free lugs, those with most leads on them.

    Parameters
    ----------
    runs : sequence of Run
        All places for lugs.
    leads : mapping
        Leads at a lug in the last trial, by run and place.
    space : Space
        Where feet may stand.
    lugs : int
        Free lugs wanted. [-]
    strip_price : float
        Leads that a strip must hold to be worth its screw. [-]

    Returns
    -------
    tuple of Window
        In order of the runs; fewer lugs only where the runs have no more.

    Source
    ------
    Derived below: the best stretches at a price per lug come from a table over each run; the price is
    halved in on until the number fits, what is still missing is added at the ends of used strips.
    """
    low, high = 0.0, 8.0
    best = over = _at_price(runs, leads, space, high, strip_price)
    for _ in range(PRICE_STEPS):
        middle = (low + high) / 2.0
        found = _at_price(runs, leads, space, middle, strip_price)
        if sum(w.free for w in found) <= lugs:
            best, high = found, middle
        else:
            over, low = found, middle
    return tuple(_longer(runs, leads, space, _filled(best, over, lugs), lugs))


def _filled(windows: list[Window], more: list[Window], lugs: int) -> list[Window]:
    """Return the stretches with those of a richer choice that fit beside them, the busiest first."""
    taken = {(w.run, w.start + k) for w in windows for k in range(w.count)}
    found = list(windows)
    for window in sorted(more, key=lambda w: (-w.value / w.free, w.run, w.start)):
        places = {(window.run, window.start + k) for k in range(window.count)}
        if not places & taken and sum(w.free for w in found) + window.free <= lugs:
            found.append(window)
            taken |= places
    return sorted(found, key=lambda w: (w.run, w.start))


def _at_price(
    runs: Sequence[Run], leads: Mapping[tuple[int, int], int], space: Space, price: float, strip_price: float
) -> list[Window]:
    found: list[Window] = []
    for number, run in enumerate(runs):
        values = [float(leads.get((number, place), 0)) for place in range(run.count)]
        feet = [space.foot_may_stand(*run.site(place)) for place in range(run.count)]
        found += _best_in_run(number, values, feet, price, strip_price)
    return found


def _best_in_run(
    number: int, values: Sequence[float], feet: Sequence[bool], price: float, strip_price: float
) -> list[Window]:
    """Return the stretches of one run that are worth most, by a table from its beginning to each place."""
    table: list[tuple[float, Window | None]] = [(0.0, None)]
    for end in range(1, len(values) + 1):
        best: tuple[float, Window | None] = (table[end - 1][0], None)
        for count in range(LEAST_LUGS, min(MOST_LUGS, end) + 1):
            window = _window(number, end - count, count, values, feet)
            if window is not None:
                gain = window.value - price * window.free - strip_price
                best = max(best, (table[end - count][0] + gain, window), key=lambda item: item[0])
        table.append(best)
    found, end = [], len(values)
    while end > 0:
        window = table[end][1]
        if window is None:
            end -= 1
        else:
            found.append(window)
            end = window.start
    return found[::-1]


def _window(number: int, start: int, count: int, values: Sequence[float], feet: Sequence[bool]) -> Window | None:
    """Return a stretch with its foot where least is lost, nearest its middle; None where no foot may stand."""
    middle = start + (count - 1) / 2.0
    places = [place for place in range(start, start + count) if feet[place] and foot_holds(count, place - start + 1)]
    if not places:
        return None
    foot = min(places, key=lambda place: (values[place] + 0.3 * abs(place - middle), place))
    return Window(number, start, count, foot, sum(values[start : start + count]) - values[foot])


def _longer(
    runs: Sequence[Run], leads: Mapping[tuple[int, int], int], space: Space, windows: list[Window], lugs: int
) -> list[Window]:
    """Return the stretches made longer at their ends, the busiest first, until there are lugs enough."""
    while sum(w.free for w in windows) < lugs:
        taken = {(w.run, w.start + k) for w in windows for k in range(w.count)}
        grown = [
            (w.value / w.free, -index, bigger)
            for index, w in enumerate(windows)
            for bigger in _grown(runs, leads, space, w, taken)
        ]
        if not grown:
            return windows
        _, index, bigger = max(grown, key=lambda item: (item[0], item[1]))
        windows[-index] = bigger
    return windows


def _grown(
    runs: Sequence[Run],
    leads: Mapping[tuple[int, int], int],
    space: Space,
    window: Window,
    taken: set[tuple[int, int]],
) -> Iterator[Window]:
    run = runs[window.run]
    for start in (window.start, window.start - 1):
        new = window.start + window.count if start == window.start else start
        if window.count >= MOST_LUGS or not 0 <= new < run.count or (window.run, new) in taken:
            continue
        values = [float(leads.get((window.run, place), 0)) for place in range(run.count)]
        feet = [space.foot_may_stand(*run.site(place)) for place in range(run.count)]
        found = _window(window.run, start, window.count + 1, values, feet)
        if found is not None:
            yield replace(found, value=window.value)


def named_windows(
    runs: Sequence[Run], leads: Mapping[tuple[int, int], int], space: Space, wanted: Sequence[OpenStrip]
) -> tuple[Window, ...]:
    """Return a stretch for each named strip, the longest strips first where most leads are; none where none fits."""
    left = dict(leads)
    taken: set[tuple[int, int]] = set()
    found: dict[str, Window] = {}
    for strip in sorted(wanted, key=lambda s: (-(s.lugs or MOST_LUGS), s.name)):
        fits = [w for n, run in enumerate(runs) for w in _for_strip(n, run, left, space, strip, taken)]
        if fits:
            best = max(fits, key=lambda w: (w.value, -w.run, -w.start))
            taken |= {(best.run, best.start + k) for k in range(best.count)}
            found[strip.name] = replace(best, strip=strip.name)
    return tuple(found[strip.name] for strip in wanted if strip.name in found)


def _for_strip(
    number: int,
    run: Run,
    leads: Mapping[tuple[int, int], int],
    space: Space,
    strip: OpenStrip,
    taken: set[tuple[int, int]],
) -> Iterator[Window]:
    """Yield the stretches of a run that a named strip could take."""
    if strip.turn is not None and strip.turn % 180.0 != run.turn:
        return
    values = [float(leads.get((number, place), 0)) for place in range(run.count)]
    may = [space.foot_may_stand(*run.site(place)) for place in range(run.count)]
    count = min(strip.lugs or MOST_LUGS, run.count if strip.lugs is None else strip.lugs)
    for start in range(run.count - count + 1):
        if any((number, start + k) in taken for k in range(count)):
            continue
        if strip.feet is None:
            window = _window(number, start, count, values, may)
        elif strip.feet and all(may[start + foot - 1] for foot in strip.feet):
            lost = sum(values[start + foot - 1] for foot in strip.feet)
            total = sum(values[start : start + count])
            window = Window(number, start, count, start + strip.feet[0] - 1, total - lost, feet=strip.feet)
        else:
            window = None
        if window is not None:
            yield window


def strips_of(runs: Sequence[Run], windows: Sequence[Window], build: Build, strip_type: str) -> tuple[Strip, ...]:
    """Return the strips of some stretches, lettered from the rear left where they have no name."""
    names = free_names(build)
    found = []
    for window in sorted(windows, key=lambda w: (runs[w.run].site(w.start)[::-1], w.run)):
        run = runs[window.run]
        feet = window.feet or (window.foot - window.start + 1,)
        name = window.strip or next(names)
        found.append(Strip(name, window.count, feet, run.site(window.start), float(run.turn), strip_type))
    return tuple(found)


def free_names(build: Build) -> Iterator[str]:
    """Yield letters, then pairs of letters, that nothing in the build is called by."""
    used = {strip.name for strip in build.strips} | {part.name for part in build.parts}
    pairs = (first + second for first in NAMES for second in NAMES)
    return (name for name in itertools.chain(NAMES, pairs) if name not in used)
