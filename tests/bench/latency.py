"""From arrow key to changed picture on the start page, against `interact` with the same picture redrawn.

    python tests/bench/latency.py

Both pages run in one browser on one JupyterLab, one after the other, the same number of keys each. A key is
pressed, and the time is taken in the page until its picture has changed and been painted. Then a drag of thirty
moves, and the time from its last move until the picture rests. Prints medians, 95th percentiles and their ratio.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path

import nbformat
from playwright.sync_api import Locator, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.browser import chromium  # noqa: E402
from tests.browser.lab import SIZE, Lab, LabServer  # noqa: E402
from tests.handbook.refresh import KERNEL  # noqa: E402

KEYS, MOVES = 40, 30

# The plain way: one call that redraws the figure for each value. The picture is the same scene in matplotlib.
INTERACT = """
import ipywidgets as widgets
from IPython.display import display
from augerbook.build import shipped_build
from augerbook.show.pictures.screw import PICTURES
from augerbook.show.scene_mpl import to_figure
from augerbook.subjects.screw import bore_diameter

build = shipped_build("otter")

def redraw(bore):
    display(to_figure(PICTURES[0].scene(build.with_value(bore_diameter, bore / 1000).solution)))

widgets.interact(redraw, bore=widgets.FloatSlider(8, min=6.5, max=25, step=0.05))
"""

# In the page: resolves with the milliseconds from now until the watched node changes and the change is painted.
CHANGED = """node => { window.paint = new Promise(done => {
  const start = performance.now();
  const watch = new MutationObserver(() => { watch.disconnect();
    requestAnimationFrame(() => setTimeout(() => done(performance.now() - start), 0)); });
  watch.observe(node, {childList: true, subtree: true, attributes: true, characterData: true}); }); }"""
# In the page: resolves with the milliseconds from now until nothing has changed for half a second.
SETTLED = """node => { window.rest = new Promise(done => {
  const start = performance.now(); let last = start; let timer;
  const stop = () => { watch.disconnect(); done(last - start); };
  const arm = () => { clearTimeout(timer); timer = setTimeout(stop, 500); };
  const watch = new MutationObserver(() => { last = performance.now(); arm(); });
  watch.observe(node, {childList: true, subtree: true, attributes: true, characterData: true}); arm(); }); }"""


def key_to_picture(lab: Lab, handle: Locator, watched: Locator) -> list[float]:
    """Milliseconds from an arrow key to the painted change, once for each key."""
    times = []
    handle.focus()
    for index in range(KEYS):
        watched.evaluate(CHANGED)
        lab.page.keyboard.press("ArrowRight" if index % 20 < 10 else "ArrowLeft")
        times.append(float(lab.page.evaluate("window.paint")))
        lab.page.wait_for_timeout(400)  # let it rest: a single key is measured, not a queue
    return times


def settle(lab: Lab, handle: Locator, watched: Locator) -> float:
    """Milliseconds from the last move of a drag until the picture rests."""
    handle.scroll_into_view_if_needed()
    box, before = handle.bounding_box(), watched.inner_html()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    lab.page.mouse.move(x, y)
    lab.page.mouse.down()
    for move in range(MOVES):
        lab.page.mouse.move(x + 1.5 * move, y)
        lab.page.wait_for_timeout(20)
    watched.evaluate(SETTLED)
    lab.page.mouse.up()
    assert watched.inner_html() != before, "the drag moved nothing"
    return float(lab.page.evaluate("window.rest"))


def report(name: str, times: list[float], rest: float) -> float:
    """Print one line and return the median."""
    median = statistics.median(times)
    late = sorted(times)[int(0.95 * len(times))]
    print(f"{name:34s} median {median:6.0f} ms   p95 {late:6.0f} ms   rests {rest:6.0f} ms after a drag")
    return median


def main() -> None:
    """Measure both pages and print the ratio."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        plain = Path(folder) / "plain.ipynb"
        cells = [nbformat.v4.new_code_cell(INTERACT)]
        notebook = nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": KERNEL})
        nbformat.write(notebook, plain)
        program = chromium.find_or_install(playwright)
        browser = playwright.chromium.launch(executable_path=program, args=list(chromium.ARGUMENTS))
        with LabServer(Path(folder) / "lab") as server:
            lab = Lab(server, browser.new_context(viewport=SIZE))
            lab.open("start")
            lab.run_all()
            page = lab.notebook.locator(".widget-slider", has_text="bore diameter").locator(".noUi-handle")
            picture = lab.notebook.locator(".widget-html:has(svg[role='img'])").first
            live = key_to_picture(lab, page, picture), settle(lab, page, picture)
            lab.open(plain)
            lab.run_all()
            slider = lab.notebook.locator(".widget-slider .noUi-handle")
            output = lab.notebook.locator(".widget-output, .jupyter-widgets-output-area").first
            redrawn = key_to_picture(lab, slider, output), settle(lab, slider, output)
        browser.close()
    ours, theirs = report("start page", *live), report("interact, same picture redrawn", *redrawn)
    print(f"ratio of medians: start page / interact = {ours / theirs:.3f} (to reach: at most 0.2)")


if __name__ == "__main__":
    main()
