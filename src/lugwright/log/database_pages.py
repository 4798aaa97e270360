"""The rows of texts that stand on the pages of an SQLite database, found page by page, whatever leads to them.

Source: the database file format of SQLite, sections on b-tree pages, cells, overflow pages and records; it is fixed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

TABLE_LEAF = 0x0D  # first byte of a page that holds rows
CELLS_FROM = 8  # of a leaf page: behind its head
MOST_BYTES = 1_000_000  # of a row: no entry is as long
NULL, FIRST_TEXT = 0, 13  # kinds of values: texts have odd numbers from here


class _Unreadable(Exception):
    """What stands there is no row."""


def rows_on_pages(raw: bytes, size: int, texts: int) -> dict[int, tuple[str, ...]]:
    """Return every row of a number and some texts by its number.

    Parameters
    ----------
    raw : bytes
        The database. Its first page, which holds no rows of this kind, is passed over.
    size : int
        Of a page. [bytes]
    texts : int
        How many texts follow the number, which is the row's key.

    Returns
    -------
    dict
        Texts by key. What the damage makes unreadable is left out.

    Source
    ------
    The database file format of SQLite.
    """
    found: dict[int, tuple[str, ...]] = {}
    for first in range(size, len(raw) - size + 1, size):
        if raw[first] == TABLE_LEAF:
            found.update(_rows(raw, first, size, texts))
    return found


def _rows(raw: bytes, first: int, size: int, texts: int) -> Iterator[tuple[int, tuple[str, ...]]]:
    page = raw[first : first + size]
    count = int.from_bytes(page[3:5], "big")
    for place in range(CELLS_FROM, min(CELLS_FROM + 2 * count, size - 1), 2):
        at = int.from_bytes(page[place : place + 2], "big")
        try:
            length, at = _varint(page, at)
            key, at = _varint(page, at)
            yield key, _texts(_payload(raw, page[at:], length, size), texts)
        except (_Unreadable, UnicodeDecodeError):
            continue


def _payload(raw: bytes, rest: bytes, length: int, size: int) -> bytes:
    """Return what a row is made of: its beginning on the page, what does not fit there on others, chained up."""
    most, least = size - 35, (size - 12) * 32 // 255 - 23
    if length <= most:
        return rest[:length]
    if length > MOST_BYTES:
        raise _Unreadable
    local = least + (length - least) % (size - 4)
    local = local if local <= most else least
    parts, following = [rest[:local]], int.from_bytes(rest[local : local + 4], "big")
    for _ in range(math.ceil((length - local) / (size - 4))):
        page = raw[(following - 1) * size : following * size] if following else b""
        if len(page) < size:
            raise _Unreadable
        following = int.from_bytes(page[:4], "big")
        parts.append(page[4:])
    return b"".join(parts)[:length]


def _texts(payload: bytes, texts: int) -> tuple[str, ...]:
    """Return the texts of a row whose first value, its key, is left empty."""
    head, at = _varint(payload, 0)
    kinds: list[int] = []
    while at < head and len(kinds) <= texts:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    if len(kinds) != texts + 1 or kinds[0] != NULL or any(k < FIRST_TEXT or k % 2 == 0 for k in kinds[1:]):
        raise _Unreadable
    found, at = [], head
    for kind in kinds[1:]:
        after = at + (kind - FIRST_TEXT) // 2
        if after > len(payload):
            raise _Unreadable
        found.append(payload[at:after].decode())
        at = after
    return tuple(found)


def _varint(raw: bytes, at: int) -> tuple[int, int]:
    """Return a number of one to nine bytes, and where it ends."""
    value = 0
    for count in range(9):
        if at >= len(raw):
            raise _Unreadable
        byte, at = raw[at], at + 1
        if count == 8:
            return value << 8 | byte, at
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            break
    return value, at
