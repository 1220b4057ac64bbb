"""Listen, and answer until told to stop."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from contextlib import contextmanager

from jointlab.app.web.shop import Shop
from jointlab.errors import InputError, Problem


@contextmanager
def listening(address: str, port: int) -> Iterator[tuple[socket.socket, int]]:
    """A socket that listens there, and the port it got.

    Raises
    ------
    InputError
        The address is not this computer's, or something listens there already.
    """
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((address, port))
        except OSError as error:
            problem = Problem(
                f"cannot listen there: {error.strerror or error}; choose another --port or --host",
                column="--port",
                value=f"{address}:{port}",
            )
            raise InputError(problem, subject="the command") from None
        listener.listen(128)
        yield listener, int(listener.getsockname()[1])


def run(shop: Shop, listener: socket.socket) -> None:
    """Answer requests until interrupted."""
    import uvicorn

    from jointlab.app.web.application import make_app

    config = uvicorn.Config(
        make_app(shop), log_level="warning", access_log=False, server_header=False, proxy_headers=False, ws="none"
    )
    uvicorn.Server(config).run(sockets=[listener])
