"""Which parts of a stage hang together, and the order of their columns from left to right: the way of the signal."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.documents.drawings.circuit_pieces import Block, Piece, StagePieces

LAST = 1000.0  # output transformers and jacks stand at the right end
INTO_TUBE = ("grid", "plate1", "plate2")


def hanging_together(stage: StagePieces) -> list[tuple[list[Piece], list[Block]]]:
    """Return the groups of pieces and blocks joined by more than supply and ground, in file order."""
    rails = stage.up | stage.down
    parent: dict[str, str] = {}

    def root(name: str) -> str:
        while parent.setdefault(name, name) != name:
            name = parent[name]
        return name

    things: tuple[Piece | Block, ...] = (*stage.blocks, *stage.pieces)
    for thing in things:
        for joint in _wired_joints(thing):
            if joint not in rails:
                parent[root("joint " + joint)] = root(thing.key)
    groups: dict[str, tuple[list[Piece], list[Block]]] = {}
    for piece in stage.pieces:
        groups.setdefault(root(piece.key), ([], []))[0].append(piece)
    for block in stage.blocks:
        groups.setdefault(root(block.key), ([], []))[1].append(block)
    return list(groups.values())


def _wired_joints(thing: Piece | Block) -> tuple[str, ...]:
    """Return the joints a thing is drawn joined to by wires, not by flags."""
    if isinstance(thing, Piece):
        return thing.ends
    flagged = {port.terminal for port in thing.symbol.ports if port.way == "F"}
    return tuple(joint for terminal, joint in thing.joints.items() if terminal not in flagged)


def is_tube(block: Block) -> bool:
    """Return whether a block is a tube section."""
    return "plate" in block.joints or "plate1" in block.joints


def stands_last(block: Block) -> bool:
    """Return whether a block ends the signal's way: transformers at plates, jacks that lead out."""
    if "tip" in block.joints:
        return not block.source
    return any(port.way == "N" and "." in port.terminal and port.x < 0 for port in block.symbol.ports) and any(
        word == "transformer" for word in block.words
    )


def column_order(pieces: Sequence[Piece], blocks: Sequence[Block], stage: StagePieces) -> dict[str, float]:
    """Return a place from left to right for every joint ("joint x") and block of a group."""
    rails = stage.up | stage.down
    order: dict[str, float] = {}
    base = 0.0
    for starts in _start_groups(pieces, blocks, stage):
        found = _spread(starts, pieces, blocks, rails, order)
        for name, steps in found.items():
            order[name] = steps if steps >= LAST else base + steps
        _grids_beside_tubes(blocks, found, order)
        base = max((v for v in order.values() if v < LAST), default=0.0) + 1.0
    return order


def _grids_beside_tubes(blocks: Sequence[Block], found: dict[str, float], order: dict[str, float]) -> None:
    """Let a grid's joint stand right before its tube when both are equally far on the signal's way."""
    for block in blocks:
        name = f"joint {block.joints.get('grid', '')}"
        if name in found and block.key in found and 0.0 < order[block.key] - order[name] < 1.0:
            order[name] = order[block.key] - 0.01


def _start_groups(pieces: Sequence[Piece], blocks: Sequence[Block], stage: StagePieces) -> list[list[str]]:
    rails = stage.up | stage.down
    starts = [b.joints["tip"] for b in blocks if b.source and "tip" in b.joints]
    starts += [j for b in blocks if b.source and "line" in b.joints for j in b.joints.values()]
    things: tuple[Piece | Block, ...] = (*pieces, *blocks)
    present = [j for thing in things for j in _wired_joints(thing) if j not in rails]
    fed_by_plates = {j for b in blocks if is_tube(b) for t, j in b.joints.items() if t not in INTO_TUBE}
    starts += [j for j in present if j in stage.entering and j not in fed_by_plates]
    starts += [b.joints["grid"] for b in blocks if "grid" in b.joints and b.joints["grid"] not in fed_by_plates]
    starts += [j for j in present if j not in fed_by_plates] or present
    groups: dict[str, list[str]] = {}
    reached: set[str] = set()
    for start in dict.fromkeys(s for s in starts if s not in rails):
        found = _spread([start], pieces, blocks, rails, {})
        tube = next(
            (b.key for b in sorted(blocks, key=lambda b: found.get(b.key, 9e9)) if is_tube(b) and b.key in found), ""
        )
        entering = start in stage.entering or any(b.source and start in b.joints.values() for b in blocks)
        if start in reached and not entering:
            continue
        groups.setdefault(tube, []).append(start)
        reached |= {name.removeprefix("joint ") for name in found}
    return list(groups.values())


def _spread(starts: Sequence[str], pieces: Sequence[Piece], blocks: Sequence[Block], rails: frozenset[str],
            known: dict[str, float]) -> dict[str, float]:  # fmt: skip
    """Return the steps from the starts to everything reached, tubes only passed from grid to plate."""
    found: dict[str, float] = {f"joint {s}": 0.0 for s in starts if f"joint {s}" not in known}
    at_tubes = {j for b in blocks if is_tube(b) for j in b.joints.values()}
    things: tuple[Piece | Block, ...] = (*blocks, *pieces)
    front = [s for s in starts if f"joint {s}" in found]
    while front:
        following: list[str] = []
        for joint in front:
            steps = found[f"joint {joint}"]
            for thing in things:
                seen = isinstance(thing, Block) and (thing.key in found or thing.key in known)
                if seen or joint not in _wired_joints(thing):
                    continue
                after = steps + 1.0
                if isinstance(thing, Block):
                    if is_tube(thing) and joint not in [thing.joints.get(t) for t in INTO_TUBE]:
                        continue
                    begins = thing.source
                    own = max(LAST, steps) + 0.5 if stands_last(thing) else steps - 0.5 if begins else steps + 0.5
                    found[thing.key] = own
                    after = own + 1.0
                ends = isinstance(thing, Block) and stands_last(thing)
                for other in _wired_joints(thing):
                    name = f"joint {other}"
                    if ends and other in at_tubes:
                        continue
                    if other not in rails and name not in found and name not in known:
                        found[name] = after
                        following.append(other)
        front = following
    return found
