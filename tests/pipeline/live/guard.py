"""Nothing in these tests may reach another machine."""

from __future__ import annotations

import socket
from ipaddress import ip_address
from typing import Any


class OutsideReached(Exception):
    """Something tried to reach another machine."""


def inside(host: Any) -> bool:
    """Whether a host is this machine."""
    name = host.decode() if isinstance(host, bytes) else host
    if name in (None, "", "localhost"):
        return True
    try:
        return ip_address(name).is_loopback
    except ValueError:
        return False


def refuse_outside(patch: Any = setattr) -> None:
    """From now on, refuse to look up or to connect to any host but this one; `patch` sets an attribute."""
    look_up, connect = socket.getaddrinfo, socket.socket.connect

    def getaddrinfo(host: Any, *arguments: Any, **options: Any) -> Any:
        if not inside(host):
            raise OutsideReached(f"{host} was looked up")
        return look_up(host, *arguments, **options)

    def guarded(self: socket.socket, address: Any) -> None:
        if self.family != socket.AF_UNIX and not inside(address[0]):
            raise OutsideReached(f"{address} was to be connected to")
        connect(self, address)

    patch(socket, "getaddrinfo", getaddrinfo)
    patch(socket.socket, "connect", guarded)
    patch(socket.socket, "connect_ex", guarded)
