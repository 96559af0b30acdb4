"""What the margins say at a glance: the worse of two verdicts, and first what moves them most."""

import re

import pytest
from augerbook.builds.build import Build
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.core.margin import Verdict
from augerbook.page.margins_view import all_margins, margins_html, sensitivities_in_steps, sensitivities_of, strip_html

Q = whole_head().quantities
MARGINS = all_margins(whole_head())


def with_ratio(ratio: float) -> Build:
    """A build whose screw pumps so many times as stiffly as its reference."""
    build = shipped_build("otter")
    return build.with_value(Q["reference_pump_stiffness"], float(build.solution[Q["pump_stiffness"]] / ratio))


@pytest.mark.parametrize(
    ("ratio", "verdict"),
    [(0.4, Verdict.FAILS), (0.6, Verdict.TIGHT), (1.0, Verdict.GOOD), (1.7, Verdict.TIGHT), (2.4, Verdict.FAILS)],
)
def test_a_quantity_with_two_margins_has_one_chip_with_the_worse_verdict(ratio: float, verdict: Verdict) -> None:
    strip = strip_html(MARGINS, with_ratio(ratio).solution)
    assert strip.count("stiffness ratio") == 1
    if verdict is Verdict.GOOD:
        assert "stiffness ratio" in strip.partition("good:")[2]
    else:
        assert re.search(rf"stiffness ratio [\d.]+, {verdict}</span>", strip.partition("good:")[0])


def moved(build: Build, key: str, margin_key: str) -> float:
    """Per cent by which a result moves for one per cent of a value, from two solutions."""
    value = build.values[Q[key]]
    ends = [
        build.network.solve({**build.values, Q[key]: value * f}, build.choices)[Q[margin_key]] for f in (1.01, 0.99)
    ]
    return (ends[0] - ends[1]) / (0.02 * build.solution[Q[margin_key]])


@pytest.mark.parametrize("name", shipped_builds())
def test_what_a_margin_depends_on_most_comes_first(name: str) -> None:
    """Of the first five, against solving again with each value a per cent up and down."""
    build = shipped_build(name)
    watched = {Q["plate_stress_share"], Q["springback_over_retraction"], Q["passing_over_grain"]}
    depends = sensitivities_of(build, [margin for margin in MARGINS if margin.quantity in watched])
    assert depends.movers.keys() == watched
    for quantity, movers in depends.movers.items():
        assert len(movers) >= 3
        again = [abs(moved(build, mover.key, quantity.key)) for mover, _ in movers[:5]]
        assert again == pytest.approx([abs(slope) for _, slope in movers[:5]], rel=2e-2)
        assert again == pytest.approx(sorted(again, reverse=True), rel=2e-2)


def test_the_words_begin_with_what_moves_most() -> None:
    build = shipped_build("otter")
    *_, depends = sensitivities_in_steps(build, MARGINS)
    margin = next(m for m in MARGINS if m.id == "plate.plate_stress_share")
    said = re.search(r"Depends most on ([a-z ]+) \+1 %", margins_html([margin], build.solution, depends))
    assert said is not None
    assert said[1] == depends.movers[margin.quantity][0][0].name_in_words
