"""A circuit on paper: stages with their lines, designators that never meet, extra parts kept in hand."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

NUMBERS_APART = 100
PLAIN_FROM = 60  # plain parts of a stage start here, above those its ready-made stage numbers
PLAIN_LETTERS = ("R", "C", "J", "CR", "S", "L", "DS", "W")


@dataclass
class StageText:
    """One stage as it is written, with room for more parts."""

    key: str
    base: int
    lines: list[str]
    tables: list[str] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)

    def part(self, letters: str, text: str) -> str:
        """Write one plain part and return its designator."""
        number = self.counts.get(letters, PLAIN_FROM) + 1
        self.counts[letters] = number
        name = f"{letters}{self.base + number}"
        self.lines.append(f"{name} = {{ {text} }}")
        return name

    def resistor(self, value: str, a: str, b: str, watts: float = 0.5) -> str:
        return self.part("R", f'value = "{value}", watts = {watts}, ends = ["{a}", "{b}"]')

    def capacitor(self, value: str, volts: int, a: str, b: str) -> str:
        return self.part("C", f'value = "{value}", volts = {volts}, ends = ["{a}", "{b}"]')

    def pot(self, value: str, label: str, a: str, wiper: str, b: str) -> str:
        keys = f'kind = "pot", label = "{label}", value = "{value}", taper = "audio"'
        return self.part("R", f'{keys}, ends = ["{a}", "{wiper}", "{b}"]')


@dataclass(frozen=True)
class Extra:
    """A part or a few that an amplifier of this kind may have or not."""

    stage: StageText
    parts: tuple[tuple[str, str], ...]  # letters, text


@dataclass
class Sheet:
    """Everything drawn so far."""

    random: random.Random
    title: str
    mains_v: int
    bare: bool = False  # as few parts as a stage can have
    tubes: dict[str, str] = field(default_factory=dict)
    stages: list[StageText] = field(default_factory=list)
    extras: list[Extra] = field(default_factory=list)
    joints: int = 0

    def tube(self, kind: str) -> str:
        name = f"V{len(self.tubes) + 1}"
        self.tubes[name] = kind
        return name

    def stage(self, key: str, duty: str, **keys: str) -> StageText:
        base = NUMBERS_APART * (len(self.stages) + 1)
        lines = [f'title = "{key.replace("_", " ").capitalize()}"', f'duty = "{duty}"']
        if keys:
            lines += [f"numbers = {base}", *(f"{name} = {value}" for name, value in keys.items())]
        stage = StageText(key, base, lines)
        self.stages.append(stage)
        return stage

    def joint(self, word: str) -> str:
        self.joints += 1
        return f"{word} {self.joints}"

    def may_have(self, stage: StageText, *parts: tuple[str, str]) -> None:
        self.extras.append(Extra(stage, parts))

    def add_extras(self, wanted: int) -> int:
        """Write extra parts, drawn in any order, until so many are there or none is left; return how many."""
        self.random.shuffle(self.extras)
        written = 0
        while self.extras and written < wanted:
            extra = self.extras.pop()
            for letters, text in extra.parts:
                extra.stage.part(letters, text)
            written += len(extra.parts)
        return written

    def text(self) -> str:
        hertz = 60 if self.mains_v == 120 else 50
        head = [
            "format = 1",
            "",
            "[build]",
            f'title = "{self.title}"',
            f"mains = {{ volts = {self.mains_v}, hertz = {hertz} }}",
        ]
        tubes = ["", "[tubes]", *(f'{name} = "{kind}"' for name, kind in self.tubes.items())]
        stages: list[str] = []
        for stage in self.stages:
            stages += ["", f"[stage.{stage.key}]", *stage.lines]
            for table in stage.tables:
                stages += ["", table]
        return "\n".join([*head, *tubes, *stages, ""])
