"""What one field's type cannot check: counts and measures of a part that belong together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from typing import Any, NamedTuple

from lugwright.buildfile import records as w
from lugwright.buildfile.locate import KeyPath
from lugwright.buildfile.mistakes import Mistakes

MEASURES = ("volts", "rated_volts", "turns", "impedance")


class Clash(NamedTuple):
    """A key that does not fit the rest of its part."""

    key: str  # with points: windings.primary.turns
    found: str
    wanted: str
    entry: KeyPath = ()  # of a list, the number of the entry


def consistent(name: str, written: w.PartWritten, path: KeyPath, mistakes: Mistakes) -> bool:
    """Return whether the keys of a part fit each other; every clash is added to the mistakes."""
    check = _CHECKS.get(type(written))
    clashes = list(check(written)) if check else []
    for clash in clashes:
        mistakes.add(
            "counts-differ",
            (*path, *clash.key.split("."), *clash.entry),
            part=name,
            what=f"{name}: {clash.key} does not fit the rest",
            found=clash.found,
            wanted=clash.wanted,
            do="correct one or the other",
        )
    return not clashes


def _can(written: w.CanWritten) -> Iterator[Clash]:
    if len(written.ends) != len(written.values) + 1:
        found = f"{len(written.values)} sections and {len(written.ends)} ends"
        yield Clash("ends", found, "one end for each section, then minus")


def _switch(written: w.SwitchWritten) -> Iterator[Clash]:
    widths = {len(pole) - 1 for pole in written.poles}
    if widths != {len(written.positions)}:
        found = f"{len(written.positions)} positions and {sorted(widths)} throws"
        yield Clash("poles", found, "one throw for each position")
    elif written.position is not None and written.position not in written.positions:
        yield Clash("position", repr(written.position), f"one of {', '.join(written.positions)}")


def _capacitor(written: w.CapacitorWritten) -> Iterator[Clash]:
    if written.polar and written.style not in (None, "electrolytic"):
        yield Clash("polar", f"polar = true on a {written.style} capacitor", "an electrolytic, or no polarity")


def _transformer(written: w.TransformerWritten) -> Iterator[Clash]:
    power = written.kind == "power transformer"
    allowed = ("volts", "turns") if power else ("volts", "turns", "impedance")
    if power and written.regulation is not None:
        allowed = ("volts", "rated_volts", "turns")
    used: dict[str, None] = {}
    for name, winding in written.windings.items():
        measures = [key for key in MEASURES if getattr(winding, key) is not None]
        told = [measure.removeprefix("rated_") for measure in measures]
        used.update(dict.fromkeys(told if len(measures) == 1 and measures[0] in allowed else ()))
        yield from _measure(f"windings.{name}", measures, allowed)
        yield from _counts(f"windings.{name}", winding)
        yield from _rising(f"windings.{name}.impedance", winding.impedance)
        yield from _copper(f"windings.{name}", winding, written)
    if written.regulation is not None and not power:
        yield Clash("regulation", f"{written.kind} with regulation", "a power transformer")
    if len(used) > 1:
        first, *others = used
        found = [f"{first} in one winding", *(f"{measure} in another" for measure in others)]
        yield Clash("windings", ", ".join(found), "the same measure in all windings")


def _measure(key: str, measures: list[str], allowed: tuple[str, ...]) -> Iterator[Clash]:
    if len(measures) != 1:
        found = " and ".join(measures) or f"neither {', '.join(allowed[:-1])} nor {allowed[-1]}"
        yield Clash(key, found, f"one of {', '.join(allowed)}")
    elif measures[0] not in allowed:
        if measures[0] == "rated_volts":
            yield Clash(f"{key}.rated_volts", "rated_volts without regulation", "regulation of the power transformer")
        else:
            found = f"{measures[0]} on a power transformer"
            yield Clash(f"{key}.{measures[0]}", found, f"one of {', '.join(allowed)}")


def _counts(key: str, winding: w.WindingWritten) -> Iterator[Clash]:
    sections = len(winding.ends) - 1
    for measure in (*MEASURES, "ohms"):
        value = getattr(winding, measure)
        if isinstance(value, list) and len(value) != sections:
            found = f"{_entries(len(value))} for {sections + 1} ends"
            yield Clash(f"{key}.{measure}", found, _entries(sections))


def _copper(key: str, winding: w.WindingWritten, written: w.TransformerWritten) -> Iterator[Clash]:
    """Check that a winding without ohms says enough for them to be worked out."""
    if winding.ohms is not None:
        return
    if written.regulation is None:
        yield Clash(key, "no ohms", "ohms of the copper, measured; or regulation of the transformer, from its sheet")
    elif winding is not next(iter(written.windings.values())):
        if winding.amps is None:
            yield Clash(key, "neither ohms nor amps", "ohms of the copper, or amps from the label")
        if winding.turns is not None:
            yield Clash(f"{key}.turns", "turns without ohms", "volts, rated_volts, or ohms of the copper")
    elif not any(one.amps for one in written.windings.values()):
        yield Clash(key, "no ohms, and no secondary with amps", "ohms of the copper, or amps of the secondaries")


def _entries(count: int) -> str:
    return f"{count} {'entry' if count == 1 else 'entries'}"


def _rising(key: str, impedance: list[float] | float | None) -> Iterator[Clash]:
    """Check that each tap lies farther out than the one before: its impedance counts from the first end."""
    for count, (before, after) in enumerate(pairwise(impedance if isinstance(impedance, list) else []), start=1):
        if after <= before:
            wanted = f"more than {before:g} ohm there: each entry counts from the first end of the winding"
            yield Clash(key, f"{after:g} ohm after {before:g} ohm", wanted, (count,))


_CHECKS: Mapping[type[w.PartWritten], Callable[[Any], Iterator[Clash]]] = {
    w.CanWritten: _can,
    w.SwitchWritten: _switch,
    w.CapacitorWritten: _capacitor,
    w.TransformerWritten: _transformer,
}
