"""What of a page stands over something else or is too small to tap, measured by boxes."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

_MEASURE = """() => {
  const seen = (e) => e.checkVisibility({ visibilityProperty: true }) &&
    !e.closest('.visually-hidden') && !e.closest('.announce');
  const shown = (e) => {
    const r = e.getBoundingClientRect();
    const box = [r.left, r.top, r.right, r.bottom];
    for (let p = e.parentElement; p; p = p.parentElement) {
      const style = getComputedStyle(p);
      if (!/(auto|scroll|hidden)/.test(style.overflowX + style.overflowY)) continue;
      const q = p.getBoundingClientRect();
      box[0] = Math.max(box[0], q.left); box[1] = Math.max(box[1], q.top);
      box[2] = Math.min(box[2], q.right); box[3] = Math.min(box[3], q.bottom);
    }
    return box;
  };
  const sticks = (e) => e && getComputedStyle(e).position === 'sticky';
  const what = 'button,a,input,select,label,h1,h2,h3,p,li>span,td,th,.ol-scale-line,.north';
  const open = [...document.querySelectorAll('dialog[open]')].at(-1) ?? document;
  const boxes = [...open.querySelectorAll(what)].filter(seen).map((e) => [e, shown(e)])
    .filter(([, b]) => b[2] - b[0] > 2 && b[3] - b[1] > 2);
  const over = [];
  boxes.forEach(([a, p], i) => boxes.slice(i + 1).forEach(([b, q]) => {
    if (a.contains(b) || b.contains(a)) return;
    if ([a, b].some((e) => e.closest('.top') || e.closest('dialog > .actions'))) return;
    if ([a, b].some((e) => sticks(e.closest('.tasks')))) return;
    const wide = Math.min(p[2], q[2]) - Math.max(p[0], q[0]);
    const tall = Math.min(p[3], q[3]) - Math.max(p[1], q[1]);
    if (wide > 2 && tall > 2) over.push([a.outerHTML.slice(0, 80), b.outerHTML.slice(0, 80)]);
  }));
  const controls = 'button,a.button,select,input:not(.visually-hidden),summary,label.button,nav a';
  const small = navigator.maxTouchPoints === 0 ? [] : [...open.querySelectorAll(controls)]
    .filter(seen).map((e) => {
      const whole = e.type === 'checkbox' || e.type === 'radio' ? e.parentElement : e;
      const r = whole.getBoundingClientRect();
      return [r.width, r.height, e.outerHTML.slice(0, 80)];
    }).filter(([wide, tall]) => wide > 0 && (wide < 43.9 || tall < 43.9));
  return { over, small, wider: document.documentElement.scrollWidth - innerWidth };
}"""
"""Sticky rows (``.top``, the buttons of a form, the tasks under a page that scrolls as a whole) and
what is announced at the foot stand over the rest on purpose; a form stands over the page."""


def faults_of(page: Page) -> dict[str, Any]:
    """Return what is wrong with the layout, {} when nothing.

    Overlapping pairs; controls below 44 px where the page is used by touch; and by how much the
    page is wider than the screen.
    """
    found: dict[str, Any] = page.evaluate(_MEASURE)
    return {name: value for name, value in found.items() if value}


_CUT = """() => {
  const top = [...document.querySelectorAll("dialog[open]")].at(-1) ?? document;
  const seen = (what) => [...top.querySelectorAll(what)].filter((e) =>
    e.checkVisibility({ visibilityProperty: true }) && !e.closest('.visually-hidden'));
  const pen = document.createElement('canvas').getContext('2d');
  const cut = seen('button,a,label,h1,h2,h3,p,th,td,li,legend,summary').filter((e) =>
    getComputedStyle(e).overflowX !== 'visible' && !e.matches('.job')
    && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1));
  const short = seen('input[type=datetime-local]').filter((e) => {
    const style = getComputedStyle(e);
    pen.font = style.font;
    const words = pen.measureText('12/28/2026, 10:58 PM').width + 2 * parseFloat(style.fontSize);
    const inside = e.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
    return inside < words && e.getBoundingClientRect().width < innerWidth / 2;
  });
  return [...cut, ...short].map((e) => e.outerHTML.slice(0, 80));
}"""
"""The name of the job ends in dots where it is long; its whole is on the list of jobs. A field of
day and time holds both as people in the United States write them, with the sign of the calendar,
unless it is as wide as the screen."""


def words_cut_off(page: Page) -> list[str]:
    """Return what holds more words than it shows."""
    found: list[str] = page.evaluate(_CUT)
    return found
