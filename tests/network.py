"""No test reaches beyond this machine: every other address is refused before a packet leaves."""

from __future__ import annotations

import ipaddress
import socket
from typing import Any

real_connect: Any = socket.socket.connect
real_connect_ex: Any = socket.socket.connect_ex


class OutsideAddress(Exception):
    """A test tried to reach another machine."""


def refuse_outside(connection: socket.socket, address: Any) -> None:
    if connection.family not in (socket.AF_INET, socket.AF_INET6):
        return
    host = str(address[0])
    try:
        loopback = host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        loopback = False
    if not loopback:
        raise OutsideAddress(f"{host} is not on this machine.")


def guarded_connect(connection: socket.socket, address: Any) -> None:
    refuse_outside(connection, address)
    real_connect(connection, address)


def guarded_connect_ex(connection: socket.socket, address: Any) -> int:
    refuse_outside(connection, address)
    code: int = real_connect_ex(connection, address)
    return code


def guard() -> None:
    replaced: Any = socket.socket
    replaced.connect = guarded_connect
    replaced.connect_ex = guarded_connect_ex
