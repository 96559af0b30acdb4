"""The shortest of several calls: what else runs on a machine only ever adds to the others."""

import time
from collections.abc import Callable


def shortest(function: Callable[[], object], repeats: int = 9, clock: Callable[[], float] = time.perf_counter) -> float:
    """Return the shortest time of a call in seconds; one before them fills what is kept."""
    function()
    taken = []
    for _ in range(repeats):
        begun = clock()
        function()
        taken.append(clock() - begun)
    return min(taken)
