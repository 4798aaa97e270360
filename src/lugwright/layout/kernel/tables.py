"""What the search reads and writes, as flat tables of numbers with named columns.

Prices are whole numbers, ``PER_MM`` to a millimeter of ordinary wire: a sum is the same in whatever order it is taken.
"""

from __future__ import annotations

from typing import NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from lugwright.layout.objective import UNPLACED

Whole = NDArray[np.int64]
Short = NDArray[np.int32]
Real = NDArray[np.float64]

PER_MM = 10_000
LEFT_OVER_PRICE = round(UNPLACED * PER_MM)
DISTANCE_PER_MM = 100
WEIGHT_PER_ONE = 100
GAP_PER_MM = 1000
FREE = -1
NONE = cast(int, np.int64(-1))  # typed, so that it is compiled as any other number
FAR = 1 << 50  # the price of what cannot be
MOST_TIES = 2

# Columns. Of row: a seat a part could take.
FIRST, SECOND, LEAST_LAYER, SPAN, ROW_PRICE, NEXT = range(6)  # spans in tenths of a millimeter; next first end
# Of part: its rows, its joints, what it is; where it sits, where it sat before the move, its price without a seat.
START, STOP, JOINT_A, JOINT_B, BOND, HOT, COLD, ROW, LAYER, TOUCHED, OLD_ROW, OLD_LAYER, LEFT_OVER = range(13)
# Of line: ends of the leads (0 to 3) and of the body (4 to 7) where it lies; what it measures.
LENGTH, RADIUS = 8, 9
# Of terminal.
JOINT, ROOM, LOAD, TIE, FIXED, BUNDLED, CAPACITY, BEFORE, AFTER, NEAR_FROM, NEAR_TO, WIRE_A, WIRE_B, GOES_TO = range(14)
# Of item: lists that terminals and joints point into. What stands close enough to count ...
OTHER, INSULATION, GAP = range(3)
# Of joint: its lists, its wires, and its wires before the move.
WEIGHT, NODE_FROM, NODE_TO, GROUPS, PARTS_FROM, PARTS_TO, HEAVY, PRICE, MISSING, CROWDED = range(10)
TOUCHED_J, OLD_PRICE, OLD_MISSING, OLD_CROWDED = range(10, 14)
# ... and a fixed terminal of a joint, the group it is in, whether it must be joined.
TERMINAL, GROUP, CORE = range(3)
PART = 0  # of a line that lists a part of a joint
COUPLES = 0  # the first plane of need holds prices: of two joints on neighboring lugs
# Terms of the price.
WIRES, SEATS, LAYERS, COUPLING, HEAT, LUGS, UNSEATED, BROKEN, BUSY = range(9)
TERMS = 9
# Single prices.
P_LUG, P_TIE, P_SECOND, P_THIRD, P_HEAT, P_BROKEN, P_BUSY = range(7)
# Of notes, line by line: lists of a move, each with its length first; the state of the dice; the terms of the price
# now, and before the move; single prices.
PICKED, PARTS, JOINTS, SENT, DICE, NOW, OLD, PRICES = range(8)


class Tables(NamedTuple):
    """A planning problem, the plan under work, and what is needed to take one move back."""

    row: Short  # every seat of every part, one part after the other, by first and second terminal
    line: Real  # of each part, of one to try, and (x, y only) of each terminal; mm
    part: Whole
    terminal: Whole
    joint: Whole
    # (terminal, terminal): distance along x and y; then (joint, terminal): price of the wire to the nearest fixed
    # terminal; then (joint, terminal): 1 where the builder keeps the joint off
    apart: Whole
    need: Whole  # (kind, joint, joint): prices as neighbors, then the distance each insulation needs, GAP_PER_MM
    item: Whole
    lugs: Whole  # per joint: how many, then the lugs in use in rising order; then those for wires alone before the move
    edges: Whole  # per joint: how many, then the ends of each wire; then the same before the move
    notes: Whole
