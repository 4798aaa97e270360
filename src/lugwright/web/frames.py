"""How the server and a worker talk: JSON, each piece behind its length in four bytes."""

from __future__ import annotations

import asyncio
import json
import struct
from typing import IO, Any

_LENGTH = struct.Struct(">I")
MOST_BYTES = 256 * 1024 * 1024


def framed(message: Any) -> bytes:
    """Return a message as it goes through the pipe; ValueError where JSON has no word for it."""
    content = json.dumps(message, separators=(",", ":"), allow_nan=False).encode()
    return _LENGTH.pack(len(content)) + content


def read_frame(pipe: IO[bytes]) -> Any:
    """Return the next message; EOFError when the other end is gone."""
    head = pipe.read(_LENGTH.size)
    if len(head) < _LENGTH.size:
        raise EOFError
    (length,) = _LENGTH.unpack(head)
    content = pipe.read(length)
    if len(content) < length:
        raise EOFError
    return json.loads(content)


async def next_frame(pipe: asyncio.StreamReader) -> Any:
    """Return the next message; EOFError (or its subclass IncompleteReadError) when the other end is gone."""
    (length,) = _LENGTH.unpack(await pipe.readexactly(_LENGTH.size))
    if length > MOST_BYTES:
        raise EOFError
    return json.loads(await pipe.readexactly(length))
