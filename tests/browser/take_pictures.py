"""Takes the pictures of the README: the start page alive, and a piece of a chapter.

python tests/browser/take_pictures.py
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.browser import chromium  # noqa: E402
from tests.browser.lab import Lab, LabServer  # noqa: E402

FOLDER = ROOT / "handbook" / "pictures"
COLOURS = 128
# A window wide enough for two columns, and what JupyterLab shows around a notebook out of the way.
SIZE = {"width": 1500, "height": 1080}


def _store(lab: Lab, name: str) -> None:
    shot = lab.notebook.screenshot()
    with Image.open(io.BytesIO(shot)) as image:
        FOLDER.mkdir(exist_ok=True)
        image.convert("RGB").quantize(COLOURS).save(FOLDER / name, optimize=True)


def main() -> None:
    """Open JupyterLab, run the start page, and store both pictures."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        program = chromium.find_or_install(playwright)
        browser = playwright.chromium.launch(executable_path=program, args=list(chromium.ARGUMENTS))
        with LabServer(Path(folder)) as server:
            lab = Lab(server, browser.new_context(viewport=SIZE))
            lab.open("start")
            lab.page.keyboard.press("Control+b")  # the file list out of the way
            lab.run_all()
            lab.page.wait_for_timeout(1500)
            lab.notebook.locator("[data-margin]").first.scroll_into_view_if_needed()
            _store(lab, "start.png")
            lab.open("03_screw")
            lab.notebook.get_by_text("The volume of the flight").last.scroll_into_view_if_needed()
            lab.page.mouse.move(700, 500)
            lab.page.mouse.wheel(0, 1080)
            lab.page.wait_for_timeout(1000)
            _store(lab, "chapter.png")
        browser.close()


if __name__ == "__main__":
    main()
