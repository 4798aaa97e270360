"""One stage of a build file: its parts as written, those of a ready-made stage worked out first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from lugwright.buildfile.locate import KeyPath
from lugwright.buildfile.mistakes import Mistakes
from lugwright.buildfile.ready_made import READY_MADE
from lugwright.buildfile.ready_made.maker import DESIGNATOR, OWN_KEYS, Maker

MOST_NUMBERS = 9900  # a designator has at most four digits
DUTIES = (
    "input",
    "gain",
    "tone",
    "inverter",
    "output",
    "supply",
    "bias",
    "heater",
    "reverb",
    "tremolo",
    "mains",
    "other",
)


@dataclass
class StageParts:
    """A stage's parts with the paths they were written at, and the joints it grows together."""

    name: str
    title: str
    duty: str
    path: KeyPath
    parts: dict[str, tuple[Any, KeyPath]] = field(default_factory=dict)
    joined: list[tuple[Any, KeyPath]] = field(default_factory=list)
    heaters: list[tuple[str, str, str]] = field(default_factory=list)


def stage_parts(name: str, raw: Any, numbers: int, ready: Mapping[str, Any], mistakes: Mistakes) -> StageParts:
    """Return the parts of one stage; ``numbers`` is where its designators start unless it says so."""
    path: KeyPath = ("stage", name)
    stage = StageParts(name, name, "other", path)
    if not isinstance(raw, dict):
        mistakes.add(
            "bad-value",
            path,
            what=f"stage {name} is not a table",
            found=repr(raw)[:60],
            wanted="[stage.NAME]",
            do="write it as a section",
        )
        return stage
    stage.title = raw["title"] if isinstance(raw.get("title"), str) else name.replace("_", " ").capitalize()
    used = set(OWN_KEYS)
    if "use" in raw:
        used |= _ready_made(stage, raw, numbers, ready, mistakes)
    _duty(stage, raw, mistakes)
    _plain_words(stage, raw, mistakes)
    for key, value in raw.items():
        if DESIGNATOR.fullmatch(key):
            _own_part(stage, key, value, mistakes)
        elif key not in used:
            _unknown_key(stage, key, used, mistakes)
    joined = raw.get("joined", [])
    for count, group in enumerate(joined if isinstance(joined, list) else [joined]):
        stage.joined.append((group, (*path, "joined", count)))
    return stage


def _duty(stage: StageParts, raw: Mapping[str, Any], mistakes: Mistakes) -> None:
    duty = raw.get("duty", stage.duty)
    if duty in DUTIES:
        stage.duty = duty
        return
    close = mistakes.nearest(str(duty), DUTIES)
    mistakes.add(
        "bad-value",
        (*stage.path, "duty"),
        what=f"stage {stage.name}: unknown duty",
        found=repr(duty),
        wanted=f"one of {', '.join(DUTIES)}",
        do=f"write {close!r}" if close else "choose one",
    )


def _plain_words(stage: StageParts, raw: Mapping[str, Any], mistakes: Mistakes) -> None:
    title, numbers = raw.get("title", ""), raw.get("numbers", 1)
    if not isinstance(title, str):
        _refuse_word(stage, "title", title, "text in quotes", mistakes)
    if isinstance(numbers, bool) or not isinstance(numbers, int) or not 0 <= numbers <= MOST_NUMBERS:
        _refuse_word(stage, "numbers", numbers, f"a whole number from 0 to {MOST_NUMBERS}, e.g. 100", mistakes)


def _refuse_word(stage: StageParts, key: str, found: object, wanted: str, mistakes: Mistakes) -> None:
    mistakes.add(
        "bad-value",
        (*stage.path, key),
        what=f"stage {stage.name}: {key} cannot be used",
        found=f"{key} = {found!r}"[:60],
        wanted=wanted,
        do="correct that value",
    )


def _own_part(stage: StageParts, key: str, value: Any, mistakes: Mistakes) -> None:
    path = (*stage.path, key)
    if key in stage.parts and isinstance(value, dict):
        made, _ = stage.parts[key]
        stage.parts[key] = ({**made, **value}, path)
    else:
        stage.parts[key] = (value, path)


def _unknown_key(stage: StageParts, key: str, used: set[str], mistakes: Mistakes) -> None:
    close = mistakes.nearest(key, used)
    mistakes.add(
        "unknown-key",
        (*stage.path, key),
        what=f"stage {stage.name}: unknown key {key!r}",
        found=key,
        wanted=f"a designator such as R3, or one of {', '.join(sorted(used))}",
        do=f"write {close!r}" if close else "take it out, or correct its name",
    )


def _ready_made(
    stage: StageParts, raw: Mapping[str, Any], numbers: int, ready: Mapping[str, Any], mistakes: Mistakes
) -> set[str]:
    """Work out ``use``; return the keys it knows."""
    table = _inherited(stage, raw, ready, mistakes)
    use = table.get("use")
    if use is None:  # a ring, named already
        return {key for key in raw if not DESIGNATOR.fullmatch(key)}
    if use not in READY_MADE:
        known = [*READY_MADE, *ready]
        close = mistakes.nearest(str(use), known)
        mistakes.add(
            "unknown-use",
            (*stage.path, "use"),
            what=f"stage {stage.name}: unknown ready-made stage",
            found=repr(use),
            wanted=f"one of {', '.join(known)}",
            do=f"write {close!r}" if close else "choose one, or write the parts one by one",
        )
        return {key for key in raw if not DESIGNATOR.fullmatch(key)}
    make, stage.duty = READY_MADE[use]
    start = raw.get("numbers", numbers)
    maker = Maker(stage.name, table, start if isinstance(start, int) and 0 <= start <= MOST_NUMBERS else numbers)
    make(maker)
    for error in maker.missing:
        where = (*stage.path, error.key) if error.key in raw else stage.path
        mistakes.add(
            "missing-key",
            where,
            what=f"stage {stage.name} ({use}): {error.key} is missing or cannot be used",
            found=error.found,
            wanted=error.wanted,
            do=error.do,
        )
    for name, keys in maker.parts.items():
        role = maker.roles[name]
        written = (*stage.path, *role)
        stage.parts[name] = (keys, (*stage.path, name))
        mistakes.aliases[(*stage.path, name)] = written if role[0] in raw else stage.path
    stage.joined += [(group, (*stage.path, "use")) for group in maker.joined]
    stage.heaters += maker.heaters
    return maker.used


def _inherited(
    stage: StageParts, raw: Mapping[str, Any], ready: Mapping[str, Any], mistakes: Mistakes
) -> dict[str, Any]:
    """Return the stage's keys on top of those of the builder's own [ready.NAME] it uses, however deep."""
    table = dict(raw)
    seen: list[str] = []
    while isinstance(use := table.get("use"), str) and isinstance(ready.get(use), dict):
        if use in seen:
            mistakes.add(
                "cyclic-use",
                (*stage.path, "use"),
                what=f"stage {stage.name}: ready-made stages use each other in a ring",
                found=" -> ".join([*seen, use]),
                wanted="a chain that ends at one of the program's own",
                do="let one of them use a stage of the program",
            )
            table["use"] = None
            break
        seen.append(use)
        below = dict(ready[use])
        table = {**below, **table, "use": below.get("use")}
    return table
