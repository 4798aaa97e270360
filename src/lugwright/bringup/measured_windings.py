"""Windings with their measured copper and no-load volts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lugwright.buildfile.build import Transformer, Winding
from lugwright.log.measured_bodies import AsBuiltBody


def winding_of(values: Transformer, ends: Sequence[str]) -> Winding | None:
    """Return the winding that two leads are of, None where they are of none or of different ones."""
    return next((w for w in values.windings if set(ends) <= set(w.ends) and len(set(ends)) == 2), None)


def measured_ohms(values: Transformer, body: AsBuiltBody, *, mains_v: float) -> tuple[Winding, ...] | None:
    """Return the windings with the copper between two leads as measured.

    Parameters
    ----------
    values : Transformer
        The transformer.
    body : AsBuiltBody
        Two leads, and the resistance between them. [ohm]
    mains_v : float
        Of no account here. [V]

    Returns
    -------
    tuple of Winding, or None
        Sections between the two leads keep their proportion; None where they are not of one winding.

    Source
    ------
    Ohms in series add.
    """
    winding = winding_of(values, body.ends)
    if winding is None:
        return None
    first, last = _sections(winding, body.ends)
    whole = sum(winding.ohms[first:last])
    if whole <= 0.0:
        return None
    ohms = tuple(ohm * body.value / whole if first <= k < last else ohm for k, ohm in enumerate(winding.ohms))
    spread = body.accuracy if last - first == len(ohms) else winding.copper_spread
    return _with(values, winding, replace(winding, ohms=ohms, copper_spread=spread))


def measured_turns(values: Transformer, body: AsBuiltBody, *, mains_v: float) -> tuple[Winding, ...] | None:
    """Return the windings with the turns that go with volts read without load.

    Parameters
    ----------
    values : Transformer
        A power transformer; its turns are the no-load volts at the stated mains.
    body : AsBuiltBody
        Two leads, the volts between them, and the mains volts on the primary at that moment. [V]
    mains_v : float
        The mains the build file states. [V]

    Returns
    -------
    tuple of Winding, or None
        Sections between the two leads keep their proportion; None where they are not of one winding, or of the
        primary, whose turns are what all others are counted in.

    Valid
    -----
    No load on any winding: what the magnetizing current drops in the primary is left out, a few hundredths of a
    percent. A tapped primary is taken to be on those leads whose stated volts come nearest to the stated mains.

    Source
    ------
    Volts go with turns.
    """
    winding = winding_of(values, body.ends)
    primary = next((w for w in values.windings if w.name == "primary"), None)
    if winding is None or primary is None or winding is primary or values.role != "power" or not body.at_mains_v:
        return None
    first, last = _sections(winding, body.ends)
    on_mains = turns_on_mains(primary, mains_v=mains_v)
    scale = body.value * on_mains / body.at_mains_v / sum(winding.turns[first:last])
    turns = tuple(t * scale if first <= k < last else t for k, t in enumerate(winding.turns))
    spread = body.accuracy if last - first == len(turns) else winding.turns_spread
    return _with(values, winding, replace(winding, turns=turns, turns_spread=spread))


def turns_on_mains(primary: Winding, *, mains_v: float) -> float:
    """Return the turns of a primary that the mains are on: of a tapped one those whose volts come nearest to them.

    Parameters
    ----------
    primary : Winding
        Its turns are volts.
    mains_v : float
        The stated mains. [V]

    Returns
    -------
    float
        Sum over neighboring sections. [V]

    Source
    ------
    The build file: a tap is there to be used on its mains.
    """
    count = len(primary.turns)
    spans = (sum(primary.turns[a:b]) for a in range(count) for b in range(a + 1, count + 1))
    return min(spans, key=lambda turns: abs(turns - mains_v))


def _sections(winding: Winding, ends: Sequence[str]) -> tuple[int, int]:
    first, last = sorted(winding.ends.index(end) for end in ends)
    return first, last


def _with(values: Transformer, old: Winding, new: Winding) -> tuple[Winding, ...]:
    return tuple(new if each is old else each for each in values.windings)
