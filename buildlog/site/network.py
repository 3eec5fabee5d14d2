"""Who is at the other end: the address of a request, seen through trusted proxies; the addresses of this
machine.
"""

import ipaddress
import socket
from contextlib import suppress

from django.conf import settings

FORWARDED = (
    "HTTP_X_FORWARDED_FOR",
    "HTTP_X_FORWARDED_PROTO",
    "HTTP_X_FORWARDED_HOST",
    "HTTP_X_FORWARDED_PORT",
    "HTTP_FORWARDED",
    "HTTP_X_REAL_IP",
)


class TrustedProxies:
    """Set `request.client_address`, and take forwarded headers off whatever no trusted proxy has sent."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        peer = request.META.get("REMOTE_ADDR", "")
        forwarded = request.META.get("HTTP_X_FORWARDED_FOR", "")
        if is_trusted(peer):
            request.client_address = client_address(peer, forwarded)
        else:
            request.client_address = peer
            for header in FORWARDED:
                request.META.pop(header, None)
        return self.get_response(request)


def is_trusted(address: str) -> bool:
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        return False
    return any(parsed in network for network in settings.TRUSTED_PROXIES)


def client_address(peer: str, forwarded: str) -> str:
    """Return the nearest address that is not one of our proxies.

    Each proxy appends the address it was called from, so the list is read from its end; what stands before
    the first address that is not ours was written by the caller and proves nothing.
    """
    nearest = peer
    for item in reversed([part.strip() for part in forwarded.split(",") if part.strip()]):
        if not is_trusted(nearest):
            break
        try:
            nearest = str(ipaddress.ip_address(item))
        except ValueError:
            break
    return nearest


def throttled_as(address: str) -> str:
    """Return what shares one throttle: an IPv4 address, or an IPv6 /64, which one household holds whole."""
    try:
        parsed = ipaddress.ip_address(address)
    except ValueError:
        return "unknown"
    if isinstance(parsed, ipaddress.IPv6Address):
        if parsed.ipv4_mapped:
            return str(parsed.ipv4_mapped)
        return str(ipaddress.ip_network((parsed, 64), strict=False))
    return str(parsed)


def own_addresses() -> list[str]:
    """Return the addresses by which other machines of this network reach this one, likeliest first."""
    found: list[str] = []
    # Nothing is sent: connecting a datagram socket only asks the system which of its addresses it would use.
    for target in ("192.0.2.1", "192.168.255.254", "10.255.255.254"):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((target, 9))
                found.append(probe.getsockname()[0])
            except OSError:
                continue
    with suppress(OSError):
        found += [str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    outward = [one for one in found if not ipaddress.ip_address(one).is_loopback and one != "0.0.0.0"]  # noqa: S104
    return list(dict.fromkeys(outward))
