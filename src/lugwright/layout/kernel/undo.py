"""Remember what a move changes, and take it back."""

from __future__ import annotations

from lugwright.layout.kernel.compiled import compiled
from lugwright.layout.kernel.place import add_tie, drop_ties, put, take
from lugwright.layout.kernel.tables import (
    CROWDED,
    JOINT_A,
    JOINTS,
    LAYER,
    MISSING,
    NONE,
    NOW,
    OLD,
    OLD_CROWDED,
    OLD_LAYER,
    OLD_MISSING,
    OLD_PRICE,
    OLD_ROW,
    PARTS,
    PRICE,
    ROW,
    TERMS,
    TIE,
    TOUCHED,
    TOUCHED_J,
    Tables,
)


@compiled
def begin(w: Tables) -> None:
    """Start a move with nothing changed."""
    for k in range(1, w.notes[PARTS, 0] + 1):
        w.part[w.notes[PARTS, k], TOUCHED] = 0
    for k in range(1, w.notes[JOINTS, 0] + 1):
        w.joint[w.notes[JOINTS, k], TOUCHED_J] = 0
    w.notes[PARTS, 0] = 0
    w.notes[JOINTS, 0] = 0
    for k in range(TERMS):
        w.notes[OLD, k] = w.notes[NOW, k]


@compiled
def touch(w: Tables, part: int) -> None:
    """Remember a part and its two joints before the part is moved; the ties of the joints are taken away."""
    if w.part[part, TOUCHED]:
        return
    w.part[part, TOUCHED] = 1
    w.notes[PARTS, 0] += 1
    w.notes[PARTS, w.notes[PARTS, 0]] = part
    w.part[part, OLD_ROW], w.part[part, OLD_LAYER] = w.part[part, ROW], w.part[part, LAYER]
    for side in range(2):
        touch_joint(w, w.part[part, JOINT_A + side])


@compiled
def touch_joint(w: Tables, joint: int) -> None:
    """Remember the wires of a joint and take its ties away."""
    line = w.joint[joint]
    if line[TOUCHED_J]:
        return
    line[TOUCHED_J] = 1
    w.notes[JOINTS, 0] += 1
    w.notes[JOINTS, w.notes[JOINTS, 0]] = joint
    line[OLD_PRICE], line[OLD_MISSING], line[OLD_CROWDED] = line[PRICE], line[MISSING], line[CROWDED]
    old = w.lugs[len(w.joint) + joint]
    old[0] = 0
    for k in range(1, w.lugs[joint, 0] + 1):
        if w.terminal[w.lugs[joint, k], TIE]:
            old[0] += 1
            old[old[0]] = w.lugs[joint, k]
    for k in range(2 * w.edges[joint, 0] + 1):
        w.edges[len(w.joint) + joint, k] = w.edges[joint, k]
    if old[0]:
        drop_ties(w, joint)


@compiled
def take_back(w: Tables) -> None:
    """Undo the move."""
    for k in range(1, w.notes[PARTS, 0] + 1):
        if w.part[w.notes[PARTS, k], ROW] != NONE:
            take(w, w.notes[PARTS, k])
    for k in range(1, w.notes[JOINTS, 0] + 1):
        drop_ties(w, w.notes[JOINTS, k])
    for k in range(1, w.notes[PARTS, 0] + 1):
        part = w.notes[PARTS, k]
        if w.part[part, OLD_ROW] != NONE:
            put(w, part, w.part[part, OLD_ROW], w.part[part, OLD_LAYER])
    for k in range(1, w.notes[JOINTS, 0] + 1):
        joint = w.notes[JOINTS, k]
        line = w.joint[joint]
        line[PRICE], line[MISSING], line[CROWDED] = line[OLD_PRICE], line[OLD_MISSING], line[OLD_CROWDED]
        for i in range(1, w.lugs[len(w.joint) + joint, 0] + 1):
            add_tie(w, w.lugs[len(w.joint) + joint, i], joint)
        for i in range(2 * w.edges[len(w.joint) + joint, 0] + 1):
            w.edges[joint, i] = w.edges[len(w.joint) + joint, i]
    for k in range(TERMS):
        w.notes[NOW, k] = w.notes[OLD, k]
