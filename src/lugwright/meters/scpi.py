"""A bench meter that speaks SCPI, through VISA: who it is, and one value at a time.

PyVISA is an optional extra; it is imported when a meter is opened, and nowhere else.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from lugwright.errors import MeterError

TIMEOUT_MS = 10_000  # a meter that looks for its range takes seconds
OVER_RANGE_FROM = 9e37  # SCPI-99: infinity is 9.9E37, what is no number 9.91E37
NO_NUMBER = 9.91e37
LIBRARIES = ("", "@py")  # the maker's own where it is installed, else the one in Python
# quantity of a reading -> what to ask, unit of the answer
ASKED = {
    "V dc": ("MEAS:VOLT:DC?", "V dc"),
    "V ac": ("MEAS:VOLT:AC?", "V ac"),
    "ripple V ac": ("MEAS:VOLT:AC?", "V ac"),
    "signal V ac": ("MEAS:VOLT:AC?", "V ac"),
    "ohm": ("MEAS:RES?", "ohm"),
    "A dc": ("MEAS:CURR:DC?", "A"),
}
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)


_SLOW = "look whether it is on, in remote control and speaks SCPI; then read that point again"
_GONE = "plug it in again; what was read before is in the log"


class MeterGone(MeterError):
    """A meter is no longer there, or never was."""


@dataclass(frozen=True)
class ScpiMeter:
    """An open meter."""

    address: str
    resource: Any  # of PyVISA: query()
    identity: str

    def value(self, quantity: str) -> str:
        """Return what the meter shows, with its unit: ``+2.031E+02 V dc``, ``OL``.

        Raises
        ------
        MeterError
            It does not answer, or answers something else than a number.
        """
        question, unit = ASKED[quantity]
        answer = self._asked(question)
        if not _NUMBER.fullmatch(answer):
            raise _wrong(self.address, f"{answer[:60]!r} to {question}", "one number")
        number = float(answer)
        if abs(number) == NO_NUMBER:
            raise _wrong(self.address, f"{answer} to {question}: the meter says that it has no number", "one number")
        return "OL" if abs(number) >= OVER_RANGE_FROM else f"{answer} {unit}"

    def _asked(self, question: str) -> str:
        return _asked(self.resource, self.address, question)


@contextmanager
def scpi_meter(address: str, *, library: str = "") -> Iterator[ScpiMeter]:
    """Open a meter by its VISA address, such as ``USB0::0x0957::0x0607::MY47000419::INSTR``.

    ``library`` is a VISA library, or a backend such as ``@py``; "" the first that is there.

    Raises
    ------
    MeterError
        There is no VISA, no such meter, or it does not say who it is.
    """
    manager = _manager(library)
    try:
        resource = _opened(manager, address)
        try:
            yield ScpiMeter(address, resource, _identity(manager, resource, address))
        finally:
            _closed(resource)
    finally:
        manager.close()


def _opened(manager: Any, address: str) -> Any:
    try:
        resource = manager.open_resource(address, read_termination="\n", write_termination="\n")
        resource.timeout = TIMEOUT_MS
    except Exception as error:  # each bus has errors of its own; all of them are told in its words
        raise _nobody(manager, address, _told(error)) from error
    return resource


def _identity(manager: Any, resource: Any, address: str) -> str:
    try:
        identity = _asked(resource, address, "*IDN?")
    except MeterGone as error:
        raise _nobody(manager, address, error.found) from error  # some buses open what is not there
    if not identity or not identity.isprintable():
        raise _wrong(address, f"{identity[:60]!r} to *IDN?", "its maker and type")
    return identity[:120]


def _nobody(manager: Any, address: str, found: str) -> MeterError:
    return MeterError(
        what=f"there is no meter at {address[:100]!r}",
        found=found,
        wanted=f"the address of a meter that is on; seen: {_seen(manager)}",
        do="switch it on, look at the cable and at the address in its menu",
    )


def _closed(resource: Any) -> None:
    """Close a meter, also one that is gone meanwhile."""
    try:
        resource.close()
    except Exception:  # noqa: BLE001  (pulled out: there is nothing left to close)
        return


def _asked(resource: Any, address: str, question: str) -> str:
    try:
        return str(resource.query(question)).strip()
    except Exception as error:  # as above
        slow = "tmo" in _told(error).casefold() or "timeout" in _told(error).casefold()
        kind, how, do = (MeterError, "does not answer", _SLOW) if slow else (MeterGone, "is gone", _GONE)
        raise kind(
            what=f"the meter at {address[:100]} {how}",
            found=f"{_told(error)}, after {question}",
            wanted=f"an answer within {TIMEOUT_MS / 1000:g} s",
            do=do,
        ) from error


def _manager(library: str) -> Any:
    try:
        import pyvisa
    except ImportError:
        raise MeterError(
            what="PyVISA is not installed",
            found="no module pyvisa",
            wanted="the extra that talks to meters",
            do='install it: pip install "lugwright[meter]"',
        ) from None
    told = "none"
    for each in (library,) if library else LIBRARIES:
        try:
            return pyvisa.ResourceManager(each)
        except Exception as error:  # noqa: BLE001  (a library that cannot be loaded says so in many ways)
            told = _told(error)
    raise MeterError(
        what="no VISA library can be loaded",
        found=told,
        wanted="the maker's library, or pyvisa-py",
        do="install one of them, or name it with --visa-library",
    )


def _seen(manager: Any) -> str:
    try:
        return ", ".join(manager.list_resources()[:10]) or "none"
    except Exception:  # noqa: BLE001  (a bus that cannot be looked at shows nothing)
        return "none"


def _told(error: Exception) -> str:
    return " ".join(f"{type(error).__name__}: {error}".split())[:200]


def _wrong(address: str, found: str, wanted: str) -> MeterError:
    return MeterError(
        what=f"the meter at {address[:100]} answers something else",
        found=found,
        wanted=wanted,
        do="look whether it is a multimeter that speaks SCPI, and whether another program talks to it",
    )
