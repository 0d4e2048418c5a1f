"""The app: addresses, guards, static files."""

from __future__ import annotations

import gc
import mimetypes
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module

from anyio import to_thread
from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles
from starlette.middleware.gzip import GZipMiddleware

from moisturemap import __version__
from moisturemap.web.doorkeeper import Doorkeeper
from moisturemap.web.floors import Floors
from moisturemap.web.guard import Guard
from moisturemap.web.jobs import Shelf
from moisturemap.web.refusals import translate
from moisturemap.web.routes import (
    backdrop,
    devices,
    drill,
    drying,
    floors,
    investigation,
    jobs,
    logs,
    maps,
    plan,
    readings,
    records,
    report,
    tests,
    verdict,
)
from moisturemap.web.settings import Settings
from moisturemap.web.tongue import Tongue

ROUTERS = (
    jobs.router,
    floors.router,
    devices.router,
    plan.router,
    backdrop.router,
    records.router,
    readings.router,
    maps.router,
    drill.router,
    tests.router,
    verdict.router,
    drying.router,
    logs.router,
    investigation.router,
    report.router,
)

# Some systems map these endings to types a browser refuses to run.
mimetypes.add_type("text/javascript", ".js")
mimetypes.add_type("text/css", ".css")
mimetypes.add_type("application/manifest+json", ".webmanifest")


MOST_WAITING = 200
"""Requests that may wait at once for what is computed, and still let others through."""


def _warm_up(shelf: Shelf) -> None:
    """Load what the first map needs while the user still looks for the job."""
    shelf.lanes.study.warm_up()
    # What the first reading typed would otherwise wait for.
    for name in ("store", "entry.typed_rows", "entry.plan_exchange"):
        import_module(f"moisturemap.{name}")
    shelf.lanes.quick.warm_up()  # not at once: two that load on two cores hold each other up
    if shelf.settings.own_process:
        gc.freeze()  # what is loaded stays: looked through for waste, it holds every answer up


def create_app(settings: Settings) -> FastAPI:
    """Make the app for one folder of project files.

    Parameters
    ----------
    settings : Settings

    Returns
    -------
    FastAPI
        Its documentation page is left out, because that would load from the internet;
        ``/openapi.json`` is there.
    """
    shelf = Shelf(settings)

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        to_thread.current_default_thread_limiter().total_tokens = MOST_WAITING
        threading.Thread(target=_warm_up, args=(shelf,), name="warm-up", daemon=True).start()
        yield
        app.state.floors.close()
        shelf.close()

    app = FastAPI(
        title="moisturemap", version=__version__, docs_url=None, redoc_url=None, lifespan=life
    )
    app.state.settings = settings
    app.state.shelf = shelf
    app.state.floors = Floors(settings.folder, settings.kept or settings.folder / ".floors")
    app.state.doorkeeper = Doorkeeper(settings.token, settings.invitation, settings.memory)
    translate(app)
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/", StaticFiles(directory=settings.static, html=True), name="page")
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(Guard, settings=settings, doorkeeper=app.state.doorkeeper)
    app.add_middleware(Tongue, shelf=shelf)
    return app
