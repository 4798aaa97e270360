"""A simulated bench meter: its values, over range, wrong answers, silence, and the cable pulled out."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from lugwright.errors import MeterError
from lugwright.meters import scpi
from lugwright.meters.scpi import scpi_meter

LIBRARY = f"{Path(__file__).with_name('bench.yaml')}@sim"
GOOD, ODD, SILENT = (f"USB0::0x1111::0x2222::0x00{n}::INSTR" for n in (17, 18, 19))


@pytest.fixture(autouse=True)
def _impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("pyvisa_sim")
    monkeypatch.setattr(scpi, "TIMEOUT_MS", 200)


def test_a_meter_says_who_it_is_and_what_it_shows() -> None:
    with scpi_meter(GOOD, library=LIBRARY) as meter:
        assert meter.identity == "Makers,Meter 5,0017,1.02"
        assert [meter.value(quantity) for quantity in scpi.ASKED] == [
            "+2.03124500E+02 V dc",
            "+6.31000000E+00 V ac",
            "+6.31000000E+00 V ac",
            "+6.31000000E+00 V ac",
            "OL",
            "-4.21000000E-03 A",
        ]


def words(error: MeterError) -> tuple[str, str, str, str]:
    return error.what, error.found, error.wanted, error.do


WRONG = (
    f"the meter at {ODD} answers something else",
    "look whether it is a multimeter that speaks SCPI, and whether another program talks to it",
)


@pytest.mark.parametrize(
    ("quantity", "found"),
    [
        ("V dc", "'about 200' to MEAS:VOLT:DC?"),
        ("V ac", "+9.91000000E+37 to MEAS:VOLT:AC?: the meter says that it has no number"),
        ("ohm", "'ERROR' to MEAS:RES?"),
    ],
)
def test_an_answer_that_is_no_number_is_refused(quantity: str, found: str) -> None:
    with scpi_meter(ODD, library=LIBRARY) as meter, pytest.raises(MeterError) as caught:
        meter.value(quantity)
    assert words(caught.value) == (WRONG[0], found, "one number", WRONG[1])


def test_a_meter_that_does_not_answer_is_told() -> None:
    with scpi_meter(SILENT, library=LIBRARY) as meter, pytest.raises(MeterError) as caught:
        meter.value("V dc")
    what, found, wanted, do = words(caught.value)
    assert what == f"the meter at {SILENT} does not answer"
    assert found.endswith(", after MEAS:VOLT:DC?")
    assert (wanted, do) == (
        "an answer within 0.2 s",
        "look whether it is on, in remote control and speaks SCPI; then read that point again",
    )


class Pulled:
    """A resource whose cable is pulled out after it has said who it is."""

    def __init__(self, real: object) -> None:
        self.real, self.there = real, True

    def query(self, question: str) -> str:
        if not self.there:
            raise ConnectionError("No such device (it may have been disconnected)")
        self.there = False
        return "Makers,Meter 5"

    def close(self) -> None:
        raise OSError("no such device")


def test_a_meter_pulled_out_midway_is_told_and_closed(monkeypatch: pytest.MonkeyPatch) -> None:
    import pyvisa

    monkeypatch.setattr(pyvisa.ResourceManager, "open_resource", lambda self, address, **how: Pulled(self))
    with scpi_meter(GOOD, library=LIBRARY) as meter, pytest.raises(MeterError) as caught:
        meter.value("V dc")
    assert words(caught.value) == (
        f"the meter at {GOOD} is gone",
        "ConnectionError: No such device (it may have been disconnected), after MEAS:VOLT:DC?",
        "an answer within 0.2 s",
        "plug it in again; what was read before is in the log",
    )


def test_an_address_without_a_meter_is_told_with_those_that_are_seen() -> None:
    with pytest.raises(MeterError) as caught, scpi_meter("USB0::1::2::3::INSTR", library=LIBRARY):
        pass
    what, found, wanted, do = words(caught.value)
    assert what == "there is no meter at 'USB0::1::2::3::INSTR'"
    assert found
    seen = ", ".join(address.replace("::INSTR", "::0::INSTR") for address in (GOOD, ODD, SILENT))
    assert wanted == f"the address of a meter that is on; seen: {seen}"
    assert do == "switch it on, look at the cable and at the address in its menu"


def test_a_library_that_is_not_there_is_told() -> None:
    with pytest.raises(MeterError) as caught, scpi_meter(GOOD, library="nowhere.yaml@sim"):
        pass
    what, _, wanted, do = words(caught.value)
    assert (what, wanted, do) == (
        "no VISA library can be loaded",
        "the maker's library, or pyvisa-py",
        "install one of them, or name it with --visa-library",
    )


def test_without_pyvisa_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyvisa", None)
    with pytest.raises(MeterError) as caught, scpi_meter(GOOD):
        pass
    assert words(caught.value) == (
        "PyVISA is not installed",
        "no module pyvisa",
        "the extra that talks to meters",
        'install it: pip install "lugwright[meter]"',
    )
