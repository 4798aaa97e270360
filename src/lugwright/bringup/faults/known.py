"""Every kind of fault that builders of tube amplifiers know, by the entry under which the list of faults names it.

Entries with a reason are not in the list of a build: nothing that is read off a build as planned would tell them, or
they are no mistake of its wiring.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Known:
    """One entry: what it is called, how it shows, and why it is not in the list where it is not."""

    name: str
    shows: str
    left_out: str = ""


DRESS = "where wires lie is not in the circuit: move the wire, and hear"
DESIGN = "a matter of the design, not of the wiring: the checks of the build file say it"
TWO_PRIMARIES = "only a transformer with two primary windings can have it"

KNOWN: dict[str, Known] = {
    "F01": Known("protective earth not joined to the metal", "plug out: no short from the earth pin to bare metal"),
    "F02": Known("line and neutral exchanged", "works; the neutral pin leads through fuse and switch"),
    "F03": Known("primary for another mains voltage, or on another tap", "every secondary off by one ratio"),
    "F04": Known("two primaries working against each other", "nothing from any secondary, lamp full on", TWO_PRIMARIES),
    "F05": Known("fuse blown, or not there", "nothing lights, nothing reads"),
    "F06": Known("a winding shorted, or an end on its own center", "lamp full on with every tube out"),
    "F07": Known("center tap of the high-voltage winding off", "heaters right, B+ at nothing"),
    "F08": Known("two low-voltage windings exchanged", "heaters dark or glaring, bias far off"),
    "F09": Known("a lead's color misread", "a heater center on the metal reads as if it were on ground"),
    "F10": Known("heater without supply", "tube cold and dark, plate at its supply, cathode at nothing"),
    "F11": Known("halves of a heater in series", "half the volts across each half; dim; plate high, cathode low"),
    "F12": Known("heaters referred to nothing", "legs to ground unequal or wandering, hum"),
    "F13": Known("one heater leg on ground", "one leg at nothing, the other at the whole volts or none; lamp brighter"),
    "F14": Known("one of two center resistors off", "one leg at all the volts, the other near nothing; hum"),
    "F15": Known("heater pair crossed at one socket", "volts between like-numbered pins of neighbors; a little hum"),
    "F16": Known("heater pair untwisted, or beside a grid", "hum that one stage's grid takes up", DRESS),
    "F17": Known("heater chain too thin", "the last socket has too few volts, the first enough"),
    "F18": Known("heaters not lifted where a cathode stands high", "heater center at nothing instead of its volts"),
    "F19": Known("pilot lamp from one leg to the metal", "legs draw unequal current; hum"),
    "F20": Known("one side of the rectifier off", "B+ some percent low, ripple at mains frequency"),
    "F21": Known("rectifier diode reversed or shorted", "B+ far down, lamp bright with every tube out"),
    "F22": Known("first filter capacitor off", "B+ down, ripple many times as large"),
    "F23": Known("filter capacitor reversed or leaking", "its joint low and falling, the resistor before it hot"),
    "F24": Known("dropping resistor far off", "right before it, wrong behind it"),
    "F25": Known("dropping resistor open", "high before it, nothing behind it"),
    "F26": Known("a later filter capacitor off", "volts right, ripple behind it large"),
    "F27": Known("bleeder off", "volts right; slow to fall after switch-off"),
    "F28": Known("a tube that draws nothing", "every B+ joint high by the same share"),
    "F29": Known("supply overloaded or shorted", "lamp bright, B+ down"),
    "F30": Known("balancing resistor of capacitors in series off", "the two halves unequal"),
    "F31": Known("another rectifier tube", "B+ some percent off"),
    "F32": Known("capacitors over their rating while tubes are cold", "only in the first seconds", DESIGN),
    "F33": Known("no bias", "nothing at the grids of the output tubes: never fit them before it reads right"),
    "F34": Known("bias diode or capacitor wrong", "bias positive, small, or all ripple"),
    "F35": Known("wiper of the bias pot off its track", "bias jumps, or stands at one end"),
    "F36": Known("bias out of the pot's range", "pot at its stop, current still off"),
    "F40": Known("plate resistor open", "plate near nothing, cathode at nothing"),
    "F41": Known("plate resistor far too small", "plate high, cathode a little high"),
    "F42": Known("plate resistor far too large", "plate and cathode low"),
    "F43": Known("cathode resistor open", "plate at its supply; a meter on the cathode reads volts by closing the way"),
    "F44": Known("cathode resistor or its bypass shorted", "cathode at nothing, plate low"),
    "F45": Known("cathode resistor far off", "cathode and plate move together"),
    "F46": Known("bypass capacitor reversed or leaking", "cathode lower than its current would have it"),
    "F47": Known("bypass capacitor off", "volts right, gain a half"),
    "F48": Known("grid leak off", "plate low, cathode high; right again while the meter is on the grid"),
    "F49": Known("grid on ground", "volts right, no ohms from grid to ground, no signal"),
    "F50": Known("two electrodes exchanged", "cathode pin at a plate's volts, or grid and cathode the wrong way round"),
    "F51": Known("coupling capacitor leaking or shorted", "the next grid positive, its plate low"),
    "F52": Known("coupling capacitor off", "volts right, no signal behind it"),
    "F53": Known("coupling capacitor far off in value", "volts right, no lows behind it"),
    "F54": Known("socket counted from above, or from the wrong pin", "many readings wrong at one socket, heater dark"),
    "F55": Known("halves or plates exchanged", "all right but each reads what the other should"),
    "F56": Known("a lead one lug over", "two neighbors wrong, each as if it had the other's part"),
    "F57": Known("wire forgotten", "what is behind it hangs free"),
    "F58": Known("part of another value", "ratio of volts off by what the value is off"),
    "F59": Known("tube of another type, or in another's socket", "volts of another type; read the glass"),
    "F60": Known("tube dead, weak, gassy or leaking", "moves with the tube when it is exchanged"),
    "F61": Known("microphonic tube", "rings when it is tapped"),
    "F62": Known("dirty strip", "a grid some volts positive, more on damp days"),
    "F65": Known("ends of a pot exchanged", "works backward"),
    "F66": Known("grounded end of a pot off", "never quiet"),
    "F67": Known("wiper and end of a pot exchanged", "ohms of the track where the wiper should read"),
    "F68": Known("switch of a jack wrong", "silent with a plug in, or noisy without"),
    "F69": Known("strand of a braid at the core", "no ohms from core to ground; silent"),
    "F70": Known("braid soldered nowhere", "hum that a hand changes"),
    "F71": Known("braid soldered at both ends", "hum until one end is lifted", "the circuit has no loops of ground"),
    "F72": Known("feedback of the wrong sign", "howls as the output tubes warm up"),
    "F73": Known("feedback open", "too loud, by the feedback's share"),
    "F74": Known("feedback from another tap or through another value", "loudness off by the ratio of taps"),
    "F75": Known("part of a tone stack on the wrong lug", "volts right, one control dead"),
    "F80": Known("grid leak of an output tube off", "that tube alone runs hotter and hotter"),
    "F81": Known("screen resistor open", "no volts on the screen, no current"),
    "F82": Known("plate of an output tube without supply", "plate at nothing, screen glows"),
    "F83": Known("B+ on an end of the primary", "volts right; ohms from B+ to the two plates far apart"),
    "F84": Known("no load, or speaker winding open", "silent, arcs when driven: never drive it"),
    "F85": Known("speaker on another tap", "volts right, power off"),
    "F86": Known("cathode resistor or bypass of an output tube wrong", "its current off"),
    "F87": Known("output tubes that do not match", "currents far apart, hum"),
    "F88": Known("half of the phase inverter dead", "one output grid without signal"),
    "F89": Known("tail or grid capacitor of the phase inverter wrong", "one side drives alone"),
    "F90": Known("oscillation above hearing", "volts change with a hand near", DRESS),
    "F91": Known("ground meets the metal a second time", "with the one bond lifted, still no ohms to the metal"),
    "F92": Known("ground and metal not joined", "ohms from ground to metal without end"),
    "F93": Known("charging current on the signal's bus", "buzz at any volume", "a bus has no ohms in the circuit"),
    "F94": Known("loop through two earthed boxes", "hum with a source plugged in", "what is plugged in is unknown"),
    "F95": Known("output transformer beside the mains transformer", "hum with the tubes out", DRESS),
    "F96": Known("output lead beside an input", "squeals from some volume on", DRESS),
    "F97": Known("grid stopper missing or shorted", "volts right; radio, oscillation"),
    "F98": Known("stages coupled through their supply", "motorboats", DESIGN),
    "F99": Known("dry joint", "comes and goes when it is tapped; what is behind it hangs free"),
    "F100": Known("lugs bridged", "no ohms between neighbors that should have some"),
    "F101": Known("insulation cut at a hole", "no ohms from that lead to the metal"),
    "F102": Known("ground bus parted", "several cathodes beyond it read the same"),
    "F103": Known("reading taken wrongly", "a reading that no fault explains", "no fault of the build"),
}  # fmt: skip
