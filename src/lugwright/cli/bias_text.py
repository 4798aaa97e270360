"""The idle setting as plain text: as computed, and as it was read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from lugwright.cli.printing import table
from lugwright.quantities import rkm, with_unit

if TYPE_CHECKING:
    from lugwright.bringup.idle_results import Advice, Figure, IdleMeasured, Match, ReachRow, TubeAtIdle, TubeState
    from lugwright.bringup.results import IdleSetting

MILLIVOLTS_BELOW_V = 1.0


def setting_text(setting: IdleSetting) -> str:
    """Return the idle setting as computed."""
    rows = (
        (
            row.tube,
            row.cathode_point,
            with_unit(row.cathode_v, "V") if row.cathode_reading_mv is None else f"{row.cathode_reading_mv:.1f} mV",
            with_unit(row.plate_a, "A"),
            with_unit(row.plate_to_cathode_v, "V"),
            f"{row.plate_w:.1f} W of {row.plate_limit_w:g} W",
            f"{row.share:.0%} ({row.low_share:.0%} to {row.high_share:.0%})",
        )
        for row in setting.rows
    )
    head = ("tube", "read at", "reads", "plate", "plate to cathode", "plate heat", "share (tube spread)")
    blocks = [f"Method: {setting.method}. Target: {setting.target}", table(head, rows, right="llrrrr")]
    if setting.bias_range:
        travel = ((c, f"{share:.0%}", f"{grid_v:.1f} V", f"{ma:.1f} mA") for c, share, grid_v, ma in setting.bias_range)
        blocks.append(table(("control", "rotation", "grid", "plate of one tube"), travel, right="lrrr"))
    if setting.reach:
        blocks.append(_reach(setting.reach))
    if setting.advice is not None:
        blocks += _advice(setting.advice)
    return "\n\n".join([*blocks, *(f"caution: {text}" for text in setting.cautions)])


def measured_text(title: str, measured: IdleMeasured, cautions: tuple[str, ...]) -> str:
    """Return what readings at idle say, and what to do next."""
    when = f" on {measured.read_on} UTC, by the log" if measured.read_on else ""
    blocks = [f"{title} at idle, as read{when}: {', '.join(measured.readings)}", *_figures(measured)]
    if measured.trace:
        blocks.append(f"Plug out. To look for the fault: {measured.trace}")
    return "\n\n".join([*blocks, *(f"caution: {text}" for text in cautions)])


def _figures(measured: IdleMeasured) -> Iterator[str]:
    if not measured.tubes:
        yield "From these readings no current or watt is worked out: see the findings."
        return
    yield _tubes(measured.tubes)
    yield "\n".join(_where_from(measured))
    if measured.match is not None:
        yield _match(measured.match)
    stands = [f"{name} stands at about {share:.0%} of its travel" for name, share in measured.controls]
    yield f"By these readings {', '.join([*stands, f'the mains is at {measured.mains_share:.1%} of what is stated'])}."
    if measured.advice is None:
        yield "No turn is advised: these readings fit no setting of this circuit."
    else:
        yield from _advice(measured.advice)


def _figure(figure: Figure, unit: str) -> str:
    scale, name, digits = {"mA": (1e3, "mA", 1), "V": (1.0, "V", 0), "W": (1.0, "W", 1)}[unit]
    return f"{scale * figure.value:.{digits}f} ± {scale * figure.off:.{digits}f} {name}"


def _tubes(tubes: tuple[TubeAtIdle, ...]) -> str:
    rows = (
        (
            t.tube if t.read else f"{t.tube} (not read)",
            _figure(t.cathode_a, "mA"),
            _figure(t.screen_a, "mA"),
            _figure(t.plate_a, "mA"),
            _figure(t.plate_to_cathode_v, "V"),
            f"{_figure(t.plate_w, 'W')} of {t.plate_limit_w:g} W",
            f"{t.share.value:.0%} ± {t.share.off:.0%}",
            f"{t.screen_w:.1f} W" + (f" of {t.screen_limit_w:g} W" if t.screen_limit_w else ""),
        )
        for t in tubes
    )
    head = ("tube", "cathode", "screen", "plate", "plate to cathode", "plate heat", "share", "screen heat")
    return table(head, rows, right="lrrrrrrr")


def _where_from(measured: IdleMeasured) -> Iterator[str]:
    for t in measured.tubes:
        yield (
            f"{t.tube}: cathode current from {t.cathode_from}; screen current from {t.screen_from}; plate current from "
            f"{t.plate_from}; plate volts {t.plate_v_from}; {t.strength:.0%} of its type's average"
        )
    for other in measured.others:
        yield f"{other.tube} plate current from {other.method}: {_figure(other.plate_a, 'mA')}"


def _match(match: Match) -> str:
    amps = ", ".join(f"{name} {1e3 * a:.1f} mA" for name, a in zip(match.tubes, match.plate_a, strict=True))
    return (
        f"Match: {amps}; {match.apart:.0%} apart, {match.words}. {1e3 * match.left_over_a:.1f} mA do not cancel in the "
        "output transformer."
    )


def _reach(rows: tuple[ReachRow, ...]) -> str:
    lines = (
        (
            row.end,
            row.tubes,
            f"{row.mains:.0%}",
            "-" if row.grid_v is None else f"{row.grid_v:.1f} V",
            "does not settle" if row.share is None else f"{row.share:.0%}",
            "-" if row.b_plus_v is None else f"{row.b_plus_v:.0f} V",
        )
        for row in rows
    )
    return table(("all controls at", "tubes", "mains", "grid", "hottest plate", "B+"), lines, right="llrrrr")


def _advice(advice: Advice) -> Iterator[str]:
    target = advice.target
    aim = f"Aim: {target.aim:.0%} of the plate limit for the hottest tube ({target.kind})."
    if advice.high_mains_share is not None and advice.set_to:
        aim += f" Set so, mains 10 % high brings it to {advice.high_mains_share:.0%}."
    yield f"{aim} {advice.as_it_is}".rstrip()
    if advice.set_to:
        yield "\n".join(_way(advice))
        yield _turns(advice)
    if advice.resistors:
        yield _resistors(advice)
    yield "\n".join(["Where a shortcut misleads:", *(f"- {words}" for words in advice.misleading)])


def _way(advice: Advice) -> Iterator[str]:
    for each in advice.set_to:
        reads = ", ".join(f"{_reads(s)} at {s.tube} ({s.share:.0%}, grid {s.grid_v:.1f} V)" for s in each.tubes)
        words = "leave it where it is" if each.words.startswith("leave") else f"turn it {each.words}"
        if each.reached:
            yield f"{each.control}, from {each.rotation:.0%} to {each.wanted:.0%}: {words}; then read {reads}"
        else:
            yield f"{each.control}: the aim is out of its reach; at {each.wanted:.0%} read {reads}"


def _reads(state: TubeState) -> str:
    volts = state.cathode_reading_v
    return f"{1e3 * volts:.1f} mV" if abs(volts) < MILLIVOLTS_BELOW_V else f"{volts:.2f} V"


def _turns(advice: Advice) -> str:
    names = [state.tube for state in advice.turns[0].tubes] if advice.turns else []
    rows = (
        (
            row.control,
            row.turn,
            f"{row.rotation:.0%}",
            f"{row.b_plus_v:.1f} V",
            *(f"{s.grid_v:.1f} V, {_reads(s)}, {s.share:.0%}" for s in row.tubes),
        )
        for row in advice.turns
    )
    head = ("control", "turned", "to", "B+", *(f"{name}: grid, reads, share" for name in names))
    return table(head, rows, right="llrr" + "r" * len(names))


def _resistors(advice: Advice) -> str:
    rows = (
        (
            rkm(row.ohm, "ohm") + (" (now)" if row.now else "") + (" (nearest the aim)" if row.best else ""),
            f"{row.cathode_v:.1f} V",
            with_unit(row.plate_a, "A"),
            f"{row.share:.0%}",
            f"{row.resistor_w:.2f} W, fit {2.0 * row.resistor_w:.1f} W or more",
        )
        for row in advice.resistors
    )
    names = " and ".join(advice.resistors[0].resistors)
    return table(
        (f"cathode resistor {names}", "cathode", "hottest plate", "share", "its own heat"), rows, right="lrrrl"
    )
