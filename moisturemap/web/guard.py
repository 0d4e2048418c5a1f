"""Who may ask what: host names, same origin, other devices by a token, sizes, answer headers."""

from __future__ import annotations

import html
import ipaddress
import json
from collections.abc import Awaitable, Callable, MutableMapping
from contextlib import suppress
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs, urlsplit

from moisturemap.web.doorkeeper import Device, Doorkeeper
from moisturemap.web.settings import Settings

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE = "moisturemap"
HEALTH = "/api/health"
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
            await self._let_in(entry, scope, headers, sending)
            return
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            if "text/html" in headers.get("accept", ""):
                await _answer_page(sending, *refusal)
            else:
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
        if not self.settings.guarded or scope["path"] != "/" or scope["method"] != "GET":
            return None
        tokens = parse_qs(scope["query_string"].decode("latin-1")).get("token")
        return tokens[0] if tokens else None

    async def _let_in(self, token: str, scope: Scope, headers: dict[str, str], send: Send) -> None:
        known = self._device(headers)
        browser = headers.get("user-agent", "")
        key = self.doorkeeper.admit(token, browser, here=_is_loopback(scope)) if not known else None
        if known is None and key is None:
            await _answer(send, 403, "this address was used already; ask for a new one")
            return
        headers_out = [(b"location", b"/"), (b"content-length", b"0")]
        if key is not None:
            cookie = f"{self._cookie}={key}; Path=/; HttpOnly; SameSite=Strict; Max-Age=31536000"
            headers_out.append((b"set-cookie", cookie.encode()))
        await send({"type": "http.response.start", "status": 303, "headers": headers_out})
        await send({"type": "http.response.body", "body": b""})

    def _refusal(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        if not self._host_known(headers):
            return 400, "this program does not answer to that host name"
        if self.settings.guarded and scope["path"] != HEALTH:
            device = self._device(headers)
            if device is None:
                return 403, "this device has not been let in; open the address with the token on it"
            scope.setdefault("state", {})["device"] = device.id
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

    @property
    def _cookie(self) -> str:
        """Cookies know no port: two programs on one computer must not take each other's."""
        return f"{COOKIE}-{self.settings.port}"

    def _device(self, headers: dict[str, str]) -> Device | None:
        try:
            morsel = SimpleCookie(headers.get("cookie", "")).get(self._cookie)
        except CookieError:
            return None
        return None if morsel is None else self.doorkeeper.known(morsel.value)

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


async def _answer_page(send: Send, status: int, message: str) -> None:
    """Refuse somebody who opened the address by hand, in a page they can read."""
    body = (
        "<!doctype html><meta charset=utf-8><meta name=viewport content='width=device-width'>"
        f"<title>moisturemap</title><h1>moisturemap</h1><p>{html.escape(message)}.</p>"
        "<p>The address is printed where the program was started.</p>"
    ).encode()
    headers = [
        (b"content-type", b"text/html; charset=utf-8"),
        (b"content-length", str(len(body)).encode()),
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
