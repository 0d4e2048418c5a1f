"""Many floors: CPU and memory a floor and core, and how fast the overview of 2,000 floors opens.

The peer is the plain loop in one process over the same surveys, in the same run.
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from datetime import date
from pathlib import Path

from moisturemap.batch import BatchOptions, run_batch
from moisturemap.batch.overview import overview_html
from moisturemap.synthetic import FloorRecipe, make_floor
from moisturemap.synthetic.folder import write_folder
from moisturemap.workflow.judge import judge_or_map
from moisturemap.workflow.read import read_survey

LOOP = 10
"""Floors the plain loop goes over."""


def write_floors(folder: Path, count: int) -> None:
    """Write invented floors of about 400 readings, dry and wet in turn."""
    for number in range(count):
        recipe = FloorRecipe(
            width=10.0, depth=8.0, spacing=0.45, plumes=("edge",) if number % 2 else ()
        )
        write_folder(make_floor(recipe, number).survey, folder / f"floor-{number:05d}")


def opening(rows: int, folder: Path) -> tuple[float, float, float]:
    """Return the seconds a browser takes to open the overview, to sort it, to show its maps."""
    from base64 import b64encode

    from playwright.sync_api import sync_playwright

    cells = b64encode(bytes(i % 255 for i in range(36 * 28))).decode()
    small = {"width": 36, "height": 28, "low": 0, "high": 100, "model": "A", "cells": cells}
    floor = {"name": "Ward", "verdict": "not proven", "verdict_sentence": "Not proven." * 8}
    content = [
        {"floor": f"f{i}", "survey": f"f{i}", "error": "", "map": small, "wet_m2": 1.5, **floor}
        for i in range(rows)
    ]
    path = folder / "overview.html"
    path.write_text(overview_html(content, date(2026, 3, 20)), encoding="utf-8")
    with sync_playwright() as machine:
        browser = machine.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport={"width": 1180, "height": 820})
        begun = time.perf_counter()
        page.goto(path.as_uri())
        page.locator("tbody tr").nth(20).wait_for(state="visible")
        # two frames later what was laid out has been painted
        page.evaluate("new Promise(f => requestAnimationFrame(() => requestAnimationFrame(f)))")
        spent = time.perf_counter() - begun
        begun = time.perf_counter()
        page.get_by_role("button", name="Wet [m²]").click()
        page.evaluate("new Promise(f => requestAnimationFrame(() => requestAnimationFrame(f)))")
        sorting = time.perf_counter() - begun
        begun = time.perf_counter()
        page.get_by_role("button", name="Show maps").click()
        page.evaluate("new Promise(f => requestAnimationFrame(() => requestAnimationFrame(f)))")
        maps = time.perf_counter() - begun
        browser.close()
    return spent, sorting, maps


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--floors", type=int, default=40)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write_floors(folder / "jobs", asked.floors)
        used = time.process_time()
        for number in range(LOOP):
            judge_or_map(read_survey(folder / "jobs" / f"floor-{number:05d}"))
        loop = (time.process_time() - used) / LOOP
        begun = time.perf_counter()
        options = BatchOptions(workers=asked.workers)
        result = run_batch(folder / "jobs", folder / "out", options=options)
        wall = time.perf_counter() - begun
        children = resource.getrusage(resource.RUSAGE_CHILDREN)
        cpu = (children.ru_utime + children.ru_stime) / asked.floors
        print(f"plain loop: {loop:.2f} CPU s a floor")
        print(f"batch: {cpu:.2f} CPU s a floor, ratio {cpu / loop:.2f}, {wall:.1f} s in all")
        print(f"peak of the largest process: {children.ru_maxrss / 1024:.0f} MB")
        begun = time.perf_counter()
        again = run_batch(folder / "jobs", folder / "out", options=options)
        print(
            f"second run: {time.perf_counter() - begun:.1f} s, {again.done} of {result.floors} done"
        )
        opened, sorting, maps = opening(2000, folder)
        print(
            f"overview of 2,000 floors opens in {opened:.2f} s, sorts in {sorting:.2f} s,"
            f" shows maps in {maps:.2f} s"
        )


if __name__ == "__main__":
    main()
