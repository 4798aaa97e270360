"""Silicon diodes stand what lies across them backward, with room to spare, and carry their current."""

from __future__ import annotations

from collections.abc import Iterator
from operator import itemgetter

from lugwright.buildfile.build import Bridge, Diode, Part
from lugwright.circuit.elements import Junction
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import MAINS_HIGH, Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

INVERSE_RULE, CURRENT_RULE, ZENER_RULE = "diode-inverse-volts", "diode-current", "zener-watts"
SILICON_SHARE = 0.8
INVERSE_SOURCE = "rated volts as stated; a fifth to spare on high mains is bench practice, from memory"
STATED = "rating as the build file states it"
ZENER_SHARE = 0.5


def _silicon(case: Case) -> Iterator[tuple[Part, Diode | Bridge]]:
    """Yield every diode that is not a Zener, and every bridge."""
    for part, diode in case.parts(Diode):
        if diode.zener_v is None:
            yield part, diode
    yield from case.parts(Bridge)


def _junctions(case: Case, part: Part) -> list[str]:
    return [junction.name for junction in case.elements(part, Junction)]


def diode_inverse(case: Case) -> Iterator[Checked]:
    """Yield the inverse peak of every silicon diode, and a finding where it is too near its rating."""
    for part, values in _silicon(case):
        for name in _junctions(case, part):
            volts = max(idle.parts[name].inverse_v for _, idle in case.states)
            yield Rating(INVERSE_RULE, name, "inverse volts, mains +10 %", volts * MAINS_HIGH, values.inverse_v, "V",
                         INVERSE_SOURCE)  # fmt: skip
            if volts * MAINS_HIGH > SILICON_SHARE * values.inverse_v:
                breaks = volts * MAINS_HIGH > values.inverse_v
                yield case.finding(
                    INVERSE_RULE, Grade.FAULT if breaks else Grade.DOUBT, part,
                    what=f"diode {name} {'breaks down' if breaks else 'has little to spare'} backward",
                    found=f"{with_unit(volts, 'V')} peak, {with_unit(volts * MAINS_HIGH, 'V')} on high mains",
                    wanted=f"a diode for {with_unit(volts * MAINS_HIGH / SILICON_SHARE, 'V')} or more, this one stands "
                    f"{with_unit(values.inverse_v, 'V')}",
                    do="use a diode with a higher rating, or two in series",
                    source=INVERSE_SOURCE,
                )  # fmt: skip


def diode_current(case: Case) -> Iterator[Checked]:
    """Yield the mean current of every silicon diode, and a fault above its rating."""
    for part, values in _silicon(case):
        for name in _junctions(case, part):
            amps = max(idle.parts[name].amps for _, idle in case.states)
            yield Rating(CURRENT_RULE, name, "mean current", amps, values.amps, "A", STATED)
            if amps > values.amps:
                yield case.finding(
                    CURRENT_RULE, Grade.FAULT, part,
                    what=f"diode {name} carries too much",
                    found=f"{with_unit(amps, 'A')} mean",
                    wanted=f"at most {with_unit(values.amps, 'A')}",
                    do="use a stronger diode",
                    source=STATED,
                )  # fmt: skip


def zener_heat(case: Case) -> Iterator[Checked]:
    """Yield the heat of every Zener diode, and a finding above half and above the whole of its rating."""
    for part, values in case.parts(Diode):
        if values.zener_v is None:
            continue
        heat_w, state = max(((idle.parts[part.name].watts, words) for words, idle in case.states), key=itemgetter(0))
        yield Rating(ZENER_RULE, part.name, f"heat, {state}", heat_w, values.watts, "W", STATED)
        if heat_w > ZENER_SHARE * values.watts:
            burns = heat_w > values.watts
            yield case.finding(
                ZENER_RULE, Grade.FAULT if burns else Grade.DOUBT, part,
                what=f"Zener diode {part.name} {'is overloaded' if burns else 'runs hot'} {state}",
                found=f"{with_unit(heat_w, 'W')} in a {values.watts:g} W part",
                wanted=f"at most {with_unit(ZENER_SHARE * values.watts, 'W')}, half of its rating",
                do="use a larger one on a piece of metal, or more resistance before it",
                source=STATED,
            )  # fmt: skip
