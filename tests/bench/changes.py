"""How long it takes to find changes that mend a margin, and its longest step: a slider that is moved waits for that.

    python tests/bench/changes.py

Every margin of both shipped builds that is not good, in seconds of the processor and by the clock.
"""

from __future__ import annotations

import time

from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.core.margin import Verdict
from augerbook.deciding.changes import search
from augerbook.deciding.ranking import margins_of_head


def main() -> None:
    """Measure and print."""
    print("build, margin: changes tried, processor s, clock s, longest step s")
    for name in shipped_builds():
        build = shipped_build(name)
        watched = margins_of_head(build.network)
        bad = [m for m in watched if m.verdict(build.solution.get(m.quantity)) is not Verdict.GOOD]
        for _ in search(build, bad[0], watched):  # formulas are compiled once
            pass
        for margin in bad:
            processor, clock = time.process_time(), time.perf_counter()
            longest, before, tried = 0.0, clock, 0
            for found in search(build, margin, watched):
                now = time.perf_counter()
                longest, before = max(longest, now - before), now
                tried = found.tried if found else tried
            took = time.process_time() - processor
            print(f"{name}, {margin.id}: {tried}, {took:.2f}, {before - clock:.2f}, {longest:.2f}")


if __name__ == "__main__":
    main()
