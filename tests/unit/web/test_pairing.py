"""Codes: right once, wrong a few times and ever more slowly, then never again."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable

import pytest

from lugwright.errors import PairingError
from lugwright.web.pairing import MOST_DEVICES, MOST_MISSES, Pairing


class Watched(Pairing):
    """A pairing that writes down what it tells and how long it waits, and waits for nothing."""

    def __init__(self, wait: Callable[[float], Awaitable[None]] | None = None) -> None:
        self.told: list[str] = []
        self.waited: list[float] = []
        super().__init__(self.told.append, wait=wait or self._noted)

    async def _noted(self, seconds: float) -> None:
        self.waited.append(seconds)

    def given(self, code: str, address: str = "192.0.2.9") -> str:
        return asyncio.run(self.pair(code, address=address, browser="a browser"))

    def wrong(self) -> str:
        return f"{(int(self.code or 0) + 1) % 10**8:08d}"


@pytest.fixture
def pairing() -> Watched:
    """Return a pairing with a code open."""
    return Watched()


def refused(pairing: Watched, code: str) -> str:
    with pytest.raises(PairingError) as caught:
        pairing.given(code)
    return str(caught.value)


def test_a_code_has_eight_digits_and_is_another_each_time() -> None:
    codes = {Watched().code for _ in range(50)}
    assert all(len(code) == 8 and code.isdecimal() for code in codes)
    assert len(codes) == 50


@pytest.mark.parametrize("form", ["{}", " {} ", "{0[0]}{0[1]}{0[2]}{0[3]} {0[4]}{0[5]}-{0[6]}{0[7]}"])
def test_the_code_lets_a_device_in_once(pairing: Watched, form: str) -> None:
    code = pairing.code
    token = pairing.given(form.format(code))
    device = pairing.shown_by(["something else", token])
    assert device is not None
    assert (device.number, device.address, device.browser) == (1, "192.0.2.9", "a browser")
    assert pairing.told == ["device 1 is paired, at 192.0.2.9"]
    assert pairing.code == ""
    assert refused(pairing, code) == (
        "no code can be given now\n  found:  the last one has been used: each is for one device\n"
        "  wanted: a new code\n  do:     on the machine of the bench, open its page Devices and press New code"
    )
    assert pairing.misses == 0


def test_each_device_has_something_of_its_own_to_show(pairing: Watched) -> None:
    tokens = []
    for _ in range(3):
        pairing.open_code()
        tokens.append(pairing.given(pairing.code))
    assert len(set(tokens)) == 3
    assert min(map(len, tokens)) >= 43  # 32 bytes
    assert [device.number for device in pairing.devices] == [1, 2, 3]
    assert pairing.shown_by(["", "x", tokens[0][:-1], tokens[0].swapcase(), "\udce4"]) is None


def test_a_wrong_code_costs_ever_more_time_and_in_the_end_everything(pairing: Watched) -> None:
    assert refused(pairing, pairing.wrong()) == (
        "this is not the code\n  found:  1 of 8 wrong ones, from all devices together\n"
        "  wanted: the 8 digits that the bench shows now\n"
        "  do:     read them again where the bench was started, or on its page Devices"
    )
    for _ in range(MOST_MISSES - 2):
        assert refused(pairing, pairing.wrong()).startswith("this is not the code")
    right = pairing.code
    last = (
        "no code is taken any more\n  found:  8 wrong ones\n  wanted: the code that the bench has shown\n"
        "  do:     stop the bench and start it again; find out who else is on this network"
    )
    assert refused(pairing, pairing.wrong()) == last
    assert refused(pairing, right) == last
    pairing.open_code()
    assert pairing.code == ""
    assert pairing.waited == [1.0, 2.0, 4.0, 8.0, 15.0, 30.0, 60.0, 60.0]
    assert pairing.told[0] == "a wrong code from 192.0.2.9 (1 of 8)"
    assert len(pairing.told) == 8


def test_a_device_that_is_in_stays_in_when_codes_are_locked(pairing: Watched) -> None:
    token = pairing.given(pairing.code)
    pairing.open_code()
    for _ in range(MOST_MISSES):
        refused(pairing, pairing.wrong())
    assert pairing.locked
    assert pairing.shown_by([token]) is not None


@pytest.mark.parametrize(
    "given", ["", "1234567", "123456789", "1234567x", "١٢٣٤٥٦٧٨", "12345678\n9", "'; --", "9" * 200]
)
def test_what_is_no_code_is_no_try(pairing: Watched, given: str) -> None:
    assert refused(pairing, given) == (
        "this is no code\n  found:  something else than digits, or too many or too few\n"
        "  wanted: 8 digits\n  do:     type them as they are shown; spaces do not matter"
    )
    assert pairing.misses == 0


def test_many_at_once_are_taken_one_after_the_other_and_only_a_few() -> None:
    async def tried() -> tuple[list[str], int]:
        free = asyncio.Event()

        async def wait(seconds: float) -> None:
            await free.wait()

        pairing = Watched(wait)
        wrong = pairing.wrong()
        tries = [asyncio.create_task(pairing.pair(wrong, address="a", browser="")) for _ in range(20)]
        for _ in range(50):
            await asyncio.sleep(0)
        at_once = pairing.misses
        free.set()
        return [str(each) for each in await asyncio.gather(*tries, return_exceptions=True)], at_once

    said, at_once = asyncio.run(tried())
    assert at_once == 1
    assert [words.partition("\n")[0] for words in said].count("too many codes are being tried at once") == 16
    assert said[-1] == (
        "too many codes are being tried at once\n  found:  4 are waiting\n  wanted: one after the other\n"
        "  do:     wait a minute and try again"
    )


def test_only_so_many_devices_come_in(pairing: Watched) -> None:
    for _ in range(MOST_DEVICES):
        pairing.open_code()
        pairing.given(pairing.code)
    pairing.open_code()
    assert refused(pairing, pairing.code) == (
        "no code can be given now\n  found:  12 devices are paired\n  wanted: fewer devices\n"
        "  do:     on the machine of the bench, open its page Devices and end one"
    )


def test_a_device_that_is_sent_away_is_out(pairing: Watched) -> None:
    token = pairing.given(pairing.code)
    device = pairing.shown_by([token])
    assert device is not None
    pairing.end(7)
    assert pairing.shown_by([token]) is device
    pairing.end(1)
    assert device.ended.is_set()
    assert pairing.shown_by([token]) is None
    assert pairing.devices == []
    assert pairing.told[-1] == "device 1 is no longer paired"
