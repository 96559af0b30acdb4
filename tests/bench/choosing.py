"""How fast candidates and draws go through the whole head: in one process, in two, and head by head.

    nice python tests/bench/choosing.py [--candidates 1000] [--draws 1024] [--singles 12]

All in one run, for otter: screws, bores, tubes and plates crossed, each candidate at its nominal values; then draws on
three of them, in this process and in two; then a few of these heads one after the other, each brought to rest by
itself, which is what a loop over builds would do. Prints seconds, milliseconds a head and ratios. Seconds of the
processor stand beside those of the clock, for a machine that is busy with other things.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import time
from concurrent.futures import ProcessPoolExecutor

os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"

import numpy as np
from augerbook.builds.build import usable_rows
from augerbook.builds.shipped import shipped_build
from augerbook.core.fixed_point import fixed_point
from augerbook.deciding.candidates import crossed
from augerbook.deciding.draws import draws
from augerbook.deciding.study import Study, outputs_of, run
from augerbook.deciding.work import Piece, work
from augerbook.head.plate import plate_thickness
from augerbook.head.screw import standard_screw
from augerbook.head.tube import bore_diameter, tube_outside_diameter
from augerbook.page.choosing_view import margins_of_head
from augerbook.settle import ROUNDS


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--candidates", type=int, default=1000)
    parser.add_argument("--draws", type=int, default=1024)
    parser.add_argument("--singles", type=int, default=12)
    asked = parser.parse_args()
    otter = shipped_build("otter")
    kept = outputs_of(margins_of_head(otter.network), [])

    options = {
        standard_screw: usable_rows(standard_screw),
        bore_diameter: [f"{value:g} mm" for value in np.arange(7.0, 9.1, 0.25)],
        tube_outside_diameter: ["10 mm", "11 mm", "12 mm"],
        plate_thickness: ["4 mm", "5 mm", "6 mm"],
    }
    made, refused = crossed(otter, options)
    some = made[:: max(1, len(made) // asked.candidates)][: asked.candidates]
    began, busy = time.perf_counter(), time.process_time()
    # Nothing is drawn: what differs from head to head are the columns, and the heads are one piece or a few.
    varied = [q for q in otter.values if any(one.build.values.get(q) != otter.values[q] for one in some)]
    columns = {q: np.array([one.build.values[q] for one in some]) for q in varied}
    fixed = {q: value for q, value in otter.values.items() if q not in varied}
    found = work(Piece(otter.network, fixed, otter.choices, columns, kept, ROUNDS, (0, 0)))
    seconds, used = time.perf_counter() - began, time.process_time() - busy
    told = f"{len(made)} candidates can be built and {len(refused)} cannot; {len(some)} without draws"
    print(
        f"{told}: {seconds:.1f} s, {used:.1f} s of the processor, {1e3 * used / len(some):.2f} ms each, "
        f"{found.at_rest.mean():.0%} at rest"
    )

    few, _ = crossed(otter, {standard_screw: ["DIN 7998 5", "DIN 7998 6", "GB/T 922 6"]})
    drawn = draws([otter], power=int(np.log2(asked.draws)))
    heads = len(few) * (len(drawn) + 1)

    def timed(label: str, executor: ProcessPoolExecutor | None = None) -> tuple[float, Study]:
        start = time.perf_counter()
        study = run(few, drawn, kept, heads=256, executor=executor)
        taken = time.perf_counter() - start
        print(f"{len(drawn)} draws on {len(few)} candidates, {label}: {taken:.1f} s by the clock")
        return taken, study

    busy = time.process_time()
    one, alone = timed("one process")
    used = time.process_time() - busy
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        ready = sum(pool.map(_used, range(2)))  # both have imported the library before the clock starts
        two, both = timed("two processes", pool)
        both_used = sum(pool.map(_used, range(2))) - ready
    np.testing.assert_array_equal(alone.values, both.values)
    print(
        f"by the clock one process takes {one / two:.2f} times as long as two; of the processor it takes "
        f"{used:.1f} s, {1e3 * used / heads:.2f} ms a head, and the two together about {both_used:.1f} s"
    )

    values = {**few[1].build.values}
    places = drawn.of(few[1].build)
    busy = time.process_time()
    for draw in range(asked.singles):
        single = {**values, **{q: float(column[draw]) for q, column in places.items()}}
        point = fixed_point(otter.network, single, otter.choices, rounds=ROUNDS)
        settled = {**single, **{q: float(v[0]) for q, v in point.values.items()}}
        solution = otter.network.solve(settled, otter.choices)
        for quantity in kept:
            solution.get(quantity)
    each = (time.process_time() - busy) / asked.singles
    print(f"head by head: {1e3 * each:.0f} ms of the processor a head, {each / (used / heads):.0f} times as long")


def _used(_: int) -> float:
    """Solve a build, so that all is imported, and return the seconds of the processor that this process used so far."""
    _ = len(shipped_build("otter").solution.values)
    time.sleep(0.5)  # long enough for the other process to take its turn
    return time.process_time()


if __name__ == "__main__":
    main()
