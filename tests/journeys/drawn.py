"""What the plan drew last: words and signs of its canvas, by their boxes."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

RECORD = """() => {
  const drawn = { frame: 0, marks: [] };
  window.drawn_ = drawn;
  const next = () => { drawn.frame += 1; requestAnimationFrame(next); };
  requestAnimationFrame(next);
  const box = (pen, west, north, east, south) => {
    const turn = pen.getTransform();
    const at = [[west, north], [east, north], [west, south], [east, south]]
      .map(([x, y]) => turn.transformPoint(new DOMPoint(x, y)));
    const [xs, ys] = [at.map((p) => p.x), at.map((p) => p.y)];
    return [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
  };
  const keep = (pen, kind, text, ...sides) => {
    if (drawn.marks.length > 20000) drawn.marks.splice(0, 10000);
    const { frame } = drawn;
    drawn.marks.push({ frame, canvas: pen.canvas, kind, text, box: box(pen, ...sides) });
  };
  const of = CanvasRenderingContext2D.prototype;
  const { fillText, drawImage } = of;
  of.fillText = function (text, x, y) {
    const m = this.measureText(text);
    keep(this, 'words', text, x - m.actualBoundingBoxLeft, y - m.actualBoundingBoxAscent,
      x + m.actualBoundingBoxRight, y + m.actualBoundingBoxDescent);
    return fillText.apply(this, arguments);
  };
  of.drawImage = function (image, ...to) {
    const [x, y, wide, tall] = to.length === 8 ? to.slice(4) : to;
    if (image.width <= 80)
      keep(this, 'sign', '', x, y, x + (wide ?? image.width), y + (tall ?? image.height));
    return drawImage.apply(this, arguments);
  };
}"""
"""Notes what is drawn; to be run before the page."""

_LAST = """() => {
  const marks = window.drawn_.marks.filter((one) => one.canvas.closest?.('.ol-viewport'));
  const last = Math.max(...marks.map((one) => one.frame));
  return marks.filter((one) => one.frame === last)
    .map(({ kind, text, box }) => ({ kind, text, box }));
}"""


def marks_of(page: Page) -> list[dict[str, Any]]:
    """Return the words and signs of the last picture of the plan, with their boxes [px]."""
    found: list[dict[str, Any]] = page.evaluate(_LAST)
    return found


def overprinted(marks: list[dict[str, Any]]) -> list[tuple[str, str, int, int]]:
    """Return words that stand over other words or over a sign, and by how much [px].

    A question mark belongs on the sign of what is contested. Dots of readings, which are drawn as
    one picture under all names, are no signs here.
    """
    words = [one for one in marks if one["kind"] == "words" and one["text"] != "?"]
    found = []
    for place, one in enumerate(words):
        for other in [*words[place + 1 :], *(two for two in marks if two["kind"] == "sign")]:
            (a, b, c, d), (e, f, g, h) = one["box"], other["box"]
            wide, tall = min(c, g) - max(a, e), min(d, h) - max(b, f)
            if wide > 2 and tall > 2:
                found.append((one["text"], other["text"] or "a sign", round(wide), round(tall)))
    return found
