"""How long after Run All Cells a page is there: its first picture, the first that sliders move, and all at rest.

    python tests/bench/ready.py [--rounds 3] [--beside OTHER_CLONE] [notebook ...]

Each round runs the page in a fresh kernel. With ``--beside`` each round is done with another clone of the project as
well, by turns, in one browser, and the ratio is printed.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Browser, expect, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.browser import chromium, lab  # noqa: E402

#: What shows a picture before the page is there, and what shows it alive.
SOON, ALIVE = ".augerbook-soon img:visible", ".widget-html svg[role='img']"


def ready(browser: Browser, clone: Path, notebook: str) -> tuple[float, float, float]:
    """Seconds from the click until a picture is seen, until a live one is in the page, until the kernel rests."""
    os.environ["PYTHONPATH"] = str(clone / "lib")
    lab.HANDBOOK = clone / "handbook"
    with tempfile.TemporaryDirectory() as folder, lab.LabServer(Path(folder)) as server:
        page = lab.Lab(server, browser.new_context(viewport=lab.SIZE))
        page.open(notebook)
        began = time.monotonic()
        page.start_all()
        expect(page.notebook.locator(f"{SOON}, {ALIVE}").first).to_be_attached(timeout=60_000)
        first = time.monotonic() - began
        expect(page.notebook.locator(ALIVE).first).to_be_attached(timeout=60_000)
        alive = time.monotonic() - began
        page.wait_idle()
        return first, alive, time.monotonic() - began


def main() -> None:
    """Measure by turns and print medians."""
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("--rounds", type=int, default=3)
    reader.add_argument("--beside", type=Path)
    reader.add_argument("notebooks", nargs="*", default=["start", "05_conveying", "08_heat"])
    asked = reader.parse_args()
    clones = [ROOT, *([asked.beside.resolve()] if asked.beside else [])]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium.find_or_install(playwright), args=list(chromium.ARGUMENTS)
        )
        for notebook in asked.notebooks:
            times = [[ready(browser, clone, notebook) for clone in clones] for _ in range(asked.rounds)]
            medians = [
                [statistics.median(t[i][place] for t in times) for i in range(len(clones))] for place in (0, 1, 2)
            ]
            for words, found in zip(("first picture", "first alive", "at rest"), medians, strict=True):
                beside = f"   beside {found[1]:5.2f} s, ratio {found[0] / found[1]:.2f}" if asked.beside else ""
                print(f"{notebook:14} {words:14} {found[0]:5.2f} s{beside}", flush=True)
        browser.close()


if __name__ == "__main__":
    main()
