"""What the margins say at a glance: the worse of two verdicts, and first what moves them most."""

import re
from collections.abc import Sequence

import pytest
from augerbook.builds.build import Build
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.builds.turned import can_be_turned
from augerbook.chapters import whole_head
from augerbook.core.margin import Margin, Verdict
from augerbook.core.quantity import Quantity
from augerbook.core.spread import OneStep, in_doubt, spreads
from augerbook.core.units import number
from augerbook.deciding.changes import next_steps
from augerbook.deciding.ranking import margins_of_head
from augerbook.page.cite import worked
from augerbook.page.few_panel import emptied
from augerbook.page.margins_view import (
    Sensitivities,
    all_margins,
    margins_html,
    sensitivities_in_steps,
    strip_html,
)
from augerbook.page.start import StartPage
from augerbook.settle import estimated_at_rest

from tests.builds.seven import SEVEN

Q = whole_head().quantities
MARGINS = all_margins(whole_head())


def sensitivities_of(build: Build, margins: Sequence[Margin]) -> Sensitivities:
    return list(sensitivities_in_steps(build, margins))[-1]


def with_ratio(ratio: float) -> Build:
    """A build whose screw pumps so many times as stiffly as its reference."""
    build = shipped_build("otter")
    return build.with_value(Q["reference_pump_stiffness"], float(build.solution[Q["pump_stiffness"]] / ratio))


@pytest.mark.parametrize(
    ("ratio", "least", "most"),
    [
        (0.4, Verdict.FAILS, Verdict.GOOD), (0.6, Verdict.TIGHT, Verdict.GOOD), (1.0, Verdict.GOOD, Verdict.GOOD),
        (1.7, Verdict.GOOD, Verdict.TIGHT), (2.4, Verdict.GOOD, Verdict.FAILS),
    ],
)  # fmt: skip
def test_a_quantity_with_two_margins_has_a_name_for_each(ratio: float, least: Verdict, most: Verdict) -> None:
    strip = str(strip_html(MARGINS, with_ratio(ratio).solution))  # text: old Markup escapes what it is asked for
    for words, verdict in (("at least", least), ("at most", most)):
        assert strip.count(f"pump stiffness ({words}) ") == (1 if verdict is Verdict.GOOD else 2)  # and its label
        told = strip.partition(" good</summary>")[2] if verdict is Verdict.GOOD else strip.partition("<details")[0]
        assert f"pump stiffness ({words})" in told
        assert verdict is Verdict.GOOD or f"{number(ratio)}, {verdict}'" in told
    names = [margin.name_in_words for margin in MARGINS]
    assert len(set(names)) == len(names)


def test_what_is_good_at_its_value_alone_has_a_name_of_its_own_in_the_strip() -> None:
    build = shipped_build("otter")
    strip = str(strip_html(MARGINS, build.solution, sensitivities_of(build, MARGINS)))
    tight, _, unsure = strip.partition("good at the value, not within its spread:")
    assert (
        "~ grip reserve of the plug 2.65</button>" in unsure and "! water left over the limit 0.840</button>" in tight
    )
    assert "spread:" not in str(strip_html(MARGINS, build.solution))


@pytest.mark.slow
def test_many_without_a_value_are_folded_to_one_word() -> None:
    build = emptied(shipped_build("otter"))
    strip = str(strip_html(MARGINS, build.solution))
    of_head = len(margins_of_head(build.network))
    assert f"? {of_head} cannot be computed yet</summary>" in strip
    guessed = estimated_at_rest(read_build(SEVEN))
    strip = str(strip_html(MARGINS, guessed.solution, sensitivities_of(guessed, MARGINS)))
    folded = re.search(r"~ (\d+) good at the value, not within its spread</summary>(.*?)</details>", strip)
    assert folded and int(folded[1]) > 8 and folded[2].count("data-jump=") == int(folded[1])


def test_the_worst_stands_first_in_the_list() -> None:
    build = estimated_at_rest(read_build(SEVEN.replace("DIN 7998 6", "DIN 7998 8").replace('"8 mm"', '"9.5 mm"')))
    html = str(margins_html(MARGINS, build.solution, Sensitivities()))
    order = re.findall(r"data-margin='([\w.]+)' data-verdict='beyond the limit'", html)
    slacks = [build.network.margins[name].slack(build.solution[build.network.margins[name].quantity]) for name in order]
    assert len(order) > 5 and slacks == sorted(slacks)


@pytest.mark.parametrize("name", shipped_builds())
def test_margins_of_trials_stand_after_those_of_the_head(name: str) -> None:
    """A trial that tells too little is no fault of the head: it has a name of its own, and none without a fault."""
    before, _, after = (
        str(strip_html(MARGINS, shipped_build(name).solution)).partition("<details")[0].partition("trials:")
    )
    chapters = [re.findall(r"data-jump='(\w+)\.", part) for part in (before, after)]
    assert chapters[1] and set(chapters[1]) <= {"choosing", "trials"}
    assert len(chapters[0]) > 5 and set(chapters[0]).isdisjoint({"choosing", "trials"})
    of_head = [margin for margin in MARGINS if margin.id.partition(".")[0] not in ("choosing", "trials")]
    assert "trials:" not in str(strip_html(of_head, shipped_build(name).solution))


@pytest.mark.parametrize("name", shipped_builds())
def test_strip_and_list_agree_on_every_verdict(name: str) -> None:
    """What is good at its value and not within its spread is tight in both; the page shows them so at rest."""
    page = StartPage(shipped_build(name))
    listed = dict(re.findall(r"data-margin='([\w.]+)' data-verdict='([a-z ]+)'", page.margins.value))
    strip = page.strip.value.partition("<details")[0]
    chips = {
        margin: verdict for verdict, margin in re.findall(r"<span title='([a-z ]+)'.*?data-jump='([\w.]+)'", strip)
    }
    assert chips == {margin: listed[margin] for margin in chips}
    shown = {next(m.quantity for m in MARGINS if m.id == margin) for margin in chips}
    assert {m.id for m in MARGINS if listed[m.id] != "good"} <= {m.id for m in MARGINS if m.quantity in shown}
    doubtful = [m for m in MARGINS if m.verdict(page.session.solution.get(m.quantity)) is Verdict.GOOD]
    assert any(listed[m.id] == chips.get(m.id) == "tight" for m in doubtful), "one is good at its value alone"


def moved(build: Build, step: OneStep, quantity: Quantity) -> float:
    """The share by which a result moves with a step, from two solutions."""
    after = build.network.solve({**build.values, **step.values}, build.choices)[quantity]
    return after / build.solution[quantity] - 1


@pytest.mark.slow
@pytest.mark.parametrize("name", shipped_builds())
def test_what_a_margin_depends_on_most_comes_first(name: str) -> None:
    """Each effect against the head solved again after that very step, of which none that was left out does more."""
    build = shipped_build(name)
    watched = {Q["plate_stress_share"], Q["springback_over_retraction"], Q["torque_share"]}
    depends = sensitivities_of(build, [margin for margin in MARGINS if margin.quantity in watched])
    assert depends.movers.keys() == watched
    for quantity, movers in depends.movers.items():
        assert len(movers) >= 3
        again = [abs(moved(build, step, quantity)) for step, _ in movers]
        assert again == pytest.approx([abs(effect) for _, effect in movers], rel=1e-9, abs=1e-12)
        assert again == pytest.approx(sorted(again, reverse=True), rel=1e-3)
        named = {step.quantity for step, _ in movers}
        others = [step for step in next_steps(build) if step.quantity not in named]
        assert all(abs(moved(build, step, quantity)) < 1e-9 for step in others[::8])


def test_the_words_begin_with_what_moves_most() -> None:
    """Otter's plate: a gear of two steps, then a plate of the next thickness, each told as the step that it is."""
    build = shipped_build("otter")
    *_, depends = sensitivities_in_steps(build, MARGINS)
    margin = next(m for m in MARGINS if m.id == "plate.plate_stress_share")
    said = re.search(r"can change it depends most on ([^:]+): [+-]", margins_html([margin], build.solution, depends))
    assert said is not None
    assert said[1] == depends.movers[margin.quantity][0][0].words == "gear ratio 5.18 to 13.7"


def test_only_what_can_be_turned_is_named() -> None:
    build = shipped_build("otter")
    turned = {q.key for q in can_be_turned(build)}
    assert {"sieve_mesh", "tube_length", "major_diameter", "plate_thickness", "drying_temperature"} <= turned
    assert turned.isdisjoint({"friction_barrel", "softening_temperature", "plate_youngs_modulus", "static_rating"})
    assert turned.isdisjoint({"melt_density", "tube_conductivity", "zero_viscosity", "degradation_temperature"})
    assert turned.isdisjoint({"room_temperature", "throat_temperature", "tapped_density", "reference_pitch"})
    assert {"air_speed", "joint_gap", "carriage_mass"} <= turned & {q.key for q in build.ends}, "known within a spread"


def test_the_torque_of_otter_names_no_room_temperature() -> None:
    said = worked(Q["needed_torque"], "otter").depends.partition(". Its spread")[0]
    assert re.match(r"Of what can be changed it depends most on [a-z ]+ [\d.]+ to [\d.]+ \S+: [+-]", said)
    assert "room temperature" not in said


def test_good_at_its_value_is_not_good_when_its_spread_goes_beyond_the_limit() -> None:
    """The grip of otter: 2.8, from 0.6. Without the spread of the frictions it is good."""
    build = shipped_build("otter")
    margin = next(m for m in MARGINS if m.id == "conveying.grip_reserve")
    depends = sensitivities_of(build, [margin])
    around = depends.spreads[margin.quantity]
    assert around.low < margin.limit < margin.good < build.solution[margin.quantity]
    shown = margins_html([margin], build.solution, depends)
    assert "1 tight" in shown and "data-verdict='tight'" in shown and "its spread reaches beyond the limit" in shown
    sure = margins_html([margin], build.solution, Sensitivities())
    assert "1 good" in sure and "its spread reaches beyond the limit" not in sure
    narrow = build.with_value(Q["grip_reserve"], 2.8)
    assert not in_doubt(margin, 2.8, sensitivities_of(narrow, [margin]).spreads[margin.quantity])
    assert not in_doubt(margin, 1.2, around), "what is tight at its value is told as such"


def test_no_spread_of_the_packing_goes_below_what_can_be() -> None:
    """Where both densities are only estimated: tapped over loose at least one, and nothing that rises falls."""
    build = estimated_at_rest(read_build(SEVEN))
    assert Q["loose_density"] in build.ends and Q["tapped_density"] in build.ends
    least = {"hausner_ratio": 1.0, "compressibility_index": 0.0, "drift_settled": 0.0}
    found = spreads(build.network, [Q[key] for key in least], build.values, build.ends, build.choices)
    for key, floor in least.items():
        assert found[Q[key]].low == pytest.approx(floor, abs=1e-9) and found[Q[key]].high > build.solution[Q[key]]
