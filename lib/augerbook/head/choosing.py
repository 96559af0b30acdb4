"""What is known of a build that may be tried next, beside the one at hand: how far ahead, how sure, from how much."""

from __future__ import annotations

from augerbook.core.part import Part

PART = Part("choosing", number=13, title="Choosing")

draw_count = PART.given("draw_count", "n", "1", "draws of all that is uncertain, the same for every build", 8, 65_536)
holding_share = PART.given(
    "holding_share", "p", "percent", "share of the draws in which the new build holds its margins", 0, 100
)
coverage_factor = PART.given(
    "coverage_factor",
    "k",
    "1",
    "half-width over standard deviation: 1.96 misses one time in twenty",
    1,
    4,
)
wanted_half_width = PART.given(
    "wanted_half_width", "h_w", "percent", "how far off a share of the draws may be, either way", 0.1, 25
)
limit_distance = PART.given(
    "limit_distance",
    "b",
    "percent",
    "how far a result lies within its limit, as share of the limit; below zero beyond it",
    -200,
    200,
)
limit_spread = PART.given(
    "limit_spread", "s_b", "percent", "standard deviation of that result, as share of the limit", 0.1, 200
)
lead = PART.given(
    "lead",
    "delta",
    "percent",
    "by how much the new build is better in the aim, as share of what the build at hand has",
    -200,
    200,
)
spread_at_hand = PART.given(
    "spread_at_hand",
    "s_1",
    "percent",
    "standard deviation of the aim in the build at hand, as share of it",
    0.1,
    200,
    title="spread of the build at hand",
)
spread_new = PART.given(
    "spread_new",
    "s_2",
    "percent",
    "standard deviation of the aim in the new build, as share of that at hand",
    0.1,
    200,
    title="spread of the new build",
)
shared_correlation = PART.given(
    "shared_correlation", "rho", "1", "correlation of the aim in both builds on the same draws", -1, 1
)
