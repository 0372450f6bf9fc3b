"""How other machines on the local network reach this one."""

import ipaddress
import re
import socket

# Addresses that are routed like any other but belong to nobody (RFC 5737, RFC 3849), and the private ranges
# (RFC 1918): asking the system how it would reach them sends nothing.
PROBES = ("192.0.2.1", "10.255.255.254", "172.31.255.254", "192.168.255.254")
# Letters, digits and hyphens (RFC 1123, section 2.1): what certificates and Django's host check both take.
HOST_NAME = re.compile(
    r"(?=.{1,253}$)[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?(\.[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?)*"
)


def is_name(text: str) -> bool:
    """Whether phones can reach this machine by it: a host name, or an IPv4 address."""
    return HOST_NAME.fullmatch(text) is not None


def host_names() -> list[str]:
    """This machine's name, and the name that multicast DNS (RFC 6762) gives it."""
    name = socket.gethostname().lower().rstrip(".")
    short = name.split(".")[0]
    found = dict.fromkeys((name, short, f"{short}.local"))
    return [name for name in found if name != "localhost" and is_name(name)]


def addresses() -> list[str]:
    """IPv4 addresses under which others may reach this machine, the likeliest first."""
    found = [address for probe in PROBES if (address := _source_towards(probe))]
    try:
        found += [
            str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        ]
    except OSError:
        pass  # a machine may have a name that leads nowhere
    usable = [address for address in found if not ipaddress.ip_address(address).is_loopback]
    return list(dict.fromkeys(usable))


def _source_towards(probe: str) -> str | None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probing:
        try:
            probing.connect((probe, 9))
        except OSError:
            return None
        return str(probing.getsockname()[0])
