"""The cheapest seat a part can take now."""

from __future__ import annotations

from typing import cast

import numpy as np

from lugwright.layout.kernel.chance import below
from lugwright.layout.kernel.compiled import compiled
from lugwright.layout.kernel.geometry import end_of, lay
from lugwright.layout.kernel.place import beside_price, free_layer, heat_price, insulated, layer_price, put
from lugwright.layout.kernel.tables import (
    BUNDLED,
    CORE,
    DICE,
    FAR,
    FIRST,
    FREE,
    JOINT,
    JOINT_A,
    LENGTH,
    NEXT,
    NODE_FROM,
    NODE_TO,
    NONE,
    P_LUG,
    PRICES,
    RADIUS,
    ROOM,
    ROW_PRICE,
    SECOND,
    START,
    STOP,
    TERMINAL,
    WEIGHT,
    WIRE_A,
    WIRE_B,
    Real,
    Tables,
    Whole,
)

LOOKED_AT = 24  # seats looked at closely at a time, cheapest first
OF = 1024  # chances are given in parts of this
NEVER = cast(int, np.int64(0))


@compiled
def reach(w: Tables, joint: int, column: int) -> None:
    """Write for every terminal the price of a lead of the joint there, FAR where there is no room for it."""
    count, only = w.lugs[joint, 0], NONE
    for k in range(w.joint[joint, NODE_FROM], w.joint[joint, NODE_TO]):
        if w.item[k, CORE]:
            count += 1
            only = w.item[k, TERMINAL]
    if w.lugs[joint, 0] > 0:
        only = w.lugs[joint, 1]
    weight = w.joint[joint, WEIGHT]
    for t in range(len(w.terminal)):
        line = w.terminal[t]
        free = line[JOINT] == FREE
        if line[JOINT] != joint and not free:
            line[column] = FAR
            continue
        needs = 0 if count == 0 or (count == 1 and t == only) or (not free and line[BUNDLED]) else 1
        if line[ROOM] <= needs:
            line[column] = FAR
            continue
        price = w.apart[len(w.terminal) + joint, t]
        for k in range(1, w.lugs[joint, 0] + 1):
            price = min(price, w.apart[w.lugs[joint, k], t] * weight)
        line[column] = (0 if count == 0 else price) + (w.notes[PRICES, P_LUG] if free else 0)


@compiled
def seat_part(w: Tables, part: int, blink: int) -> bool:
    """Put a part on its cheapest seat, each being overlooked with a chance of ``blink``; return whether it has one."""
    for side in range(2):
        reach(w, w.part[part, JOINT_A + side], WIRE_A + side)
    near = np.empty((LOOKED_AT, 2), dtype=np.int64)
    after, after_row = NONE, NONE
    best, best_row, best_layer = FAR, NONE, NONE
    line = w.line[len(w.part)]
    line[LENGTH], line[RADIUS] = w.line[part, LENGTH], w.line[part, RADIUS]
    while best_row == NONE:
        count = _cheapest(w, part, after, after_row, near)
        for k in range(count):
            price, row = near[k, 0], near[k, 1]
            after, after_row = price, row
            if price >= best:
                break
            if (blink and below(w.notes[DICE], OF) < blink) or not insulated(w, part, row):
                continue
            price += _extra(w, part, row, line)
            if price >= best:
                continue
            layer = free_layer(w, part, row, line)
            if layer and price + layer_price(w, layer) < best:
                best, best_row, best_layer = price + layer_price(w, layer), row, layer
        if count < LOOKED_AT:
            break
    if best_row == NONE:
        return False
    put(w, part, best_row, best_layer)
    return True


@compiled
def _cheapest(w: Tables, part: int, after: int, after_row: int, near: Whole) -> int:
    """List the cheapest rows of a part beyond the last one looked at, by leads and wires alone."""
    count, worst = 0, FAR
    row, stop = w.part[part, START], w.part[part, STOP]
    while row < stop:
        wire = w.terminal[w.row[row, FIRST], WIRE_A]
        if wire >= worst:
            row = w.row[row, NEXT]  # nothing there, whatever the other end
            continue
        price = w.row[row, ROW_PRICE] + wire + w.terminal[w.row[row, SECOND], WIRE_B]
        if price < worst and (price > after or (price == after and row > after_row)):
            count = _note(near, count, price, row)
            worst = near[LOOKED_AT - 1, 0] if count == LOOKED_AT else FAR
        row += 1
    return count


@compiled
def _note(near: Whole, count: int, price: int, row: int) -> int:
    """Sort a row in among the cheapest; return how many there are now."""
    k = count if count < LOOKED_AT else LOOKED_AT - 1
    while k > 0 and near[k - 1, 0] > price:
        near[k, 0], near[k, 1] = near[k - 1, 0], near[k - 1, 1]
        k -= 1
    near[k, 0], near[k, 1] = price, row
    return min(count + 1, LOOKED_AT)


@compiled
def _extra(w: Tables, part: int, row: int, line: Real) -> int:
    """Return what the seat costs beside leads and wires; writes how the part would lie."""
    lay(w, row, line)
    price = heat_price(w, part, line)
    for side in range(2):
        end = end_of(w, row, side)
        if w.terminal[end, JOINT] == FREE:
            price += beside_price(w, end, w.part[part, JOINT_A + side])
    return price
