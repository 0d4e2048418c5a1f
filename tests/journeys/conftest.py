"""One browser and one running app for all journeys that do not end it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

    from .page import Job, Program


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A browser; each test opens a fresh profile in it."""
    from playwright.sync_api import expect

    from .page import chromium

    expect.set_options(timeout=60_000)
    with chromium() as browser:
        yield browser


@pytest.fixture(autouse=True)
def _close_pages(request: pytest.FixtureRequest) -> Iterator[None]:
    """Close the pages of a test: left open they go on asking the app, and slow all that follow."""
    yield
    if "browser" in request.fixturenames:
        for context in request.getfixturevalue("browser").contexts:
            context.close()


@pytest.fixture(scope="session")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """The app over a folder shared by tests that make jobs of their own."""
    from .page import program

    with program(tmp_path_factory.mktemp("jobs")) as running:
        yield running


@pytest.fixture(scope="module")
def flat_job(running: Program, request: pytest.FixtureRequest) -> Job:
    """The invented flat as a job of the app, one for each module."""
    from .page import demo_job

    return demo_job(running, "flat", f"flat_{request.module.__name__.rpartition('.')[2]}")
