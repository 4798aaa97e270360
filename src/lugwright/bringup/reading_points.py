"""Where a meter was held, as builders say it: ``V1 pin 6``, ``A.4``, ``B+2``, ``T1 hv.1 to hv.3``, ``across R12``."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import product

from lugwright.bringup.bench_points import socket_points
from lugwright.bringup.earth_bond import metal_places
from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Build, Part, Pot, Terminal, Transformer, Tube
from lugwright.buildfile.mistakes import nearest, printable
from lugwright.errors import NoSuchPoint
from lugwright.layout.results import Plan

MOST_LETTERS = 300
_OTHER_WORDS = {"anode": "plate", "g1": "grid", "g2": "screen", "gnd": "ground", "0v": "ground", "wiper": "2"}
_SIGNS = {"+": "plus", "-": "minus"}
_NOUNS = ("lug", "lead", "pin", "")
_PLACES = re.compile(r"\([^()]*\)")
_WANTED = '"V1 pin 6", "V1a.plate", "strip A lug 4", "R5 lug 2", "T1 hv.1 to hv.3", "B+2", or two of them with "to"'
_NO_PLAN = "plan first, the plan says what is where on a strip: lugwright plan FILE"


@dataclass(frozen=True)
class Spot:
    """One place for the tip of a meter lead."""

    key: str  # of a terminal of the plan, or the name of a joint
    joint: str  # "" for a pin or lug that carries nothing
    words: str


@dataclass(frozen=True)
class Held:
    """Where both tips were, and under what condition the chart tells apart."""

    red: Spot
    black: Spot
    condition: str = ""

    @property
    def words(self) -> str:
        """Return the place as it is printed."""
        return f"{self.red.words} to {self.black.words}" + (f", {self.condition}" if self.condition else "")


@dataclass(frozen=True)
class ReadingPoints:
    """Every place of one build that can be named; with a plan its strips and buses too."""

    build: Build
    plan: Plan | None = None

    def held(self, text: str) -> Held:
        """Return where a meter was held.

        Raises
        ------
        NoSuchPoint
            The text names no place of this build, or more than one.
        """
        if len(text) > MOST_LETTERS or not text.isprintable():
            raise _no_such(text[:60], "a point in printable letters", _WANTED)
        pieces = text.split(",")
        for cut in range(len(pieces), 0, -1):  # a label may hold a comma; what is no point after one is a condition
            found = self._found(plain_words(",".join(pieces[:cut])))
            if found is not None:
                red, black, condition = *found, ",".join(pieces[cut:]).strip()
                break
        else:
            raise self._none_of(plain_words(pieces[0]), pieces[0])
        if red.joint == black.joint and red.key == black.key:
            raise _no_such(text, "both leads on the same point", "two different points", "name where the red lead was")
        return Held(red, black, condition)

    @cached_property
    def ground(self) -> Spot:
        """Return where the black lead is unless it is said."""
        return Spot(GROUND, GROUND, GROUND)

    def spot(self, text: str) -> Spot:
        """Return one place; NoSuchPoint where there is none of that name."""
        found = self._spot(plain_words(text))
        if found is None:
            raise self._unknown(text)
        return found

    def _found(self, plain: str) -> tuple[Spot, Spot] | None:
        """Return both places of a part across which is read, of one point and ground, or of ``one to other``.

        The other may leave out what it shares with the one: ``V2 pin 2 to pin 7``.
        """
        if (whole := self._across(plain)) is not None:
            return whole
        if (one := self._spot(plain)) is not None:
            return one, self.ground
        for first, second in _cuts(plain):
            red, black = self._spot(first), self._spot(f"{_owner(first)} {second}") or self._spot(second)
            if red is not None and black is not None:
                return red, black
        return None

    def _none_of(self, plain: str, text: str) -> NoSuchPoint:
        """Return what is not known in a text: the whole, or the other of two points."""
        for first, second in _cuts(plain):
            if self._spot(first) is not None:
                noun = second.split(" ")[0] in _NOUNS
                return self._unknown(f"{_owner(first).upper()} {second}" if noun else second)
        return self._unknown(text.partition(" to ")[0])

    def _across(self, plain: str) -> tuple[Spot, Spot] | None:
        """Return both ends of a part with two, which is named alone."""
        name = plain.removeprefix("across ").strip()
        part = self._two_ended.get(name)
        return None if part is None else (self._end(part, part.terminals[0]), self._end(part, part.terminals[1]))

    @cached_property
    def _two_ended(self) -> Mapping[str, Part]:
        return {part.name.casefold(): part for part in self.build.parts if len(part.terminals) == 2}

    def _spot(self, plain: str) -> Spot | None:
        if plain in self._exact:
            return self._exact[plain]
        found = self._loose.get(plain, [])
        if len({spot.key for spot in found}) > 1:
            raise _no_such(
                plain,
                f"it may be {' or '.join(spot.key for spot in found[:6])}",
                "a name that only one point has",
                f"write {found[0].key!r}",
            )
        return found[0] if found else None

    def _unknown(self, text: str) -> NoSuchPoint:
        if self.plan is None and self._on_a_strip(plain_words(text)):
            return _no_such(text, printable(text)[:60], _WANTED, _NO_PLAN)
        known = [*self._exact, *self._loose]
        close = nearest(plain_words(text), known)
        shown = next((s.words for s in (self._exact.get(close), *self._loose.get(close, [])) if s is not None), "")
        do = f"write {shown or close!r}" if close else "look at the points: lugwright charts FILE"
        return _no_such(text, printable(text)[:60], _WANTED, do)

    def _on_a_strip(self, plain: str) -> bool:
        named = plain.removeprefix("strip ").replace(" lug ", ".").rpartition(".")
        return named[0] in {name.casefold() for name in self.build.strip_names} and named[2].isdigit()

    @cached_property
    def _exact(self) -> Mapping[str, Spot]:
        """Return every place by its key, the names of joints last."""
        found: dict[str, Spot] = {}
        for key, spot in self._keyed():
            found.setdefault(plain_words(key), spot)
        for joint in (*self.build.joints, GROUND, CHASSIS, EARTH):
            found.setdefault(plain_words(joint), Spot(joint, joint, joint))
        found.setdefault("chassis metal", found[CHASSIS])
        return found

    def _keyed(self) -> Iterator[tuple[str, Spot]]:
        for part in self.build.parts:
            for terminal in part.terminals:
                if terminal.pins:
                    yield from ((spot.key, spot) for spot in self._spots(part, terminal))
                yield str(terminal), self._end(part, terminal)
        for planned in self.plan.terminals.values() if self.plan else ():
            yield planned.key, Spot(planned.key, planned.joint, planned.label)
        yield from ((key, Spot(key, CHASSIS, words)) for key, words in metal_places(self.build))

    @cached_property
    def _loose(self) -> Mapping[str, list[Spot]]:
        """Return the other ways to say a place; one that several places share is refused when it is used."""
        found: dict[str, list[Spot]] = {}
        for name, spot in self._other_names():
            spots = found.setdefault(plain_words(name), [])
            if spot.key not in {each.key for each in spots}:
                spots.append(spot)
        return found

    def _other_names(self) -> Iterator[tuple[str, Spot]]:
        for part in self.build.parts:
            for terminal in part.terminals:
                yield from self._names_of(part, terminal)
        for planned in self.plan.terminals.values() if self.plan else ():
            spot = Spot(planned.key, planned.joint, planned.label)
            yield planned.label, spot
            yield planned.key.replace(".", " "), spot

    def _names_of(self, part: Part, terminal: Terminal) -> Iterator[tuple[str, Spot]]:
        spots = list(self._spots(part, terminal))
        for pin, spot in zip(terminal.pins, spots, strict=False):
            yield f"{part.name} pin {pin}", spot
            yield f"{part.name} {pin}", spot
        end = self._end(part, terminal)
        said = (terminal.name, terminal.name.replace("_", " "), terminal.name.replace(".", " "))
        for name in said:
            yield f"{part.name}{terminal.section} {name}", end
            yield f"{part.name} {name} {terminal.section}".strip(), end
        if terminal.pins:
            return
        label = getattr(part.values, "label", "")
        owners = dict.fromkeys((part.name, *((label, f"{part.name} {label}") if label else ())))
        for owner, noun, name in product(owners, _NOUNS, said):
            yield f"{owner} {noun} {name}", end
        for sign, name in _SIGNS.items():
            if terminal.name == name or (getattr(part.values, "polar", False) and _polar(sign) == terminal.name):
                yield f"{part.name}{sign}", end
                yield f"{part.name}.{sign}", end
                yield f"{part.name} {sign}", end
        if isinstance(part.values, Transformer):
            for color in _colors(part.values, terminal.name):
                yield f"{part.name} {color}", end
                yield f"{part.name} {color} lead", end

    def _spots(self, part: Part, terminal: Terminal) -> Iterator[Spot]:
        """Yield the places of one terminal: each of its pins, its lug, or the lug that a lead lies in."""
        if isinstance(part.values, Tube):
            for pin in terminal.pins:
                yield Spot(f"{part.name}.{pin}", terminal.joint, self._pin_words[part.name, pin])
            return
        yield self._end(part, terminal)

    @cached_property
    def _pin_words(self) -> Mapping[tuple[str, int], str]:
        found: dict[tuple[str, int], str] = {}
        for part in self.build.parts:
            if isinstance(part.values, Tube):
                pins = sorted(pin for terminal in part.terminals for pin in terminal.pins)
                found |= {(part.name, n): p.words for n, p in zip(pins, socket_points(part), strict=True)}
        return found

    def _end(self, part: Part, terminal: Terminal) -> Spot:
        """Return the place of one end of a part: its own lug, or where the plan puts its lead."""
        if terminal.pins:
            pin = terminal.pins[0]
            return Spot(f"{part.name}.{pin}", terminal.joint, self._pin_words[part.name, pin])
        words = f"{part.name} {_lug_word(part)} {terminal.name}"
        seat = self._seats.get((part.name, terminal.name))
        return Spot(seat or f"{part.name}.{terminal.name}", terminal.joint, words)

    @cached_property
    def _seats(self) -> Mapping[tuple[str, str], str]:
        return {
            (seat.part, lead): key
            for seat in (self.plan.seats if self.plan else ())
            for lead, key in zip(seat.lead_names, seat.terminals, strict=True)
        }


def plain_words(text: str) -> str:
    """Return a name without what stands in brackets behind it, in small letters, with the words of this program."""
    words = _PLACES.sub(" ", text).casefold().split()
    return " ".join(_OTHER_WORDS.get(word, word) for word in words)


def _cuts(plain: str) -> Iterator[tuple[str, str]]:
    """Yield every way to read a text as two points."""
    pieces = plain.split(" to ")
    for cut in range(1, len(pieces)):
        yield " to ".join(pieces[:cut]), " to ".join(pieces[cut:])


def _owner(plain: str) -> str:
    """Return whose pin or lead a point is: ``v2`` of ``v2 pin 2``."""
    return plain.split(" ")[0].split(".")[0]


def _polar(sign: str) -> str:
    return "1" if sign == "+" else "2"


def _lug_word(part: Part) -> str:
    return "lead" if isinstance(part.values, Transformer) else "lug" if isinstance(part.values, Pot) else "lead"


def _colors(values: Transformer, end: str) -> Iterator[str]:
    for winding in values.windings:
        if end in winding.ends and len(winding.colors) == len(winding.ends):
            yield winding.colors[winding.ends.index(end)]


def _no_such(text: str, found: str, wanted: str, do: str = "") -> NoSuchPoint:
    return NoSuchPoint(
        what=f"there is no point {printable(text)[:60]!r} to read",
        found=found,
        wanted=wanted,
        do=do or "look at the points: lugwright charts FILE",
    )
