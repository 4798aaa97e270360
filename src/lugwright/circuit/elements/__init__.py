"""The kinds of circuit elements, one file each; `Element` names them all."""

from lugwright.circuit.elements.amplifier_tube import PentodeTube, TriodeTube
from lugwright.circuit.elements.capacitor import Capacitor
from lugwright.circuit.elements.diode import Junction, VacuumDiode
from lugwright.circuit.elements.resistor import Resistor
from lugwright.circuit.elements.source import CurrentSource, VoltageSource
from lugwright.circuit.elements.windings import Coil, Windings

Element = (
    Resistor | Capacitor | Windings | TriodeTube | PentodeTube | Junction | VacuumDiode | VoltageSource | CurrentSource
)

__all__ = [
    "Capacitor",
    "Coil",
    "CurrentSource",
    "Element",
    "Junction",
    "PentodeTube",
    "Resistor",
    "TriodeTube",
    "VacuumDiode",
    "VoltageSource",
    "Windings",
]
