"""The plan and the circuit joined: which end of which element hangs on which terminal, and what holds them together.

Everything that carries current from terminal to terminal is a `Piece`: a wire, the lead of a part with the ends of the
elements that it is, a lug of a pot, an electrode with all its pins, a ground bus, the metal. A fault of the wiring is
pieces that end elsewhere than planned; `Wired.otherwise` says what that does to the circuit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from lugwright.bringup.wired_ends import ends_by_terminal
from lugwright.buildfile.build import CHASSIS, GROUND, Bond, Build, Jack, Part, Speaker, Tank, Terminal, Tube
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring, ends_of
from lugwright.layout.results import Plan

METAL = "metal"  # the piece that all bolts and feet are parts of
TOUCH_OHM = 0.02  # solder, or a strand that touches
End = tuple[str, str]  # element (or coil), field


@dataclass(frozen=True)
class Piece:
    """One conductor: the terminals it is soldered to, and the ends of elements that hang on it."""

    name: str  # "W17", "R3.1", "V1.6", "bus ground", "metal"
    keys: tuple[str, ...]
    ends: tuple[End, ...] = ()


@dataclass(frozen=True)
class Otherwise:
    """What wiring otherwise than planned does: to the circuit, and to the terminals that stand elsewhere then."""

    rewiring: Rewiring
    stands: Mapping[str, str] = field(default_factory=dict)

    def __bool__(self) -> bool:
        """Return whether it does anything that a meter could see."""
        rewiring = self.rewiring
        return bool(rewiring.changes or rewiring.moved or rewiring.bridges or self.stands)


@dataclass(frozen=True, eq=False)
class Wired:
    """A build with its circuit, wired as its plan says."""

    build: Build
    circuit: Circuit
    plan: Plan

    @cached_property
    def pieces(self) -> Mapping[str, Piece]:
        """Return every piece by its name."""
        found = [*self._wires(), *self._buses(), *self._parts(), self._metal()]
        return self._with_plugged({piece.name: piece for piece in found})

    @cached_property
    def at(self) -> Mapping[str, tuple[str, ...]]:
        """Return the names of the pieces at every terminal, in the order of the pieces."""
        found: dict[str, list[str]] = {key: [] for key in self.plan.terminals}
        for piece in self.pieces.values():
            for key in piece.keys:
                found[key].append(piece.name)
        return {key: tuple(names) for key, names in found.items()}

    @cached_property
    def joint_of(self) -> Mapping[End, str]:
        """Return the joint of every end of the circuit."""
        return {(element, end): joint for element, end, joint in ends_of(self.circuit.elements)}

    @cached_property
    def keys_of(self) -> Mapping[str, tuple[str, ...]]:
        """Return the terminals of every joint, in plan order."""
        found: dict[str, list[str]] = {}
        for key, terminal in self.plan.terminals.items():
            if terminal.joint:
                found.setdefault(terminal.joint, []).append(key)
        return {joint: tuple(keys) for joint, keys in found.items()}

    @cached_property
    def key_of(self) -> Mapping[str, str]:
        """Return the terminal that a part's terminal (written ``R3.1``, ``V1a.plate``) is soldered to."""
        seats = {
            f"{seat.part}.{name}": key
            for seat in self.plan.seats
            for key, name in zip(seat.terminals, seat.lead_names, strict=True)
        }
        bonds = {
            f"{wire.bond}.{k}": key for wire in self.plan.wires if wire.bond for k, key in enumerate(wire.terminals, 1)
        }
        own = {}
        for part in self.build.parts:
            for terminal in part.terminals:
                key = f"{part.name}.{terminal.pins[0] if terminal.pins else terminal.name}"
                if key in self.plan.terminals:
                    own[str(terminal)] = key
        return seats | bonds | own

    def without(self, names: Iterable[str]) -> Otherwise:
        """Return what happens when pieces are not there at all."""
        gone = list(names)
        return self.otherwise(f"without {' and '.join(gone)}", dict.fromkeys(gone, ()))

    def loose(self, piece: str, key: str) -> Otherwise:
        """Return what happens when a piece has come off a terminal, or was never wetted there."""
        whole = self.pieces[piece]
        off = replace(whole, keys=tuple(other for other in whole.keys if other != key))
        return self.otherwise(f"{piece} off {key}", {piece: (off,)})

    def own_at(self, key: str) -> str:
        """Return the piece that a terminal itself is: an electrode, a lug of a pot, a bus, the metal; "" for a lug."""
        if key in self.pieces:
            return key
        terminal = self.plan.terminals[key]
        return {"bus": f"bus {terminal.owner}", "foot": METAL, "bolt": METAL}.get(terminal.kind, "")

    def dry(self, key: str) -> Otherwise:
        """Return what happens when no lead at a terminal touches it or another lead.

        A meter on a lug of a strip then reads the lead that was hooked in first: something holds it there.
        """
        stays = self.own_at(key) or self.at[key][0]
        off = {
            name: (replace(piece, keys=tuple(other for other in piece.keys if other != key)),)
            for name in self.at[key]
            if name != stays
            for piece in (self.pieces[name],)
        }
        return self.otherwise(f"{key} dry", off)

    def shifted(self, piece: str, key: str, other: str) -> Otherwise:
        """Return what happens when a piece ends on another terminal than planned."""
        whole = self.pieces[piece]
        there = replace(whole, keys=tuple(other if k == key else k for k in whole.keys))
        return self.otherwise(f"{piece} on {other}", {piece: (there,)})

    def exchanged(self, to: Mapping[str, str], *, own: bool) -> Otherwise:
        """Return what happens when terminals stand in for each other.

        With ``own``, what the terminals themselves are changes places, and a meter finds the leads where they were
        planned: so it is where pins were counted wrong, by whoever measures, too. Without, the leads change places.
        """
        instead = {}
        for key in to:
            for name in self.at[key]:
                if (name == self.own_at(key)) == own:
                    piece = self.pieces[name]
                    instead[name] = (replace(piece, keys=tuple(to.get(k, k) for k in piece.keys)),)
        return self.otherwise("exchanged", instead)

    def joined(self, *keys: str) -> Otherwise:
        """Return what happens when terminals touch."""
        return self.otherwise(f"{' and '.join(keys)} bridged", {"bridge": (Piece("bridge", keys),)})

    def otherwise(self, name: str, instead: Mapping[str, Sequence[Piece]]) -> Otherwise:
        """Return what happens with other pieces in the place of those named; a name of no piece adds some.

        Parameters
        ----------
        name : str
            What the rewiring is called.
        instead : mapping of str to sequence of Piece
            By name of the piece that is not there; an empty sequence takes it away.

        Returns
        -------
        Otherwise
            Of a joint that falls apart, the part with most ends keeps its name; the others get new ones. Joints that
            are made one are bridged.

        Valid
        -----
        A terminal is a point: what is soldered there touches all of the rest, or nothing.

        Source
        ------
        Derived below: connected pieces of the graph of terminals and pieces.
        """
        fresh = [piece for pieces in instead.values() for piece in pieces]
        changed = [*fresh, *(self.pieces[gone] for gone in instead if gone in self.pieces)]
        touched = {self._planned[key] for piece in changed for key in piece.keys}
        touched.update(self.joint_of[end] for piece in changed for end in piece.ends)
        # A lead that comes off leaves the rest together; only what has several terminals may have held a joint.
        held = {self._planned[key] for piece in changed[len(fresh) :] if len(piece.keys) > 1 for key in piece.keys}
        group_of: dict[str, _Group] = {}
        for joint in sorted(touched & self.keys_of.keys()):
            names = [piece for piece in self._pieces_on[joint] if piece not in instead]
            if joint in held:
                group_of.update((key, _Group([key], [])) for key in self.keys_of[joint])
                _join(group_of, (self.pieces[piece] for piece in names))
            else:
                ends = [end for piece in names for end in self.pieces[piece].ends]
                group_of.update(dict.fromkeys(self.keys_of[joint], _Group(list(self.keys_of[joint]), ends)))
        for key in sorted({key for piece in fresh for key in piece.keys} - group_of.keys()):
            group_of[key] = _Group([key], [])
        _join(group_of, (piece for piece in fresh if piece.keys))
        loose = [_Group([], list(piece.ends)) for piece in fresh if not piece.keys and piece.ends]
        groups = [*{id(group): group for group in group_of.values()}.values(), *loose]
        return _renamed(name, groups, self.joint_of, self._planned)

    @cached_property
    def _planned(self) -> Mapping[str, str]:
        return {key: terminal.joint for key, terminal in self.plan.terminals.items()}

    @cached_property
    def _pieces_on(self) -> Mapping[str, tuple[str, ...]]:
        """Return the names of the pieces on each joint."""
        return {
            joint: tuple(dict.fromkeys(name for key in keys for name in self.at[key]))
            for joint, keys in self.keys_of.items()
        }

    # ---- collecting the pieces ---------------------------------------------------------------

    def _wires(self) -> list[Piece]:
        return [Piece(f"W{wire.number}", wire.terminals) for wire in self.plan.wires if not wire.bond]

    def _buses(self) -> list[Piece]:
        points: dict[str, list[str]] = {}
        for key, terminal in self.plan.terminals.items():
            if terminal.kind == "bus":
                points.setdefault(terminal.owner, []).append(key)
        return [Piece(f"bus {owner}", tuple(keys)) for owner, keys in points.items()]

    def _metal(self) -> Piece:
        bolted = [key for key, t in self.plan.terminals.items() if t.kind in ("foot", "bolt")]
        sleeves = [
            f"{part.name}.sleeve"
            for part in self.build.parts
            if isinstance(part.values, Jack) and not part.values.isolated and part.terminal("sleeve").joint == CHASSIS
        ]
        return Piece(METAL, (*bolted, *(key for key in sleeves if key in self.plan.terminals)), self._ends[CHASSIS])

    @cached_property
    def _ends(self) -> Mapping[str, tuple[End, ...]]:
        return ends_by_terminal(self.build, self.circuit)

    def _parts(self) -> list[Piece]:
        found: dict[str, Piece] = {}
        for part in self.build.parts:
            for terminal in part.terminals:
                written = str(terminal)
                key = self.key_of.get(written)
                if key is None:
                    continue
                name = key if isinstance(part.values, Tube) else written
                keys = tuple(f"{part.name}.{pin}" for pin in terminal.pins) or (key,)
                met = found.get(name, Piece(name, ()))
                ends = self._ends.get(written, ())
                found[name] = Piece(name, tuple(dict.fromkeys((*met.keys, *keys))), (*met.ends, *ends))
        return list(found.values())

    def _with_plugged(self, pieces: dict[str, Piece]) -> dict[str, Piece]:
        """Return the pieces with speaker and springs, which stand outside, on the jacks that their cords plug into."""
        for part in self.build.parts:
            if isinstance(part.values, Speaker | Tank):
                for pair in zip(part.terminals[::2], part.terminals[1::2], strict=True):
                    for terminal, name in zip(pair, self._plug(pieces, part, pair), strict=True):
                        if name:
                            met = pieces[name]
                            pieces[name] = replace(met, ends=(*met.ends, *self._ends.get(str(terminal), ())))
        return pieces

    def _plug(self, pieces: Mapping[str, Piece], part: Part, pair: tuple[Terminal, Terminal]) -> tuple[str, str]:
        """Return the names of the two pieces that a cord ends on: a jack with both joints, else what is on them."""
        hot, cold = (terminal.joint for terminal in pair)
        for jack in self.build.parts:
            if isinstance(jack.values, Jack) and f"{jack.name}.tip" in pieces:
                tip, sleeve = jack.terminal("tip").joint, jack.terminal("sleeve").joint
                if (tip, sleeve) == (hot, cold):
                    return f"{jack.name}.tip", f"{jack.name}.sleeve"
        return self._any_on(hot), self._any_on(cold)

    def _any_on(self, joint: str) -> str:
        for terminal in self.build.joints.get(joint, ()):
            owner = self.build.part(terminal.part)
            if str(terminal) in self.key_of and not isinstance(owner.values, Bond | Speaker | Tank):
                return self.key_of[str(terminal)] if isinstance(owner.values, Tube) else str(terminal)
        return ""


@dataclass
class _Group:
    """Terminals and ends that hang together."""

    keys: list[str]
    ends: list[End]


def _join(group_of: dict[str, _Group], pieces: Iterable[Piece]) -> None:
    """Let pieces join the groups of their terminals, and hang their ends on them."""
    for piece in pieces:
        first = group_of[piece.keys[0]]
        for key in piece.keys[1:]:
            first = _merged(group_of, first, group_of[key])
        first.ends.extend(piece.ends)


def _merged(group_of: dict[str, _Group], one: _Group, other: _Group) -> _Group:
    """Return two groups as one: the smaller goes into the larger."""
    if one is other:
        return one
    small, large = (one, other) if len(one.keys) < len(other.keys) else (other, one)
    large.keys.extend(small.keys)
    large.ends.extend(small.ends)
    for key in small.keys:
        group_of[key] = large
    return large


def _renamed(
    name: str, groups: list[_Group], joint_of: Mapping[End, str], planned: Mapping[str, str]
) -> Otherwise:  # fmt: skip
    """Return ends and terminals that are on another joint now."""
    weights = [Counter(joint_of[end] for end in group.ends) for group in groups]
    spots = [Counter(planned[key] for key in group.keys if planned[key]) for group in groups]
    joints = dict.fromkeys(joint for some in (*weights, *spots) for joint in sorted(some))
    others = [sum(some.values()) for some in weights]

    def holds(k: int, joint: str) -> tuple[int, int, int, int]:
        """Rank the groups that a joint may live on in: most of its ends, least of others', most of its terminals."""
        return weights[k][joint], weights[k][joint] - others[k], spots[k][joint], -k

    keeper = {j: max(range(len(groups)), key=lambda k: holds(k, j)) for j in joints}
    kept: dict[int, list[str]] = {}
    for joint, k in keeper.items():
        kept.setdefault(k, []).append(joint)
    taken: Counter[str] = Counter()
    moved: list[Moved] = []
    bridges: list[Bridge] = []
    stands: dict[str, str] = {}
    for k, group in enumerate(groups):
        own = sorted(kept.get(k, ()), key=lambda j: (j != GROUND, -weights[k][j], j))
        if own:
            to = own[0]
            bridges += [Bridge(to, other, TOUCH_OHM) for other in own[1:]]
        else:
            common = (weights[k] or spots[k]).most_common(1)
            if not common:
                continue  # a lug that nothing is on
            taken[common[0][0]] += 1
            to = common[0][0] + "'" * taken[common[0][0]]
        moved += [Moved(*end, to) for end in group.ends if joint_of[end] != to and joint_of[end] not in own]
        stands |= {key: to for key in group.keys if planned[key] != to and planned[key] not in own}
    moved.sort(key=lambda m: (m.element, m.end))  # the same effect reads the same, whatever brought it about
    return Otherwise(Rewiring(name, moved=tuple(moved), bridges=tuple(bridges)), stands)
