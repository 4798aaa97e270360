"""The cautions that fit each phase of the work, and what is measured before it is left."""

from __future__ import annotations

from lugwright.workorder.phases import (
    B_PLUS,
    BIAS,
    CHECK,
    CONTROLS,
    EARTH_AND_MAINS,
    FEEDBACK,
    GROUND_BUS,
    HEATERS,
    METALWORK,
    MOUNTING,
    OUTPUT,
)

CAUTIONS = {
    METALWORK: ("Clamp the chassis, wear eye protection; swarf left inside can bridge 400 V later.",),
    MOUNTING: ("Transformers are heavy: fit them last and rest the chassis on blocks, never on a tube socket.",),
    EARTH_AND_MAINS: (
        "The plug stays out of the wall until every check of the power-up charts has its turn.",
        "Mains wiring follows your local electrical code; have a licensed person look it over.",
    ),
    B_PLUS: ("Every joint of this card carries voltage that kills: smooth round solder, no strand standing out.",),
    BIAS: ("The bias capacitors stand the other way round: their positive lead goes to ground.",),
    OUTPUT: ("Never switch this amplifier on without a speaker or a dummy load on its output.",),
    CHECK: (
        "From the first power-up on: plug out, wait, measure every filter capacitor below 60 V before a hand goes in.",
        "Not alone, not tired, one hand, no jewelry.",
    ),
}

# What closes a phase: said on its last card.
CLOSING = {
    EARTH_AND_MAINS: (
        "Plug out, fuse in, power switch on: an ohmmeter from line to earth and from neutral to earth stays over "
        "range, and from line to neutral it reads the primary winding.",
    ),
    HEATERS: (
        "Ohmmeter across the heater pins of each empty socket: the winding's few tenths of an ohm at every one; "
        "pull each pair gently, it must not turn on its pin.",
    ),
    B_PLUS: ("Ohmmeter from B+1 to ground: it climbs as the capacitors charge and never stays at a few ohms.",),
    BIAS: ("Look at every diode band and capacitor plus sign of the bias supply once more: it protects the tubes.",),
    GROUND_BUS: ("Pull at every lead on the bus with pliers; a return that lets go takes its stage with it.",),
    CONTROLS: ("Turn every shaft from stop to stop and throw every switch: nothing may touch a wire.",),
}

EARTH_FIRST = (
    "The earth lead is the longest in the entry, so that it tears last; scrape the metal bare, toothed washer, lock "
    "nut, and nothing else on that bolt.",
    "Measure from the inlet's earth pin to bare metal at the far corner: less than 0.1 Ω, meter leads taken off.",
)
GROUND_BOND = (
    "Before the bond's last end goes on: ohmmeter from ground to the metal. Over range is right; anything else is a "
    "second bond (a jack bushing, a can, a screw) and is found now.",
)
FEEDBACK_LAST = (
    "Sign unknown until tested: this card waits until the amplifier has passed every step of the power-up charts.",
    "Plug out, capacitors below 60 V, join it, and switch on behind the lamp limiter with a speaker connected. "
    "Quieter is right. Louder or howling is the wrong sign: plug out, measure again, and exchange the two outer "
    "plate leads of the output transformer.",
)
FEEDBACK_AND_CHART = (
    "The feedback lead is still off: clip {what} while the ohms chart is read, and take the clips away again before "
    "the plug goes in."
)

SECTION_CAUTION = {FEEDBACK: ("An amplifier with feedback of the wrong sign howls at full power within a second.",)}
