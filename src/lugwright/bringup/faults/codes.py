"""Under which entry of the table of faults a part that is so comes, and what makes it dangerous."""

from __future__ import annotations

from dataclasses import dataclass

OPEN, SHORT, HIGH, LOW, MISREAD, REVERSED, LEAKY = "open", "short", "high", "low", "misread", "reversed", "leaky"

NO_BIAS = "an output tube without bias draws all it can: its plates turn red within seconds"
GRID_ADRIFT = "the grid of an output tube is held by nothing: it drifts up and the tube runs away"
GRID_RAISED = "high voltage pulls the grids of the output tubes up: their plates turn red within seconds"
SCREEN_ALONE = "with its plate dead the screen takes the whole current and glows"
TOO_HOT = "the output tubes draw too much and overheat"
BACKWARD = "an electrolytic that is wired backward heats up and bursts"
AC_ON_IT = "alternating current heats the electrolytics behind it until they burst, and the transformer"
OVERLOAD = "the supply is shorted: transformer and resistors overheat"
NO_LOAD = "an output stage without load arcs over: no signal until it has one"
OVER_RATING = "one of the capacitors in series gets more than it is made for"
LEAKS = "an electrolytic that leaks heats up, leaks more, and bursts"
STAYS_CHARGED = "the filter capacitors stay charged after switch-off: measure each one before a hand goes in"


@dataclass(frozen=True)
class Code:
    """An entry of the table of faults, and why to switch off, where it is so."""

    code: str
    danger: str = ""


# What a part without a role of its own comes under.
ANY_ROLE = {
    OPEN: Code("F99"), SHORT: Code("F100"), HIGH: Code("F58"), LOW: Code("F58"), MISREAD: Code("F58"),
    REVERSED: Code("F23", BACKWARD), LEAKY: Code("F62"),
}  # fmt: skip

BY_ROLE: dict[tuple[str, str], Code] = {
    ("plate load", OPEN): Code("F40"),
    ("plate load", LOW): Code("F41"),
    ("plate load", HIGH): Code("F42"),
    ("cathode resistor", OPEN): Code("F43"),
    ("cathode resistor", SHORT): Code("F44"),
    ("cathode resistor", LOW): Code("F45"),
    ("cathode resistor", HIGH): Code("F45"),
    ("tail", OPEN): Code("F89"),
    ("tail", LOW): Code("F89"),
    ("tail", HIGH): Code("F89"),
    ("grid leak", OPEN): Code("F48"),
    ("grid leak", SHORT): Code("F49"),
    ("grid stopper", SHORT): Code("F97"),
    ("output grid leak", OPEN): Code("F80", GRID_ADRIFT),
    ("screen resistor", OPEN): Code("F81"),
    ("output cathode resistor", OPEN): Code("F86"),
    ("output cathode resistor", SHORT): Code("F86", TOO_HOT),
    ("output cathode resistor", LOW): Code("F86", TOO_HOT),
    ("output cathode resistor", HIGH): Code("F86"),
    ("sense resistor", OPEN): Code("F86"),
    ("sense resistor", HIGH): Code("F86"),
    ("dropping resistor", OPEN): Code("F25"),
    ("dropping resistor", LOW): Code("F24"),
    ("dropping resistor", HIGH): Code("F24"),
    ("balancing resistor", OPEN): Code("F30", OVER_RATING),
    ("balancing resistor", HIGH): Code("F30", OVER_RATING),
    ("balancing resistor", LOW): Code("F30", OVER_RATING),
    ("balancing resistor", SHORT): Code("F30", OVER_RATING),
    ("heater lift", OPEN): Code("F18"),
    ("bleeder", OPEN): Code("F27", STAYS_CHARGED),
    ("bleeder", SHORT): Code("F29", OVERLOAD),
    ("bias resistor", OPEN): Code("F33"),
    ("bias resistor", SHORT): Code("F36"),
    ("bias resistor", LOW): Code("F36"),
    ("bias resistor", HIGH): Code("F36"),
    ("heater center", OPEN): Code("F14"),
    ("heater center", SHORT): Code("F13"),
    ("feedback", OPEN): Code("F73"),
    ("feedback", LOW): Code("F74"),
    ("feedback", HIGH): Code("F74"),
    ("tone part", OPEN): Code("F75"),
    ("bypass", OPEN): Code("F47"),
    ("bypass", SHORT): Code("F44"),
    ("bypass", REVERSED): Code("F46", BACKWARD),
    ("bypass", LEAKY): Code("F46"),
    ("output bypass", OPEN): Code("F86"),
    ("output bypass", SHORT): Code("F86", TOO_HOT),
    ("output bypass", REVERSED): Code("F86", BACKWARD),
    ("output bypass", LEAKY): Code("F86", TOO_HOT),
    ("choke", OPEN): Code("F25"),
    ("reservoir", OPEN): Code("F22"),
    ("reservoir", SHORT): Code("F29", OVERLOAD),
    ("reservoir", LEAKY): Code("F23", LEAKS),
    ("filter", OPEN): Code("F26"),
    ("filter", SHORT): Code("F29", OVERLOAD),
    ("filter", LEAKY): Code("F23", LEAKS),
    ("bias filter", OPEN): Code("F34", TOO_HOT),
    ("bias filter", SHORT): Code("F33", NO_BIAS),
    ("bias filter", REVERSED): Code("F34", BACKWARD),
    ("bias filter", LEAKY): Code("F34", TOO_HOT),
    ("coupling", OPEN): Code("F52"),
    ("coupling", SHORT): Code("F51"),
    ("coupling", LEAKY): Code("F51"),
    ("coupling", LOW): Code("F53"),
    ("coupling", HIGH): Code("F53"),
    ("grid capacitor", OPEN): Code("F89"),
    ("grid capacitor", LOW): Code("F89"),
    ("signal capacitor", OPEN): Code("F52"),
    ("signal capacitor", LOW): Code("F53"),
    ("signal capacitor", HIGH): Code("F53"),
    ("rectifier", OPEN): Code("F20"),
    ("rectifier", SHORT): Code("F21", AC_ON_IT),
    ("rectifier", REVERSED): Code("F21", AC_ON_IT),
    ("bias diode", OPEN): Code("F33", NO_BIAS),
    ("bias diode", SHORT): Code("F34", NO_BIAS),
    ("bias diode", REVERSED): Code("F34", NO_BIAS),
    ("catch diode", SHORT): Code("F100"),
    ("catch diode", REVERSED): Code("F100", OVERLOAD),
}


def code_of(role: str, way: str) -> Code:
    """Return the entry and the danger of a part of this role that is so."""
    return BY_ROLE.get((role, way), ANY_ROLE[way])
