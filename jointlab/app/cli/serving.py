"""The command that opens the web door."""

from __future__ import annotations

import ipaddress
import socket
import sys
from typing import Annotated

import typer

from jointlab.app.cli.application import BookOption, ByOption, app

DEFAULT_PORT = 8137
UNENCRYPTED = "The traffic is not encrypted: use your own network only, never a public one."


@app.command(short_help="The web app, on this computer or for a phone.")
def serve(
    book: BookOption = None,
    by: ByOption = None,
    host: Annotated[
        str | None, typer.Option("--host", help="Address to listen on; 127.0.0.1, or all with --lan.")
    ] = None,
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Port to listen on; 0 for any free.")
    ] = DEFAULT_PORT,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let a phone of your own network in, by a link that works once.")
    ] = False,
    no_open: Annotated[bool, typer.Option("--no-open", help="Do not open a browser.")] = False,
) -> None:
    """Open the bench and the other pages in the browser; Ctrl-C ends it."""
    from jointlab.app import workflow
    from jointlab.app.web.pairing import Pairing
    from jointlab.app.web.serving import listening
    from jointlab.app.web.shop import OWN_NAMES, Shop

    workflow.open_book(book).close()
    address = host or ("0.0.0.0" if lan else "127.0.0.1")
    shared = lan or not _is_own(address)
    pairing = Pairing() if shared else None
    reached = _address_in_network() if shared and address in ("0.0.0.0", "::") else address
    names = frozenset({*OWN_NAMES, address, reached, *(_own_host_names() if shared else ())})
    shop = Shop(place=book, names=frozenset(map(str.casefold, names)), pairing=pairing, by=by)
    with listening(address, port) as (listener, bound):
        root = f"http://{f'[{reached}]' if ':' in reached else reached}:{bound}"
        start = root + "/" if pairing is None else f"{root}/pair/{pairing.new_link()}"
        if pairing is not None:
            _show_link(start)
        print(f"jointlab serves at {root}/ - Ctrl-C ends it.", flush=True)
        if not no_open:
            _open(start if pairing is None else f"{root}/pair/{pairing.new_link()}")
        from jointlab.app.web.serving import run

        run(shop, listener)


def _is_own(address: str) -> bool:
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return address.casefold() == "localhost"


def _address_in_network() -> str:
    """The address under which other devices of the network reach this one; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(("192.0.2.1", 9))
        except OSError:
            return "127.0.0.1"
        return str(asking.getsockname()[0])


def _own_host_names() -> tuple[str, ...]:
    name = socket.gethostname()
    return name, f"{name.partition('.')[0]}.local"


def _show_link(link: str) -> None:
    import segno

    if sys.stdout.isatty() or sys.stdout.encoding.lower().startswith("utf"):
        segno.make(link, error="m").terminal(compact=True)
    print(f"Scan it with the phone, or open {link}")
    print("The link works once, within a quarter of an hour; a paired device can let in another.")
    print(UNENCRYPTED, flush=True)


def _open(address: str) -> None:
    import webbrowser

    webbrowser.open(address)
