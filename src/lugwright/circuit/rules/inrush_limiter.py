"""An inrush limiter carries enough to get hot and no more than a warm chassis lets it."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Part, Thermistor
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.circuit.thermistor import LimiterFit, LimiterHeat, limiter_ohm, limiter_rated_a, settled_ohm
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE, COOL_RULE = "limiter-current", "limiter-cool"
CHASSIS_C = 60.0
LEAST_SHARE = 0.25  # of its rated current: makers' tables and fits begin there
SOURCE = "makers' sheets of disc thermistors: current against temperature, resistance from a quarter of the rating up"


def inrush_limiter(case: Case) -> Iterator[Checked]:
    """Yield the current of every inrush limiter, a fault above its rating, a doubt where it never gets hot."""
    for part, limiter in case.parts(Thermistor):
        amps = max(idle.parts[part.name].rms_a for _, idle in case.states)
        rated, allowed = limiter.hot_a, limiter_rated_a(rated_a=limiter.hot_a, room_c=CHASSIS_C)
        yield Rating(RULE, part.name, f"current, at {CHASSIS_C:.0f} °C in the chassis", amps, allowed, "A", SOURCE)
        if amps > allowed:
            yield case.finding(
                RULE, Grade.FAULT, part,
                what=f"inrush limiter {part.name} is overloaded in a warm chassis",
                found=f"{with_unit(amps, 'A')} RMS at idle",
                wanted=f"at most {with_unit(allowed, 'A')}: {with_unit(rated, 'A')}, less at {CHASSIS_C:.0f} °C",
                do="use a larger one",
                source=SOURCE,
            )  # fmt: skip
        elif not (fit := _fit(limiter)).covers(amps):
            yield from _cool(case, part, limiter, fit, amps)


def _fit(limiter: Thermistor) -> LimiterFit:
    """Return the sheet's fit, or one through its hot resistance alone, with the range it holds in."""
    least = LEAST_SHARE * limiter.hot_a if limiter.fit_from_a is None else limiter.fit_from_a
    factor, power = limiter.fit or (limiter.hot_ohm, 0.0)
    return LimiterFit(factor, power, least, limiter.hot_a)


def _cool(case: Case, part: Part, limiter: Thermistor, fit: LimiterFit, amps: float) -> Iterator[Checked]:
    if limiter.fit is None:
        heat = LimiterHeat.of(cold_ohm=limiter.cold_ohm, hot_ohm=limiter.hot_ohm, hot_a=limiter.hot_a)
        ohm = settled_ohm(heat, amps=amps)
    else:
        ohm = min(limiter_ohm(fit, amps=amps), limiter.cold_ohm)
    yield case.finding(
        COOL_RULE, Grade.DOUBT, part,
        what=f"inrush limiter {part.name} never gets hot: its resistance is not the one computed with",
        found=f"{with_unit(amps, 'A')} at idle; it settles near {with_unit(ohm, 'Ω')}, a drop of "
        f"{with_unit(ohm * amps, 'V')}; the idle was computed with {with_unit(limiter.hot_ohm, 'Ω')}",
        wanted=f"{with_unit(fit.least_a, 'A')} or more, where the maker's figures begin",
        do="use a smaller limiter, or write its resistance at this current as hot_ohm",
        source=SOURCE,
    )  # fmt: skip
