"""The address that devices use: found, or named and possible."""

from __future__ import annotations

import socket
from typing import Any

import pytest

from lugwright.errors import ServeError
from lugwright.web import addresses
from lugwright.web.addresses import address_of, device_address, listening_at


class Probe:
    """A socket that says which way out there is."""

    found: str | None = None

    def __init__(self, *of: Any) -> None:
        pass

    def __enter__(self) -> Probe:
        return self

    def __exit__(self, *error: object) -> None:
        pass

    def connect(self, where: Any) -> None:
        if self.found is None:
            raise OSError

    def getsockname(self) -> tuple[str | None, int]:
        return self.found, 9


@pytest.mark.parametrize("named", ["192.168.1.20", "10.0.0.7", "203.0.113.9", "fd00::2"])
def test_an_address_that_is_named_is_taken(named: str) -> None:
    assert device_address(named) == named


@pytest.mark.parametrize(
    ("named", "found"),
    [
        ("bench.example", "this is no address"),
        ("192.168.1", "this is no address"),
        ("", "this is no address"),
        ("192.168.1.20:80", "this is no address"),
        ("0.0.0.0", "this means every address of this machine at once"),
        ("::", "this means every address of this machine at once"),
        ("127.0.0.1", "only this machine itself reaches it"),
        ("::1", "only this machine itself reaches it"),
        ("224.0.0.1", "no browser can open this one"),
        ("fe80::1", "no browser can open this one"),
    ],
)
def test_an_address_that_cannot_be_meant_is_refused(named: str, found: str) -> None:
    with pytest.raises(ServeError) as caught:
        device_address(named)
    assert str(caught.value) == (
        f"--host {named} cannot be used\n  found:  {found}\n"
        "  wanted: one address of this machine on the network of the tablet, such as 192.168.1.20\n"
        "  do:     look it up in the network settings of this machine, or leave --host out"
    )


def test_the_way_to_the_network_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(addresses.socket, "socket", Probe)
    monkeypatch.setattr(Probe, "found", "192.168.1.20")
    assert device_address(None) == "192.168.1.20"


@pytest.mark.parametrize("found", [None, "127.0.0.1", "0.0.0.0"])
def test_a_machine_on_no_network_says_so(monkeypatch: pytest.MonkeyPatch, found: str | None) -> None:
    monkeypatch.setattr(addresses.socket, "socket", Probe)
    monkeypatch.setattr(Probe, "found", found)
    with pytest.raises(ServeError) as caught:
        device_address(None)
    assert str(caught.value) == (
        "no address was found that a tablet could open\n"
        "  found:  this machine is on no network that it knows a way out of\n"
        "  wanted: an address of this machine on the network of the tablet\n"
        "  do:     join that network, or name the address: --host 192.168.1.20"
    )


def test_an_address_that_everybody_reaches_is_not_taken_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(addresses.socket, "socket", Probe)
    monkeypatch.setattr(Probe, "found", "8.8.4.4")
    with pytest.raises(ServeError) as caught:
        device_address(None)
    assert str(caught.value) == (
        "the address 8.8.4.4 is not one of a network at home\n"
        "  found:  an address that may be reached from everywhere\n"
        "  wanted: a network of your own, since nothing that goes over it is encrypted\n"
        "  do:     join such a network; if you know that nobody else reaches it: --host 8.8.4.4"
    )


def test_a_port_that_is_taken_says_so() -> None:
    with listening_at("127.0.0.1", 0) as first:
        port = first.getsockname()[1]
        with pytest.raises(ServeError) as caught:
            listening_at("127.0.0.1", port)
    assert str(caught.value) == (
        f"port {port} of 127.0.0.1 cannot be used\n  found:  Address already in use\n"
        "  wanted: an address of this machine, and a port that nothing else on it listens at\n"
        "  do:     lugwright bench FILE --port 0 takes one that is free"
    )


def test_addresses_are_written_as_browsers_read_them() -> None:
    assert address_of("192.168.1.20", 8463) == "http://192.168.1.20:8463/"
    assert address_of("fd00::2", 8463) == "http://[fd00::2]:8463/"
    with listening_at("::1", 0) as sixth:
        assert sixth.family == socket.AF_INET6
