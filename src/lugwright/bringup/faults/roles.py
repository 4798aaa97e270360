"""What each two-lead part is there for: told from the joints it stands between."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.bringup.feedback import feedback_resistors
from lugwright.bringup.fitting import output_tubes
from lugwright.buildfile.build import (
    GROUND,
    Bridge,
    Build,
    Can,
    Capacitor,
    Choke,
    Diode,
    Part,
    Resistor,
    Transformer,
    Tube,
)
from lugwright.catalogue.records import RectifierLaw

SENSE_OHM = 22.0  # a resistor in an output tube's cathode up to here is there to measure by
CENTER_OHM = 1000.0  # a resistor from a heater to ground up to here makes a center
STOPPER_OHM = 220e3


def roles_of(build: Build, classes: Mapping[str, str]) -> Mapping[str, str]:
    """Return the role of every resistor, capacitor (``C23.a`` in a can), diode and choke; other parts are not in it."""
    sight = _Sight(build, classes)
    found = {}
    for part in build.parts:
        match part.values:
            case Resistor():
                found[part.name] = sight.resistor(part, part.values)
            case Capacitor():
                found[part.name] = sight.capacitor(
                    part.name, {t.joint for t in part.terminals}, polar=part.values.polar
                )
            case Can():
                for terminal in part.terminals[:-1]:
                    ends = {terminal.joint, part.terminal("minus").joint}
                    found[f"{part.name}.{terminal.name}"] = sight.capacitor(part.name, ends, polar=True)
            case Diode() | Bridge():
                found[part.name] = sight.diode(part)
            case Choke():
                found[part.name] = "choke"
            case _:
                pass
    return found


class _Sight:
    """What is seen from the joints of a build."""

    def __init__(self, build: Build, classes: Mapping[str, str]) -> None:
        self.build, self.classes = build, classes
        outputs = {part.name for part in output_tubes(build)}
        self.output = {t.joint for name in outputs for t in build.part(name).terminals}
        self.feedback = set(feedback_resistors(build))
        self.stage = {name: stage.duty for stage in build.stages for name in stage.parts}
        self.electrode = {e: self._joints(e) for e in ("plate", "grid", "cathode", "screen")}
        self.behind_stopper = self._behind_stoppers()
        self.raw = self._rectified()
        self.middle = self._middles()
        self.lift = self._heater_centers()

    def _joints(self, electrode: str) -> set[str]:
        return {
            t.joint
            for part in self.build.parts
            if isinstance(part.values, Tube) and not isinstance(part.values.type.law, RectifierLaw)
            for t in part.terminals
            if t.name == electrode
        }

    def _is_stopper(self, part: Part, values: Resistor) -> bool:
        """Return whether a grid hangs on nothing but this resistor."""
        ends = {t.joint for t in part.terminals}
        return values.ohm <= STOPPER_OHM and any(
            joint in self.electrode["grid"] and self._alone(joint, part.name) for joint in ends
        )

    def _alone(self, joint: str, name: str) -> bool:
        others = ((t, self.build.part(t.part).values) for t in self.build.joints[joint] if t.part != name)
        return all(v.ohm <= STOPPER_OHM if isinstance(v, Resistor) else t.name == "grid" for t, v in others)

    def _behind_stoppers(self) -> set[str]:
        found = set()
        for part in self.build.parts:
            if isinstance(part.values, Resistor) and self._is_stopper(part, part.values):
                found |= {t.joint for t in part.terminals} - self.electrode["grid"] - {GROUND}
        return found

    def _rectified(self) -> set[str]:
        """Return the joints that rectifiers feed."""
        found = set()
        for part in self.build.parts:
            if isinstance(part.values, Tube) and isinstance(part.values.type.law, RectifierLaw):
                found.add(part.terminal("cathode").joint)
            elif isinstance(part.values, Diode) and part.values.zener_v is None:
                found |= {t.joint for t in part.terminals if t.name == "cathode" and self.classes.get(t.joint) == "B+"}
            elif isinstance(part.values, Bridge):
                found.add(part.terminal("plus").joint)
        return found

    def _middles(self) -> set[str]:
        """Return the joints where one electrolytic stands on another."""
        plus, minus = set(), set()
        for part in self.build.parts:
            if isinstance(part.values, Can) or (isinstance(part.values, Capacitor) and part.values.polar):
                plus |= {t.joint for t in part.terminals[:-1]}
                minus.add(part.terminals[-1].joint)
        return (plus & minus) - {GROUND}

    def _heater_centers(self) -> set[str]:
        """Return the joints, ground apart, that the center tap of a heater winding is held at."""
        return {
            part.terminal(end).joint
            for part in self.build.parts
            if isinstance(part.values, Transformer) and part.values.role == "power"
            for winding in part.values.windings
            if self.classes.get(part.terminal(winding.ends[0]).joint) == "heater"
            for end in winding.ends[1:-1]
        } - {GROUND, ""}

    def _in_supply(self, part: Part) -> bool:
        return self.stage.get(part.name) == "supply"

    def _classes(self, part: Part) -> set[str]:
        return {self.classes.get(t.joint, "") for t in part.terminals}

    def resistor(self, part: Part, values: Resistor) -> str:
        ends, kinds = {t.joint for t in part.terminals}, self._classes(part)
        if part.name in self.feedback:
            return "feedback"
        if ends & self.electrode["cathode"] and kinds & {"ground", "signal", "cathode", "chassis"}:
            return self._cathode_resistor(ends, values)
        if self._is_stopper(part, values):
            return "grid stopper"
        if ends & self.electrode["plate"] and "B+" in kinds and kinds != {"B+"}:
            return "plate load"
        if ends & self.electrode["screen"] and "B+" in kinds:
            return "screen resistor"
        return self._supply_resistor(part, ends, kinds, values) or self._signal_resistor(part, ends, kinds)

    def _cathode_resistor(self, ends: set[str], values: Resistor) -> str:
        if not ends & self.output & self.electrode["cathode"]:
            return "cathode resistor"
        return "sense resistor" if values.ohm <= SENSE_OHM else "output cathode resistor"

    def _supply_resistor(self, part: Part, ends: set[str], kinds: set[str], values: Resistor) -> str:
        if ends & self.middle:
            return "balancing resistor"
        if ends & self.lift:
            return "heater lift"
        if kinds == {"B+"}:
            return "dropping resistor"
        if kinds == {"B+", "ground"} or (kinds <= {"B+", "ground", "signal"} and self._in_supply(part)):
            return "bleeder"
        if "heater" in kinds and values.ohm <= CENTER_OHM:
            return "heater center"
        if kinds <= {"bias", "ground"} and "bias" in kinds:
            return "bias resistor"
        return ""

    def _signal_resistor(self, part: Part, ends: set[str], kinds: set[str]) -> str:
        if ends & (self.electrode["grid"] | self.behind_stopper):
            if ends & self.output or ("bias" in kinds and self.stage.get(part.name) == "output"):
                return "output grid leak"
            if kinds & {"ground", "bias", "chassis"} or self._at_tail(ends):
                return "grid leak"
        if self._at_tail(ends):
            return "tail"
        if kinds == {"speaker", "ground"}:
            return "load resistor"
        return "tone part" if self.stage.get(part.name) == "tone" else "signal resistor"

    def _at_tail(self, ends: set[str]) -> bool:
        """Return whether one end is the joint below the cathode resistor of a pair."""
        for joint in ends - {GROUND}:
            for t in self.build.joints[joint]:
                owner = self.build.part(t.part)
                far = {o.joint for o in owner.terminals} - {joint}
                if isinstance(owner.values, Resistor) and far & self.electrode["cathode"] and not far & self.output:
                    return True
        return False

    def capacitor(self, name: str, ends: set[str], *, polar: bool) -> str:
        kinds = {self.classes.get(joint, "") for joint in ends}
        if ends & self.electrode["cathode"] and not ends & self.electrode["grid"]:
            return "output bypass" if ends & self.output else "bypass"
        if kinds <= {"B+", "ground"} and "B+" in kinds:
            return "reservoir" if ends & self.raw else "filter"
        if polar and kinds <= {"bias", "ground"} and "bias" in kinds:
            return "bias filter"
        if ends & self.electrode["plate"] and not kinds & {"ground", "B+"} and not ends <= self.electrode["plate"]:
            return "tone part" if self.stage.get(name) == "tone" else "coupling"
        if ends & (self.electrode["grid"] | self.behind_stopper):
            return "grid capacitor" if self.stage.get(name) == "inverter" and "plate" not in kinds else "coupling"
        return "tone part" if self.stage.get(name) == "tone" else "signal capacitor"

    def diode(self, part: Part) -> str:
        kinds = self._classes(part)
        if "bias" in kinds:
            return "bias diode"
        if {t.joint for t in part.terminals} & self.raw:
            return "rectifier"
        return "catch diode"
