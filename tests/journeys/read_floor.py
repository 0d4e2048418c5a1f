"""A small floor that was read, stored as the page would: one room, one visit, one meter."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

from .page import Job, Program, send, stored_job

SIDES = (7.2, 4.8)
WHO = "Ada Marsh"


def damp(share: float = 1.0) -> list[dict[str, Any]]:
    """Readings every 0.8 m: a wet corner that dried to a share of what it was; the rest is dry."""
    places = [(0.4 + 0.8 * i, 0.4 + 0.8 * j) for i in range(9) for j in range(6)]
    return [
        {
            "x": round(x, 2),
            "y": round(y, 2),
            "raw": f"{24 + share * 45 / (1 + (x - 5.6) ** 2 + (y - 3.6) ** 2) + (i * 7) % 3:.1f}",
        }
        for i, (x, y) in enumerate(places)
    ]


def read_floor(page: Page, running: Program, name: str, **more: Any) -> Job:
    """Store the floor as a job of this name; ``more`` is told of its job."""
    job = stored_job(page, running, name, SIDES, **more)
    send(page, job, f"/{job.name}/instruments", {"id": "meter 1", "scale": [0, 100]})
    add_visit(page, job, "v1", "2026-03-02", damp())
    return job


def add_visit(page: Page, job: Job, visit: str, day: str, readings: list[dict[str, Any]]) -> None:
    """Store a visit of a day with its readings."""
    body = {"id": visit, "started": f"{day}T08:00:00Z", "dry_reference": [23, 24, 25, 24]}
    send(page, job, f"/{job.name}/visits", body)
    typed = {"visit": visit, "instrument": "meter 1", "readings": readings}
    send(page, job, f"/{job.name}/readings", typed)
