"""Changes that are offered for a margin: what may be changed, what comes of it, what it costs; no measured value."""

import math
from pathlib import Path

import pytest
from augerbook.builds.build import Build
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.builds.turned import can_be_turned
from augerbook.chapters import whole_head
from augerbook.core.margin import Margin, Verdict
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.core.spread import OneStep, in_doubt, spreads
from augerbook.deciding.candidates import changed
from augerbook.deciding.changes import (
    RANK,
    SET,
    SOLD,
    STEPS,
    Change,
    Found,
    changes,
    judged_offer,
    levers,
    levers_of,
    measured_behind,
    next_steps,
    preferred,
    promising,
    search,
    sold,
    tried_in_steps,
)
from augerbook.deciding.ranking import margins_of_head
from augerbook.head.bearing import bearing, bearing_outside_diameter
from augerbook.head.drive import gear_ratio, motor, set_current, stall_torque
from augerbook.head.feedstock import drying_time, sieve_mesh, standard_sieve
from augerbook.head.heating import set_temperature
from augerbook.head.plate import plate_span, plate_thickness, seat_diameter
from augerbook.head.printing import wanted_flow
from augerbook.head.tube import tube_length
from augerbook.settle import estimated_at_rest, found_elsewhere, settled
from augerbook.tables import read_table

from tests.builds.seven import SEVEN

NETWORK = whole_head()
WATCHED = margins_of_head(NETWORK)
Q = NETWORK.quantities


@pytest.fixture(scope="module")
def wren() -> Build:
    return settled(shipped_build("wren"))


def searched(build: Build, margin: Margin) -> Found:
    *_, last = search(build, margin, WATCHED)
    assert last is not None and last.complete
    return last


@pytest.fixture(scope="module")
def found(wren: Build) -> dict[str, Found]:
    """What is found for each margin of wren that is not good."""
    bad = [m for m in WATCHED if m.verdict(wren.solution.get(m.quantity)) is not Verdict.GOOD]
    return {margin.id: searched(wren, margin) for margin in bad}


# --- what may be changed


def follows(build: Build, change: Change) -> set[object]:
    """What of the motor a build gives by hand, which moves with another motor, current or gear, and only then."""
    return set(found_elsewhere(build)) if change.item in (motor, set_current, gear_ratio) else set()


@pytest.mark.slow
@pytest.mark.parametrize("name", shipped_builds())
def test_nothing_measured_is_ever_changed(name: str) -> None:
    build = shipped_build(name)
    every = changes(build, levers(build))
    assert len(every) > 150
    for change in every:
        moved = {one.item for one in changed(build, change.build)} - follows(build, change)
        assert moved.isdisjoint(build.ends), change.words
        assert change.build.rows is build.rows or dict(change.build.rows) == dict(build.rows)
        assert all(one.part != "plastic" for one in moved if isinstance(one, Quantity)), change.words
        kept = {q: ends for q, ends in change.build.ends.items() if q not in follows(build, change)}
        assert kept == {q: ends for q, ends in build.ends.items() if q in kept}, change.words
        assert change.build.clashes() == []
        assert change.item in moved, f"{change.words}: nothing changed"


@pytest.mark.parametrize("name", shipped_builds())
def test_sizes_are_those_that_are_sold_or_whole_steps_or_preferred_numbers(name: str) -> None:
    build = shipped_build(name)
    for change in changes(build, [q for q in levers(build) if isinstance(q, Quantity)]):
        item = change.item
        assert isinstance(item, Quantity)
        si = change.build.values[item]
        if item in SOLD:
            assert si in sold(item)
        elif item in STEPS:
            steps = float(item.shown(si)) / STEPS[item]
            assert steps == pytest.approx(round(steps), abs=1e-9)
        else:
            assert item in SET
            number = float(item.shown(si))
            assert preferred(number * 0.999, number * 1.001) == pytest.approx((number,))
        assert f"{item.name_in_words} " in change.words and " to " in change.words


@pytest.mark.parametrize("name", shipped_builds())
def test_the_next_step_is_the_nearest_change_that_can_be_made(name: str) -> None:
    """A step of what is sold, cut or set is the change next to it, up before down, with all that moves along."""
    build = shipped_build(name)
    steps: dict[Quantity, list[OneStep]] = {}
    for step in next_steps(build):
        steps.setdefault(step.quantity, []).append(step)
    assert list(steps) == [q for q in can_be_turned(build) if q in steps]
    for item in (q for q in levers(build) if isinstance(q, Quantity)):
        every = changes(build, [item])
        for step in steps[item]:
            same = next(change for change in every if change.words == step.words)
            at, up = build.values[item], step.values[item] > build.values[item]
            others = [one.build.values[item] for one in every if (one.build.values[item] > at) == up]
            assert step.values[item] == (min if up else max)(others)
            assert {**build.values, **step.values} == same.build.values, "what moves along is in it"
        ups = [step.values[item] > build.values[item] for step in steps[item]]
        assert ups == sorted(ups, reverse=True)


def test_a_step_of_what_is_neither_sold_nor_counted_is_small(wren: Build) -> None:
    said = [step.words for step in next_steps(wren)]
    for words in ("major diameter +1 %", "drying temperature +1 °C", "weighings 5 to 6", "microsteps 16 to 32"):
        assert words in said
    sieve = next(step for step in next_steps(wren) if step.quantity is sieve_mesh)
    openings = [row.si("opening") or 0.0 for row in read_table("sieves").rows.values()]
    assert sieve.values[sieve_mesh] == min(si for si in openings if si > wren.values[sieve_mesh] * (1 + 1e-6))


def test_what_belongs_together_moves_together(wren: Build) -> None:
    longer = next(c for c in changes(wren, [tube_length]) if c.build.values[tube_length] == pytest.approx(0.045))
    by = {one.item: longer.build.values[one.item] - wren.values[one.item] for one in changed(wren, longer.build)}
    assert {"flighted_length", "cooler_end", "tube_length", "rail_height", "motor_height"} <= {q.key for q in by}
    assert all(moved == pytest.approx(0.005) for moved in by.values())
    for change in changes(wren, [bearing]):
        seat, span = change.build.values[seat_diameter], change.build.values[plate_span]
        assert seat == change.build.values[bearing_outside_diameter] and seat <= span / 2 * (1 + 1e-9)
        assert ("with plate span" in change.words) == (span != wren.values[plate_span])
    sieve = changes(wren, [standard_sieve])[0].build
    assert sieve.values[sieve_mesh] != wren.values[sieve_mesh]


def test_another_current_carries_the_torque_at_stall_over_in_proportion(wren: Build) -> None:
    before = found_elsewhere(wren)[stall_torque]
    for change in changes(wren, [set_current, motor]):
        ratio = found_elsewhere(change.build)[stall_torque] / before
        assert change.build.values[stall_torque] == pytest.approx(wren.values[stall_torque] * ratio, rel=1e-3)
        low, high = change.build.ends[stall_torque]
        assert low / change.build.values[stall_torque] == pytest.approx(0.33 / 0.4, rel=1e-6) and high > low


def test_a_sieve_is_not_offered_where_the_sizes_come_from_a_sieve_table() -> None:
    assert standard_sieve not in levers(shipped_build("otter"))
    assert standard_sieve in levers(shipped_build("wren"))


def test_only_what_moves_a_margin_is_tried_for_it(wren: Build) -> None:
    tube = levers_of(wren, NETWORK.margins["thrust.tube_stress_share"])
    assert plate_thickness not in tube and Q["tube_outside_diameter"] in tube
    kinds = [
        c for item in levers_of(wren, NETWORK.margins["plate.plate_stress_share"]) if isinstance(c := item, Choice)
    ]
    assert {choice.key for choice in kinds} >= {"plate_support"}


# --- what comes of it


def verdicts(build: Build) -> dict[str, Verdict]:
    return {margin.id: margin.verdict(build.solution.get(margin.quantity)) for margin in WATCHED}


def much_farther(margin: Margin, before: Build, after: Build) -> bool:
    """Whether a margin is beyond its limit in both builds, and in the second by a quarter of its way to good more."""
    builds = (before, after)
    if any(margin.verdict(one.solution.get(margin.quantity)) is not Verdict.FAILS for one in builds):
        return False
    was, now = (margin.slack(one.solution[margin.quantity]) for one in builds)
    return was - now > 0.25 * (1 - was)


def test_what_is_beyond_its_limit_and_gets_much_worse_is_told() -> None:
    """A motor too weak already, with a tenth of its current: the gear is spared, and the motor stalls the sooner."""
    weak = shipped_build("otter")
    weak = weak.with_value(stall_torque, weak.values[stall_torque] / 4)
    margins = list(NETWORK.margins.values())
    torque = next(m for m in margins if m.id == "operating.torque_share")
    tenth = next(
        c for c in changes(weak, [set_current]) if c.build.values[set_current] < 0.2 * weak.values[set_current]
    )
    base, *_, tried = (one for step in tried_in_steps(weak, [tenth], margins) for one in step)
    spared = next(m for m in margins if m.quantity.key == "gear_torque_share")
    offer = judged_offer(spared, base, tried, margins)
    assert base.verdict(torque) is tried.verdict(torque) is Verdict.FAILS
    assert torque in offer.worse


@pytest.mark.slow
def test_up_to_three_changes_of_different_things_better_each_margin(wren: Build, found: dict[str, Found]) -> None:
    for one in found.values():
        items = [offer.tried.change.item for offer in one.offers]
        assert len(items) <= 3 and len(set(items)) == len(items)
        for offer in one.offers:
            assert one.margin.slack(offer.after) > one.margin.slack(offer.before)
            assert RANK[offer.verdict] <= RANK[one.margin.verdict(offer.before)]


@pytest.mark.slow
def test_what_is_told_of_a_change_is_what_the_build_gives(wren: Build, found: dict[str, Found]) -> None:
    """Each offered build, solved and brought to rest by itself: the margin, and all verdicts that change."""
    for one in found.values():
        for offer in one.offers:
            alone = settled(offer.tried.change.build)
            quantity = one.margin.quantity
            assert alone.solution[quantity] == pytest.approx(offer.after, rel=5e-3, abs=1e-12), offer.tried.change.words
            assert offer.tried.build.solution[quantity] == pytest.approx(offer.after, rel=5e-3, abs=1e-12)
            now, was = verdicts(offer.tried.build), verdicts(wren)
            farther = {m.id for m in offer.worse if offer.tried.verdict(m) is was[m.id]}
            told = {m.id for m in (*offer.worse, *offer.better)} - farther
            differ = {key for key in now if now[key] is not was[key]} - {one.margin.id}
            edge = {m.id for m in WATCHED if near_an_edge(m, offer.tried.values.get(m.quantity, math.nan))}
            assert told ^ differ <= edge, offer.tried.change.words
            for margin in offer.worse:
                assert RANK[offer.tried.verdict(margin)] > RANK[was[margin.id]] or margin.id in farther
            far = {m.id for m in WATCHED if m is not one.margin and much_farther(m, wren, offer.tried.build)}
            assert farther == far, offer.tried.change.words


def near_an_edge(margin: Margin, si: float) -> bool:
    return any(abs(margin.slack(si) - edge) < 0.02 for edge in (0.0, 1.0))


@pytest.mark.slow
def test_a_good_offer_says_whether_its_spread_holds(found: dict[str, Found]) -> None:
    for one in found.values():
        for offer in one.offers:
            build, quantity = offer.tried.build, one.margin.quantity
            around = spreads(NETWORK, [quantity], build.values, build.ends, build.choices)[quantity]
            assert offer.in_doubt == in_doubt(one.margin, offer.after, around)


@pytest.mark.slow
def test_an_offer_says_what_the_page_would_say_of_broken_conditions_once_it_is_tried(
    wren: Build, found: dict[str, Found]
) -> None:
    def broken(build: Build) -> set[str]:
        return {warned.validity.otherwise for warned in build.solution.warnings if not warned.validity.hazard}

    said = [(offer, broken(offer.tried.build) - broken(wren)) for one in found.values() for offer in one.offers]
    assert [offer.tried.change.words for offer, words in said if set(offer.broken) != words] == []
    assert any(words for _, words in said)
    for offer, _ in said:  # what the margin itself rests on comes first: the page tells the first in full
        build, wanted = offer.tried.build, offer.margin.quantity
        own = {v.otherwise for node in NETWORK.chain([wanted], build.values, build.choices) for v in node.valid}
        assert [words in own for words in offer.broken] == sorted((w in own for w in offer.broken), reverse=True)


@pytest.mark.slow
def test_no_offer_brings_a_danger(wren: Build, found: dict[str, Found]) -> None:
    assert wren.solution.hazards == ()
    hotter = [c for c in changes(wren, [set_temperature]) if c.build.solution.hazards]
    assert hotter, "a step of the temperature goes beyond what the plastic stands"
    for one in found.values():
        assert all(offer.tried.build.solution.hazards == () for offer in one.offers)


@pytest.mark.slow
def test_a_weak_motor_is_geared_down_though_that_costs_elsewhere() -> None:
    """A head known by a few values, whose motor stalls before the wanted flow: nothing small mends that."""
    text = SEVEN.replace("DIN 7998 6", "DIN 7998 8").replace('"8 mm"', '"9.5 mm"').replace('"0.6 mm"', '"1.2 mm"')
    build = estimated_at_rest(read_build(text.replace('"2.5 mm**3/s"', '"8 mm**3/s"')))
    margin = build.network.margins["operating.torque_share"]
    *_, result = search(build, margin, margins_of_head(build.network))
    assert result is not None
    verdicts = [offer.verdict for offer in result.offers]
    assert verdicts == [Verdict.FAILS, Verdict.FAILS, Verdict.GOOD]
    mends = result.offers[-1]
    assert mends.tried.change.item is gear_ratio and mends.worse
    ratio, torque = (mends.tried.build.values[q] / build.values[q] for q in (gear_ratio, stall_torque))
    assert torque == pytest.approx(ratio), "the torque at stall goes with the gear"


def test_what_a_builder_decides_is_tried_where_it_was_estimated() -> None:
    build = estimated_at_rest(read_build(SEVEN))
    assert drying_time in build.ends
    items = levers_of(build, build.network.margins["feedstock.moisture_ratio"])
    assert items == [drying_time]
    assert levers_of(build.with_value(drying_time, 7200.0), build.network.margins["feedstock.moisture_ratio"]) == items


@pytest.mark.slow
def test_the_screening_keeps_what_the_whole_search_finds_best(wren: Build) -> None:
    """All changes of the plate's stress through the whole head: none that was left out is better than the best kept."""
    margin = NETWORK.margins["plate.plate_stress_share"]
    every = changes(wren, levers_of(wren, margin))
    *_, last = promising(wren, every, margin, WATCHED)
    kept = {change.words for change in last}
    tried = [one for piece in tried_in_steps(wren, every, [margin]) for one in piece][1:]
    worths = {one.change.words: margin.slack(one.values[margin.quantity]) for one in tried if one.at_rest}
    best = max(worths, key=lambda words: worths[words])
    items = {change.words: change.item for change in every}
    assert items[best] in {items[words] for words in kept}


# --- how far it goes


@pytest.mark.slow
@pytest.mark.parametrize("margin_id", ["hopper.hausner_ratio", "drive.setting_bounds"])
def test_two_margins_of_wren_rest_on_what_was_measured_alone(
    wren: Build, found: dict[str, Found], margin_id: str
) -> None:
    """So that nothing that is bought, cut or set makes all margins of wren good: only another measurement does."""
    margin = NETWORK.margins[margin_id]
    assert margin.verdict(wren.solution[margin.quantity]) is not Verdict.GOOD
    assert levers_of(wren, margin) == [] and found[margin_id].offers == () and found[margin_id].levers == ()
    behind = measured_behind(wren, margin)
    assert behind and not {*behind} & {*levers(wren)}
    for change in changes(wren, levers(wren)):
        values, choices = change.build.values, change.build.choices
        assert NETWORK.solve(values, choices)[margin.quantity] == wren.solution[margin.quantity], change.words


@pytest.mark.slow
def test_wren_comes_within_all_limits_but_one_by_as_many_offers_as_the_readme_says(wren: Build) -> None:
    way = (
        ("ringing.visible_share", wanted_flow),
        ("ripple.unevenness", standard_sieve),
        ("bearing.axial_share", bearing),
        ("plate.plate_stress_share", plate_thickness),
    )
    build = wren
    for margin_id, item in way:
        offers = searched(build, NETWORK.margins[margin_id]).offers
        build = next(offer.tried.build for offer in offers if offer.tried.change.item is item)
    beyond = [m.id for m in WATCHED if RANK[m.verdict(build.solution.get(m.quantity))] >= RANK[Verdict.FAILS]]
    assert beyond == ["drive.setting_bounds"], "how well its weighed runs are known"
    assert build.values[wanted_flow] == pytest.approx(0.1 * wren.values[wanted_flow], rel=0.05)
    told = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    count = ("Three", "Four", "Five")[len(way) - 3]
    assert f"{count} changes that the page offers bring it within all limits but one" in " ".join(told.split())


def test_lookups_tell_the_row_and_kinds_the_kind(wren: Build) -> None:
    for change in changes(wren, levers(wren)):
        if isinstance(change.item, Lookup):
            assert f" to {change.build.names[change.item]}" in change.words
        elif isinstance(change.item, Choice):
            assert change.words.endswith(change.build.choices[change.item])
