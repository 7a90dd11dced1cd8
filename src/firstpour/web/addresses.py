"""Where the server listens, and the address under which a phone in the same network finds it."""

import socket

from firstpour.errors import BadRequest

BACKLOG = 128
ANY_BEYOND = ("192.0.2.1", 9)
"""An address of documentation (RFC 5737): asking the way to it sends nothing."""


def listening(port: int, *, lan: bool) -> socket.socket:
    """A socket that listens: for this machine alone, or for the network as well.

    It is TCP by name: only then does asyncio send each answer at once. Else the second half of an answer waits for
    the other side's acknowledgement, 40 ms each time.

    Raises
    ------
    BadRequest
        If the port is taken or not allowed.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("0.0.0.0" if lan else "127.0.0.1", port))
        listener.listen(BACKLOG)
    except OSError as error:
        listener.close()
        raise BadRequest(
            f"port {port} cannot be used: {error.strerror or error}", remedy="name another port, or 0 for any"
        ) from error
    return listener


def lan_address() -> str:
    """This machine's address in its network; the loopback's where it is in none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(ANY_BEYOND)
            return str(asking.getsockname()[0])
        except OSError:
            return "127.0.0.1"
