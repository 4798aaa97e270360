"""Put parts in and take them out, with every term of the price kept up to date."""

from __future__ import annotations

from lugwright.layout.kernel.compiled import compiled
from lugwright.layout.kernel.geometry import BODY, end_of, in_the_way, lay, square_apart
from lugwright.layout.kernel.tables import (
    BEFORE,
    BOND,
    COLD,
    COUPLES,
    COUPLING,
    FIRST,
    FIXED,
    FREE,
    GAP,
    HEAT,
    HOT,
    INSULATION,
    JOINT,
    JOINT_A,
    LAYER,
    LAYERS,
    LEAST_LAYER,
    LEFT_OVER,
    LOAD,
    LUGS,
    NEAR_FROM,
    NEAR_TO,
    NONE,
    NOW,
    OTHER,
    P_HEAT,
    P_LUG,
    P_SECOND,
    P_THIRD,
    P_TIE,
    PRICES,
    RADIUS,
    ROOM,
    ROW,
    ROW_PRICE,
    SEATS,
    SECOND,
    TIE,
    UNSEATED,
    Real,
    Tables,
)
from lugwright.layout.objective import HOT_AIR_MM

MOST_LAYERS = 3


@compiled
def may_carry(w: Tables, terminal: int, joint: int, also: int, also_joint: int) -> bool:
    """Return whether the builder and insulation let a terminal carry a joint, ``also`` being one set with it."""
    if w.apart[len(w.terminal) + len(w.joint) + joint, terminal]:
        return False
    for k in range(w.terminal[terminal, NEAR_FROM], w.terminal[terminal, NEAR_TO]):
        other = w.item[k, OTHER]
        theirs = also_joint if other == also else w.terminal[other, JOINT]
        if theirs >= 0 and w.need[w.item[k, INSULATION], joint, theirs] > w.item[k, GAP]:
            return False
    return True


@compiled
def insulated(w: Tables, part: int, row: int) -> bool:
    """Return whether insulation lets a part sit on a row."""
    one, two = end_of(w, row, 0), end_of(w, row, 1)
    a, c = w.part[part, JOINT_A], w.part[part, JOINT_A + 1]
    if w.terminal[one, JOINT] == FREE and not may_carry(w, one, a, two, c):
        return False
    return w.terminal[two, JOINT] != FREE or may_carry(w, two, c, one, a)


@compiled
def allowed(w: Tables, part: int, row: int) -> bool:
    """Return whether room, joints and insulation let a part sit on a row (layers not looked at)."""
    for side in range(2):
        end = end_of(w, row, side)
        theirs = w.terminal[end, JOINT]
        if w.terminal[end, ROOM] < 1 or (theirs != FREE and theirs != w.part[part, JOINT_A + side]):
            return False
    return insulated(w, part, row)


@compiled
def beside_price(w: Tables, terminal: int, joint: int) -> int:
    """Return the price of a joint on a lug for what its two neighbors carry."""
    price = 0
    for k in range(2):
        other = w.terminal[terminal, BEFORE + k]
        if other != NONE and w.terminal[other, JOINT] >= 0:
            price += w.need[COUPLES, joint, w.terminal[other, JOINT]]
    return price


@compiled
def claim(w: Tables, terminal: int, joint: int) -> None:
    """Give a free lug to a joint; one it has already stays."""
    if w.terminal[terminal, JOINT] != FREE:
        return
    w.notes[NOW, COUPLING] += beside_price(w, terminal, joint)
    w.notes[NOW, LUGS] += w.notes[PRICES, P_LUG]
    w.terminal[terminal, JOINT] = joint
    lugs = w.lugs[joint]
    k = lugs[0]
    while k > 0 and lugs[k] > terminal:
        lugs[k + 1] = lugs[k]
        k -= 1
    lugs[k + 1] = terminal
    lugs[0] += 1


@compiled
def release(w: Tables, terminal: int) -> None:
    """Set a lug free when nothing is left on it."""
    if w.terminal[terminal, FIXED] or w.terminal[terminal, LOAD] or w.terminal[terminal, TIE]:
        return
    joint = w.terminal[terminal, JOINT]
    w.terminal[terminal, JOINT] = FREE
    w.notes[NOW, COUPLING] -= beside_price(w, terminal, joint)
    w.notes[NOW, LUGS] -= w.notes[PRICES, P_LUG]
    lugs = w.lugs[joint]
    k = 1
    while lugs[k] != terminal:
        k += 1
    while k < lugs[0]:
        lugs[k] = lugs[k + 1]
        k += 1
    lugs[0] -= 1


@compiled
def add_tie(w: Tables, terminal: int, joint: int) -> None:
    """Give a free lug to a joint for its wires alone."""
    claim(w, terminal, joint)
    w.terminal[terminal, TIE] = 1
    w.notes[NOW, LUGS] += w.notes[PRICES, P_TIE]


@compiled
def drop_ties(w: Tables, joint: int) -> None:
    """Take the tie lugs of a joint away."""
    k = 1
    while k <= w.lugs[joint, 0]:
        terminal = w.lugs[joint, k]
        k += 1
        if w.terminal[terminal, TIE]:
            w.terminal[terminal, TIE] = 0
            w.notes[NOW, LUGS] -= w.notes[PRICES, P_TIE]
            release(w, terminal)
            k = 1


@compiled
def layer_price(w: Tables, layer: int) -> int:
    """Return the price of a body on a layer."""
    return 0 if layer <= 1 else int(w.notes[PRICES, P_SECOND] if layer == 2 else w.notes[PRICES, P_THIRD])


@compiled
def heat_price(w: Tables, part: int, line: Real) -> int:
    """Return the price of power resistors close to electrolytics."""
    if not w.part[part, HOT] and not w.part[part, COLD]:
        return 0
    close = 0
    for other in range(len(w.part)):
        if w.part[other, ROW] == NONE or other == part:
            continue
        if (w.part[part, HOT] and w.part[other, COLD]) or (w.part[part, COLD] and w.part[other, HOT]):
            reach = line[RADIUS] + w.line[other, RADIUS] + HOT_AIR_MM
            if square_apart(line, BODY, w.line[other], BODY) < reach * reach:
                close += 1
    return int(w.notes[PRICES, P_HEAT]) * close


@compiled
def free_layer(w: Tables, part: int, row: int, line: Real) -> int:
    """Return the lowest layer with room, 0 when there is none."""
    if w.part[part, BOND]:
        return 1
    one, two = w.row[row, FIRST], w.row[row, SECOND]
    taken = 0
    for other in range(len(w.part)):
        theirs = w.part[other, ROW]
        if theirs == NONE or w.part[other, BOND] or (taken >> w.part[other, LAYER]) & 1 or other == part:
            continue
        ends = w.row[theirs]
        shared = ends[FIRST] == one or ends[FIRST] == two or ends[SECOND] == one or ends[SECOND] == two
        if in_the_way(line, w.line[other], shared):
            taken |= 1 << w.part[other, LAYER]
    for layer in range(w.row[row, LEAST_LAYER], MOST_LAYERS + 1):
        if not (taken >> layer) & 1:
            return layer
    return 0


@compiled
def put(w: Tables, part: int, row: int, layer: int) -> None:
    """Seat a part; the caller has checked that it may."""
    for side in range(2):
        end = end_of(w, row, side)
        claim(w, end, w.part[part, JOINT_A + side])
        w.terminal[end, LOAD] += 1
        w.terminal[end, ROOM] -= 1
    w.part[part, ROW], w.part[part, LAYER] = row, layer
    lay(w, row, w.line[part])
    w.notes[NOW, SEATS] += w.row[row, ROW_PRICE]
    w.notes[NOW, LAYERS] += layer_price(w, layer)
    w.notes[NOW, HEAT] += heat_price(w, part, w.line[part])
    w.notes[NOW, UNSEATED] -= w.part[part, LEFT_OVER]


@compiled
def take(w: Tables, part: int) -> None:
    """Unseat a part."""
    row = w.part[part, ROW]
    w.notes[NOW, SEATS] -= w.row[row, ROW_PRICE]
    w.notes[NOW, LAYERS] -= layer_price(w, w.part[part, LAYER])
    w.notes[NOW, HEAT] -= heat_price(w, part, w.line[part])
    w.notes[NOW, UNSEATED] += w.part[part, LEFT_OVER]
    w.part[part, ROW] = NONE
    for side in range(2):
        end = end_of(w, row, side)
        w.terminal[end, LOAD] -= 1
        w.terminal[end, ROOM] += 1
        release(w, end)
