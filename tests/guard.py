"""No test may reach another machine."""

from __future__ import annotations

import socket
from collections.abc import Callable
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


def refuse_outside() -> None:
    """From now on, refuse to look up, to connect or to send to any host but this one."""
    look_up = socket.getaddrinfo

    def getaddrinfo(host: Any, *arguments: Any, **options: Any) -> Any:
        if not inside(host):
            raise OutsideReached(f"{host} was looked up")
        return look_up(host, *arguments, **options)

    socket.getaddrinfo = getaddrinfo
    for name in ("connect", "connect_ex", "sendto"):
        setattr(socket.socket, name, _guarded(getattr(socket.socket, name)))


def _guarded(method: Callable[..., Any]) -> Callable[..., Any]:
    """A method of a socket whose last argument is the address."""

    def checked(self: socket.socket, *arguments: Any) -> Any:
        if self.family in (socket.AF_INET, socket.AF_INET6) and not inside(arguments[-1][0]):
            raise OutsideReached(f"{arguments[-1]} was to be reached")
        return method(self, *arguments)

    return checked
