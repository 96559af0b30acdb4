"""The invented weighings of data/trials, made once more from known values and a seed.

``python -m tests.deciding.invented`` writes them.
"""

import csv
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from augerbook.deciding.planning import blocked_order

FOLDER = Path(__file__).parents[2] / "data" / "trials"


@dataclass(frozen=True)
class Invented:
    """What a set was made with: mean mass a turn (mg) of each screw, spread of a weighing, turns, balance (g), seed."""

    name: str
    means: dict[str, float]
    spread: float
    turns: int
    minutes: float
    step: float
    weighings: int
    seed: int
    comma: bool
    words: str


SETS = (
    Invented(
        "two_screws_differ", {"coach as bought": 9.84, "coach polished": 10.63}, 0.04, 57, 3.0, 0.01, 10, 41, True,
        "the second screw brings 8 % more in a turn, and each weighing scatters by 4 %",
    ),
    Invented(
        "two_screws_alike", {"screw A": 5.95, "screw B": 5.95}, 0.055, 21, 1.0, 0.01, 5, 7, False,
        "both screws bring the same, and each weighing scatters by 5.5 % and by the steps of the balance",
    ),
)  # fmt: skip


def text_of(one: Invented) -> str:
    """The set as it stands in its file."""
    random = np.random.default_rng(one.seed)
    out = io.StringIO()
    out.write(f"# Invented for this handbook, no such weighings were made: {one.words}.\n")
    out.write(f"# Simulated with seed {one.seed}: weighings of {one.turns} turns, read to {one.step:g} g.\n")
    writer = csv.writer(out, delimiter=";" if one.comma else ",", lineterminator="\n")
    writer.writerow(["screw", "time [min]", "mass [g]", "turns", "temperature [degC]", "hopper"])
    for place, planned in enumerate(blocked_order(list(one.means), one.weighings, seed=one.seed)):
        mass = one.means[planned.screw] * 1e-3 * one.turns * (1 + one.spread * random.standard_normal())
        # Two readings of the balance, each rounded to its step: dish empty, dish full.
        dish = 12 + random.random()
        shown = one.step * (round((dish + mass) / one.step) - round(dish / one.step))
        cells = [f"{place * (one.minutes + 2):g}", f"{shown:.2f}", f"{one.turns}", f"{205 + random.normal(0, 0.6):.1f}"]
        if one.comma:
            cells = [cell.replace(".", ",") for cell in cells]
        writer.writerow([planned.screw, *cells, planned.hopper])
    return out.getvalue()


if __name__ == "__main__":
    for one in SETS:
        (FOLDER / f"{one.name}.csv").write_text(text_of(one), encoding="utf-8")
