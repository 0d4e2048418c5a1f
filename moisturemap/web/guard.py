"""Who may ask what: host names, same origin, other devices by a token, sizes, answer headers."""

from __future__ import annotations

import hmac
import ipaddress
import json
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from contextlib import suppress
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs, urlsplit

from moisturemap.web.settings import Settings

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE = "moisturemap"
UNSAFE = ("POST", "PUT", "PATCH", "DELETE")

HEADERS = (
    (
        b"content-security-policy",
        b"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
        b"connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; "
        b"form-action 'none'; frame-ancestors 'none'",
    ),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"geolocation=(), microphone=(), payment=()"),
)


class Doorkeeper:
    """Tokens that let another device in once, and the devices that were let in."""

    def __init__(self, first: str = "") -> None:
        self._tokens = {first} if first else set()
        self._devices: set[str] = set()

    def invite(self) -> str:
        """Make a token for one more device."""
        token = secrets.token_urlsafe(16)
        self._tokens.add(token)
        return token

    def admit(self, token: str) -> str | None:
        """Take a token and return the key the device shows from now on; None when it is spent."""
        match = next((one for one in self._tokens if hmac.compare_digest(one, token)), None)
        if match is None:
            return None
        self._tokens.discard(match)
        device = secrets.token_urlsafe(24)
        self._devices.add(device)
        return device

    def knows(self, device: str) -> bool:
        """Whether a device was let in."""
        return any(hmac.compare_digest(one, device) for one in self._devices)


class TooLarge(Exception):
    """The body of a request is larger than allowed."""


class Guard:
    """ASGI middleware that refuses before anything else looks at a request."""

    def __init__(self, app: App, settings: Settings, doorkeeper: Doorkeeper) -> None:
        self.app = app
        self.settings = settings
        self.doorkeeper = doorkeeper

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        headers = {
            key.decode("latin-1").lower(): value.decode("latin-1")
            for key, value in scope["headers"]
        }
        sending = self._with_headers(send)
        entry = self._entry(scope)
        if entry is not None and self._host_known(headers):
            await self._let_in(entry, sending)
            return
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await _answer(sending, *refusal)
            return
        await self._pass_on(scope, receive, sending)

    async def _pass_on(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the app answer; when more is sent than allowed, whatever it says is dropped."""
        taken = 0

        async def limited() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > self.settings.upload_bytes:
                raise TooLarge
            return message

        async def watched(message: Message) -> None:
            if taken <= self.settings.upload_bytes:
                await send(message)

        with suppress(TooLarge):
            await self.app(scope, limited, watched)
        if taken > self.settings.upload_bytes:
            await _answer(send, 413, self._too_large())

    def _too_large(self) -> str:
        return f"the upload is larger than {self.settings.upload_bytes // 1_000_000} MB"

    def _entry(self, scope: Scope) -> str | None:
        """Return the token of an address that lets a device in."""
        if not self.settings.lan or scope["path"] != "/" or scope["method"] != "GET":
            return None
        tokens = parse_qs(scope["query_string"].decode("latin-1")).get("token")
        return tokens[0] if tokens else None

    async def _let_in(self, token: str, send: Send) -> None:
        device = self.doorkeeper.admit(token)
        if device is None:
            await _answer(send, 403, "this address was used already; ask for a new one")
            return
        cookie = f"{COOKIE}={device}; Path=/; HttpOnly; SameSite=Strict"
        headers = [(b"location", b"/"), (b"set-cookie", cookie.encode()), (b"content-length", b"0")]
        await send({"type": "http.response.start", "status": 303, "headers": headers})
        await send({"type": "http.response.body", "body": b""})

    def _refusal(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        if not self._host_known(headers):
            return 400, "this program does not answer to that host name"
        if self.settings.lan and not _is_loopback(scope) and not self._device_known(headers):
            return 403, "this device has not been let in; open the address with the token on it"
        if scope["method"] in UNSAFE and not _same_origin(headers):
            return 403, "the request comes from another site"
        length = headers.get("content-length", "")
        if length.isdigit() and int(length) > self.settings.upload_bytes:
            return 413, self._too_large()
        return None

    def _host_known(self, headers: dict[str, str]) -> bool:
        host = headers.get("host", "")
        name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
        return name in self.settings.hosts

    def _device_known(self, headers: dict[str, str]) -> bool:
        try:
            morsel = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
        except CookieError:
            return False
        return morsel is not None and self.doorkeeper.knows(morsel.value)

    @staticmethod
    def _with_headers(send: Send) -> Send:
        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                present = {key for key, _ in message["headers"]}
                extra = [*HEADERS, (b"cache-control", b"no-cache")]
                message["headers"] = [
                    *message["headers"],
                    *(one for one in extra if one[0] not in present),
                ]
            await send(message)

        return sending


def _is_loopback(scope: Scope) -> bool:
    client = scope.get("client")
    try:
        return client is not None and ipaddress.ip_address(client[0]).is_loopback
    except ValueError:
        return False


def _same_origin(headers: dict[str, str]) -> bool:
    """Browsers name the origin of every write; a write that names none is no browser's."""
    origin = headers.get("origin")
    if origin is None:
        return headers.get("sec-fetch-site", "same-origin") in ("same-origin", "none")
    return urlsplit(origin).netloc == headers.get("host", "")


async def _answer(send: Send, status: int, message: str) -> None:
    body = json.dumps({"message": message}).encode()
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
