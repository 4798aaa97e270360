"""What eyes, ears and nose tell at a build with its tubes in: every sign it may show, by name."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lugwright.bringup.bench_points import tubes_of
from lugwright.bringup.fitting import output_tubes, rectifier_tubes
from lugwright.buildfile.build import Build, Can, Capacitor, Part, Pot, Speaker
from lugwright.buildfile.mistakes import nearest, printable
from lugwright.errors import ReadingError

BURNS, BURSTS = "what glows red burns within a minute", "an electrolytic that gets warm boils, and bursts"
HOWLS = "the output stage is driven as hard as it goes: turn down and switch off"
GLARES = "the heater burns out, and takes its tube with it"
UNCHANGED, WITH_SIGNAL = "all tubes", "signal"  # steps of the first power-up in which most signs are looked for
_HARM = {"red plate": BURNS, "red screen": BURNS, "hot": BURSTS, "howl": HOWLS, "heater bright": GLARES}
# Other words for a sign that has no part.
_ALSO = {
    "no sound": "silent", "mute": "silent", "dead silent": "silent", "quiet": "faint", "buzz": "hum", "hums": "hum",
    "squeal": "howl", "howls": "howl", "oscillates": "howl",
}  # fmt: skip
_LOOK = {
    "heater dark": "look whether the heater of {part} stays dark",
    "heater dim": "look whether the heater of {part} glows dimmer than its neighbors",
    "heater bright": "look whether the heater of {part} glares: far brighter than its neighbors",
    "red plate": "lights out: look whether the plate of {part} glows red, for a few seconds only",
    "red screen": "lights out: look whether the wires of the screen grid of {part} glow, for a few seconds only",
    "hot": "plug out, capacitors below 60 V: the back of a finger near {part}, is it warmer than its neighbors?",
    "rings": "tap {part} with a pencil and listen: does it ring in the loudspeaker?",
    "backward": "turn {part} slowly up and listen: does it work backward?",
    "hum": "nothing plugged in, volume down: listen whether it hums louder than the room",
    "howl": "hand on the switch: listen whether it howls as the tubes warm up",
    "silent": "guitar in, volume up: listen whether nothing at all comes",
    "faint": "guitar in, volume up: listen whether it is far too faint",
}


@dataclass(frozen=True)
class Sign:
    """One thing that may be seen, heard, felt or smelled, and what to do to find out."""

    name: str  # "heater dark V2", "hum"
    kind: str  # the same without the part
    part: str  # "" where it is no one part's
    look: str
    harm: str = ""  # what goes on burning while it is there


def signs_of(build: Build) -> tuple[Sign, ...]:
    """Return every sign that a build may show.

    Parameters
    ----------
    build : Build
        The amplifier.

    Returns
    -------
    tuple of Sign
        Tubes first, then capacitors and pots, then what is heard.
    """
    return tuple(_signs(build))


def _signs(build: Build) -> Iterator[Sign]:
    outputs, rectifiers = ({part.name for part in some(build)} for some in (output_tubes, rectifier_tubes))
    for part in tubes_of(build):
        for kind in ("heater dark", "heater dim", "heater bright"):
            yield _sign(kind, part.name)
        if part.name in outputs:
            yield _sign("red plate", part.name)
            yield _sign("red screen", part.name)
        if part.name not in rectifiers:
            yield _sign("rings", part.name)
    for part in build.parts:
        if _is_electrolytic(part):
            yield _sign("hot", part.name)
        elif isinstance(part.values, Pot) and not _is_bias(part):
            yield _sign("backward", part.name, f'{part.name} "{part.values.label}"' if part.values.label else part.name)
    yield _sign("hum")
    if any(isinstance(part.values, Speaker) for part in build.parts):
        for kind in ("howl", "silent", "faint"):
            yield _sign(kind)


def _sign(kind: str, part: str = "", words: str = "") -> Sign:
    return Sign(f"{kind} {part}".strip(), kind, part, _LOOK[kind].format(part=words or part), _HARM.get(kind, ""))


def _is_electrolytic(part: Part) -> bool:
    return isinstance(part.values, Can) or (isinstance(part.values, Capacitor) and part.values.polar)


def _is_bias(part: Part) -> bool:
    return "bias" in getattr(part.values, "label", "").casefold()


def sign_named(text: str, signs: Sequence[Sign]) -> Sign:
    """Return the sign that is meant, in any order of its words.

    Raises
    ------
    ReadingError
        The build has no such sign; the nearest name is told.
    """
    plain = " ".join(text.replace(",", " ").casefold().split())
    plain = _ALSO.get(plain, plain)
    words = sorted(plain.split(" "))
    found = next((sign for sign in signs if sorted(sign.name.casefold().split(" ")) == words), None)
    if found is not None:
        return found
    close = nearest(plain, [sign.name for sign in signs])
    raise ReadingError(
        what=f"this build has no sign {printable(text)[:60]!r}",
        found=printable(text)[:60],
        wanted='a sign such as "heater dark V2", "red plate V5", "hot C1", "hum"',
        do=f"write {close!r}" if close else "look at the signs: lugwright trace FILE --signs",
    )
