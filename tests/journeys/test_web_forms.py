"""Every form at every size: whole, free to be tapped, and ready for what is typed at once."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, CDPSession, Page

from .axe import axe_finds
from .forms import OPENERS, Opener, fill_jobs, forms_in_source
from .overlaps import faults_of, words_cut_off
from .page import Program, open_page, program

SIZES = [(1366, 768), (1180, 820), (820, 1180), (390, 844), (360, 740), (844, 390), (683, 384)]
"""The last is the first at 200%."""

_HIDDEN = """(low) => {
  const open = [...document.querySelectorAll('dialog[open]')].at(-1);
  const box = open.getBoundingClientRect();
  const out = [...open.querySelectorAll(':scope > .actions button:not(:disabled)')].filter((e) => {
    if (low) e.scrollIntoView({ block: 'nearest' });
    const r = e.getBoundingClientRect();
    const at = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
    return r.top < 0 || r.left < 0 || r.bottom > innerHeight || r.right > innerWidth ||
      !e.contains(at);
  }).map((e) => e.textContent);
  if (box.left < 0 || box.top < 0 || box.right > innerWidth || box.bottom > innerHeight)
    out.push('the form is not on the screen as a whole');
  if (open.scrollWidth > open.clientWidth) out.push('the form scrolls sideways');
  const row = open.querySelector(':scope > .actions').getBoundingClientRect();
  if (!low && row.top - box.top < 60) out.push('its buttons leave nothing of the form in sight');
  return out;
}"""
"""What of the uppermost form is not wholly in sight and free to be tapped.

Where a screen is hardly higher than its letters, the buttons are scrolled to.
"""

_FOCUS = """() => {
  const open = [...document.querySelectorAll('dialog[open]')].at(-1);
  const first = [...open.querySelectorAll('input:not([type=file]),select,textarea')]
    .find((e) => !e.disabled && e.checkVisibility());
  const at = document.activeElement;
  const told = `${at.tagName} ${at.textContent.slice(0, 40)}`;
  if (first) return open.contains(at) && at.matches('input,select,textarea') ? '' : told;
  return open.contains(at) && (at.matches('h2') || at.closest('.actions')) ? '' : told;
}"""
"""Where the keyboard is, '' where it should be."""


def test_each_form_of_the_source_has_one_that_opens_it() -> None:
    """A new form without its opener fails here, before any browser starts."""
    assert Counter(module for module, _ in OPENERS) == forms_in_source()


@pytest.fixture(scope="module")
def jobs(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """The app over a flat with a test, a log and an instrument, one issued, and a drawn job."""
    from moisturemap.store import pack
    from moisturemap.workflow.read import read_survey

    folder = tmp_path_factory.mktemp("jobs")
    demo = Path(__file__).resolve().parents[2] / "demo_plans" / "flat"
    for name in ("flat", "Issued"):
        pack(read_survey(demo), folder / f"{name}.gpkg", "Ada Marsh")
    pack(read_survey(demo.with_name("bakery")), folder / "bakery.gpkg", "Ada Marsh")
    with program(folder) as running:
        page = open_page(browser, running.address, size=(1180, 820))
        fill_jobs(page, running.address)
        page.context.close()
        yield running


def _ids(one: object) -> str:
    return re.sub(r"\W+", "-", getattr(one, "__name__", str(one))).strip("-_")


@pytest.fixture
def opened(jobs: Program, browser: Browser, opener: Opener) -> Iterator[tuple[Page, CDPSession]]:
    """A page by touch with the form open."""
    page = open_page(browser, jobs.address, size=(1180, 820), bypass_csp=True)
    letters = page.context.new_cdp_session(page)
    opener(page, jobs.address)
    page.locator("dialog").first.wait_for()
    yield page, letters
    page.context.close()


@pytest.mark.browser
@pytest.mark.slow
@pytest.mark.parametrize("opener", [one for _, one in OPENERS], ids=_ids)
def test_a_form_is_whole_at_every_size_and_ready_to_be_typed_in(
    opened: tuple[Page, CDPSession], opener: Opener
) -> None:
    """With letters as they come and at 200% (WCAG 2.2, 1.4.4), by day and by night.

    Nothing overlaps, is cut off or too small to tap (44 px, WCAG 2.2, 2.5.5); its buttons are in
    sight; axe finds nothing; the first field has the focus; Escape closes it and gives the focus
    back.
    """
    page, letters = opened
    found: dict[str, Any] = {}
    if at := page.evaluate(_FOCUS):
        found["focus as it opens"] = at
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        if broken := axe_finds(page, looks_only=scheme == "dark"):
            found[scheme] = broken
    for standard in (16, 32):
        sizes = {"standard": standard, "fixed": 13}
        letters.send("Page.setFontSizes", {"fontSizes": sizes})
        for wide, tall in SIZES:
            page.set_viewport_size({"width": wide, "height": tall})
            page.wait_for_timeout(60)
            faults = (
                faults_of(page),
                words_cut_off(page),
                page.evaluate(_HIDDEN, tall < 18 * standard),
            )
            if faults != ({}, [], []):
                found[f"{wide} x {tall}, letters of {standard} px"] = faults
    title = page.locator("dialog h2").last.inner_text()
    page.keyboard.press("Escape")
    page.locator("dialog h2").get_by_text(title, exact=True).wait_for(state="detached")
    if page.evaluate("document.activeElement === document.body"):
        found["focus once closed"] = "nowhere"
    assert found == {}
