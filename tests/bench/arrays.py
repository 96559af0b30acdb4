"""Models called once for many heads, against once for each; and weighings by the hundred thousand, against csv alone.

    nice python tests/bench/arrays.py

Prints, in one run: microseconds for one nozzle and one pump in a sweep of 4,096, for one alone, and the ratio; then
seconds of the processor in which 200,000 weighings are read, read and judged, and split by Python's csv module into
nothing but text.
"""

from __future__ import annotations

import csv
import io
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.melt import melt_flow
from augerbook.chapters.screw import tip_gap
from augerbook.deciding.comparing import compare
from augerbook.deciding.weighings import read_weighings

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
from tests.bench.shortest import shortest

MANY, REPEATS, LINES = 4096, 7, 200_000
#: Each model with the input that differs from head to head.
MODELS = {"melt.nozzle": melt_flow, "pumping.screw_in_bore": tip_gap}


def _of(function: Callable[[], object]) -> float:
    """Return seconds of the processor."""
    return shortest(function, REPEATS, time.process_time)


def heads() -> None:
    """Measure both models in a sweep and alone."""
    solution = shipped_build("otter").solution
    for name, varied in MODELS.items():
        model = whole_head().nodes[name]
        inputs = {q: np.asarray(solution[q], dtype=float) for q in model.inputs}
        columns = {**inputs, varied: inputs[varied] * np.linspace(0.9, 1.0, MANY)}
        together = _of(lambda model=model, columns=columns: model.array(*columns.values())) / MANY
        alone = _of(lambda model=model, inputs=inputs: model.array(*inputs.values()))
        print(f"{name}: {1e6 * together:.1f} us in a sweep, {1e6 * alone:.0f} us alone, ratio {alone / together:.0f}")


def lines() -> None:
    """Measure many weighings."""
    random = np.random.default_rng(1)
    masses = 0.5 + 0.01 * random.standard_normal(LINES)
    text = "screw;time [s];mass [g];turns\n" + "".join(
        f"{'AB'[i % 2]};{i};{mass:.4f};57\n".replace(".", ",") for i, mass in enumerate(masses)
    )
    split = _of(lambda: list(csv.reader(io.StringIO(text), delimiter=";")))
    read = _of(lambda: read_weighings(text))
    judged = _of(lambda: compare(read_weighings(text)))
    print(
        f"{LINES} weighings: read {read:.2f} s, read and judged {judged:.2f} s, split alone {split:.2f} s, "
        f"ratio {judged / split:.1f} (aim: two seconds)"
    )


if __name__ == "__main__":
    heads()
    lines()
