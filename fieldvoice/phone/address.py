"""The address on the farm's own network at which phones find this machine."""

from __future__ import annotations

import ipaddress
import re
import socket
from contextlib import closing, suppress

from fieldvoice.errors import PhoneError

#: The private networks of RFC 1918, that which machines choose by themselves (RFC 3927), and this
#: machine alone. Nothing else is served, and the authority may vouch for nothing else.
NETWORKS = tuple(
    map(
        ipaddress.IPv4Network,
        ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8"),
    )
)
#: The domain of names told from machine to machine (RFC 6762).
LOCAL = "local"
#: An address in each private network: whichever of this machine's own would be used to reach it is
#: one that phones can use. Nothing is sent to them.
_PROBES = ("192.168.255.254", "10.255.255.254", "172.31.255.254")


def chosen(named: str | None) -> str:
    """Return the address to listen on: the one named, or the only one there is.

    Raises:
        PhoneError: it is not one of a private network; there is none, or more than one.
    """
    if named is not None:
        if not is_private(named):
            raise PhoneError(
                f"{named} is no address of a network of your own (like 192.168.1.20); "
                "phones are served there alone."
            )
        return named
    found = own_addresses()
    if not found:
        raise PhoneError("This machine is on no network: join the one that the phones are on.")
    if len(found) > 1:
        raise PhoneError(
            f"This machine has several addresses ({', '.join(found)}); "
            f"name that of the phones' network: --address {found[0]}"
        )
    return found[0]


def is_private(address: str) -> bool:
    """Whether this is an address that a network of one's own has."""
    try:
        parsed = ipaddress.IPv4Address(address)
    except ValueError:
        return False
    return any(parsed in network for network in NETWORKS)


def own_addresses() -> list[str]:
    """Return this machine's addresses on private networks, without that of itself alone."""
    found = []
    for probe in _PROBES:
        with suppress(OSError), closing(socket.socket(socket.AF_INET, socket.SOCK_DGRAM)) as asked:
            # A datagram socket is only told where it would send to.
            asked.connect((probe, 9))
            found.append(str(asked.getsockname()[0]))
    return [one for one in dict.fromkeys(found) if is_private(one) and not one.startswith("127.")]


def local_name() -> str:
    """Return what this machine is called on its network, where that tells names by itself."""
    host = re.sub(r"[^a-z0-9-]+", "-", socket.gethostname().split(".")[0].lower()).strip("-")
    return f"{host[:60] or 'fieldvoice'}.{LOCAL}"


def origin(host: str, port: int) -> str:
    """Return what browsers call the page at a host: its origin."""
    return f"https://{host}" if port == 443 else f"https://{host}:{port}"
