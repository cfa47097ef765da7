"""Where the page is served: an address of the local network, and of no other.

Rule of this file: a public address is refused, for listening and for being asked from.
"""

from __future__ import annotations

import ipaddress
import socket
from dataclasses import dataclass

from callout.glance.problems import GlanceProblem

NOWHERE = "192.0.2.1"
"""An address of documentation (RFC 5737): asking the way to it sends nothing."""

LOCAL = tuple(
    ipaddress.ip_network(network)
    for network in (
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "169.254.0.0/16",
        "127.0.0.0/8",
        "fc00::/7",
        "fe80::/10",
        "::1/128",
    )
)
"""RFC 1918, RFC 3927, RFC 4193, link-local and loopback of RFC 4291: none is routed further."""


@dataclass(frozen=True, slots=True)
class At:
    """Address and port to listen at; "" for the local network's own, 0 for any port."""

    host: str = ""
    port: int = 0


def at(words: str) -> At:
    """Read "192.168.1.5", "192.168.1.5:8443" or "[fd00::1]:8443".  Raises GlanceProblem."""
    host, port = words, "0"
    if words.startswith("["):
        host, _, rest = words[1:].partition("]")
        port = rest.removeprefix(":") or "0"
    elif words.count(":") == 1:
        host, _, port = words.partition(":")
    if not (port.isascii() and port.isdecimal() and int(port) < 65536):
        raise GlanceProblem(f"{port!r} is no port: give a number up to 65535.")
    if "%" in host or not is_local(host):
        raise GlanceProblem(
            f"{host!r} is no address of a local network: give one such as 192.168.1.5, "
            "or 127.0.0.1 for this machine alone."
        )
    return At(host, int(port))


def is_local(host: str) -> bool:
    """Whether it is one address of this machine, or of a private network."""
    try:
        address = ipaddress.ip_address(host.partition("%")[0])
    except ValueError:
        return False
    mapped = getattr(address, "ipv4_mapped", None)
    address = mapped or address
    return any(address in network for network in LOCAL)


def own_address() -> str:
    """The address under which the local network finds this machine; loopback if there is none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect((NOWHERE, 9))
            found = str(asked.getsockname()[0])
        except OSError:
            return "127.0.0.1"
    return found if is_local(found) else "127.0.0.1"


def named(host: str, port: int) -> str:
    """Host and port as they stand in a Host header and an Origin."""
    return f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
