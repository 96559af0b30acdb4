"""How the head is weighed: what a trial takes, and what it shall tell."""

from __future__ import annotations

from augerbook.core.part import Part

PART = Part("trials", number=14, title="Trials")

weighing_time = PART.given(
    "weighing_time", "t_w", "s", "time for which plastic is caught for one weighing", 2, 3600, primary=True
)
balance_reading = PART.given("balance_reading", "d_b", "g", "smallest step that the balance shows", 0.0001, 2)
timing_deviation = PART.given(
    "timing_deviation",
    "u_t",
    "s",
    "how far off the time of a weighing is, by start and stop together, standard deviation",
    0,
    30,
)
run_repeatability = PART.given(
    "run_repeatability",
    "C_run",
    "percent",
    "how much the mean flow differs from run to run (filled anew, started anew), standard deviation",
    0,
    30,
)
swing_time = PART.given(
    "swing_time", "tau_s", "s", "time for which slow changes of the flow keep their course", 0.5, 3600
)
effect_wanted = PART.given(
    "effect_wanted", "Delta", "percent", "difference of flow between two screws that is worth knowing", 0.2, 100,
    primary=True, title="difference worth knowing",
)  # fmt: skip
confidence_wanted = PART.given(
    "confidence_wanted",
    "gamma",
    "percent",
    "chance that a trial of screws that are alike calls none of them different",
    50,
    99.9,
)
power_wanted = PART.given(
    "power_wanted", "p_w", "percent", "chance that a trial shows a difference as large as the one worth knowing", 50,
    99.9,
)  # fmt: skip
weighings = PART.given("weighings", "n", "1", "weighings of each screw", 2, 100, digits=2, primary=True)
screws_compared = PART.given("screws_compared", "k", "1", "screws that are compared in one trial", 2, 10, digits=2)
plug_test_length = PART.given(
    "plug_test_length", "L_p", "mm", "length of a plug of granules that is pushed out of the bore by hand", 1, 60
)
