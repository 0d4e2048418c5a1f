"""Devices that were let in: invited, named, listed, revoked."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from fastapi import APIRouter, Request

from moisturemap.web.payloads import SignedIn
from moisturemap.web.refusals import Changed, NotThere

router = APIRouter(prefix="/api", tags=["devices"])


@router.post("/invitation")
def invitation(request: Request) -> dict[str, list[str]]:
    """Make an address that lets one more device in."""
    settings = request.app.state.settings
    if not settings.lan:
        message = "other devices are not let in; start with --lan to allow it"
        raise Changed(message)
    token = request.app.state.doorkeeper.invite()
    hosts = [host for host in settings.hosts if host not in ("localhost", "127.0.0.1", "[::1]")]
    return {"addresses": [f"http://{host}:{settings.port}/?token={token}" for host in hosts]}


@router.get("/devices")
def devices(request: Request) -> dict[str, Any]:
    """List the devices that were let in."""
    this = getattr(request.state, "device", "")
    known = request.app.state.doorkeeper.devices()
    return {"devices": [{**asdict(one), "this": one.id == this} for one in known]}


@router.put("/devices/this")
def name_device(request: Request, content: SignedIn) -> dict[str, str]:
    """Call this device by the name of who uses it."""
    request.app.state.doorkeeper.name(getattr(request.state, "device", ""), content.who)
    return {"name": content.who}


@router.delete("/devices/{device}")
def revoke(request: Request, device: str) -> dict[str, str]:
    """Let a device in no more."""
    if not request.app.state.doorkeeper.revoke(device):
        message = "there is no such device"
        raise NotThere(message)
    return {"revoked": device}
