"""How often calibration by simulated trials covers the truth.

``python tests/bench/trials.py [of each] [build] [way ...]``, where a way is ``given``, ``behind`` or ``along``.

Truths are drawn from the spreads of a build, trials are simulated with their scatter, and each input that they tell of
is held against its stated standard deviation. Intervals of 90 % should cover nine of ten over heads as the spreads give
them, for a weighing alone and for all trials together. A head conveys in two ways, and what covers in one may not in
the other: each has rows of its own. The inputs of one set are off together, so that sets are counted for the standard
error of a share, not inputs.
"""

import math
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from itertools import repeat

import numpy as np
from augerbook.builds.build import Build
from augerbook.builds.shipped import shipped_build
from augerbook.chapters.conveying import ring_load
from augerbook.deciding.calibrating import KINDS, Calibrated, Trial, calibrate, results_at, uncertain_of, usual_of
from augerbook.deciding.draws import triangle

#: Standard deviations that a bell curve's 90 % reach.
_REACH = 1.645
#: Truths drawn, of which the first of each way are taken.
_DRAWN = 1024
#: Sets after which what was found so far is printed: two hundred of each kind take an hour and a half.
_EVERY = 20


#: What a way is called on the command line.
_WAYS = {"given": "as the spreads give them", "behind": "ring left behind", "along": "ring carried along"}


def main(of_each: int = 40, name: str = "otter", *chosen: str) -> None:
    """Print for both ways of conveying how often intervals covered the truth, over all and for each input."""
    build = shipped_build(name)
    kinds = [kind for kind in KINDS if kind.quantity in build.solution.values]
    asked = [ring_load, *(kind.quantity for kind in kinds)]
    inputs = uncertain_of(build, asked[1:])
    random = np.random.default_rng(0)
    truth = {
        q: triangle(build.ends[q][0], build.values[q], build.ends[q][1]).rvs(_DRAWN, random_state=random)
        for q in inputs
    }
    load, *right = results_at(build, asked, truth)
    sound = np.isfinite(right).all(axis=0)
    print(f"{name}: of {_DRAWN} draws {(~sound).sum()} slip and {(sound & (load <= 1)).sum()} carry the ring along")
    ways = {"given": sound, "behind": sound & (load > 1), "along": sound & (load <= 1)}
    for way in chosen or ways:
        # Of its own for each way: its sets are the same whichever others are asked for.
        random = np.random.default_rng(list(ways).index(way))
        heads = np.flatnonzero(ways[way])[:of_each]
        for words, count in (("weighing alone", 1), (f"all {len(kinds)} trials", len(kinds))):
            begun = time.monotonic()
            sets = []
            for head in heads:
                trials = []
                for kind, column in zip(kinds[:count], right, strict=False):
                    scatter = usual_of(build, kind) * abs(column[head])
                    seen = column[head] + scatter * random.standard_normal()
                    trials.append(Trial(kind.name, kind.quantity, seen, scatter))
                sets.append(trials)
            learnt: list[tuple[int, Calibrated]] = []
            with ProcessPoolExecutor() as pool:
                for done, (head, one) in enumerate(zip(heads, pool.map(_learnt, repeat(build), sets), strict=True), 1):
                    learnt += [] if one is None else [(head, one)]
                    if done % _EVERY == 0 and done < len(heads):
                        print(f"    after {done}: {_share_covered(_covered(truth, learnt))}", flush=True)
            refused, surprised = len(heads) - len(learnt), sum(bool(one.surprises) for _, one in learnt)
            each = (time.monotonic() - begun) / max(len(heads), 1)
            print(
                f"{_WAYS[way]}, {words}: {len(heads)} sets, {refused} refused, {surprised} surprised, {each:.1f} s each"
            )
            _print_covered(_covered(truth, learnt))


def _learnt(build: Build, trials: list[Trial]) -> Calibrated | None:
    """What a build learns; nothing where it is refused."""
    try:
        return calibrate(build, trials)
    except ValueError:
        return None


def _covered(truth: dict, learnt: list[tuple[int, Calibrated]]) -> list[dict[str, bool]]:
    """For each set: whether the interval of each input that it tells of covers the truth."""
    return [
        {
            one.quantity.key: bool(abs(one.after - truth[one.quantity][head]) <= _REACH * one.deviation)
            for one in found.narrowed
            if one.told
        }
        for head, found in learnt
    ]


def _share_covered(sets: list[dict[str, bool]]) -> str:
    hits, count = np.array([(sum(one.values()), len(one)) for one in sets], dtype=float).reshape(-1, 2).T
    if not count.sum():
        return "nothing told"
    share = hits.sum() / count.sum()
    error = math.sqrt(((hits - share * count) ** 2).sum()) / count.sum()
    return f"90 % intervals cover {100 * share:.1f} % of {count.sum():.0f}, give or take {100 * error:.1f} %"


def _print_covered(sets: list[dict[str, bool]]) -> None:
    told: dict[str, list[bool]] = {}
    for one in sets:
        for key, hit in one.items():
            told.setdefault(key, []).append(hit)
    print(f"  {_share_covered(sets)}")
    for key, column in sorted(told.items(), key=lambda pair: -len(pair[1])):
        print(f"    {key:28} told {len(column):4}, covered {100 * np.mean(column):5.1f} %", flush=True)


if __name__ == "__main__":
    main(*(int(arg) if arg.isdigit() else arg for arg in sys.argv[1:]))  # type: ignore[arg-type]
