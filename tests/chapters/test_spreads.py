"""Spreads that people read: none goes where a quantity cannot go."""

import pytest
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.core.spread import spreads

#: What may well be below zero somewhere within a build's spread, and why.
BELOW_ZERO = {
    "wall_thrust": "the wall may hold more of a lining than it adds by holding the plug",
    "left_wanted": "air that is too wet leaves more water than is wanted",
    "shank_heat": "heat comes in from a gear that is warmer than the screw",
    "pause_shank_heat": "the same in a pause",
}


@pytest.mark.slow
@pytest.mark.parametrize("name", shipped_builds())
def test_no_spread_goes_below_nothing(name: str) -> None:
    build, network = shipped_build(name), whole_head()
    shown = [
        q for q in network.quantities.values() if q.low is None and not q.on_a_scale and q in build.solution.values
    ]
    around = spreads(network, shown, build.values, build.ends, build.choices)
    below = {q.key for q in shown if build.solution[q] > 0 > around[q].low}
    assert below <= set(BELOW_ZERO)


def test_what_may_be_below_zero_is_there() -> None:
    assert set(BELOW_ZERO) <= set(whole_head().quantities)
