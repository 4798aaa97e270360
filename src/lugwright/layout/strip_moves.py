"""Changes to a set of strips, one at a time: left out, shorter, longer, shifted alone or as a line."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lugwright.buildfile.build import Strip
from lugwright.layout.strip_space import Space, around_row
from lugwright.layout.strip_windows import LEAST_LUGS, MOST_LUGS, foot_holds

ALONG_MM = (5.0, -5.0)
ACROSS_MM = (3.0, -3.0, 8.0, -8.0)

Strips = tuple[Strip, ...]


@dataclass(frozen=True)
class Rules:
    """What may be changed: strips by name, and how."""

    pitch_mm: Mapping[str, float]  # by strip type
    space: Space
    open_names: frozenset[str]  # strips that may be moved
    removable: bool  # strips may be left out
    sized: frozenset[str]  # strips whose number of lugs and feet are the builder's


def lugs_of(strip: Strip, pitch_mm: float) -> list[tuple[float, float]]:
    """Return where the lugs of a strip stand."""
    turn = math.radians(strip.turn)
    step = (pitch_mm * math.cos(turn), pitch_mm * math.sin(turn))
    return [(round(strip.at[0] + k * step[0], 3), round(strip.at[1] + k * step[1], 3)) for k in range(strip.lugs)]


def may_stand(strip: Strip, others: Sequence[Strip], rules: Rules) -> bool:
    """Return whether a strip has room beside others, its feet included."""
    lugs = lugs_of(strip, rules.pitch_mm[strip.type])
    if not all(rules.space.lug_may_stand(*lug) for lug in lugs):
        return False
    if not all(rules.space.foot_may_stand(*lugs[foot - 1]) for foot in strip.feet):
        return False
    x, y = np.array(lugs).T
    rows = [shape for other in others for shape in around_row(lugs_of(other, rules.pitch_mm[other.type]))]
    return not any(shape.holds(x, y).any() for shape in rows)


def changes(strips: Strips, leads: Mapping[str, int], rules: Rules) -> Iterator[tuple[str, Strips]]:
    """Yield every change worth a trial, the most promising first, with its name."""
    mine = [s for s in strips if s.name in rules.open_names]
    busy = {s.name: sum(n for key, n in leads.items() if key.rpartition(".")[0] == s.name) for s in mine}
    order = sorted(mine, key=lambda s: (busy[s.name], s.name))
    cut = tuple(trimmed(s, leads, rules) for s in strips)
    if cut != strips:
        yield "without its empty ends", cut
    if rules.removable:
        for strip in order:
            yield f"without {strip.name}", tuple(s for s in strips if s is not strip)
    yield from _lines_shifted(strips, rules)
    for what, options in (("shorter", _shorter), ("along", _along), ("longer", _longer)):
        for strip in order:
            for option in options(strip, leads, rules):
                if may_stand(option, [s for s in strips if s is not strip], rules):
                    yield f"{strip.name} {what}", tuple(option if s is strip else s for s in strips)


def longer(strips: Strips, rules: Rules, *, before: bool = False) -> Iterator[Strips]:
    """Yield the strips with a lug more behind the last (or before the first) of one, the shortest first."""
    for strip in sorted((s for s in strips if s.name in rules.open_names), key=lambda s: (s.lugs, s.name)):
        for option in _longer(strip, {}, rules):
            fits = may_stand(option, [s for s in strips if s is not strip], rules)
            if fits and before == (option.at != strip.at):
                yield tuple(option if s is strip else s for s in strips)


def trimmed(strip: Strip, leads: Mapping[str, int], rules: Rules) -> Strip:
    """Return an open strip without the empty lugs at its ends."""
    if strip.name not in rules.open_names - rules.sized:
        return strip
    empty = [not leads.get(f"{strip.name}.{lug}", 0) and lug not in strip.feet for lug in range(1, strip.lugs + 1)]
    while len(empty) > LEAST_LUGS and (empty[0] or empty[-1]):
        first = not empty[-1]
        less = _cut(strip, first=first, pitch_mm=rules.pitch_mm[strip.type])
        if not _holds(less):
            break
        strip, empty = less, empty[1:] if first else empty[:-1]
    return strip


def _holds(strip: Strip) -> bool:
    """Return whether a strip that may be resized stands well on its one foot."""
    return len(strip.feet) == 1 and foot_holds(strip.lugs, strip.feet[0])


def _shorter(strip: Strip, leads: Mapping[str, int], rules: Rules) -> Iterator[Strip]:
    """Yield the strip without an end lug, the emptier end first."""
    if strip.lugs <= LEAST_LUGS or strip.name in rules.sized:
        return
    ends = sorted((leads.get(f"{strip.name}.{lug}", 0), lug) for lug in (1, strip.lugs) if lug not in strip.feet)
    cut = (_cut(strip, first=lug == 1, pitch_mm=rules.pitch_mm[strip.type]) for _, lug in ends)
    yield from filter(_holds, cut)


def _cut(strip: Strip, *, first: bool, pitch_mm: float) -> Strip:
    if not first:
        return replace(strip, lugs=strip.lugs - 1)
    return replace(strip, lugs=strip.lugs - 1, at=lugs_of(strip, pitch_mm)[1], feet=tuple(f - 1 for f in strip.feet))


def _longer(strip: Strip, _: Mapping[str, int], rules: Rules) -> Iterator[Strip]:
    """Yield the strip with a lug more at its end, and at its beginning."""
    if strip.lugs >= MOST_LUGS or strip.name in rules.sized:
        return
    at = _moved(strip, -rules.pitch_mm[strip.type], 0.0)
    at_end = replace(strip, lugs=strip.lugs + 1)
    at_start = replace(strip, lugs=strip.lugs + 1, at=at, feet=tuple(f + 1 for f in strip.feet))
    yield from filter(_holds, (at_end, at_start))


def _along(strip: Strip, _: Mapping[str, int], __: Rules) -> Iterator[Strip]:
    for along in ALONG_MM:
        yield replace(strip, at=_moved(strip, along, 0.0))


def _lines_shifted(strips: Strips, rules: Rules) -> Iterator[tuple[str, Strips]]:
    """Yield all strips of one line shifted across it together: a row stays a row."""
    lines: dict[tuple[float, float], list[Strip]] = {}
    for strip in strips:
        if strip.name in rules.open_names:
            level = strip.at[1] if strip.turn % 180.0 == 0.0 else strip.at[0]
            lines.setdefault((strip.turn, level), []).append(strip)
    for members in lines.values():
        for across in ACROSS_MM:
            shifted = {s.name: replace(s, at=_moved(s, 0.0, across)) for s in members}
            others = [s for s in strips if s.name not in shifted]
            if all(may_stand(s, others, rules) for s in shifted.values()):
                names = " ".join(shifted)
                yield f"{names} across {across:+.0f}", tuple(shifted.get(s.name, s) for s in strips)


def _moved(strip: Strip, along: float, across: float) -> tuple[float, float]:
    turn = math.radians(strip.turn)
    c, s = math.cos(turn), math.sin(turn)
    return round(strip.at[0] + along * c - across * s, 1), round(strip.at[1] + along * s + across * c, 1)
