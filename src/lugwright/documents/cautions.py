"""What can kill, in our own words: first in the book, and again on every page that sends hands into the chassis."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """One rule for staying alive: a few words to remember, and why."""

    title: str
    text: str


CAUTIONS = (
    Caution(
        "These voltages kill, also after the plug is out.",
        "Filter capacitors hold several hundred volts for minutes, with a broken bleeder for days. A dark pilot lamp "
        "says nothing about them.",
    ),
    Caution(
        "Unplug, wait, discharge, measure: every time.",
        "Pull the plug and keep it in sight. Wait a minute. Discharge for ten seconds through a resistor on insulated "
        "clip leads (10 kohm, 5 W, wirewound), never with a screwdriver. Then measure at every filter capacitor: below "
        "60 V before a hand goes in.",
    ),
    Caution(
        "One hand.",
        "When something must be measured live, clip the black lead to ground with the power off, keep one hand in a "
        "pocket, wear no ring or watch, stand on something dry.",
    ),
    Caution(
        "A speaker or a dummy load is on the output before the power goes on.",
        "Without it the output transformer makes voltages that break its own insulation, the sockets and you.",
    ),
    Caution(
        "The first power-up goes through the lamp limiter.",
        "A filament lamp of the watts each step names, in series with the line lead, limits what a mistake can burn; "
        "an LED lamp limits nothing. It does not make anything safe to touch.",
    ),
    Caution(
        "Protective earth first.",
        "The earth lead is fitted first, on its own bolt, on bare metal, and it is never lifted: not for hum, not for "
        "a test. Measure it before anything else is connected to the mains.",
    ),
    Caution(
        "Never alone, never tired.",
        "Someone near you knows where the switch is and what to do. What is not clear in the evening waits until "
        "morning.",
    ),
    Caution(
        "Your local electrical code and a licensed person decide.",
        "This book is computed from a description; it has not seen your amplifier. Where it and the code differ, the "
        "code is right. Have the mains wiring looked over by someone licensed to do so.",
    ),
)

BEFORE_HANDS_GO_IN = "Hands in the chassis: unplug · wait · discharge · measure every filter capacitor below 60 V."
