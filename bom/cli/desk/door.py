"""Where the desk is to be reached: on this machine alone, or in the workshop's network as well."""

import socket
from contextlib import suppress
from pathlib import Path
from zlib import crc32

from msgspec import Struct

HERE = "127.0.0.1"
_FIRST, _PORTS = 20_000, 10_000
"""Ports that no service is known for by its number need not be asked for (RFC 6335, 6: user)."""
_ELSEWHERE = ("192.0.2.1", 9)
"""An address that nobody has (RFC 5737): nothing is sent there, it only shows which way out is."""


class Door(Struct, frozen=True, kw_only=True):
    """The open sockets; `lan` is this machine's address in the network, '' where it is shut."""

    sockets: tuple[socket.socket, ...]
    port: int
    lan: str = ""

    @property
    def url(self) -> str:
        """Where this machine finds the desk."""
        return f"http://{HERE}:{self.port}/"

    @property
    def lan_url(self) -> str:
        """Where other devices find it."""
        return f"http://{self.lan}:{self.port}/" if self.lan else ""

    @property
    def cookie(self) -> str:
        """The cookie by which a device that was let in is known: each desk of a machine has its."""
        return f"bom-desk-{self.port}"

    @property
    def hosts(self) -> frozenset[str]:
        """What a browser that was not led astray calls it by (`Host`, RFC 9110, 7.2)."""
        names = (HERE, "localhost", self.lan)
        return frozenset(f"{name}:{self.port}" for name in names if name)


def opened(folder: Path, *, lan: bool) -> Door:
    """The desk's door; raises OSError where there is no network to let others in from.

    A workshop has the port that it had before, where that is free: what a device keeps of ticks
    it keeps by address and port.
    """
    address = _address_in_network() if lan else ""
    if lan and not address:
        raise OSError("this machine is in no network")
    first = _FIRST + crc32(str(folder).encode(errors="surrogateescape")) % _PORTS
    for port in (first, *([0] * 3)):
        try:
            own = socket.create_server((HERE, port))
            chosen = own.getsockname()[1]
            others = [socket.create_server((address, chosen))] if address else []
        except OSError:  # taken by another, here or there
            continue
        return Door(sockets=(own, *others), port=chosen, lan=address)
    raise OSError("no free port on this machine")


def _address_in_network() -> str:
    """Where others find this machine; '' where it is in no network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way, suppress(OSError):
        way.connect(_ELSEWHERE)
        address = str(way.getsockname()[0])
        return "" if address.startswith("127.") else address
    return ""
