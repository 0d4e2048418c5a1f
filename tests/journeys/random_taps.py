"""Taps or clicks, drags, types, goes back and reloads at random, and remembers what it did."""

from __future__ import annotations

import json
import random
import time
from collections import deque
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import Dialog, Error, Locator, Page, Request, Response

from .overlaps import faults_of
from .page import touched

WRITES = ("POST", "PUT", "PATCH", "DELETE")
TYPED = (
    *("", "12", "5,5", "0", "-3", "1e9", "abc", "FS", "3 ft 2", "Ada Marsh", "hall", "permit 3"),
    *("<b>x</b>", "x" * 150, "2026-03-01", "85", "20", "100", "4.2", "1.5"),
)
PATIENCE_S = 60.0
"""Longest the progress of a task may stand still before it counts as stuck [s]."""
MOST_S = 300.0
"""Longest a task may take at all [s]."""
_PROGRESS = """() => [...document.querySelectorAll('.panel progress')]
  .filter((e) => !e.closest('.walk')).map((e) => [e.value, e.parentElement.textContent])"""

_CONTROLS = """() => {
  const top = [...document.querySelectorAll('dialog[open]')].at(-1) ?? document;
  const what = 'button,a[href],summary,select,input,textarea,label.button';
  return [...top.querySelectorAll(what)]
    .filter((e) => e.checkVisibility({ visibilityProperty: true }) && !e.disabled &&
      !e.closest('[inert]') && !e.matches('input[type=file],.visually-hidden'))
    .map((e, i) => { e.dataset.nth = i; return [i, e.localName, e.type ?? '',
      (e.getAttribute('aria-label') || e.textContent || e.id || '').trim().slice(0, 40)]; });
}"""


@dataclass(frozen=True)
class Sent:
    """A change the program said it had stored."""

    method: str
    url: str
    body: str


@dataclass
class Finger:
    """Somebody who taps anywhere, or clicks where the page has no touch.

    ``done`` tells what was done last; ``stored`` holds the changes that the program said it had
    stored, by key, and ``plan`` the plan it took last.
    """

    page: Page
    dice: random.Random
    done: deque[str] = field(default_factory=lambda: deque(maxlen=14))
    wrong: list[str] = field(default_factory=list)
    stored: dict[str, Sent] = field(default_factory=dict)
    plan: dict[str, Any] | None = None
    taps: int = 0
    broken: list[Response] = field(default_factory=list)
    touch: bool = field(init=False)

    def __post_init__(self) -> None:
        self.touch = touched(self.page)
        self.page.on("pageerror", lambda error: self.note(f"page error: {error}"))
        self.page.on("response", self._answered)
        self.page.on("dialog", self._asked)

    def _asked(self, dialog: Dialog) -> None:
        dialog.accept()

    def note(self, what: str) -> None:
        """Keep what went wrong with what was done before."""
        self.wrong.append(f"{what}\n    after " + "\n          ".join(self.done))

    def _answered(self, response: Response) -> None:
        request: Request = response.request
        if response.status >= 500:
            self.broken.append(response)
        if request.method not in WRITES or not response.ok:
            return
        key = request.headers.get("idempotency-key")
        if key and "/projects/flat/" in request.url and not request.url.endswith("/photos"):
            self.stored[key] = Sent(request.method, request.url, request.post_data or "")
        elif request.method == "PUT" and request.url.endswith("/plan"):
            self.plan = json.loads(request.post_data or "{}")["plan"]
        elif request.url.endswith(("/undo", "/redo")):
            self.plan = None

    def act(self) -> None:
        """Do one thing at random."""
        self.taps += 1
        choice = self.dice.random()
        if choice < 0.6:
            self._control()
        elif choice < 0.74:
            self._floor(drag=False)
        elif choice < 0.82:
            self._floor(drag=True)
        elif choice < 0.9:
            self._key()
        elif choice < 0.95:
            self.done.append("back")
            self._back()
        elif choice < 0.97:
            self.done.append("reload")
            self.page.reload()
        else:
            self._wheel()
        self.page.wait_for_timeout(self.dice.choice((0, 20, 150, 500)))

    def _back(self) -> None:
        here = self.page.url
        with suppress(Error):  # nothing to go back to
            self.page.go_back(wait_until="commit", timeout=5000)
        if not self.page.url.startswith("http"):  # past the first page, out of the program
            self.page.goto(here)

    def overwritten(self, key: str) -> bool:
        """Whether a later change was stored at the same address."""
        keys = list(self.stored)
        later = keys[keys.index(key) + 1 :]
        return any(self.stored[one].url == self.stored[key].url for one in later)

    def changes_anything(self, sent: Sent) -> bool:
        """Send a correction again and say whether the record grows by it."""
        changes = sent.url.partition("/projects/flat/")[0] + "/projects/flat/changes"
        before = self.page.request.get(changes).json()["count"]
        headers = {"content-type": "application/json"}
        again = self.page.request.fetch(
            sent.url, method=sent.method, data=sent.body, headers=headers
        )
        assert again.ok, again.text()
        return bool(self.page.request.get(changes).json()["count"] != before)

    def _control(self) -> None:
        found = self.page.evaluate(_CONTROLS)
        if not found:
            return
        nth, tag, kind, name = self.dice.choice(found)
        self.done.append(f"{tag} {kind} {name!r}")
        control = self.page.locator(f'[data-nth="{nth}"]').last
        try:
            if tag == "select":
                count = control.locator("option").count()
                control.select_option(index=self.dice.randrange(max(count, 1)), timeout=2000)
            else:
                self.push(control, timeout=2000)
                if tag in ("input", "textarea") and kind not in ("checkbox", "range"):
                    self._type()
        except Error as gone:  # a control may leave while a finger is on its way
            self.done[-1] += f" ({type(gone).__name__})"
        self.page.evaluate(
            "document.querySelectorAll('[data-nth]').forEach((e) => delete e.dataset.nth)"
        )

    def push(self, control: Locator, timeout: float = PATIENCE_S * 1000) -> None:
        """Tap or click a control."""
        if self.touch:
            control.tap(timeout=timeout)
        else:
            control.click(timeout=timeout)

    def point(self, place: tuple[float, float]) -> None:
        """Tap or click a place of the screen [px]."""
        if self.touch:
            self.page.touchscreen.tap(*place)
        else:
            self.page.mouse.click(*place)

    def _type(self) -> None:
        text = self.dice.choice(TYPED)
        self.done.append(f"type {text[:20]!r}")
        self.page.keyboard.press("Control+a")
        self.page.keyboard.insert_text(text)
        if self.dice.random() < 0.3:
            self.page.keyboard.press("Tab")

    def _key(self) -> None:
        key = self.dice.choice(("Escape", "Enter", "Control+z", "Delete", "Tab", "7", "s", "b"))
        self.done.append(f"key {key}")
        self.page.keyboard.press(key)

    def _place(self) -> tuple[float, float] | None:
        box = self.page.evaluate(
            "(() => { const r = document.querySelector('.canvas')?.getBoundingClientRect();"
            " return r && [r.x, r.y, r.width, r.height]; })()"
        )
        if not box or box[2] < 20 or box[3] < 20:
            return None
        x, y, wide, tall = box
        return x + wide * self.dice.uniform(0.1, 0.9), y + tall * self.dice.uniform(0.1, 0.9)

    def _floor(self, *, drag: bool) -> None:
        start, end = self._place(), self._place()
        if start is None or end is None:
            return
        self.done.append(f"{'drag' if drag else 'tap'} floor {start[0]:.0f},{start[1]:.0f}")
        if not drag:
            self.point(start)
            return
        self.page.mouse.move(*start)
        self.page.mouse.down()
        self.page.mouse.move(*end, steps=4)
        self.page.mouse.up()

    def _wheel(self) -> None:
        if place := self._place():
            self.done.append("wheel")
            self.page.mouse.move(*place)
            self.page.mouse.wheel(0, self.dice.choice((-300, 300)))

    def settle(self) -> None:
        """Wait until nothing is under way, and measure the page."""
        for one in self.broken:
            self.note(f"{one.status} of {one.request.method} {one.url}: {one.text()[:300]}")
        self.broken.clear()
        try:
            self.page.locator("button:visible, a:visible").first.wait_for()
        except Error:
            self.note("stuck: nothing to press")
            self.page.reload()
        begun = moved = time.monotonic()
        shown = self.page.evaluate(_PROGRESS)
        while shown:
            now = time.monotonic()
            if now > min(moved + PATIENCE_S, begun + MOST_S):
                self.note(f"stuck: progress without end, {now - begun:.0f} s: {shown}")
                self.page.reload()
                return
            self.page.wait_for_timeout(100)
            before, shown = shown, self.page.evaluate(_PROGRESS)
            moved = now if shown != before else moved
        if faults := faults_of(self.page):
            self.note(f"layout: {faults}")
