"""From a part as written to the part as fitted: values in base units, the rest from the catalogue."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Any

from lugwright.buildfile import build as b
from lugwright.buildfile import records as w
from lugwright.buildfile.regulation import no_load_v, primary_ohm, secondary_ohm
from lugwright.catalogue.load import body_row, tube_type
from lugwright.catalogue.records import Specimen
from lugwright.quantities import Value

# (terminal name, section, pins, joint as written; "" for a terminal left alone)
Ends = list[tuple[str, str, tuple[int, ...], str]]
POT_TOLERANCE = 0.2  # from memory: ordinary carbon tracks are 20 %
ELECTROLYTIC_FROM_F, SMALL_BELOW_F = 4e-6, 0.9e-9
PRIMARY_HENRY = {
    "power transformer": 5.0,
    "output transformer": 15.0,
    "reverb transformer": 20.0,
    "interstage transformer": 30.0,
}
_ROW_OF_STYLE = {
    "film": "film capacitor",
    "electrolytic": "axial electrolytic",
    "mica": "mica capacitor",
    "ceramic": "ceramic capacitor",
}


def _two(written: Any, first: str = "1", second: str = "2") -> Ends:
    return [(first, "", (), written.ends[0]), (second, "", (), written.ends[1])]


def _tolerance(stated_percent: float | None, value: Value, usual: float) -> float:
    if stated_percent is not None:
        return stated_percent / 100.0
    return usual if value.tolerance_percent is None else value.tolerance_percent / 100.0


def _resistor(p: w.ResistorWritten) -> tuple[b.Fitted, Ends]:
    row = body_row(f"{p.style} resistor", watts=p.watts)
    tolerance = _tolerance(p.tolerance, p.value, row.tolerance)
    return b.Resistor(p.value.base, tolerance, p.watts, p.volts or row.volts, row.body, p.style), _two(p)


def _pot(p: w.PotWritten) -> tuple[b.Fitted, Ends]:
    closed = None if p.switch is None else True
    tolerance = _tolerance(p.tolerance, p.value, POT_TOLERANCE)
    ends: Ends = [(str(k), "", (), joint) for k, joint in enumerate(p.ends, start=1)]
    ends += [(f"s{k}", "", (), joint) for k, joint in enumerate(p.switch or [], start=1)]
    return b.Pot(p.value.base, tolerance, p.taper, p.setting, p.watts, p.label, closed), ends


def _capacitor(p: w.CapacitorWritten) -> tuple[b.Fitted, Ends]:
    farad = p.value.base
    style = p.style or (
        "electrolytic"
        if p.polar or (p.polar is None and farad >= ELECTROLYTIC_FROM_F)
        else "mica"
        if farad < SMALL_BELOW_F
        else "film"
    )
    row = body_row(_ROW_OF_STYLE[style], farad=farad, volts=p.volts)
    return b.Capacitor(farad, _tolerance(p.tolerance, p.value, row.tolerance), p.volts, style, row.body), _two(p)


def _can(p: w.CanWritten) -> tuple[b.Fitted, Ends]:
    farads = tuple(v.base for v in p.values)
    row = body_row("can", farad=sum(farads), volts=p.volts)
    tolerance = row.tolerance if p.tolerance is None else p.tolerance / 100.0
    names = [chr(ord("a") + k) for k in range(len(farads))] + ["minus"]
    return b.Can(farads, tolerance, p.volts, row.body), [(n, "", (), j) for n, j in zip(names, p.ends, strict=True)]


def _choke(p: w.ChokeWritten) -> tuple[b.Fitted, Ends]:
    return b.Choke(p.value.base, p.ohm, p.amps, p.light.base if p.light else 0.0), _two(p)


def _listed(value: list[float] | float, count: int) -> tuple[float, ...]:
    return tuple(value) if isinstance(value, list) else (value / count,) * count


def _impedances_ohm(written: list[float] | float | None, sections: int) -> tuple[float, ...]:
    """Return the impedance from the first end to each following one; of equal sections where one number is written."""
    if written is None or isinstance(written, list):
        return tuple(written or ())
    return tuple(written * (count / sections) ** 2 for count in range(1, sections + 1))


def turns_of(impedances_ohm: tuple[float, ...]) -> tuple[float, ...]:
    """Return the relative turns of each section of a winding from its impedances.

    Parameters
    ----------
    impedances_ohm : tuple of float
        From the first end to each following one, rising. [ohm]

    Returns
    -------
    tuple of float
        Turns of each section, in the same measure for every winding of the core: one turn for each root of an ohm. [-]

    Valid
    -----
    Windings on one core that share nearly all their flux, and impedances named for the same load.

    Source
    ------
    Derived below: volts go as turns and amps as their inverse, so impedance goes as the square of the turns; what
    lies between two taps is the difference of their roots.

    Examples
    --------
    >>> turns_of((4.0, 16.0))
    (2.0, 2.0)
    """
    roots = [0.0, *(math.sqrt(ohm) for ohm in impedances_ohm)]
    return tuple(after - before for before, after in pairwise(roots))


def _transformer(p: w.TransformerWritten) -> tuple[b.Fitted, Ends]:
    windings: list[b.Winding] = []
    ends: Ends = []
    for name, winding in p.windings.items():
        sections = len(winding.ends) - 1
        names = tuple(f"{name}.{k}" for k in range(1, len(winding.ends) + 1))
        impedances_ohm = _impedances_ohm(winding.impedance, sections)
        turns = turns_of(impedances_ohm) if impedances_ohm else _turns(p, winding, sections)
        windings.append(
            b.Winding(
                name,
                names,
                turns,
                _copper_ohms(p, winding, turns),
                winding.amps,
                tuple(winding.colors),
                impedances_ohm,
            )
        )
        ends += [(n, "", (), joint) for n, joint in zip(names, winding.ends, strict=True)]
    henry = p.magnetizing or PRIMARY_HENRY[p.kind]
    return b.Transformer(p.kind.split()[0], tuple(windings), henry, p.leakage), ends


def _turns(p: w.TransformerWritten, winding: w.WindingWritten, sections: int) -> tuple[float, ...]:
    """Return turns or no-load volts; rated volts rise by the regulation, but not the primary's, which are the mains."""
    if winding.rated_volts is None or p.regulation is None or winding is _primary(p):
        return _listed(winding.volts or winding.rated_volts or winding.turns or 1.0, sections)
    return tuple(no_load_v(rated_v=v, regulation=p.regulation) for v in _listed(winding.rated_volts, sections))


def _copper_ohms(p: w.TransformerWritten, winding: w.WindingWritten, turns: tuple[float, ...]) -> tuple[float, ...]:
    """Return the copper of each section: measured, or what goes with the regulation."""
    share = p.regulation or 0.0
    if winding.ohms is not None or not share:
        return _listed(winding.ohms or 1.0, len(turns))
    if winding is not _primary(p):
        amps = winding.amps or 1.0
        return tuple(secondary_ohm(rated_v=v / (1.0 + share), rated_a=amps, regulation=share) for v in turns)
    others = [one for one in p.windings.values() if one is not winding and one.amps]
    volt_amperes = sum(sum(_turns(p, one, len(one.ends) - 1)) / (1.0 + share) * (one.amps or 0.0) for one in others)
    whole = primary_ohm(mains_v=sum(turns), volt_amperes=volt_amperes, regulation=share)
    return tuple(whole * v / sum(turns) for v in turns)


def _primary(p: w.TransformerWritten) -> w.WindingWritten:
    return next(iter(p.windings.values()))


def _diode(p: w.DiodeWritten) -> tuple[b.Fitted, Ends]:
    body = body_row("diode", watts=p.amps).body
    return b.Diode(p.volts, p.amps, None, 0.0, body), _two(p, "anode", "cathode")


def _zener(p: w.ZenerWritten) -> tuple[b.Fitted, Ends]:
    body = body_row("diode", watts=min(p.watts, 3.0)).body
    return b.Diode(p.zener_volts, p.watts / p.zener_volts, p.zener_volts, p.watts, body), _two(p, "anode", "cathode")


def _bridge(p: w.BridgeWritten) -> tuple[b.Fitted, Ends]:
    return b.Bridge(p.volts, p.amps), [
        (n, "", (), j) for n, j in zip(("ac1", "ac2", "plus", "minus"), p.ends, strict=True)
    ]


def _jack(p: w.JackWritten) -> tuple[b.Fitted, Ends]:
    ends: Ends = [("tip", "", (), p.tip), ("sleeve", "", (), p.sleeve)]
    switched = p.switched or p.tip_switch is not None
    if switched:
        ends.append(("tip_switch", "", (), p.tip_switch or ""))
    return b.Jack(p.isolated, switched, p.plug_in, p.label), ends


def _switch(p: w.SwitchWritten) -> tuple[b.Fitted, Ends]:
    ends: Ends = []
    for number, pole in enumerate(p.poles, start=1):
        ends.append((f"{number}.common", "", (), pole[0]))
        ends += [(f"{number}.{k}", "", (), joint) for k, joint in enumerate(pole[1:], start=1) if joint]
    position = p.position or p.positions[-1]
    return b.Switch(len(p.poles), tuple(p.positions), position, p.label, p.volts, p.amps), ends


def _fuse(p: w.FuseWritten) -> tuple[b.Fitted, Ends]:
    return b.Fuse(p.amps, p.speed, p.volts, p.ohm), _two(p)


def _lamp(p: w.LampWritten) -> tuple[b.Fitted, Ends]:
    return b.Lamp(p.volts, p.amps), _two(p)


def _thermistor(p: w.ThermistorWritten) -> tuple[b.Fitted, Ends]:
    fit = None if p.fit is None else (p.fit[0], p.fit[1])
    return b.Thermistor(p.cold_ohm, p.hot_ohm, p.hot_amps, fit, p.fit_from), _two(p)


def _inlet(p: w.InletWritten) -> tuple[b.Fitted, Ends]:
    return b.Inlet(p.cord), [(n, "", (), getattr(p, n)) for n in ("line", "neutral", "earth")]


def _speaker(p: w.SpeakerWritten) -> tuple[b.Fitted, Ends]:
    return b.Speaker(p.ohm, p.watts), _two(p, "plus", "minus")


def _tank(p: w.TankWritten) -> tuple[b.Fitted, Ends]:
    names = ("in", "in_ground", "out", "out_ground")
    return b.Tank(p.input, p.output), [(n, "", (), j) for n, j in zip(names, p.ends, strict=True)]


def _bond(p: w.BondWritten) -> tuple[b.Fitted, Ends]:
    return b.Bond(p.purpose), _two(p)


_MAKERS: Mapping[type[w.PartWritten], Callable[[Any], tuple[b.Fitted, Ends]]] = {
    w.ResistorWritten: _resistor,
    w.PotWritten: _pot,
    w.CapacitorWritten: _capacitor,
    w.CanWritten: _can,
    w.ChokeWritten: _choke,
    w.TransformerWritten: _transformer,
    w.DiodeWritten: _diode,
    w.ZenerWritten: _zener,
    w.BridgeWritten: _bridge,
    w.JackWritten: _jack,
    w.SwitchWritten: _switch,
    w.FuseWritten: _fuse,
    w.LampWritten: _lamp,
    w.ThermistorWritten: _thermistor,
    w.InletWritten: _inlet,
    w.SpeakerWritten: _speaker,
    w.TankWritten: _tank,
    w.BondWritten: _bond,
}


def fitted_part(written: w.PartWritten) -> tuple[b.Fitted, Ends]:
    """Return the part's values and its terminals with their joints; CatalogueError when no body fits it."""
    return _MAKERS[type(written)](written)


def fitted_tube(written: w.TubeWritten) -> tuple[b.Tube, Ends]:
    """Return the tube and its electrodes, none joined yet; CatalogueError for an unknown type."""
    kind = tube_type(written.type)
    own = {"a": written.measured_a, "b": written.measured_b}
    measured = {
        section.letter: Specimen(**table.model_dump())
        for section in kind.sections
        if (table := own.get(section.letter) or written.measured) is not None
    }
    ends: Ends = [(name, section, pins, "") for section, name, pins in kind.terminals()]
    return b.Tube(kind, kind.socket, measured), ends
