"""What is soldered or laid already, and where the circuit as it is now contradicts it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build
from lugwright.errors import PlanError
from lugwright.layout.heater_chain import ChainWire
from lugwright.layout.holds import Hold, Holds
from lugwright.layout.results import Plan, PlanTerminal, Wire

Lead = tuple[str, str, str]  # part, lead, terminal


@dataclass(frozen=True)
class Frozen:
    """Leads that are in, wires that are laid, terminals that are soldered."""

    leads: frozenset[Lead] = frozenset()
    wires: tuple[Wire, ...] = ()
    soldered: frozenset[str] = frozenset()

    def __bool__(self) -> bool:
        """Return whether anything is there."""
        return bool(self.leads or self.wires or self.soldered)

    def without(self, against: Iterable[Against]) -> Frozen:
        """Return what is left when everything that contradicts the circuit is unsoldered."""
        leads = {lead for each in against for lead in each.leads}
        wires = {wire.number for each in against for wire in each.wires}
        opened = {key for *_, key in leads} | {key for w in self.wires if w.number in wires for key in w.terminals}
        kept = tuple(w for w in self.wires if w.number not in wires)
        return Frozen(self.leads - leads, kept, self.soldered - opened)

    def is_in(self, plan: Plan) -> bool:
        """Return whether a plan has all of it."""
        leads = {(s.part, lead, key) for s in plan.seats for lead, key in zip(s.lead_names, s.terminals, strict=True)}
        laid = {(w.number, frozenset(w.terminals), w.route) for w in plan.wires}
        return self.leads <= leads and all((w.number, frozenset(w.terminals), w.route) in laid for w in self.wires)


@dataclass(frozen=True)
class Against:
    """Something soldered that the circuit does not have so, and what has to be unsoldered for it."""

    what: str
    found: str
    wanted: str
    leads: tuple[Lead, ...] = ()
    wires: tuple[Wire, ...] = ()


class SolderedAgainst(PlanError):
    """The circuit as it is now contradicts what is soldered."""

    def __init__(self, against: Sequence[Against]) -> None:
        several = len(against) > 1
        names = ", ".join(dict.fromkeys(name for each in against for name in _names(each)))
        super().__init__(
            what=f"{len(against)} things that are soldered do not fit the circuit" if several else against[0].what,
            found="; ".join(f"{each.what}: {each.found}" if several else each.found for each in against),
            wanted="; ".join(dict.fromkeys(each.wanted for each in against)),
            do=f"unsolder {names} and tick that off (lugwright tick FILE --undo --lead ...), or plan as if it were "
            "(lugwright plan FILE --unsolder)",
        )
        self.against = tuple(against)


def _names(against: Against) -> Iterator[str]:
    yield from (f"{part}.{lead}" for part, lead, _ in against.leads)
    yield from (f"W{wire.number}" for wire in against.wires)


def raise_if_against(build: Build, terminals: Mapping[str, PlanTerminal], frozen: Frozen) -> None:
    """Raise SolderedAgainst when something soldered is not so in the circuit."""
    found = [*_leads_gone(build, terminals, frozen), *_wires_gone(build, terminals, frozen)]
    if not found:
        joints = _Joints(build, terminals, frozen)
        found = [*joints.leads_elsewhere(), *joints.wires_across()]
    if found:
        raise SolderedAgainst(found)


def _leads_gone(build: Build, terminals: Mapping[str, PlanTerminal], frozen: Frozen) -> Iterator[Against]:
    for lead in sorted(frozen.leads):
        name, end, key = lead
        part = build.part_by_name.get(name)
        if part is None or end not in {t.name for t in part.terminals[:2]}:
            what = f"{name} is soldered in, and the circuit has it no more"
            yield Against(what, f"its lead {end} is in {key}", "a part of the circuit", leads=(lead,))
        elif key not in terminals or not terminals[key].capacity:
            what = f"{name}.{end} is soldered where nothing can be soldered any more"
            yield Against(what, f"{key} is gone, or must stay empty", "the terminal it is in", leads=(lead,))


def _wires_gone(build: Build, terminals: Mapping[str, PlanTerminal], frozen: Frozen) -> Iterator[Against]:
    for wire in frozen.wires:
        gone = [key for key in wire.terminals if key not in terminals or not terminals[key].capacity]
        if gone:
            what = f"W{wire.number} ends where nothing can be soldered any more"
            yield Against(what, f"{gone[0]} is gone, or must stay empty", "the terminal it is in", wires=(wire,))
        elif wire.bond and wire.bond not in build.part_by_name:
            what = f"W{wire.number} is laid, and the circuit has no bond {wire.bond} any more"
            yield Against(what, f"it runs from {' to '.join(wire.terminals)}", "a bond of the circuit", wires=(wire,))


class _Joints:
    """The joint that each terminal with solder in it carries in the circuit as it is now."""

    def __init__(self, build: Build, terminals: Mapping[str, PlanTerminal], frozen: Frozen) -> None:
        self.build, self.terminals, self.frozen = build, terminals, frozen
        self.at: dict[str, str] = {key: t.joint for key, t in terminals.items() if t.joint}
        for piece in self._pieces():
            fixed = sorted({self.at[key] for key in piece if key in self.at})
            if len(fixed) > 1:
                self._follow_wires(piece)
            elif joint := fixed[0] if fixed else self._said_most(piece):
                self.at.update(dict.fromkeys(piece, joint))

    def _joint_of(self, part: str, lead: str) -> str:
        return self.build.part(part).terminal(lead).joint

    def _pieces(self) -> list[set[str]]:
        """Return the terminals that laid wires join, and those that hold leads alone."""
        pieces = [{key} for *_, key in sorted(self.frozen.leads)]
        pieces += [set(wire.terminals) for wire in self.frozen.wires if not wire.bond]
        merged: list[set[str]] = []
        for piece in pieces:
            touching = [other for other in merged if other & piece]
            merged = [other for other in merged if not other & piece] + [piece.union(*touching)]
        return merged

    def _said_most(self, piece: set[str]) -> str:
        """Return the joint that most of what is in these terminals is on, of equals the first in the build."""
        votes = Counter(self._joint_of(name, end) for name, end, key in self.frozen.leads if key in piece)
        votes.update(w.joint for w in self._wires_in(piece) if w.joint in self.build.joints)
        order = list(self.build.joints)
        return min(votes, key=lambda joint: (-votes[joint], order.index(joint)), default="")

    def _wires_in(self, piece: set[str]) -> list[Wire]:
        return [wire for wire in self.frozen.wires if not wire.bond and set(wire.terminals) <= piece]

    def _follow_wires(self, piece: set[str]) -> None:
        """Carry joints along wires from the terminals whose joint cannot be otherwise."""
        grew = True
        while grew:
            grew = False
            for wire in self._wires_in(piece):
                known = [self.at[key] for key in wire.terminals if key in self.at]
                if len(known) == 1:
                    self.at.update(dict.fromkeys(wire.terminals, known[0]))
                    grew = True

    def leads_elsewhere(self) -> Iterator[Against]:
        """Yield leads whose part has another joint there now."""
        for lead in sorted(self.frozen.leads):
            name, end, key = lead
            wanted = self._joint_of(name, end)
            if self.at.get(key, wanted) != wanted:
                yield Against(
                    f"{name}.{end} is soldered to {self.terminals[key].label}",
                    f"that carries {self.at[key]}; in the circuit {name}.{end} goes to {wanted}",
                    f"{name}.{end} on {wanted}",
                    leads=(lead,),
                )

    def wires_across(self) -> Iterator[Against]:
        """Yield wires that join what the circuit keeps apart."""
        for wire in self.frozen.wires:
            labels = [self.terminals[key].label for key in wire.terminals]
            joints = [self.at.get(key, "") for key in wire.terminals]
            if wire.bond:
                stated = {t.joint for t in self.build.part(wire.bond).terminals}
                apart = not set(joints) - {""} <= stated
                wanted = f"{wire.bond} from {' to '.join(sorted(stated))}"
            else:
                apart = joints[0] != joints[1] or not joints[0]
                wanted = "a wire within one joint"
            if apart:
                here = [f"{label} ({joint or 'no joint'})" for label, joint in zip(labels, joints, strict=True)]
                yield Against(
                    f"W{wire.number} is laid across two joints", f"it joins {' and '.join(here)}", wanted, wires=(wire,)
                )


def soldered_holds(build: Build, terminals: Mapping[str, PlanTerminal], frozen: Frozen) -> Holds:
    """Return what solder holds: parts at their terminals, joints on their lugs."""
    at: dict[str, dict[str, str]] = {}
    for name, end, key in sorted(frozen.leads):
        at.setdefault(name, {})[end] = key
    parts = {}
    for name, ends in at.items():
        one, two = (t.name for t in build.part(name).terminals[:2])
        parts[name] = Hold(((ends.get(one, ""), ends.get(two, "")),), f"{name}, soldered")
    for wire in frozen.wires:
        if wire.bond:
            parts[wire.bond] = Hold((wire.terminals,), f"{wire.bond}, soldered")
    joints = _Joints(build, terminals, frozen).at
    touched = {key for *_, key in frozen.leads} | {key for w in frozen.wires if not w.bond for key in w.terminals}
    lugs = {key: (joints[key], "soldered") for key in sorted(touched) if not terminals[key].joint and key in joints}
    return Holds(parts, lugs)


def laid_wires(build: Build, terminals: Mapping[str, PlanTerminal], frozen: Frozen) -> tuple[Wire, ...]:
    """Return the laid wires with the joints they carry now; a joint may have been given another name."""
    at = _Joints(build, terminals, frozen).at
    return tuple(wire if wire.bond else replace(wire, joint=at[wire.terminals[0]]) for wire in frozen.wires)


def with_laid(chain: Sequence[ChainWire], laid: Sequence[Wire]) -> list[ChainWire]:
    """Return the wires decided beforehand: those laid, and of the others what they do not join already."""
    kept = [ChainWire(w.joint, w.terminals, w.twist) for w in laid if not w.bond]
    piece: dict[str, str] = {}

    def root(key: str) -> str:
        while piece.setdefault(key, key) != key:
            key = piece[key]
        return key

    for wire in kept:
        piece[root(wire.terminals[0])] = root(wire.terminals[1])
    for wire in chain:
        one, two = (root(key) for key in wire.terminals)
        if one != two:
            piece[one] = two
            kept.append(wire)
    return kept


def as_laid(wires: Sequence[Wire], laid: Sequence[Wire]) -> tuple[Wire, ...]:
    """Return the wires, those that are laid as they were laid."""
    known = {frozenset(wire.terminals): wire for wire in laid}
    return tuple(known.get(frozenset(wire.terminals), wire) for wire in wires)


def leads_in(frozen: Frozen) -> Counter[str]:
    """Return how many leads are in each terminal."""
    ends = [key for *_, key in frozen.leads]
    ends += [key for wire in frozen.wires for key in (*wire.terminals, *([wire.shield] if wire.shield else []))]
    return Counter(ends)
