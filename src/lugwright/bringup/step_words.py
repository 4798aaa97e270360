"""What to do, when to stop and what to beware of at each stage of the first power-up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lugwright.bringup.fitting import COLD, ONE_TUBE
from lugwright.bringup.results import Reading
from lugwright.quantities import with_unit

TITLES = {
    "no tubes": "Every tube out",
    "heaters": "Heater volts at every socket, tubes still out",
    "rectifier": "Rectifier tube in",
    "bias": "Negative bias, before any output tube",
    "small tubes": "Small tubes in",
    COLD: "Output tubes in",
    "all tubes": "Output tubes in",
}
MOST_LIMITS = 6  # in the box; every one of them stands at its reading
ALL_IN = (COLD, "all tubes")
SAFE_BELOW_V, SAFE_BELOW_AC_V = 60.0, 25.0
COOL_HEATER_SHARE = 0.9  # makers ask for 90 to 110 percent, from memory
_STOP = {
    "no tubes": "B+ or a heater winding is outside its window: the next step would carry the mistake further.",
    "rectifier": "A blue flash or an arc inside the rectifier tube, or B+ that climbs past its window.",
    "heaters": "A heater reading outside its window: a tube in that socket would burn out or never warm.",
    "small tubes": "A plate that stands at the full B+ or near zero, or a cathode outside its window.",
}
ALWAYS = (
    "The voltages in this chassis kill, and they stay after the plug is out. If you are tired, alone or in a hurry, "
    "leave it for tomorrow. Your local electrical code and a licensed electrician have the last word on the mains "
    "side.",
    "One hand on the meter, the other in your pocket. Clip the black lead to circuit ground before you plug in; clip "
    "the red lead on with the plug out wherever you can.",
)
HANDS_IN = (
    "Before a hand goes in: power switch off, plug out of the wall, wait a minute, discharge through a resistor, then "
    "measure below 60 V on every filter capacitor, the bias capacitors too."
)
LAMP_ODDS = "A lamp of another make or age glows a little otherwise; what counts is that it does not stay bright."
GROUNDED = "Everything before this step is done and written down, the earth bond first of all."
SPEAKER = "Connect the speaker, or a load resistor of its impedance, before the output tubes go in. Leave it on."
WATCHED = (
    "Clip the meter on for the first reading before you plug in: it shows from the first second what a tube draws."
)
NO_LOAD = "Never switch on without the speaker or its load: the output transformer can arc through."
HOWL = (
    "A howl that starts as the output tubes warm up: the feedback has the wrong sign. Switch off at once, plug out, "
    "wait, measure below 60 V, then swap the two plate leads of the output transformer."
)
HOWL_SINGLE = (
    "A howl that starts as the output tube warms up: the feedback has the wrong sign. Switch off at once, plug out, "
    "wait, measure below 60 V, then swap the two primary leads of the output transformer."
)


@dataclass(frozen=True)
class Scene:
    """What the words of one step depend on."""

    key: str  # see `lugwright.bringup.fitting.Stage`
    tubes: tuple[str, ...]  # in their sockets
    outputs: tuple[str, ...]
    controls: tuple[str, ...]  # bias controls
    lamp_w: float | None
    fixed_bias: bool
    feedback: bool
    highest_v: float  # of direct current
    highest_ac_v: float  # across any winding of the mains transformer
    heater_share: float  # lowest share of rated heater volts
    heat_share: float = 0.0  # of its plate limit that the hottest output tube takes
    windings: tuple[str, ...] = ()  # of the mains transformers but their primaries: "T1 hv"
    cold: str = ""  # where the bias controls are most negative: "R49 Bias full counterclockwise"

    @property
    def alone(self) -> str:
        """Return the output tube that is in without the others, else ""."""
        return self.key.removeprefix(ONE_TUBE) if self.key.startswith(ONE_TUBE) else ""

    @property
    def warm(self) -> bool:
        """Return whether an output tube is in."""
        return bool(self.alone) or self.key in ALL_IN


def title_words(scene: Scene) -> str:
    """Return the title of a step."""
    if scene.alone:
        return f"{scene.alone} in, the other output {'tube' if len(scene.outputs) == 2 else 'tubes'} out"
    if scene.key == "all tubes" and scene.cold:
        return "Idle set"
    if scene.key == "all tubes" and not scene.outputs:
        return "All tubes in"
    return TITLES[scene.key]


def do_words(scene: Scene) -> tuple[str, ...]:
    """Return what to do, in order."""
    plug = "Take the limiter lamp out and plug into the wall."
    if scene.lamp_w:
        plug = f"Plug into the {scene.lamp_w:.0f} W limiter lamp."
    elif scene.alone:
        plug = "Ten seconds behind the limiter lamp first: it must not stay bright. Then plug into the wall."
    switch = "Switch on, hands off, and watch for ten seconds before the first reading."
    if scene.warm or scene.key == "all tubes":
        switch = "Switch on, hands off, and watch the plates of the tubes for a full minute before the first reading."
    end = "Take the readings below in their order and write each one down. Then switch off and pull the plug."
    return (*_first_words(scene), plug, switch, *_turn_words(scene), end, *_unloaded_words(scene))


def _first_words(scene: Scene) -> tuple[str, ...]:
    outputs, controls = ", ".join(scene.outputs), " and ".join(scene.controls)
    fit = "With the plug out and below 60 V measured on every filter capacitor, fit"
    if scene.key == "no tubes":
        return ("Every tube out of its socket, the stated fuse in, a standby switch, if there is one, on.", GROUNDED)
    if scene.key == "heaters":
        return (
            "Every tube still out. Meter on AC volts, a lead on each of the two pins named: this step goes from pin to "
            "pin, not to ground.",
        )
    if scene.key == "rectifier":
        return (f"{fit} {', '.join(scene.tubes)}. Leave every other tube out.",)
    if scene.key == "bias":
        keep = f"Keep {outputs} out of {'its socket' if len(scene.outputs) == 1 else 'their sockets'}."
        if not scene.controls:
            return (keep,)
        return (keep, f"Read with {controls} set as in the build file, then at both ends. Leave it: {scene.cold}.")
    if scene.key == "small tubes":
        small = [name for name in scene.tubes if name not in scene.outputs]
        return (f"{fit} {', '.join(small)}. Keep {outputs} out.",)
    return _with_output_tubes(scene, fit)


def _with_output_tubes(scene: Scene, fit: str) -> tuple[str, ...]:
    words = [SPEAKER]
    if scene.alone:
        others = [name for name in scene.outputs if name != scene.alone]
        words.append(f"{fit} {scene.alone}. {', '.join(others)} {'stays' if len(others) == 1 else 'stay'} out.")
    elif not (scene.key == "all tubes" and scene.cold):
        words.append(f"{fit} {', '.join(scene.outputs or scene.tubes)}.")
    words.append("Volume and master controls down, nothing in the input jacks.")
    if scene.outputs and not scene.fixed_bias and not scene.lamp_w:
        words.append(WATCHED)
    if scene.cold:
        words.append(f"Before switching on: {scene.cold}, where the bias is most negative.")
    return tuple(words)


def _unloaded_words(scene: Scene) -> tuple[str, ...]:
    """Return what to tell the program while nothing loads the transformer."""
    if scene.key != "heaters" or not scene.windings:
        return ()
    each = " ".join(f'"{name}" VOLTS' for name in scene.windings)
    return (
        f"Nothing loads the transformer here: say what you read (lugwright as-built FILE mains VOLTS {each}). Every "
        "window after this is narrower then, and none is off because of what the wall gives.",
    )


def _turn_words(scene: Scene) -> tuple[str, ...]:
    """Return how the bias control comes from its cold end to its place."""
    if scene.key != "all tubes" or not scene.cold:
        return ()
    controls = " and ".join(scene.controls)
    return (
        f"Turn {controls} slowly up from that end until the cathodes read what stands below, a minute's wait after "
        "each turn. The readings hold with the idle set so.",
        f"So set, the hottest plate takes {scene.heat_share:.0%} of its limit. What yours takes, whether that is "
        "usual, and how far to turn for more or less: lugwright bias FILE.",
    )


def stop_words(scene: Scene) -> tuple[str, ...]:
    """Return what means: switch off and pull the plug."""
    supply = "The fuse opens. Put in no larger one: find the reason behind the lamp."
    if scene.lamp_w:
        supply = (
            "The lamp is bright and stays bright: switch off. Something draws too much; no full mains before you "
            "know what."
        )
    words = [
        supply,
        "Smoke, a smell of hot varnish, a crackle, a transformer that growls or a part that gets very hot.",
    ]
    if scene.key == "bias":
        any_of = "any of " if len(scene.outputs) > 1 else ""
        words.append(
            f"Negative volts are missing at the grid pin of {any_of}{', '.join(scene.outputs)}: no output tube goes in "
            "before they are there."
        )
    elif scene.warm or scene.key == "all tubes":
        words.append("A plate of an output tube begins to glow red: switch off at once, the tube draws far too much.")
        if scene.feedback:
            words.append(HOWL if len(scene.outputs) > 1 else HOWL_SINGLE)
    else:
        words.append(_STOP[scene.key])
    return tuple(words)


def limit_words(readings: Iterable[Reading], *, about: Iterable[str] = ()) -> tuple[str, ...]:
    """Return at which readings to switch off and what burns then, the parts it is about first, some at most."""
    first = tuple(about)
    found: list[tuple[int, str]] = []
    for reading in readings:
        for volts, word, burns in (
            (reading.stop_below, "under", reading.burns_below), (reading.stop_above, "over", reading.burns_above),
        ):  # fmt: skip
            if volts is not None and not reading.at:
                mine = reading.point.startswith(tuple(f"{name} " for name in first)) if first else False
                rank = (
                    2 if not mine else 0 if "(cathode)" in reading.point else 1
                )  # too much current before its reasons
                found.append((rank, f"{reading.point} {word} {with_unit(volts, 'V')}: {burns}."))
    return tuple(words for _, words in sorted(found, key=lambda pair: pair[0])[:MOST_LIMITS])


def volts_words(highest_v: float, highest_ac_v: float) -> tuple[str, ...]:
    """Return how many volts stand in the chassis, none where all of them are harmless.

    Parameters
    ----------
    highest_v, highest_ac_v : float
        The most direct volts of a joint, the most RMS volts across a winding. [V]

    Returns
    -------
    tuple of str
        One caution at most.

    Source
    ------
    The solved step; 60 V of direct current and 25 V of alternating current count as harmless to dry hands, as in
    IEC 61140, from memory.
    """
    found = [
        f"{volts:.0f} V of {kind} current"
        for volts, most, kind in (
            (highest_v, SAFE_BELOW_V, "direct"),
            (highest_ac_v, SAFE_BELOW_AC_V, "alternating"),
        )
        if volts > most
    ]
    if not found:
        return ()
    return (f"Up to {' and '.join(found)} stand in the chassis, at empty sockets and transformer leads too.",)


def caution_words(scene: Scene) -> tuple[str, ...]:
    """Return the cautions of one step."""
    words = [*ALWAYS, HANDS_IN, *volts_words(scene.highest_v, scene.highest_ac_v)]
    if not scene.warm and scene.key != "all tubes":
        words.append(
            "With tubes out little draws the filter capacitors down: they hold their charge longer than in use."
        )
    else:
        words.append(NO_LOAD)
        if scene.fixed_bias:
            words.append("Fit output tubes only after negative bias was measured at every one of their grid pins.")
    if scene.lamp_w:
        words.append(LAMP_ODDS)
        if scene.key in ALL_IN:
            words.append("Behind the lamp everything stands low. It shows a dead short, not a right idle.")
        if scene.heater_share < COOL_HEATER_SHARE:
            words.append(
                f"Behind the lamp heaters stand as low as {scene.heater_share:.0%} of their volts: tubes warm slowly, "
                "draw less than computed, and B+ may stand above its window."
            )
    return tuple(words)
