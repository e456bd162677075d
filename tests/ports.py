"""Ports for servers of the tests' own."""

from __future__ import annotations

import socket


def free_port() -> int:
    """A port of this machine at which nobody listens now."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])
