"""``moisturemap serve``: the local app in a browser."""

from __future__ import annotations

import hashlib
import secrets
import socket
import threading
import webbrowser
from pathlib import Path
from typing import TYPE_CHECKING

import click

from moisturemap.cli.door import say

if TYPE_CHECKING:
    from moisturemap.web import Settings

PORT = 8650


@click.command()
@click.argument("project", type=click.Path(path_type=Path), required=False)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PORT,
    show_default=True,
    help="Port to listen on; 0 takes a free one.",
)
@click.option(
    "--lan",
    is_flag=True,
    help="Let tablets in the same network in, each by an address that works once.",
)
@click.option(
    "--open/--no-open",
    "open_page",
    default=True,
    show_default=True,
    help="Open the page in the browser.",
)
def serve(project: Path | None, port: int, lan: bool, open_page: bool) -> None:
    """Open the local app for PROJECT: a project file (.gpkg), or a folder of them.

    Without PROJECT the current folder is used. Nothing leaves this computer. Only who has the
    address with its token gets in, on this computer, too; no other device can reach the page
    unless --lan is given.
    """
    from moisturemap.errors import MissingExtra

    try:
        from moisturemap.web import create_app
        from moisturemap.web.server import answer_on
    except ImportError as missing:
        purpose = "The local app"
        raise MissingExtra(purpose, "web") from missing

    listener = _listen(port, lan)
    port = listener.getsockname()[1]
    settings = _settings(project, port, lan)
    app = create_app(settings)
    page = f"http://127.0.0.1:{port}/?token={settings.token}"

    def up() -> None:
        say(f"moisturemap is at {page} (Ctrl+C ends it)", err=True)
        for host in _other_hosts() if lan else ():
            say(f"for one tablet:    http://{host}:{port}/?token={settings.invitation}", err=True)
        if open_page:
            threading.Thread(target=webbrowser.open, args=[page], daemon=True).start()

    answer_on(listener, app, up)


def _settings(project: Path | None, port: int, lan: bool) -> Settings:
    from moisturemap.errors import StoreError
    from moisturemap.web import Settings
    from moisturemap.web.doorkeeper import own_folder

    path = (project or Path()).resolve()
    if not path.exists():
        message = f"{path}: no such file or folder. Give a project file (.gpkg) or a folder"
        raise StoreError(message)
    if path.is_dir() and (path / "survey.toml").exists():
        message = (
            f"{path}: a survey folder. Make a project file of it first: "
            f"moisturemap pack {path.name}"
        )
        raise StoreError(message)
    hosts = (*Settings.hosts, *(_other_hosts() if lan else ()))
    only = None if path.is_dir() else path
    folder = path if path.is_dir() else path.parent
    seal = hashlib.sha256(str(folder).encode()).hexdigest()[:16]
    return Settings(
        folder=folder,
        only=only,
        lan=lan,
        hosts=hosts,
        port=port,
        token=secrets.token_urlsafe(16),
        invitation=secrets.token_urlsafe(16) if lan else "",
        memory=own_folder() / f"devices-{seal}.json",
        kept=own_folder() / f"floors-{seal}",
    )


def _listen(port: int, lan: bool) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("0.0.0.0" if lan else "127.0.0.1", port))
    except OSError as taken:
        from moisturemap.errors import StoreError

        listener.close()
        message = f"port {port} is taken by another program; choose another with --port"
        raise StoreError(message) from taken
    return listener


def _other_hosts() -> tuple[str, ...]:
    """Addresses of this computer in its networks."""
    found: set[str] = set()
    for target in ("192.0.2.1", "10.255.255.255"):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((target, 9))
                found.add(probe.getsockname()[0])
            except OSError:
                continue
    return tuple(sorted(host for host in found if not host.startswith("127.")))
