"""A finger that keeps to the plan page and looks after each touch at what became of the plan."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page

from .page import push
from .random_taps import Finger

REFUSED = "Failed to load resource: the server responded with a status of 4"
"""How the browser notes an answer that refuses: an outline over another room, say."""
GRASP_PX = 40.0
"""What lies further from where a drag began was not touched [px]: a finger's width (our choice)."""

_HERE = """() => {
  const kept = JSON.parse(localStorage.getItem('moisturemap:plan:flat'));
  return kept?.plan ?? null;
}"""

_ON_PLAN = """([x, y]) => !document.querySelector('dialog[open]') &&
  document.elementFromPoint(x, y)?.closest('.canvas') !== null"""

Plan = dict[str, Any]
Place = tuple[float, float]


def corners_of(plan: Plan) -> list[Place]:
    """Every corner of every room and line, as often as it is there."""
    rings = [ring for room in plan["rooms"] for ring in room["rings"]]
    paths = [*rings, *(line["places"] for line in plan["lines"])]
    return [(round(x, 4), round(y, 4)) for path in paths for x, y in path]


@dataclass
class PlanFinger(Finger):
    """``address`` is of the job in the API."""

    address: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        self.page.on(
            "console",
            lambda said: (
                self.note(f"console: {said.text}")
                if said.type == "error" and REFUSED not in said.text
                else None
            ),
        )

    def plan_here(self) -> Plan:
        """The plan as the page has it: what is kept on the device, else what is stored."""
        kept: Plan | None = self.page.evaluate(_HERE)
        if kept is not None:
            return kept
        # asked by the page: a connection that lay idle meanwhile is opened anew by a browser only
        fetched = "at => fetch(at).then(one => one.json())"
        stored: Plan = self.page.evaluate(fetched, f"{self.address}plan")["plan"]
        return stored

    def act(self) -> None:
        """Do one thing on the plan page, and see that nothing else moved."""
        self.taps += 1
        choice = self.dice.random()
        if choice < 0.5:
            self._control()
        elif choice < 0.9:
            self._touch_floor(drag=choice >= 0.7)
        else:
            self._key()
        self.page.wait_for_timeout(self.dice.choice((0, 20, 350)))

    def _control(self) -> None:
        self.page.evaluate(
            "document.querySelectorAll('.head *, .tasks *, .panel a, .corner *').forEach("
            "(e) => e.inert = true);"
            "[...document.querySelectorAll('.panel button')].forEach((e) => {"
            " if (/readings/i.test(e.textContent)) e.inert = true; });"
        )
        super()._control()

    def _near_corner(self) -> Place | None:
        """Mostly at a corner of the plan, where harm would be done; else anywhere."""
        if self.dice.random() < 0.3:
            return self._place()
        corners = corners_of(self.plan_here())
        box = self.page.locator(".canvas").bounding_box()
        view = self.page.locator(".canvas").get_attribute("data-view")
        if not corners or box is None or view is None:
            return self._place()
        x, y = self.dice.choice(corners)
        east, north, metres = (float(one) for one in view.split())
        at = (
            box["x"] + box["width"] / 2 + (x - east) / metres + self.dice.uniform(-6, 6),
            box["y"] + box["height"] / 2 - (y - north) / metres + self.dice.uniform(-6, 6),
        )
        inside = (
            box["x"] + 2 < at[0] < box["x"] + box["width"] - 2
            and box["y"] + 2 < at[1] < box["y"] + box["height"] - 2
        )
        return at if inside else self._place()

    def _touch_floor(self, *, drag: bool) -> None:
        start, end = self._near_corner(), self._place()
        # what is typed so far is taken when the finger leaves the field, whatever it does then
        self.page.evaluate("document.activeElement.blur()")
        if start is None or end is None or not self.page.evaluate(_ON_PLAN, start):
            return
        before = self.plan_here()
        self.done.append(f"{'drag' if drag else 'tap'} {start[0]:.0f},{start[1]:.0f}")
        where, reach = self._on_floor(start)
        if drag:
            self.page.mouse.move(*start)
            self.page.mouse.down()
            self.page.mouse.move(*end, steps=4)
            self.page.mouse.up()
        else:
            self.point(start)
            self.page.wait_for_timeout(300)
        self._compare(before, where, reach if drag else 0.0)

    def _on_floor(self, place: Place) -> tuple[Place, float]:
        box = self.page.locator(".canvas").bounding_box()
        view = self.page.locator(".canvas").get_attribute("data-view")
        assert box is not None
        assert view is not None
        east, north, metres = (float(one) for one in view.split())
        x = east + (place[0] - box["x"] - box["width"] / 2) * metres
        y = north - (place[1] - box["y"] - box["height"] / 2) * metres
        return (x, y), GRASP_PX * metres

    def _compare(self, before: Plan, where: Place, reach: float) -> None:
        """Of what was there, only what was touched may have gone from its place; no name may."""
        after = self.plan_here()
        left, right = corners_of(before), corners_of(after)
        gone = [one for one in left if left.count(one) > right.count(one)]
        if far := [one for one in gone if math.dist(one, where) > reach]:
            self.note(f"corners moved that were not touched: {far[:4]}")
        names, kept = ([one["name"] for one in plan["rooms"]] for plan in (before, after))
        if kept[: len(names)] != names:
            self.note(f"names moved: {names} to {kept}")


def press_all(page: Page, name: str, most: float = math.inf) -> int:
    """Press Undo or Redo until nothing is left of it; return how often it was pressed.

    At most so often: what the finger had undone itself could be redone further.
    """
    control = page.locator(".tools").get_by_role("button", name=name, exact=True)
    pressed = 0
    while pressed < most and control.is_enabled():
        push(page, control)
        pressed += 1
    return pressed


def leave_tools(page: Page) -> None:
    """Close what is open and leave what is being drawn, so that the plan itself is at hand."""
    for _ in range(4):
        page.keyboard.press("Escape")
    page.locator(".canvas").focus()
    for _ in range(2):
        page.keyboard.press("Escape")
    page.locator(".tools").get_by_role("button", name="Redo", exact=True).wait_for()
