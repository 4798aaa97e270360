"""Tables of the circuit: parts, idle, tubes, windings, ratings, findings, figures from memory."""

from __future__ import annotations

from collections.abc import Iterable

from lugwright.buildfile.build import Bond, Build, Part, Stage, Tube
from lugwright.buildfile.buying_words import buying_words, drawer
from lugwright.buildfile.part_words import value_words
from lugwright.circuit.operating import Idle, PartIdle, Rating
from lugwright.circuit.rules.mains_swing import MainsRow
from lugwright.documents.book.blocks import Cell, Column, Quantity, Table
from lugwright.documents.book.records import Unconfirmed
from lugwright.sources import Source


def parts_table(build: Build) -> Table:
    """Return every part with its value and what each end is joined to, in file order."""
    columns = (
        Column("part"), Column("kind", in_book=False), Column("value", grow=4), Column("stage", grow=2),
        Column("ends", grow=5), Column("note", grow=2),
    )  # fmt: skip
    titles = {stage.name: stage.title for stage in build.stages}
    rows = tuple(
        (p.name, p.kind, value_words(p.values), titles.get(p.stage, p.stage), end_words(p), p.note) for p in build.parts
    )
    return Table(columns, rows)


def end_words(part: Part) -> str:
    """Return the terminals of a part with their joints: ``1 = B+1, 2 = V1a.plate``."""
    return ", ".join(f"{str(t).partition('.')[2] or t.name} = {t.joint}" for t in part.terminals)


COUNTER = (  # kinds in the order of the list
    "transformer", "choke", "tube", "socket", "terminal strip", "can", "capacitor", "resistor", "pot", "diode",
    "bridge", "switch", "jack", "fuse", "lamp", "thermistor", "inlet", "tank", "speaker",
)  # fmt: skip


def shopping_table(build: Build) -> Table:
    """Return parts of one kind and value together, with how many there are, sorted as drawers are.

    A tube and its socket are two things to buy; labels do not part what is the same over the counter.
    """
    groups: dict[tuple[int, tuple[float, ...], str, str], list[str]] = {}
    for kind, order, value, name in (thing for part in build.parts for thing in _to_buy(part)):
        groups.setdefault((COUNTER.index(kind), order, kind, value), []).append(name)
    for strip in build.strips:
        feet = "foot at lug " + ", ".join(str(foot) for foot in strip.feet) if strip.feet else "no foot"
        key = (COUNTER.index("terminal strip"), (float(strip.lugs),), "terminal strip")
        groups.setdefault((*key, f"{strip.lugs} lugs, {strip.type}, {feet}"), []).append(strip.name)
    columns = (Column("count", kind="number", digits=0), Column("kind"), Column("value", grow=5),
               Column("parts", grow=2))  # fmt: skip
    rows = ((float(len(groups[key])), key[2], key[3], _in_order(groups[key])) for key in sorted(groups))
    return Table(columns, tuple(rows))


def _in_order(names: list[str]) -> str:
    return ", ".join(sorted(names, key=lambda name: (len(name), name)))  # R5 before R13


def _to_buy(part: Part) -> tuple[tuple[str, tuple[float, ...], str, str], ...]:
    """Return kind, order within the kind, what to ask for and for whom."""
    if isinstance(part.values, Bond):
        return ()  # a wire off the reel
    if isinstance(part.values, Tube):
        return ("tube", (), part.values.type.name, part.name), ("socket", (), part.values.socket, part.name)
    return ((part.kind, drawer(part.values), buying_words(part.values), part.name),)


def idle_table(idle: Idle) -> Table:
    """Return mean and alternating volts of every joint against ground."""
    columns = (
        Column("joint"), Column("dc", "V", "number", 2), Column("AC or ripple, rms", "V", "number", 3),
        Column("peak to peak", "V", "number", 3),
    )  # fmt: skip
    return Table(
        columns,
        tuple((name, j.volts, j.ripple_rms_v, j.ripple_peak_to_peak_v) for name, j in sorted(idle.joints.items())),
    )


def stage_table(build: Build, stage: Stage, idle: Idle) -> Table:
    """Return what each part of a stage carries at idle."""
    names = {part.name for part in build.parts if part.name in stage.parts or part.stage == stage.name}
    return _carried(build, [p for p in idle.parts.values() if p.part in names])


def part_idle_table(build: Build, idle: Idle) -> Table:
    """Return what every two-lead part carries at idle."""
    return _carried(build, idle.parts.values())


def _carried(build: Build, parts: Iterable[PartIdle]) -> Table:
    columns = (
        Column("part"), Column("value"), Column("mean", "V", "number", 2), Column("mean", "mA", "number", 3),
        Column("rms", "mA", "number", 3), Column("highest", "V", "number", 1), Column("power", "W", "number", 3),
    )  # fmt: skip
    rows = tuple(
        (p.name, _value_of(build, p.part), p.volts, p.amps * 1e3, p.rms_a * 1e3, p.peak_v, p.watts) for p in parts
    )
    return Table(columns, rows)


def _value_of(build: Build, name: str) -> str:
    part = build.part_by_name.get(name)
    if part and isinstance(part.values, Tube):
        return part.values.type.name
    return value_words(part.values) if part else ""


def tubes_table(build: Build, idle: Idle) -> Table:
    """Return the idle of every tube section and rectifier plate."""
    columns = (
        Column("tube"), Column("type", grow=1), Column("plate to cathode", "V", "number", 1),
        Column("grid to cathode", "V", "number", 2), Column("screen to cathode", "V", "number", 1),
        Column("plate", "mA", "number", 2), Column("screen", "mA", "number", 2),
        Column("plate heat", "W", "number", 2), Column("screen heat", "W", "number", 2),
        Column("gm", "mA/V", "number", 2), Column("rp", "kΩ", "number", 1),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for tube in idle.tubes.values():
        part = build.part_by_name.get(tube.part)
        values = part.values if part else None
        kind = values.type.name if isinstance(values, Tube) else ""
        screened = tube.screen_to_cathode_v is not None
        rows.append((
            tube.name, kind, tube.plate_to_cathode_v, tube.grid_to_cathode_v if tube.amplifies else None,
            tube.screen_to_cathode_v, tube.plate_a * 1e3, tube.screen_a * 1e3 if screened else None, tube.plate_w,
            tube.screen_w if screened else None, tube.transconductance_a_per_v * 1e3 if tube.amplifies else None,
            tube.plate_resistance_ohm / 1e3 if tube.amplifies else None,
        ))  # fmt: skip
    return Table(columns, tuple(rows))


def windings_table(idle: Idle) -> Table:
    """Return volts and current of every transformer winding against what it is rated for."""
    columns = (
        Column("winding"), Column("rms", "V", "number", 1), Column("rms", "A", "number", 3),
        Column("peak", "A", "number", 3), Column("rated", "A", "number", 3),
    )  # fmt: skip
    return Table(columns, tuple((w.name, w.rms_v, w.rms_a, w.peak_a, w.rated_a) for w in idle.windings.values()))


def mains_table(rows: tuple[MainsRow, ...]) -> Table:
    """Return supply, heaters and warm tubes with mains 10 percent low and high."""
    columns = (
        Column("reading", grow=2), Column("unit"), Column("mains -10 %", kind="number", digits=3),
        Column("nominal", kind="number", digits=3), Column("mains +10 %", kind="number", digits=3),
        Column("at most", kind="number", digits=2),
    )  # fmt: skip
    return Table(columns, tuple((r.reading, r.unit, r.low, r.nominal, r.high, r.limit) for r in rows))


def ratings_table(ratings: tuple[Rating, ...]) -> Table:
    """Return every figure held against its limit, the tightest first."""
    columns = (
        Column("part"), Column("what", grow=3), Column("value", kind="quantity"), Column("limit", kind="quantity"),
        Column("unit", in_book=False), Column("limit is", in_book=False),
        Column("used", "%", "number", 0), Column("rule", in_book=False), Column("source"),
    )  # fmt: skip
    rows = tuple(
        (r.part, r.what, Quantity(r.value, r.unit), Quantity(r.limit, r.unit, "least " if r.at_least else "most "),
         r.unit, "least" if r.at_least else "most", r.share * 100.0, r.rule, r.source)
        for r in sorted(ratings, key=lambda r: (-r.share, r.part, r.rule, r.what))
    )  # fmt: skip
    return Table(columns, rows)


def numbered_sources(table: Table) -> tuple[Table, tuple[str, ...]]:
    """Return the table with its last cells as numbers of a list of sources, and that list."""
    numbers: dict[str, int] = {}
    rows = []
    for row in table.rows:
        source = str(row[-1] or "")
        number = f"[{numbers.setdefault(source, len(numbers) + 1)}]" if source else ""
        rows.append((*row[:-1], number))
    return Table(table.columns, tuple(rows)), tuple(numbers)


def unconfirmed_table(figures: tuple[Unconfirmed, ...]) -> Table:
    """Return the figures from memory with the sheet they are remembered from."""
    columns = (
        Column("group", in_book=False), Column("of", grow=2), Column("used by", grow=3), Column("figures", grow=5),
        Column("remembered from", grow=4),
    )  # fmt: skip
    rows = tuple((f.group, f.name, ", ".join(f.used_by), f.what, _remembered(f.source)) for f in figures)
    return Table(columns, rows)


def _remembered(source: Source) -> str:
    """Return a source in words; the section it stands in says already that it is from memory."""
    return str(source).removesuffix(" (from memory)").removeprefix("from memory: ")
