"""From arrow key to changed picture, against `interact` with the same picture redrawn.

    python tests/bench/latency.py

All pages run in one browser on one JupyterLab, one after the other, the same number of keys each. A key is
pressed, and the time is taken in the page until its picture has changed and been painted. Then a drag of thirty
moves, and the time from its last move until the picture rests. Prints medians, 95th percentiles and their ratio; for
the start page also the time until the strip of all margins, which needs the whole head, has followed.

The last page holds nothing but a slider and a line of text that the kernel sets: no page with widgets can be faster.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import nbformat
from playwright.sync_api import Browser, Locator, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.browser import chromium  # noqa: E402
from tests.browser.lab import SIZE, Lab, LabServer  # noqa: E402
from tests.handbook.refresh import KERNEL  # noqa: E402

KEYS, MOVES = 40, 30


@dataclass(frozen=True)
class Case:
    """A page of the handbook, a slider and a picture of it, and the cell that redraws that picture the plain way.

    ``place`` counts among the page's sliders of that name, and among its pictures: -1 is the last.
    """

    name: str
    notebook: str
    slider: str
    place: int
    plain: str
    strip: str = ""


_DRAWING = """
import ipywidgets as widgets
from IPython.display import display
from augerbook.builds.shipped import shipped_build
from augerbook.chapters.screw.picture import PICTURES
from augerbook.draw.scene_mpl import to_figure
from augerbook.head.tube import bore_diameter

build = shipped_build("otter")

def redraw(value):
    display(to_figure(PICTURES[0].scene(build.with_value(bore_diameter, value / 1000).solution).sheet))

widgets.interact(redraw, value=widgets.FloatSlider(8, min=6.5, max=25, step=0.05))
"""

_GRAPHS = """
import ipywidgets as widgets
import matplotlib.pyplot as plt
import numpy as np
from augerbook.builds.shipped import shipped_build
from augerbook.chapters.conveying.graphs import along_friction
from augerbook.chapters.conveying import (
    conveying_efficiency, efficiency_carried, efficiency_lining, grip_carried, grip_exponent, grip_lining,
    needed_exponent,
)
from augerbook.head.tube import friction_barrel

build = shipped_build("otter")
friction = np.linspace(0.05, 0.9, 171)
PANELS = {
    "exponent (1/mm)": (grip_exponent, grip_carried, grip_lining, needed_exponent),
    "conveying efficiency (1)": (efficiency_carried, efficiency_lining, conveying_efficiency),
}

def redraw(value):
    solution = build.with_value(friction_barrel, value).solution
    known = along_friction(solution, friction)
    figure, axes = plt.subplots(1, 2, figsize=(10, 4))
    for panel, (label, quantities) in zip(axes, PANELS.items()):
        for quantity in quantities:
            panel.plot(friction, quantity.shown(known[quantity]), label=quantity.meaning)
        panel.plot(value, quantities[0].shown(solution[quantities[0]]), "o")
        panel.set(xlabel="friction on the wall (1)", ylabel=label)
        panel.legend()
        panel.grid()
    plt.show()

widgets.interact(redraw, value=widgets.FloatSlider(0.35, min=0.03, max=1.2, step=0.01))
"""

CASES = (
    Case("the start page's drawing", "start", "bore diameter", 0, _DRAWING, ".widget-html:has(span[title])"),
    Case("two graphs in a chapter", "05_conveying", "friction on the bore", -1, _GRAPHS),
)

BARE = """
import ipywidgets as widgets
from IPython.display import display

slider, text = widgets.FloatSlider(8, min=6.5, max=25, step=0.05), widgets.HTML("8")
slider.observe(lambda change: setattr(text, "value", f"{change.new:.2f}"), names="value")
display(slider, text)
"""

# In the page: resolves with the milliseconds from the next key, as the browser stamps it, until the watched node has
# changed and the change is painted. A picture of pixels is there only when it is another one and decoded.
CHANGED = """node => { window.paint = new Promise(done => {
  let start = 0, before = node.querySelector('img');
  window.addEventListener('keydown', event => { start = event.timeStamp; }, {capture: true, once: true});
  const painted = () => requestAnimationFrame(() => setTimeout(() => done(performance.now() - start), 0));
  const watch = new MutationObserver(() => {
    const image = node.querySelector('img');
    if (before && (!image || image === before)) return;
    watch.disconnect();
    image ? image.decode().then(painted) : painted(); });
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
        # Let it rest: a single key is measured, not a queue. What runs at rest ends with a message, and for a moment
        # after one the connection holds small messages back until they are acknowledged.
        lab.page.wait_for_timeout(1000)
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
    print(f"{name:56s} median {median:6.0f} ms   p95 {late:6.0f} ms   rests {rest:6.0f} ms after a drag")
    return median


def written(folder: Path, name: str, code: str) -> Path:
    """Write a notebook of one cell."""
    path = folder / f"{name}.ipynb"
    cells = [nbformat.v4.new_code_cell(code)]
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": KERNEL}), path)
    return path


def measured(
    browser: Browser, server: LabServer, notebook: str | Path, slider: str, watched: str, place: int = -1
) -> tuple[list[float], float]:
    """Open a notebook in a window of its own, run it, and move a slider, watching a picture."""
    context = browser.new_context(viewport=SIZE)
    lab = Lab(server, context)
    lab.open(notebook)
    lab.run_all()
    handle = lab.notebook.locator(".widget-slider", has_text=slider).nth(place).locator(".noUi-handle")
    picture = lab.notebook.locator(watched).nth(place)
    times = key_to_picture(lab, handle, picture), settle(lab, handle, picture)
    context.close()
    server.stop_kernels()
    return times


def main() -> None:
    """Measure all pages and print the ratios."""
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        program = chromium.find_or_install(playwright)
        browser = playwright.chromium.launch(executable_path=program, args=list(chromium.ARGUMENTS))
        with LabServer(folder / "lab") as server:
            for case in CASES:
                print(case.name)
                watched = ".widget-html:has(svg[role='img'])"
                live = measured(browser, server, case.notebook, case.slider, watched, case.place)
                plain, watched = (
                    written(folder, case.notebook, case.plain),
                    ".widget-output, .jupyter-widgets-output-area",
                )
                redrawn = measured(browser, server, plain, "value", watched, 0)
                ours, theirs = report("  handbook", *live), report("  interact, redrawn", *redrawn)
                if case.strip:
                    report(
                        "  all margins", *measured(browser, server, case.notebook, case.slider, case.strip, case.place)
                    )
                print(f"  ratio of medians: {ours / theirs:.3f} (to reach: at most 0.2)")
            bare = measured(browser, server, written(folder, "bare", BARE), "", ".widget-html")
            report("what no page can go below: a bare slider and its number", *bare)
        browser.close()


if __name__ == "__main__":
    main()
