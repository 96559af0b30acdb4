"""How often calibration by simulated trials covers the truth: ``python tests/bench/trials.py [seeds] [build]``.

The truth is drawn from the spreads of a build, trials are simulated with their scatter, and each input that they tell
of is held against its stated standard deviation. Intervals of 90 % should cover nine of ten.
"""

import sys

import numpy as np
from augerbook.builds.shipped import shipped_build
from augerbook.deciding.calibrating import KINDS, Trial, calibrate, results_at, uncertain_of
from augerbook.deciding.draws import triangle

#: Standard deviations that a bell curve's 90 % reach.
_REACH = 1.645


def main(seeds: int = 200, name: str = "otter") -> None:
    """Print for each input how often it was told, and how often its interval covered the truth."""
    build = shipped_build(name)
    kinds = [kind for kind in KINDS if kind.quantity in build.solution.values]
    asked = [kind.quantity for kind in kinds]
    inputs = uncertain_of(build, asked)
    told: dict[str, list[bool]] = {}
    slipped = refused = 0
    for seed in range(seeds):
        random = np.random.default_rng(seed)
        truth = {}
        for q in inputs:
            low, high = build.ends[q]
            truth[q] = np.array([triangle(low, build.values[q], high).rvs(random_state=random)])
        right = results_at(build, asked, truth)[:, 0]
        if not np.isfinite(right).all():
            slipped += 1
            continue
        trials = [
            Trial(kind.name, kind.quantity, value * (1 + kind.usual * random.standard_normal()), kind.usual * value)
            for kind, value in zip(kinds, right, strict=True)
        ]
        try:
            found = calibrate(build, trials)
        except ValueError:
            refused += 1
            continue
        for one in found.narrowed:
            if one.told:
                off = abs(one.after - truth[one.quantity][0]) / one.deviation
                told.setdefault(one.quantity.key, []).append(bool(off <= _REACH))
    every = [covered for column in told.values() for covered in column]
    print(
        f"{name}: {seeds} seeds, {slipped} slip, {refused} refused; 90 % intervals cover {100 * np.mean(every):.1f} %"
    )
    for key, column in sorted(told.items()):
        print(f"  {key:28} told {len(column):4}, covered {100 * np.mean(column):5.1f} %")


if __name__ == "__main__":
    main(*(int(arg) if arg.isdigit() else arg for arg in sys.argv[1:]))  # type: ignore[arg-type]
