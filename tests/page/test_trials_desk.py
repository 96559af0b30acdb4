"""The steps of a trial on the start page: which to make, its plan, its weighings, and what the build learns from it."""

import asyncio
import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from augerbook.builds.build import Build
from augerbook.builds.named import named_honestly
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.chapters import whole_head
from augerbook.chapters.conveying import SUBJECT as CONVEYING
from augerbook.chapters.trials import weighings_needed
from augerbook.core.margin import Verdict
from augerbook.deciding.calibrating import KINDS, Learning, Trial, calibrate, rank_trials, weighed
from augerbook.deciding.comparing import Compared, compare
from augerbook.deciding.ranking import margins_of_head
from augerbook.deciding.weighings import invented_weighings, read_weighings
from augerbook.head.screw import friction_screw
from augerbook.head.trials import balance_reading, confidence_wanted, effect_wanted, screws_compared
from augerbook.head.tube import bore_diameter
from augerbook.page.margins_view import in_doubt
from augerbook.page.session import Session
from augerbook.page.start import StartPage
from augerbook.page.trials_desk import TrialsDesk
from markupsafe import Markup

pytestmark = pytest.mark.slow
PLANE = next(kind for kind in KINDS if kind.quantity is friction_screw)


@pytest.fixture(autouse=True)
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is asked here is what the desk does with what draws say, not how exact it is: few of them will do."""
    monkeypatch.setattr("augerbook.deciding.calibrating._CROWD", 8)
    monkeypatch.setattr("augerbook.deciding.calibrating._LEARNING", 6)


@pytest.fixture
def otter() -> Build:
    return shipped_build("otter")


@pytest.fixture
def desk(otter: Build) -> TrialsDesk:
    return TrialsDesk(Session(otter))


def test_the_trial_that_tells_most_is_named_first(desk: TrialsDesk, otter: Build) -> None:
    grip = next(margin for margin in CONVEYING.margins if margin.quantity.key == "grip_reserve")
    desk.ask_for(grip)
    best = rank_trials(otter, grip.quantity)[0]
    assert f"would leave {100 * best.left:.0f} % of the spread" in desk.planning.advice.value
    assert "<svg" in desk.planning.ranking.value
    desk.ask_for(next(m for m in otter.network.margins.values() if m.id == "grains.opposed_chance"))
    assert "None of these trials would narrow it" in desk.planning.advice.value


@pytest.mark.parametrize("name", shipped_builds())
def test_every_margin_can_be_asked_for(name: str) -> None:
    desk = TrialsDesk(Session(shipped_build(name)))
    for margin in margins_of_head(whole_head()):
        desk.ask_for(margin)
        assert ("<svg" in desk.planning.ranking.value) != ("No trial can be ranked" in desk.planning.advice.value)


def test_as_many_weighings_as_the_difference_takes(desk: TrialsDesk, otter: Build) -> None:
    planning = desk.planning
    planning.screws.value = "one; two; three"
    planning.effect.value = "7 %"
    asked = otter.with_value(effect_wanted, 0.07).with_value(screws_compared, 3).solution
    assert planning.count.value == math.ceil(asked[weighings_needed])
    assert f"{planning.count.value} weighings of each show" in planning.message.value
    planning.effect.value = "7 mm"
    assert "difference worth knowing" in planning.message.value
    without = TrialsDesk(Session(read_build('format = 1\n[tube]\nbore_diameter = "8 mm"')))
    without.refresh()
    assert "needs" in without.planning.message.value and "ranked" in without.planning.advice.value


def test_more_screws_to_tell_apart_take_more_weighings_as_soon_as_they_are_named(desk: TrialsDesk) -> None:
    planning = desk.planning
    planning.effect.value = "6 %"
    two = planning.count.value
    planning.screws.value = "a; b; c; d"
    assert planning.count.value > two
    planning.count.value = 3
    planning.screws.value = "a; b"
    assert planning.count.value == 3 and f"it takes {two}" in planning.message.value


def test_what_the_build_asks_for_stands_in_the_fields_until_somebody_types(
    otter: Build, monkeypatch: pytest.MonkeyPatch
) -> None:
    worth: list[float] = []

    def noted(*args: Any, **more: Any) -> Compared:
        worth.append(more["worth_knowing"])
        return compare(*args, **more)

    monkeypatch.setattr("augerbook.page.trials_panel.compare", noted)
    session = Session(shipped_build("wren").with_value(balance_reading, 2e-5))
    desk = TrialsDesk(session)
    desk.refresh()
    asked = desk.reading.asked
    assert desk.planning.effect.value == asked[effect_wanted].value == "8 %"
    assert (asked[balance_reading].value, asked[confidence_wanted].value) == ("0.02 g", "95 %")
    desk.reading.invented.value = "two_screws_differ"
    assert worth[-1] == pytest.approx(0.08)
    session.set_value(effect_wanted, 12)
    desk.refresh()
    assert desk.planning.effect.value == asked[effect_wanted].value == "12 %"
    assert worth[-1] == pytest.approx(0.12), "and the verdict is that on it"
    asked[effect_wanted].value = "3 %"
    session.load(otter)
    desk.refresh()
    assert (desk.planning.effect.value, asked[effect_wanted].value) == ("6 %", "3 %")
    asked[effect_wanted].value = ""
    desk.refresh()
    assert asked[effect_wanted].value == "6 %", "emptied, it follows the build again"
    session.load(read_build('format = 1\n[tube]\nbore_diameter = "8 mm"'))
    desk.refresh()
    assert desk.planning.effect.value == asked[effect_wanted].value == "5 %", (
        "what is usual, where a build says nothing"
    )


def test_a_number_of_weighings_that_was_typed_stays_while_the_build_changes(otter: Build) -> None:
    session = Session(otter)
    desk = TrialsDesk(session)
    desk.refresh()
    planning = desk.planning
    needed = planning.count.value
    assert needed > 4 and "it takes" not in planning.message.value
    planning.count.value = 4
    assert "4 weighings of each show" in planning.message.value
    assert f"for 80.0 % it takes {needed}." in planning.message.value
    session.set_value(bore_diameter, 8.1)
    desk.refresh()
    assert planning.count.value == 4
    planning.effect.value = "20 %"
    assert planning.count.value < 4 and "it takes" not in planning.message.value
    session.set_value(bore_diameter, 8.2)
    desk.refresh()
    assert planning.count.value == planning._proposed


def test_a_plan_can_be_printed_filled_in_and_read(desk: TrialsDesk) -> None:
    planning = desk.planning
    planning.screws.value, planning.count.value = "old <b>; new", 3
    planning.lots.click()
    assert "old &lt;b&gt;" in planning.sheet.value and "<b>;" not in planning.sheet.value
    assert planning.sheet.value.count("mass ____") == 6 and "Print this sheet" in planning.sheet.value
    first = planning.csv.text
    filled = "\n".join(
        line if number < 2 else line.replace(",,,,", f",{number},0.5{number},57,", 1)
        for number, line in enumerate(first.splitlines())
    )
    desk.reading.text.value = filled
    desk.reading.read.click()
    assert desk.reading.compared is not None and len(desk.reading.compared.screws) == 2
    planning.lots.click()
    assert planning.csv.text != first
    planning.screws.value = "only one"
    planning.lots.click()
    assert "two screws or more" in planning.message.value and planning.plan == () and planning.sheet.value == ""


def test_what_was_weighed_narrows_the_build_and_can_be_taken_back(otter: Build) -> None:
    session = Session(otter)
    desk = TrialsDesk(session)
    desk.reading.invented.value = "two_screws_differ"
    assert desk.learning.which.value == "coach as bought"
    desk.learning.others[PLANE][0].value = "0,27"
    desk.learning.learn.click()
    screw = compare(invented_weighings("two_screws_differ")).screws[0]
    assert desk.learning.learnt is not None
    low, high = session.build.ends[friction_screw]
    before = otter.ends[friction_screw]
    assert high - low < 0.5 * (before[1] - before[0])
    assert "friction on the screw (by the" in desk.learning.told.value and "<svg" in desk.learning.picture.value
    assert "grip reserve of the plug" in desk.learning.told.value
    made = desk.learning.trials()
    assert made[0].measured == pytest.approx(screw.mean)
    assert made[1].deviation == pytest.approx(PLANE.usual * 0.27)
    desk.learning.back.click()
    assert session.build.toml() == otter.toml() and desk.learning.back.disabled


def test_what_was_done_since_is_not_taken_back_with_what_was_learnt(otter: Build) -> None:
    session = Session(otter)
    learning = TrialsDesk(session).learning
    learning.others[PLANE][0].value = "0.27"
    learning.learn.click()
    assert not learning.back.disabled
    session.set_value(bore_diameter, 9.3)
    assert learning.back.disabled
    learning._take_back()
    assert session.build.values[bore_diameter] == pytest.approx(9.3e-3)
    session.load(shipped_build("wren"))
    learning._take_back()
    assert learning.back.disabled and session.build.name == "wren"


def test_margins_that_change_are_those_of_the_learnt_build(otter: Build) -> None:
    session = Session(otter)
    desk = TrialsDesk(session)
    desk.reading.invented.value = "two_screws_differ"
    desk.learning.learn.click()
    learnt = calibrate(otter, [weighed(otter, compare(invented_weighings("two_screws_differ")).screws[0])]).build
    assert session.build.toml() == named_honestly(learnt).toml()
    grip = next(margin for margin in CONVEYING.margins if margin.quantity.key == "grip_reserve")
    for build in (otter, learnt):
        assert f">{build.solution.text(grip.quantity)} (" in desk.learning.told.value


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "nothing was measured yet"),
        ({PLANE: ("steep", "8 %")}, "steep"),
        ({PLANE: ("0.27", "much")}, "give or take"),
        ({KINDS[1]: ("5 g", "5 %")}, "5 g"),
    ],
)
def test_what_cannot_be_learnt_from_is_said_and_changes_nothing(
    otter: Build, typed: dict[object, tuple[str, str]], said: str
) -> None:
    session = Session(otter)
    desk = TrialsDesk(session)
    for kind, (measured, scatter) in typed.items():
        desk.learning.others[kind][0].value = measured  # type: ignore[index]
        desk.learning.others[kind][1].value = scatter  # type: ignore[index]
    desk.learning.learn.click()
    assert said in desk.learning.message.value and session.build is otter and desk.learning.told.value == ""


def test_a_measurement_far_from_the_build_is_told(otter: Build) -> None:
    desk = TrialsDesk(Session(otter))
    desk.learning.others[PLANE][0].value = "0.55"
    desk.learning.others[PLANE][1].value = "3 %"
    desk.learning.learn.click()
    assert "is not what the build led one to expect" in desk.learning.message.value


def test_one_weighing_and_a_build_without_density_teach_nothing(otter: Build) -> None:
    one = compare(read_weighings("screw,mass [g],turns\nA,0.5,57\nB,0.52,57\nB,0.53,57\n")).screws[0]
    with pytest.raises(ValueError, match="from 1 weighing no scatter is known"):
        weighed(otter, one)
    two = compare(invented_weighings("two_screws_differ")).screws[0]
    with pytest.raises(ValueError, match="has no solid density"):
        weighed(read_build("format = 1\n"), two)


def test_weighings_that_cannot_be_read_leave_no_screw_to_learn_from(desk: TrialsDesk) -> None:
    desk.reading.invented.value = "two_screws_alike"
    assert len(desk.learning.which.options) == 3
    desk.reading.text.value = "rubbish"
    desk.reading.read.click()
    assert desk.learning.which.options == ("none of them",)


def test_a_wide_spread_leads_to_the_trial_that_narrows_it(otter: Build) -> None:
    page = StartPage(otter)
    wide = next(
        margin
        for margin in otter.network.margins.values()
        if in_doubt(margin, otter.solution.get(margin.quantity), page._depends.spreads.get(margin.quantity))
        and margin.verdict(otter.solution[margin.quantity]) is Verdict.GOOD
    )
    assert wide.id in dict(page.mending.trouble.options).values()
    page.mending.trouble.value = wide.id
    page.mending.narrow.click()
    assert page.trials.planning.question.value == wide.id
    assert page.more.titles[page.more.selected_index].startswith("Trials")


def test_a_measurement_is_learnt_once_and_each_is_taken_back_by_itself(otter: Build) -> None:
    session = Session(otter)
    learning = TrialsDesk(session).learning
    learning.which.value = "none of them"
    learning.others[PLANE][0].value = "15 deg"  # the tangent is 0.268
    learning.learn.click()
    first = session.build
    assert first.values[PLANE.quantity] == pytest.approx(calibrated_by(otter, math.tan(math.radians(15))), rel=1e-6)
    learning.learn.click()
    assert session.build is first
    assert "knows this already (tilted plane of the screw's metal)" in Markup(learning.message.value).striptags()
    learning.others[PLANE][0].value = "0.28"
    learning.learn.click()
    assert session.build is not first
    learning.back.click()
    assert session.build.toml() == first.toml() and "before it learnt the last time" in learning.message.value
    assert not learning.back.disabled
    learning.back.click()
    assert session.build.toml() == otter.toml() and learning.back.disabled
    learning.others[PLANE][0].value = "15°"
    learning.learn.click()  # it was taken back: the build may learn it again
    assert session.build.values[PLANE.quantity] == pytest.approx(first.values[PLANE.quantity])


def test_learning_shows_how_far_it_is_and_can_be_stopped(otter: Build) -> None:
    """Steps between which the page lives: a stop, or a build that is changed meanwhile, leaves it as it was."""
    session = Session(otter)
    learning = TrialsDesk(session).learning
    learning.others[PLANE][0].value = "0.27"

    async def until(stopped_by: Callable[[], None]) -> None:
        learning.learn.click()
        while "pieces" not in learning.progress.value:
            await asyncio.sleep(0.001)
        assert learning.learn.disabled and not learning.stop.disabled
        assert 0 < learning.bar.value < learning.bar.max
        stopped_by()
        while learning.learn.disabled:
            await asyncio.sleep(0.001)

    asyncio.run(until(learning.stop.click))
    assert "learnt nothing: you stopped it" in Markup(learning.message.value).striptags()
    assert session.build is otter and learning.stop.disabled and learning.back.disabled and not learning.told.value
    asyncio.run(until(lambda: session.set_value(bore_diameter, 8.1)))
    assert "changed meanwhile" in learning.message.value and learning.back.disabled
    assert session.build.ends[friction_screw] == otter.ends[friction_screw]
    learning.learn.click()
    assert "Told: friction on the screw" in learning.told.value and not learning.progress.value


def calibrated_by(build: Build, friction: float) -> float:
    trial = Trial(PLANE.name, PLANE.quantity, friction, PLANE.usual * friction)
    return calibrate(build, [trial]).build.values[PLANE.quantity]


def test_what_would_make_a_build_that_cannot_be_is_not_learnt(otter: Build, monkeypatch: pytest.MonkeyPatch) -> None:
    """Draws stay within the spreads of the build; a triangle as wide as they are may reach beyond: here it does."""
    session = Session(otter)
    desk = TrialsDesk(session)
    made = [Trial(PLANE.name, PLANE.quantity, 0.3, 0.02)]
    learnt = calibrate(otter, made)
    tapped = otter.values[whole_head().quantities["tapped_density"]]
    learnt = replace(learnt, build=otter.with_value(whole_head().quantities["loose_density"], 1.1 * tapped))
    assert learnt.build.clashes(), "else this test tells nothing"
    desk.learning.trials = lambda: made  # type: ignore[method-assign]
    monkeypatch.setattr(
        "augerbook.page.learning_panel.calibrated_in_steps", lambda build, trials: iter([Learning(1, 1, learnt)])
    )
    desk.learning.learn.click()
    assert session.build is otter and desk.learning.told.value == ""
    assert "learnt nothing" in desk.learning.message.value and "an impossible build" in desk.learning.message.value
