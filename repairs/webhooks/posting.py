"""One signed POST to an address that somebody typed: where it may go, and no further.

Signed as the Standard Webhooks specification 1.0 says, so that its libraries check it: `webhook-signature` is
`v1,` and the base64 of HMAC-SHA256 (RFC 2104) over `id.timestamp.body`, with the bytes behind `whsec_`.

An owner could be talked into an address of the network at home, and a name may lead there tomorrow: the name
is looked up once, what it stands for must be out in the world or in a network that is allowed, and that very
address is connected to.  No redirect is followed, nothing of the answer but its status is read, all of it
within `SECONDS`; how long names take to be looked up is up to the system.
"""

import base64
import hashlib
import hmac
import http.client
import ipaddress
import socket
import ssl
import threading
import time
from collections.abc import Sequence
from contextlib import suppress
from typing import Final, NamedTuple
from urllib.parse import SplitResult, urlsplit

Network = ipaddress.IPv4Network | ipaddress.IPv6Network
Address = ipaddress.IPv4Address | ipaddress.IPv6Address
SECONDS: Final = 15.0
MAX_ADDRESS: Final = 400
NAT64: Final = ipaddress.ip_network("64:ff9b::/96")  # RFC 6052: the last four bytes are an IPv4 address


class NotAllowed(ValueError):
    """The address leads into a network that webhooks are not sent to."""


class Answer(NamedTuple):
    """The HTTP status, if one came, and why the event does not count as taken; blank: it does."""

    status: int | None
    problem: str


def signature(secret: str, uid: str, timestamp: int, body: bytes) -> str:
    """What `webhook-signature` says."""
    key = base64.b64decode(secret.removeprefix("whsec_"))
    signed = hmac.new(key, f"{uid}.{timestamp}.".encode() + body, hashlib.sha256)
    return f"v1,{base64.b64encode(signed.digest()).decode()}"


def read_address(text: str, allowed: Sequence[Network]) -> str:
    """The address as it is kept.  ValueError where it is none; NotAllowed where it says a private one."""
    whole = text.strip()
    try:
        parts = urlsplit(whole)
        _port_of(parts)
    except ValueError as wrong:
        raise ValueError(f"not an address: {wrong}") from None
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise ValueError("expected an address such as https://club.example/rehome")
    if len(whole) > MAX_ADDRESS or not whole.isascii() or not whole.isprintable() or " " in whole:
        raise ValueError(f"expected at most {MAX_ADDRESS} plain ASCII characters without spaces")
    if "@" in parts.netloc or parts.fragment:
        raise ValueError("a name, password or fragment in it is not sent: leave it out")
    host = parts.hostname.rstrip(".").lower()
    if host == "localhost" or host.endswith(".localhost"):
        host = "127.0.0.1"
    try:
        number = ipaddress.ip_address(host)
    except ValueError:  # a name: looked up when something is sent
        return whole
    _refuse_private(number, allowed)
    return whole


def post(address: str, uid: str, secret: str, body: bytes, allowed: Sequence[Network]) -> Answer:
    """Send it once; whatever goes wrong is the answer's problem, in words for the owner."""
    parts = urlsplit(address)
    timestamp = now()
    headers = {
        "Content-Type": "application/json",
        "User-Agent": "Rehome",
        "webhook-id": uid,
        "webhook-timestamp": str(timestamp),
        "webhook-signature": signature(secret, uid, timestamp, body),
    }
    watch = _Watch(SECONDS)
    try:
        with watch:
            status = _status_of(parts, body, headers, allowed, watch)
    except NotAllowed as refused:
        return Answer(None, str(refused))
    except socket.gaierror:
        return Answer(None, f"the name {parts.hostname} is not known")
    except (OSError, http.client.HTTPException, ValueError) as error:
        if watch.over:
            return Answer(None, f"no answer within {SECONDS:.0f} seconds")
        return Answer(None, f"{type(error).__name__}: {error}"[:300])
    if 200 <= status < 300:
        return Answer(status, "")
    redirect = " (redirects are not followed: give the address itself)" if 300 <= status < 400 else ""
    return Answer(status, f"it answered {status}{redirect}")


def now() -> int:
    """Seconds since 1970, as the specification counts them."""
    return int(time.time())


def _status_of(
    parts: SplitResult, body: bytes, headers: dict[str, str], allowed: Sequence[Network], watch: "_Watch"
) -> int:
    host, port = str(parts.hostname), _port_of(parts)
    tls = parts.scheme == "https"
    kind = http.client.HTTPSConnection if tls else http.client.HTTPConnection
    connection = kind(host, port)
    connection.sock = _connected(host, port, allowed, watch)  # already open: it looks nothing up itself
    try:
        if tls:
            context = ssl.create_default_context()
            connection.sock = context.wrap_socket(
                connection.sock, server_hostname=host, do_handshake_on_connect=False
            )
            watch.over_to(connection.sock)
            connection.sock.do_handshake()
        path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
        connection.request("POST", path, body, headers)
        return connection.getresponse().status
    finally:
        connection.close()


def _connected(host: str, port: int, allowed: Sequence[Network], watch: "_Watch") -> socket.socket:
    """A connection to what the name stands for now, all of which must be allowed."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    for *_how, at in found:
        _refuse_private(ipaddress.ip_address(str(at[0])), allowed)
    failed: OSError = OSError("the name stands for no address")
    for family, kind, protocol, _name, at in found:
        connecting = socket.socket(family, kind, protocol)
        connecting.settimeout(SECONDS)
        try:
            watch.over_to(connecting)
            connecting.connect(at)
            return connecting
        except OSError as error:
            connecting.close()
            failed = error
            if watch.over:
                break
    raise failed


def _refuse_private(address: Address, allowed: Sequence[Network]) -> None:
    """NotAllowed where the address, or one within it, is neither public nor in a network that is allowed."""
    for each in _within(address):
        site_local = isinstance(each, ipaddress.IPv6Address) and each.is_site_local  # RFC 3879
        public = each.is_global and not (each.is_multicast or each.is_reserved or site_local)
        if not public and not any(each in network for network in allowed):
            raise NotAllowed(
                f"{each} is in a private network, where nothing is sent: "
                "REHOME_WEBHOOK_NETWORKS names the networks that are allowed"
            )


def _within(address: Address) -> list[Address]:
    """The address itself, or the IPv4 addresses that it carries: mapped, 6to4, Teredo, NAT64."""
    if isinstance(address, ipaddress.IPv4Address):
        return [address]
    carried = [address.ipv4_mapped, address.sixtofour, *(address.teredo or ())]
    if address in NAT64:
        carried.append(ipaddress.IPv4Address(address.packed[-4:]))
    return [each for each in carried if each is not None] or [address]


def _port_of(parts: SplitResult) -> int:
    return parts.port or (443 if parts.scheme == "https" else 80)


class _Watch:
    """Ends a conversation that takes too long as a whole, however little at a time keeps coming."""

    def __init__(self, seconds: float) -> None:
        self.socket: socket.socket | None = None
        self.over = False
        self._timer = threading.Timer(seconds, self._end)
        self._timer.daemon = True

    def __enter__(self) -> None:
        self._timer.start()

    def __exit__(self, *_error: object) -> None:
        self._timer.cancel()

    def over_to(self, current: socket.socket) -> None:
        """Watch this one from now on.  TimeoutError where the time was over before it was there to end."""
        self.socket = current
        if self.over:
            raise TimeoutError

    def _end(self) -> None:
        self.over = True  # first: either this or `over_to` sees the other
        with suppress(OSError):
            if self.socket is not None:  # of the socket below, whatever TLS has of its own
                socket.socket.shutdown(self.socket, socket.SHUT_RDWR)
