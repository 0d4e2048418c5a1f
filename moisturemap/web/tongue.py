"""What the program answers in words, in the language of the page that asks."""

from __future__ import annotations

import gzip
import json
import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from anyio import to_thread

from moisturemap.errors import MoistureMapError
from moisturemap.language import ENGLISH, LANGUAGES
from moisturemap.units import Units
from moisturemap.web.guard import App, Message, Receive, Scope, Send

if TYPE_CHECKING:
    from moisturemap.language.translation import Translator
    from moisturemap.web.jobs import Job, Shelf

SENTENCES = frozenset(
    (
        "anomaly_limits",
        "asked",
        "burden",
        "caution",
        "cautions",
        "chance",
        "change",
        "complaint",
        "confirm",
        "copies",
        "count_rule",
        "depth_note",
        "disclaimer",
        "doing",
        "doubt",
        "explanation",
        "from_a",
        "from_b",
        "hint",
        "how",
        "label",
        "level_words",
        "limits",
        "look_back",
        "meaning",
        "message",
        "next_steps",
        "notes",
        "phrase",
        "proof",
        "quality",
        "reason",
        "reasons",
        "refusal",
        "refusals",
        "remark",
        "remarks",
        "risk",
        "scan",
        "sentence",
        "sentences",
        "serves",
        "set_out",
        "statement",
        "statements",
        "steps",
        "text",
        "threshold",
        "warning",
        "warnings",
        "way_words",
        "wet_area",
        "wet_explanation",
        "what",
        "when",
        "where",
        "who_confirms",
        "why",
        "why_against",
        "why_for",
        "words",
    )
)
"""Names of what is read and never computed with; names, notes and keys keep theirs."""

UNMEASURED = frozenset(("label", "what"))
"""Sentences that stay in metric: what people wrote, and the record as it was kept."""

OWN_REASONS = frozenset(
    (
        "caution cleared",
        "decision taken back",
        "instrument added",
        "instrument checked",
        "instrument corrected",
        "machine moved",
        "machine placed",
        "reading typed",
        "report issued",
        "survey packed",
        "test entered",
        "units of the job",
        "visit corrected",
        "visit started",
        "wish taken back",
    )
)
"""Reasons the program itself writes into the record, beside those of people."""

KEPT = 8
"""Jobs whose names are at hand (our choice)."""


def language_wanted(header: str) -> str:
    """Return the first language of an ``Accept-Language`` that there are tables for.

    >>> language_wanted("fr-FR, de;q=0.8, en;q=0.5")
    'de'
    """
    for one in header.split(","):
        code = one.split(";")[0].strip()[:2].lower()
        if code in LANGUAGES:
            return code
    return ENGLISH


def feet_wanted(header: str) -> bool:
    """Return whether a ``Prefer`` (RFC 7240) asks for feet and inches; in English only.

    >>> feet_wanted("wait=10, units=us")
    True
    """
    return "units=us" in (one.strip() for one in header.split(","))


class Tongue:
    """ASGI middleware that says the sentences of answers in the language and units asked for."""

    def __init__(self, app: App, shelf: Shelf) -> None:
        self.app = app
        self.shelf = shelf
        self._translators: OrderedDict[tuple[str, ...], Translator] = OrderedDict()
        self._turn = threading.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        headers = dict(scope.get("headers", ()))
        code = language_wanted(headers.get(b"accept-language", b"").decode("latin-1"))
        if scope["type"] != "http" or not scope["path"].startswith("/api/"):
            await self.app(scope, receive, send)
            return
        if code == ENGLISH and not feet_wanted(headers.get(b"prefer", b"").decode("latin-1")):
            await self.app(scope, receive, send)
            return
        begun: Message | None = None
        parts: list[bytes] = []

        async def heard(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start" and _is_json(message):
                begun = message
            elif begun is None:
                await send(message)
            elif message["type"] == "http.response.body":
                parts.append(message.get("body", b""))
                if not message.get("more_body", False):
                    job = scope["path"].removeprefix("/api/projects/").split("/")[0]
                    body = await to_thread.run_sync(self._said, code, job, begun, b"".join(parts))
                    await send(begun)
                    await send({"type": "http.response.body", "body": body})

        await self.app(scope, receive, heard)

    def _said(self, code: str, job: str, begun: Message, body: bytes) -> bytes:
        """Return a body with its sentences in the language, packed as it was."""
        headers = dict(begun["headers"])
        packed = headers.get(b"content-encoding") == b"gzip"
        content = json.loads(gzip.decompress(body) if packed else body) if body else None
        with self._turn:
            if code == ENGLISH:
                spoken = told(content, Units("us").sentence, unsaid=UNMEASURED)
            else:
                translator = self._translator(code, job)
                spoken = told(content, lambda text: translator.render(text).text)
        said = json.dumps(spoken, ensure_ascii=False).encode()
        said = gzip.compress(said, 5, mtime=0) if packed else said
        headers[b"content-length"] = str(len(said)).encode()
        headers[b"content-language"] = code.encode()
        vary = headers.get(b"vary", b"")
        headers[b"vary"] = b", ".join(filter(None, (vary, b"Accept-Language, Prefer")))
        begun["headers"] = list(headers.items())
        return said if body else body

    def _translator(self, code: str, job: str) -> Translator:
        """Return the translator that knows the names people gave in a job."""
        from moisturemap.language import language_of
        from moisturemap.language.translation import Translator

        opened = self.shelf.opened(job)
        key = (code, job, "" if opened is None else opened.seen.hash)
        if key not in self._translators:
            names = frozenset() if opened is None else _names(opened)
            self._translators[key] = Translator(language_of(code), names)
        self._translators.move_to_end(key)
        while len(self._translators) > KEPT:
            self._translators.popitem(last=False)
        return self._translators[key]


def _names(job: Job) -> frozenset[str]:
    """Return the names people gave in a job."""
    from moisturemap.survey import given_names

    try:
        return given_names(job.snapshot().survey)
    except MoistureMapError:  # no room or no visit yet
        return frozenset(str(row["name"]) for row in job.project.rows("rooms"))


def _is_json(begun: Message) -> bool:
    return any(
        name.lower() == b"content-type" and value.startswith(b"application/json")
        for name, value in begun["headers"]
    )


def told(
    content: Any, say: Callable[[str], str], name: str = "", unsaid: frozenset[str] = frozenset()
) -> Any:
    """Return an answer with every sentence said another way, but for those of some names."""
    if isinstance(content, dict):
        by_people = {"why"} if "who" in content else set()  # the reason somebody wrote
        return {
            key: held
            if key in by_people and held not in OWN_REASONS
            else told(held, say, key, unsaid)
            for key, held in content.items()
        }
    if isinstance(content, list):
        return [told(held, say, name, unsaid) for held in content]
    if isinstance(content, str) and name in SENTENCES - unsaid:
        return say(content)
    return content
