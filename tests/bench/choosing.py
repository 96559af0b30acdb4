"""How fast candidates and draws go through the whole head: in one process, in two, and head by head.

    nice python tests/bench/choosing.py [--candidates 1000] [--tried 8] [--draws 1024] [--singles 12]

All in one run, for otter: screws, bores, tubes and plates crossed, each candidate at its nominal values, in this
process and in two; then draws on some of them, likewise, in pieces as the page and `run` cut them, for long enough that
the ends of a run do not matter; then a few of these heads one after the other, each brought to rest and solved by
itself, which is what a loop over builds would do: once with the rounds that it needs, as the heads together have it,
and once with all rounds, as `settle` goes them. Prints seconds, milliseconds a head and ratios. Seconds of the
processor stand beside those of the clock, for a machine that is busy with other things. Both processes have solved
heads before the clock starts; what that takes is printed.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import NamedTuple, TypeVar

os.environ["OPENBLAS_NUM_THREADS"] = os.environ["OMP_NUM_THREADS"] = "1"

import numpy as np
from augerbook.builds.build import usable_rows
from augerbook.builds.shipped import shipped_build
from augerbook.core.fixed_point import AT_REST, fixed_point
from augerbook.core.quantity import Quantity
from augerbook.deciding.candidates import Candidate, crossed
from augerbook.deciding.draws import draws
from augerbook.deciding.ranking import margins_of_head
from augerbook.deciding.study import outputs_of, run
from augerbook.deciding.work import Piece, work
from augerbook.head.plate import plate_thickness
from augerbook.head.screw import standard_screw
from augerbook.head.tube import bore_diameter, tube_outside_diameter
from augerbook.settle import ROUNDS

OPTIONS = {
    standard_screw: usable_rows(standard_screw),
    bore_diameter: [f"{value:g} mm" for value in np.arange(7.0, 9.1, 0.25)],
    tube_outside_diameter: ["10 mm", "11 mm", "12 mm"],
    plate_thickness: ["4 mm", "5 mm", "6 mm"],
}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--candidates", type=int, default=1000)
    parser.add_argument("--tried", type=int, default=8)
    parser.add_argument("--draws", type=int, default=1024)
    parser.add_argument("--singles", type=int, default=12)
    asked = parser.parse_args()
    otter = shipped_build("otter")
    kept = outputs_of(margins_of_head(otter.network), [])
    made, refused = crossed(otter, OPTIONS)
    print(f"{len(made)} candidates can be built and {len(refused)} cannot")
    some, tried = (made[:: max(1, len(made) // count)][:count] for count in (asked.candidates, asked.tried))
    work(_nominal(some[:2], kept))  # compiles what it uses; the other processes do the same

    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        start = time.perf_counter()
        _ = list(pool.map(_used, range(2)))
        list(pool.map(work, [_nominal(some[:2], kept)] * 2))
        print(f"two processes start in {time.perf_counter() - start:.1f} s")

        here, found = _timed(f"{len(some)} without draws, one process", lambda: work(_nominal(some, kept)), len(some))
        print(f"of these {found.at_rest.mean():.0%} are at rest")
        halves = [_nominal(some[: len(some) // 2], kept), _nominal(some[len(some) // 2 :], kept)]
        both = _timed("the same, two processes", lambda: list(pool.map(work, halves)), len(some), pool)[0]
        print(f"by the clock one process takes {here.clock / both.clock:.2f} times as long as two")

        drawn = draws([otter], power=int(np.log2(asked.draws)))
        heads, told = len(tried) * (len(drawn) + 1), f"{len(drawn)} draws on {len(tried)} candidates"
        one, alone = _timed(f"{told}, one process", lambda: run(tried, drawn, kept), heads)
        two, same = _timed("the same, two processes", lambda: run(tried, drawn, kept, executor=pool), heads, pool)
    np.testing.assert_array_equal(alone.values, same.values)
    print(f"by the clock one process takes {one.clock / two.clock:.2f} times as long as two")

    build = tried[len(tried) // 2].build
    places = drawn.of(build)
    for label, enough in (("the rounds it needs", AT_REST), ("all rounds", 0.0)):
        busy = time.process_time()
        for draw in range(asked.singles):
            single = {**build.values, **{q: float(column[draw]) for q, column in places.items()}}
            point = fixed_point(build.network, single, build.choices, rounds=ROUNDS, enough=enough)
            solution = build.network.solve(
                {**single, **{q: float(v[0]) for q, v in point.values.items()}}, build.choices
            )
            for quantity in kept:
                solution.get(quantity)
        each = (time.process_time() - busy) / asked.singles
        print(
            f"head by head, {label}: {1e3 * each:.0f} ms of the processor a head, "
            f"{each / (one.busy / heads):.0f} times as long as many at once, "
            f"{each / (two.clock / heads):.0f} times as long by the clock as many at once in two processes"
        )


class Taken(NamedTuple):
    """Seconds by the clock, and of the processor."""

    clock: float
    busy: float


_Found = TypeVar("_Found")


def _timed(
    label: str, function: Callable[[], _Found], heads: int, pool: ProcessPoolExecutor | None = None
) -> tuple[Taken, _Found]:
    """Call, print what it took, and return that and what came of it; the seconds of a pool's two processes count."""

    def used() -> float:
        return time.process_time() + (sum(pool.map(_used, range(2))) if pool else 0.0)

    before, start = used(), time.perf_counter()
    found = function()
    clock = time.perf_counter() - start
    busy = used() - before
    each = f"{1e3 * clock / heads:.2f} ms by the clock and {1e3 * busy / heads:.2f} ms of the processor a head"
    print(f"{label}: {clock:.2f} s by the clock, {busy:.2f} s of the processor; {each}")
    return Taken(clock, busy), found


def _nominal(candidates: Sequence[Candidate], kept: tuple[Quantity, ...]) -> Piece:
    """Return candidates with nothing drawn as one piece: what differs from head to head are its columns."""
    first = candidates[0].build
    varied = [q for q in first.values if any(one.build.values.get(q) != first.values[q] for one in candidates)]
    columns = {q: np.array([one.build.values[q] for one in candidates]) for q in varied}
    fixed = {q: value for q, value in first.values.items() if q not in varied}
    return Piece(first.network, fixed, first.choices, columns, kept, ROUNDS, (0, 0))


def _used(_: int) -> float:
    """Solve a build, so that all is imported, and return the seconds of the processor that this process used so far."""
    _ = len(shipped_build("otter").solution.values)
    time.sleep(0.5)  # long enough for the other process to take its turn
    return time.process_time()


if __name__ == "__main__":
    main()
