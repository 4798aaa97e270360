"""How often builders make each kind of mistake: impressions, from memory of first power-ups. Nobody counted.

Very common, common, occasional, rare: 8, 4, 2, 1. A kind's odds are shared among its faults in a build: one wire in a
hundred is forgotten, whichever it is. A kind that makes weighs its own faults against each other.
"""

from __future__ import annotations

VERY_COMMON, COMMON, OCCASIONAL, RARE = 8.0, 4.0, 2.0, 1.0

# Kind -> (odds of one such fault somewhere in a build, why).
ODDS: dict[str, tuple[float, str]] = {
    "missing wire": (VERY_COMMON, "the commonest of all: a build has a hundred wires and is interrupted for supper"),
    "dry joint": (VERY_COMMON, "a joint with several leads looks wet and is not"),
    "cold lead": (VERY_COMMON, "one lead of several that the solder never reached"),
    "wire end one over": (VERY_COMMON, "counting lugs upside down under a lamp"),
    "part lead one over": (VERY_COMMON, "the same, with a part"),
    "bridged": (COMMON, "a drop of solder, a cut-off, a loose strand"),
    "shield": (COMMON, "a strand of the braid at the core; the braid forgotten"),
    "cut insulation": (OCCASIONAL, "a hole without its grommet, a clamp"),
    "part open": (OCCASIONAL, "broken in bending, cooked in soldering, or never soldered at all"),
    "part shorted": (RARE, "new parts seldom are"),
    "part a decade off": (COMMON, "one band, one letter, the next drawer"),
    "part misread": (COMMON, "brown for red, red for orange, blue for violet, gray for white"),
    "wired backward": (COMMON, "electrolytics and diodes, most often where ground is the positive side"),
    "leaky": (OCCASIONAL, "rare in new parts, common in old ones"),
    "dirty strip": (OCCASIONAL, "flux, damp and old phenolic"),
    "pot wiring": (VERY_COMMON, "seen from the shaft or from the lugs: ends swapped"),
    "switch or jack": (VERY_COMMON, "which contact opens when the plug goes in is not to be seen"),
    "fuse": (COMMON, "blown by the inrush, or never put in"),
    "socket counted wrong": (VERY_COMMON, "from above instead of from below, or from the wrong side of the gap"),
    "electrodes swapped": (COMMON, "two wires of one socket exchanged"),
    "heater wiring": (VERY_COMMON, "pins 4, 5 and 9, the chain, and what refers it to ground"),
    "tube": (OCCASIONAL, "even new ones"),
    "wrong tube": (COMMON, "the glass was not read"),
    "transformer leads": (COMMON, "colors are faded, or differ from the sheet"),
    "mains side": (OCCASIONAL, "usually done with care, and dangerous when not"),
    "output load": (COMMON, "a cord that is not plugged in; a tap one lug over"),
    "second ground": (VERY_COMMON, "a jack, a bushing, a screw: ground meets the metal where nobody meant it to"),
    "broken bus": (OCCASIONAL, "two pieces of bus that only touch"),
}
