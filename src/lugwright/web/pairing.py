"""Who but this machine may come in: a device whose holder has read a code off this machine, once for each device."""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import re
import secrets
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime

from lugwright.errors import PairingError

DIGITS = 8
MOST_MISSES = 8  # of all devices together, until the bench is started again
MOST_DEVICES = 12
MOST_WAITING = 4
WAITS_S = (1.0, 2.0, 4.0, 8.0, 15.0, 30.0, 60.0, 60.0)  # after the first miss, the second ...
_NOT_DIGITS = re.compile(r"[\s-]+")


@dataclass
class Device:
    """A device that may come in; ``ended`` is set when it may no longer."""

    number: int
    address: str
    browser: str
    since: datetime
    last: datetime
    ended: asyncio.Event = field(default_factory=asyncio.Event)


class Pairing:
    """The open code, and the devices that have given one. Nothing of it is written to the disk."""

    def __init__(
        self, tell: Callable[[str], None], *, wait: Callable[[float], Awaitable[None]] = asyncio.sleep
    ) -> None:
        self.misses = 0
        self._tell, self._wait = tell, wait
        self._code = _fresh_code()
        self._devices: dict[bytes, Device] = {}
        self._count = 0
        self._turn = asyncio.Lock()
        self._waiting = 0

    @property
    def code(self) -> str:
        """Return the code that can be given now, "" where there is none."""
        return "" if self.locked else self._code

    @property
    def locked(self) -> bool:
        """Return whether so many wrong codes have come that none is taken any more."""
        return self.misses >= MOST_MISSES

    @property
    def devices(self) -> list[Device]:
        """Return the devices that may come in, in the order they were paired."""
        return sorted(self._devices.values(), key=lambda device: device.number)

    def open_code(self) -> None:
        """Replace the code by a new one."""
        self._code = _fresh_code()

    async def pair(self, given: str, *, address: str, browser: str) -> str:
        """Return what a device has to show from now on; it has given the code.

        Raises
        ------
        PairingError
            It has not, or there is none to be given now.
        """
        if self._waiting >= MOST_WAITING:
            raise _too_many()
        self._waiting += 1
        try:
            async with self._turn:  # one after the other: trying many at once gains nothing
                return await self._tried(_NOT_DIGITS.sub("", given), address, browser)
        finally:
            self._waiting -= 1

    async def _tried(self, given: str, address: str, browser: str) -> str:
        if self.locked:
            raise _locked()
        if not self._code or len(self._devices) >= MOST_DEVICES:
            raise _no_code(len(self._devices))
        if not re.fullmatch(f"[0-9]{{{DIGITS}}}", given):
            raise _no_digits()
        if not hmac.compare_digest(given.encode(), self._code.encode()):
            self.misses += 1
            self._tell(f"a wrong code from {address} ({self.misses} of {MOST_MISSES})")
            await self._wait(WAITS_S[self.misses - 1])
            raise _locked() if self.locked else _missed(self.misses)
        self._code = ""
        self._count += 1
        token, now = secrets.token_urlsafe(32), datetime.now(UTC)
        self._devices[_digest(token)] = Device(self._count, address, browser, now, now)
        self._tell(f"device {self._count} is paired, at {address}")
        return token

    def shown_by(self, tokens: Iterable[str]) -> Device | None:
        """Return the device that shows one of these, None for a device that may not come in."""
        found = next((self._devices[key] for key in map(_digest, tokens) if key in self._devices), None)
        if found is not None:
            found.last = datetime.now(UTC)
        return found

    def end(self, number: int) -> None:
        """Let a device come in no more, and what it has open end."""
        for key, device in list(self._devices.items()):
            if device.number == number:
                del self._devices[key]
                device.ended.set()
                self._tell(f"device {number} is no longer paired")


def _fresh_code() -> str:
    return f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}"


def _digest(token: str) -> bytes:
    return hashlib.sha256(token.encode("utf-8", "replace")).digest()


def _locked() -> PairingError:
    return PairingError(
        what="no code is taken any more",
        found=f"{MOST_MISSES} wrong ones",
        wanted="the code that the bench has shown",
        do="stop the bench and start it again; find out who else is on this network",
    )


def _missed(misses: int) -> PairingError:
    return PairingError(
        what="this is not the code",
        found=f"{misses} of {MOST_MISSES} wrong ones, from all devices together",
        wanted=f"the {DIGITS} digits that the bench shows now",
        do="read them again where the bench was started, or on its page Devices",
    )


def _no_digits() -> PairingError:
    return PairingError(
        what="this is no code",
        found="something else than digits, or too many or too few",
        wanted=f"{DIGITS} digits",
        do="type them as they are shown; spaces do not matter",
    )


def _no_code(devices: int) -> PairingError:
    full = devices >= MOST_DEVICES
    return PairingError(
        what="no code can be given now",
        found=f"{MOST_DEVICES} devices are paired" if full else "the last one has been used: each is for one device",
        wanted="fewer devices" if full else "a new code",
        do=f"on the machine of the bench, open its page Devices and {'end one' if full else 'press New code'}",
    )


def _too_many() -> PairingError:
    return PairingError(
        what="too many codes are being tried at once",
        found=f"{MOST_WAITING} are waiting",
        wanted="one after the other",
        do="wait a minute and try again",
    )
