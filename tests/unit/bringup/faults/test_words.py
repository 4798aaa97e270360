"""What a builder is told of each kind of fault, word for word: entry, what, what to do, why to switch off."""

from __future__ import annotations

import pytest

from .bench import faults
from .one_stage import number_of

STAGE = {
    "missing W18": (
        "F52",
        "wire W18, blue, from V1 pin 1 (plate a) to strip A lug 3, is missing",
        "solder it in",
        "",
    ),
    "missing W10": (
        "F20",
        "lead W10, red, from T1 hv.1 lead to strip B lug 1, is missing",
        "solder its end in at strip B lug 1",
        "",
    ),
    "missing W1": (
        "F01",
        "wire W1, green-yellow, from P1 earth to earth bolt, is missing",
        "fit it, and measure under 0.1 ohm from one end to the other",
        "without its protective earth the metal goes live when insulation fails inside: pull the plug",
    ),
    "missing W2": (
        "F92",
        "wire W2, black, from ground point 2 to bond bolt, is missing",
        "fit it, and measure under 0.1 ohm from one end to the other",
        "the metal and the circuit are not tied together: either may stand at any voltage",
    ),
    "dry V1.3": (
        "F99",
        "the joint of R4.1 and C1.1 at V1 pin 3 (cathode a) is dry",
        "heat it until the solder flows, and hold it still",
        "",
    ),
    "cold W18 at V1.1": (
        "F99",
        "wire W18 (blue) has no contact at V1 pin 1 (plate a)",
        "heat it until the solder flows, and hold it still",
        "",
    ),
    "cold R3.2 at V1.1": (
        "F40",
        "lead 2 of R3 (100 kΩ) has no contact at V1 pin 1 (plate a)",
        "heat it until the solder flows, and hold it still",
        "",
    ),
    "W18 on A.4 for A.3": (
        "F56",
        "wire W18 (blue) is on strip A lug 4 instead of strip A lug 3",
        "move it to strip A lug 3",
        "",
    ),
    "R3.1 on A.1 for A.2": (
        "F56",
        "lead 1 of R3 (100 kΩ) is on strip A lug 1 instead of strip A lug 2",
        "move it to strip A lug 2",
        "",
    ),
    "bridged V1.1 V1.2": (
        "F100",
        "V1 pin 1 (plate a) and V1 pin 2 (grid a) are bridged",
        "look for a drop of solder, a strand or a cut-off between them",
        "",
    ),
    "bridged B.4 B.5": (
        "F100",
        "strip B lug 4 and strip B lug 5 are bridged",
        "look for a drop of solder, a strand or a cut-off between them",
        "the supply is shorted: transformer and resistors overheat",
    ),
    "cut T1.primary.1": (
        "F101",
        "the insulation of T1 primary.1 lead is cut at its hole, and it touches the metal",
        "measure from the lead to the metal with the plug out; sleeve it, and fit a grommet",
        "the mains stands where nobody expects it: pull the plug",
    ),
    "cut T1.hv.1": (
        "F101",
        "the insulation of T1 hv.1 lead is cut at its hole, and it touches the metal",
        "measure from the lead to the metal with the plug out; sleeve it, and fit a grommet",
        "the high voltage stands on the metal, or the supply is shorted by it",
    ),
    "leaking A.1 A.2": (
        "F62",
        "the strip leaks between strip A lug 1 and strip A lug 2",
        "wash off the flux with alcohol, let it dry, and look for charred board",
        "",
    ),
    "open R3": (
        "F40",
        "R3 (100 kΩ) is open",
        "lift one lead and measure it; put in a new one",
        "",
    ),
    "open R9": (
        "F27",
        "R9 (220 kΩ) is open",
        "lift one lead and measure it; put in a new one",
        "the filter capacitors stay charged after switch-off: measure each one before a hand goes in",
    ),
    "open C3": (
        "F22",
        "C3 (22 µF) is open",
        "lift one lead and measure it; put in a new one",
        "",
    ),
    "shorted R4": (
        "F44",
        "R4 (1.5 kΩ) is shorted",
        "look for a blob or a strand across it; lift one lead and measure it",
        "",
    ),
    "shorted C4": (
        "F29",
        "C4 (22 µF) is shorted",
        "look for a blob or a strand across it; lift one lead and measure it",
        "the supply is shorted: transformer and resistors overheat",
    ),
    "decade R4 150": (
        "F45",
        "R4 is 150 Ω instead of 1.5 kΩ",
        "read it again; put in 1.5 kΩ",
        "",
    ),
    "misread R6 2e+04": (
        "F58",
        "R6 is 20 kΩ instead of 10 kΩ",
        "read it again; put in 10 kΩ",
        "",
    ),
    "reversed C1": (
        "F46",
        "C1 (22 µF) is wired backward",
        "switch off, let it discharge, measure it below 60 V, and put in a new one with its + where the plan says",
        "an electrolytic that is wired backward heats up and bursts",
    ),
    "reversed CR1": (
        "F21",
        "CR1 (diode 1000 V 1 A) is in backward",
        "turn it round: its band is the cathode",
        "alternating current heats the electrolytics behind it until they burst, and the transformer",
    ),
    "leaky C2 1e+07": (
        "F51",
        "C2 (22 nF) leaks: about 10 MΩ",
        "put in a new one; a good one passes less than a microampere at its rated volts",
        "",
    ),
    "leaky C3": (
        "F23",
        "C3 (22 µF) leaks",
        "put in a new one",
        "an electrolytic that leaks heats up, leaks more, and bursts",
    ),
    "exchanged R5.1 R5.3": (
        "F65",
        'pot R5 "Volume": its ends are exchanged',
        "look at it from the lug side, shaft away from you, and move the leads",
        "",
    ),
    "exchanged R5.2 R5.3": (
        "F67",
        'pot R5 "Volume": its wiper and its clockwise end are exchanged',
        "look at it from the lug side, shaft away from you, and move the leads",
        "",
    ),
    "wiper off R5": (
        "F99",
        'the wiper of pot R5 "Volume" does not touch its track',
        "turn it to and fro; if the reading jumps, put in a new one",
        "",
    ),
    "no ground R5.1": (
        "F66",
        'lug 1 of pot R5 "Volume" has no ground',
        "follow its ground lead to the bus",
        "",
    ),
    "decade R5 1e+05": (
        "F58",
        'pot R5 "Volume" has a tenth of its value',
        "read what is stamped on its back",
        "",
    ),
    "contact J1.tip-tip_switch": (
        "F68",
        'the contact tip to tip switch of jack J1 "In" is open',
        "work it a few times with the plug out and measure across it; bend it, clean it, or move the lead",
        "",
    ),
    "exchanged J1.tip J1.tip_switch": (
        "F68",
        'the leads on tip and switch of jack J1 "In" are exchanged',
        "move them",
        "",
    ),
    "blown F1": (
        "F05",
        "fuse F1 is blown, or not in its holder",
        "plug out: measure it; put in a slow one of the printed amps; if it goes again, find out why",
        "",
    ),
    "mirrored V1": (
        "F54",
        "the socket of V1 is wired wrong: its pins are counted from above: 1 is the last pin",
        "count the pins again from below, clockwise from the gap or key, and move every lead",
        "high voltage stands on the wrong electrodes, and perhaps on the heater",
    ),
    "one on V1": (
        "F54",
        "the socket of V1 is wired wrong: its pins are counted from one pin too far",
        "count the pins again from below, clockwise from the gap or key, and move every lead",
        "high voltage stands on the wrong electrodes, and perhaps on the heater",
    ),
    "one back V1": (
        "F54",
        "the socket of V1 is wired wrong: its pins are counted from one pin too early",
        "count the pins again from below, clockwise from the gap or key, and move every lead",
        "high voltage stands on the wrong electrodes, and perhaps on the heater",
    ),
    "exchanged V1a plate cathode": (
        "F50",
        "the leads of plate and cathode of V1a are exchanged",
        "compare each pin with the plan, and move the leads",
        "high voltage stands on the wrong electrodes, and perhaps on the heater",
    ),
    "exchanged V1a grid cathode": (
        "F50",
        "the leads of grid and cathode of V1a are exchanged",
        "compare each pin with the plan, and move the leads",
        "",
    ),
    "exchanged V1 halves": (
        "F55",
        "the two halves of V1 are exchanged",
        "compare each pin with the plan, and move the leads",
        "",
    ),
    "series V1": (
        "F11",
        "the heater of V1 is wired in series: fed at pins 4 and 5, nothing on pin 9",
        "join pins 4 and 5, and bring the other side to pin 9",
        "",
    ),
    "heater open V1": (
        "F10",
        "the heater of V1 is open: no contact at its pins, or burnt out",
        "measure across its heater pins, tube in and plug out; solder the pins again, or try another tube",
        "",
    ),
    "grounded h1": (
        "F13",
        "one heater leg (h1) touches ground",
        "lift the center of the heaters and measure each leg to ground; look along the chain for a nick",
        "half the heater winding is shorted: it overheats, and resistors to ground burn",
    ),
    "dead V1a": (
        "F60",
        "V1a is dead",
        "put a tube that is known to be good in its place: if the fault goes with the tube, it was the tube",
        "",
    ),
    "weak V1a": (
        "F60",
        "V1a is weak: about 60% of its current",
        "put a tube that is known to be good in its place: if the fault goes with the tube, it was the tube",
        "",
    ),
    "gassy V1a": (
        "F60",
        "V1a is gassy: its grid draws current",
        "put a tube that is known to be good in its place: if the fault goes with the tube, it was the tube",
        "",
    ),
    "contact V1a": (
        "F60",
        "grid and cathode of V1a touch inside",
        "put a tube that is known to be good in its place: if the fault goes with the tube, it was the tube",
        "",
    ),
    "heater leak V1a": (
        "F60",
        "V1a leaks from heater to cathode",
        "put a tube that is known to be good in its place: if the fault goes with the tube, it was the tube",
        "",
    ),
    "microphonic V1": (
        "F61",
        "V1 rings when it is tapped",
        "put a tube that is known to be good in its place: if the fault goes with the tube, it was the tube",
        "",
    ),
    "left out V1": (
        "F28",
        "V1 is not in its socket, or sits askew in it",
        "push it home, straight",
        "",
    ),
    "type V1 12AT7": (
        "F59",
        "a 12AT7 is in the socket of V1 (12AX7)",
        "read the glass; exchange it, or say that it is right: lugwright as-built FILE V1 12AX7",
        "",
    ),
    "open T1.hv.1-2": (
        "F20",
        "the hv winding of T1 is open between its leads 1 and 2",
        "measure it with the plug out, lead by lead, before anything else is blamed",
        "",
    ),
    "other mains T1": (
        "F03",
        "T1 is wound for 230 V, or its primary is joined for it",
        "find the windings by their ohms, and by their volts with nothing joined to them",
        "",
    ),
    "shorted T1.hv ground": (
        "F06",
        "winding hv of T1 is shorted: lead hv.1 touches ground",
        "lift its leads one at a time, with the plug out in between, until the lamp goes dim",
        "the supply is shorted: transformer and resistors overheat",
    ),
    "center on metal T1.heater.2": (
        "F09",
        "T1 heater.2 lead was taken for an earth lead and is bolted to the metal",
        "find the windings by their ohms, and by their volts with nothing joined to them",
        "",
    ),
    "exchanged P1.line P1.neutral": (
        "F02",
        "line and neutral are exchanged at P1",
        "plug out: measure from the plug's line pin through fuse and switch, and exchange the two wires",
        "with the switch off everything inside is still live: pull the plug",
    ),
    "second ground J1": (
        "F91",
        "the sleeve of jack J1 touches the panel",
        "lift the one bond on purpose: ground to metal must read open; put its washers in right",
        "",
    ),
    "broken ground.1 ground.2": (
        "F102",
        "the bus is broken, or was never joined, between ground point 1 and ground point 2",
        "measure along it, plug out: 0 ohms from end to end",
        "",
    ),
}
SHIELDED = f"W{number_of('J1.tip', 'A.1')}"
STAGE |= {
    f"strand {SHIELDED}": (
        "F69",
        "a strand of the braid of wire W15, white, from J1 tip to strip A lug 1, touches its core",
        "cut it away at J1 tip, and sleeve the braid",
        "",
    ),
    f"braid {SHIELDED}": (
        "F70",
        "the braid of wire W15, white, from J1 tip to strip A lug 1, is soldered nowhere",
        "solder it to J1 sleeve",
        "",
    ),
}
PAIR = {
    "crossed V2": (
        "F15",
        "the heater pair is crossed at V2",
        "with one tip on a heater pin of its neighbor, find the pin that reads nothing: those two belong together",
        "",
    ),
    "thin chain V1": (
        "F17",
        "the heater chain is too thin: its last tube V1 gets too little",
        "measure the heater volts at the first and the last socket; twist a thicker pair",
        "",
    ),
    "lamp leg DS1": (
        "F19",
        "pilot lamp DS1 goes from one heater leg to the metal",
        "bring its second lead to the other leg",
        "",
    ),
    "shorted turns L1": (
        "F29",
        "L1 (choke 5 H 110 Ω) has shorted turns",
        "put in a new one",
        "",
    ),
    "open L1": (
        "F25",
        "L1 (choke 5 H 110 Ω) is open",
        "lift one lead and measure it; put in a new one",
        "",
    ),
    "exchanged T1 bias heater": (
        "F08",
        "the bias and heater windings of T1 are exchanged",
        "find the windings by their ohms, and by their volts with nothing joined to them",
        "heaters on the wrong winding burn out in seconds",
    ),
    "exchanged T2.primary.1 T2.primary.2": (
        "F83",
        "T2 primary.1 lead and T2 primary.2 lead are exchanged",
        "exchange these two leads, once the plug is out and the capacitors are down",
        "",
    ),
    "exchanged T2.primary.1 T2.primary.3": (
        "F72",
        "T2 primary.1 lead and T2 primary.3 lead are exchanged: the feedback is positive",
        "exchange these two leads, once the plug is out and the capacitors are down",
        "the amplifier howls at full power as the output tubes warm up",
    ),
    "exchanged T2.speaker.2 T2.speaker.3": (
        "F85",
        "T2 speaker.2 lead and T2 speaker.3 lead are exchanged",
        "exchange these two leads, once the plug is out and the capacitors are down",
        "",
    ),
    "no load LS1": (
        "F84",
        "speaker LS1 is not plugged in, or its cord is broken",
        "plug it in; measure the cord",
        "an output stage without load arcs over: no signal until it has one",
    ),
    "tap R33 T2.speaker.2": (
        "F74",
        "the feedback of R33 (1.2 kΩ) comes from T2.speaker.2",
        "bring it to T2.speaker.3",
        "",
    ),
    "exchanged V3 V4": (
        "F59",
        "V3 (12AX7) and V4 (12AT7) are in each other's socket",
        "read the glass; exchange them",
        "",
    ),
    "strong V5": (
        "F87",
        "V5 draws far more than its neighbor",
        "put a tube that is known to be good in its place: if the fault goes with the tube, it was the tube",
        "",
    ),
    "gassy V5": (
        "F60",
        "V5 is gassy: its grid draws current",
        "put a tube that is known to be good in its place: if the fault goes with the tube, it was the tube",
        "its grid current pulls its bias up: it runs hotter and hotter",
    ),
    "wiper off R49": (
        "F35",
        'the wiper of pot R49 "Bias" does not touch its track',
        "turn it to and fro; if the reading jumps, put in a new one",
        "",
    ),
    "open R47": (
        "F33",
        "R47 (18 kΩ) is open",
        "lift one lead and measure it; put in a new one",
        "an output tube without bias draws all it can: its plates turn red within seconds",
    ),
    "open R37": (
        "F80",
        "R37 (68 kΩ) is open",
        "lift one lead and measure it; put in a new one",
        "the grid of an output tube is held by nothing: it drifts up and the tube runs away",
    ),
}


@pytest.mark.parametrize("key", STAGE)
def test_each_kind_is_said_in_a_builders_words(key: str) -> None:
    fault = faults()[key]
    assert (fault.code, fault.what, fault.do, fault.danger) == STAGE[key]


@pytest.mark.parametrize("key", PAIR)
def test_kinds_of_a_larger_amplifier_are_said_in_a_builders_words(key: str) -> None:
    fault = faults("godwit_40")[key]
    assert (fault.code, fault.what, fault.do, fault.danger) == PAIR[key]
