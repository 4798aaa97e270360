"""The address under which another device reaches this machine, and listening at it."""

from __future__ import annotations

import ipaddress
import socket

from lugwright.errors import ServeError

MOST_ON_THE_WAY = 256 * 1024  # bytes to one client: what is taken in has to be seen here before long
_SOMEWHERE = ("198.51.100.1", 9)  # an address for documents: nothing is sent to it


def device_address(named: str | None) -> str:
    """Return the address of this machine that devices are to use: the one named, or that of its way to the network.

    Raises
    ------
    ServeError
        There is none, or the one named cannot be meant.
    """
    if named is None:
        return _found_address()
    try:
        address = ipaddress.ip_address(named)
    except ValueError:
        raise _not_meant(named, "this is no address") from None
    if address.is_unspecified:
        raise _not_meant(named, "this means every address of this machine at once")
    if str(address) in ("127.0.0.1", "::1"):
        raise _not_meant(named, "only this machine itself reaches it")
    if address.is_multicast or (address.version == 6 and address.is_link_local):
        raise _not_meant(named, "no browser can open this one")
    return str(address)


def _found_address() -> str:
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(_SOMEWHERE)  # of this kind of socket it only looks up the way
            found = str(probe.getsockname()[0])
    except OSError:
        found = ""
    address = ipaddress.ip_address(found) if found else None
    if address is None or address.is_loopback or address.is_unspecified:
        raise ServeError(
            what="no address was found that a tablet could open",
            found="this machine is on no network that it knows a way out of",
            wanted="an address of this machine on the network of the tablet",
            do="join that network, or name the address: --host 192.168.1.20",
        )
    if address.is_global:
        raise ServeError(
            what=f"the address {found} is not one of a network at home",
            found="an address that may be reached from everywhere",
            wanted="a network of your own, since nothing that goes over it is encrypted",
            do=f"join such a network; if you know that nobody else reaches it: --host {found}",
        )
    return found


def listening_at(host: str, port: int) -> socket.socket:
    """Return a socket that listens; port 0 takes any that is free.

    Raises
    ------
    ServeError
        It cannot.
    """
    listening = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, MOST_ON_THE_WAY)
    try:
        listening.bind((host, port))
        listening.listen(128)
    except OSError as error:
        listening.close()
        raise ServeError(
            what=f"port {port} of {host} cannot be used",
            found=error.strerror or type(error).__name__,
            wanted="an address of this machine, and a port that nothing else on it listens at",
            do="lugwright bench FILE --port 0 takes one that is free",
        ) from None
    return listening


def address_of(host: str, port: int) -> str:
    """Return what is typed into a browser."""
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


def _not_meant(named: str, found: str) -> ServeError:
    return ServeError(
        what=f"--host {named} cannot be used",
        found=found,
        wanted="one address of this machine on the network of the tablet, such as 192.168.1.20",
        do="look it up in the network settings of this machine, or leave --host out",
    )
