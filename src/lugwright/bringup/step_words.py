"""What to do, when to stop and what to beware of at each stage of the first power-up."""

from __future__ import annotations

from collections.abc import Sequence

TITLES = {
    "no tubes": "Transformers alone, every tube out",
    "rectifier": "Rectifier tube in",
    "bias": "Negative bias, before any output tube",
    "small tubes": "Small tubes in",
    "all tubes": "Output tubes in",
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
GROUNDED = "Metal of the chassis to the earth pin of the plug: below 0.5 ohm, checked today."
SPEAKER = "Connect the speaker, or a load resistor of its impedance, before the output tubes go in. Leave it on."
HOWL = (
    "A howl that starts as the output tubes warm up: the feedback has the wrong sign. Switch off at once, plug out, "
    "wait, measure below 60 V, then swap the two plate leads of the output transformer."
)
HOWL_SINGLE = (
    "A howl that starts as the output tube warms up: the feedback has the wrong sign. Switch off at once, plug out, "
    "wait, measure below 60 V, then swap the two primary leads of the output transformer."
)


def do_words(key: str, *, tubes: Sequence[str], outputs: Sequence[str], lamp_w: float | None) -> tuple[str, ...]:
    """Return what to do, in order."""
    named = ", ".join(tubes)
    plug = (
        f"Plug into the {lamp_w:.0f} W limiter lamp." if lamp_w else "Take the limiter lamp out and plug into the wall."
    )
    end = "Take the readings below in their order and write each one down. Then switch off and pull the plug."
    if key == "no tubes":
        first = ["Every tube out of its socket, fuse of the stated value in, standby switch, if there is one, on."]
        first += [GROUNDED]
    elif key == "rectifier":
        first = [f"With the plug out and below 60 V measured, fit {named}. Leave every other tube out."]
    elif key == "bias":
        where = ", ".join(outputs)
        first = [f"Keep {where} out of their sockets. Turn each bias control to the most negative reading first."]
    elif key == "small tubes":
        first = [f"With the plug out and below 60 V measured, fit {named}. Keep {', '.join(outputs)} out."]
    else:
        first = [SPEAKER, f"With the plug out and below 60 V measured, fit {', '.join(outputs) or named}."]
        first += ["Volume and master controls down, nothing in the input jacks."]
    switch = "Switch on, hands off, and watch for ten seconds before the first reading."
    if key == "all tubes":
        switch = (
            "Switch on, hands off, and watch the plates of the output tubes for a full minute before the first reading."
        )
    return (*first, plug, switch, end)


def stop_words(key: str, *, lamp: bool, outputs: Sequence[str], feedback: bool) -> tuple[str, ...]:
    """Return what means: switch off and pull the plug."""
    words = []
    if lamp:
        words.append(
            "The lamp is bright and stays bright: switch off. Something draws too much; don't try again without it."
        )
    else:
        words.append("The fuse opens. Put in no larger one: find the reason behind the lamp.")
    words.append("Smoke, a smell of hot varnish, a crackle, a transformer that growls or a part too hot to come near.")
    if key == "no tubes":
        words.append("B+ or a heater winding is outside its window: the next step would carry the mistake further.")
    elif key == "rectifier":
        words.append("A blue flash or arc inside the rectifier tube, or B+ that climbs past its window.")
    elif key == "bias":
        pins = ", ".join(outputs)
        words.append(
            f"Negative volts are missing at the grid pin of any of {pins}: no output tube goes in before they are "
            "there."
        )
    elif key == "small tubes":
        words.append("A plate that stands at the full B+ or near zero, or a cathode outside its window.")
    else:
        words.append("A plate of an output tube begins to glow red: switch off at once, the tube draws far too much.")
        if feedback:
            words.append(HOWL if len(outputs) > 1 else HOWL_SINGLE)
    return tuple(words)


def caution_words(
    key: str, *, lamp: bool, highest_v: float, fixed_bias: bool, outputs: Sequence[str]
) -> tuple[str, ...]:
    """Return the cautions of one stage."""
    words = [*ALWAYS, HANDS_IN]
    if highest_v > 60.0:
        words.append(
            f"Up to {highest_v:.0f} V of direct current stand in the chassis in this step, at empty sockets too."
        )
    if key in ("no tubes", "rectifier", "small tubes", "bias"):
        words.append(
            "With tubes out little draws the filter capacitors down: they hold their charge longer than in use."
        )
    if key == "all tubes":
        words.append("Never switch on without the speaker or its load: the output transformer can arc through.")
        if fixed_bias:
            words.append("Fit output tubes only after negative bias was measured at every one of their grid pins.")
        if lamp and outputs:
            words.append("Behind the lamp everything stands low. It shows a dead short, not a right idle.")
    if lamp:
        words.append(LAMP_ODDS)
    return tuple(words)


def lamp_words(*, share: float, rms_v: float, watts: float) -> str:
    """Return how bright the limiter lamp should settle.

    Parameters
    ----------
    share : float
        Power in the lamp over its rated power. [-]
    rms_v : float
        Across the lamp. [V]
    watts : float
        The lamp's rated power. [W]

    Returns
    -------
    str
        A sentence part.

    Source
    ------
    From memory of how filament lamps look below their rated volts.
    """
    looks = "full brightness"
    for limit, text in ((0.02, "dark"), (0.1, "a dull red glow"), (0.35, "a dim orange glow"), (0.7, "clearly lit")):
        if share < limit:
            looks = text
            break
    return f"a flash at switch-on, then {looks}; about {rms_v:.0f} V across the {watts:.0f} W lamp"
