import itertools
import math

import numpy as np
import pytest
from augerbook.chapters import whole_head
from augerbook.core import network as network_module
from augerbook.core.network import Network, NetworkError, NotKnownError
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.tables import read_table
from hypothesis import given
from hypothesis import strategies as st
from sympy import sqrt

from tests.core.barrel import (
    CHOICES,
    GRAVITY,
    NETWORK,
    VALUES,
    emptying_time,
    filling,
    flow,
    height,
    jet_speed,
    level,
    mean_flow,
    round_section,
    section,
    shape,
    tap_bore,
    thinness,
    water_temperature,
    water_volume,
    width,
)
from tests.core.toy import Toy, network_of

HERE = Source("derived here")


def without(*quantities: Quantity) -> dict[Quantity, float]:
    return {q: v for q, v in VALUES.items() if q not in quantities}


def two(**more: object) -> tuple[Toy, Quantity, Quantity]:
    """Return a subject with an input and a result that nothing computes yet."""
    subject = Toy("two", number=1, title="Two", question="Two?")
    first = subject.given("first", "a", "mm", "the first", 1, 2, **more)
    return subject, first, subject.result("second", "b", "mm", "the second")


# What is declared


def test_a_result_comes_from_the_subject_that_computes_it() -> None:
    first, need, result = two()
    later = Toy("later", number=2, title="Later", question="Later?")
    other = later.given("other", "c", "mm", "another", 1, 2)
    later.relation("second", result, need + other, "A sum", source=HERE)
    third = first.result("third", "d", "mm", "twice the second")
    first.relation("third", third, 2 * result, "Twice", source=HERE)
    network = network_of(first, later)
    assert [network.origin(q) for q in (need, result, other)] == ["two", "later", "later"]
    assert network.flows() == {("later", "two"): (result,)}  # an input flows from no subject


def test_two_declarations_of_one_key_are_refused() -> None:
    subject, *_ = two()
    subject.result("first", "c", "N", "another")
    with pytest.raises(NetworkError, match="first is declared twice, the second time in two"):
        network_of(subject)


def test_two_nodes_for_one_result_are_refused() -> None:
    subject, first, second = two()
    subject.relation("one", second, first, "one", source=HERE)
    subject.relation("other", second, 2 * first, "other", source=HERE)
    with pytest.raises(NetworkError, match=r"second is computed by two\.one and by two\.other"):
        network_of(subject)


def test_one_id_for_two_nodes_is_refused() -> None:
    subject, first, second = two()
    third = subject.result("third", "c", "mm", "the third")
    subject.relation("one", second, first, "one", source=HERE)
    subject.relation("one", third, first, "one", source=HERE)
    with pytest.raises(NetworkError, match=r"two\.one is declared twice"):
        network_of(subject)


def test_a_circle_is_named() -> None:
    subject, first, second = two()
    third = subject.result("third", "c", "mm", "the third")
    subject.relation("one", second, third + first, "one", source=HERE)
    subject.relation("other", third, second, "other", source=HERE)
    with pytest.raises(NetworkError, match=r"circle: .*two\.o.*two\.o"):
        network_of(subject)


def test_a_quantity_that_nobody_computes_or_declares_is_named() -> None:
    subject, first, second = two()
    with pytest.raises(NetworkError, match="second is neither computed nor given a range"):
        network_of(subject)
    subject.relation("one", second, first + Quantity("stray", "x", "mm", "stray"), "one", source=HERE)
    with pytest.raises(NetworkError, match=r"two\.one uses stray, which no part or subject here declares"):
        network_of(subject)


def test_the_order_of_computation_is_that_of_the_declarations() -> None:
    assert [node.id.partition(".")[2] for node in NETWORK.order] == [
        "round_section", "square_section", "section", "water_volume", "filling", "jet_speed", "flow", "drain",
        "thinness",
    ]  # fmt: skip


def test_a_node_declared_before_what_it_needs_still_comes_after_it() -> None:
    subject, first, second = two()
    third = subject.result("third", "c", "mm", "the third")
    subject.relation("late", third, second, "late", source=HERE)
    subject.relation("early", second, first, "early", source=HERE)
    assert [node.id for node in network_of(subject).order] == ["two.early", "two.late"]


# What follows from a build


def test_everything_that_follows_is_computed() -> None:
    found = NETWORK.solve(VALUES, CHOICES)
    assert not found.missing and not found.warnings
    assert found.given == set(VALUES)
    assert found[section] == pytest.approx(math.pi * 0.25 / 4)
    assert found[water_volume] == pytest.approx(math.pi * 0.25 / 4 * 0.6)
    assert found[jet_speed] == pytest.approx(math.sqrt(2 * GRAVITY * 0.6))
    assert found[emptying_time] == pytest.approx(625 * math.sqrt(2 * 0.6 / GRAVITY))
    assert found[mean_flow] == pytest.approx(found[flow] / 2)
    assert all(type(value) is float for value in found.values.values())
    assert found.why_missing(flow) == ""


def test_the_choice_decides() -> None:
    assert NETWORK.solve(VALUES, {shape: "square"})[section] == 0.25
    with pytest.raises(ValueError, match="shape 'oval' is not known: expected one of 'round', 'square'"):
        NETWORK.solve(VALUES, {shape: "oval"})


def test_what_is_missing_is_said_in_words() -> None:
    found = NETWORK.solve(without(level, tap_bore), {})
    assert found.get(flow) is None and found.get(round_section) is not None
    assert found.why_missing(flow) == "needs level, tap bore"
    assert found.why_missing(section) == "needs shape"
    assert found.why_missing(water_volume) == "needs level, shape"
    assert found.why_missing(level) == "needs level"
    assert {q.key for q in found.missing} == {
        "section", "water_volume", "filling", "jet_speed", "flow", "emptying_time", "mean_flow",
    }  # fmt: skip


def test_nothing_given_is_no_error() -> None:
    found = NETWORK.solve({})
    assert found.values == {} and found.used == () and len(found.missing) == len(NETWORK.producer)


def test_a_measured_value_wins_and_what_it_replaces_need_not_be_computable() -> None:
    found = NETWORK.solve({**without(width), section: 0.3}, {})
    assert found[section] == 0.3 and found[water_volume] == pytest.approx(0.18)
    assert "barrel.section" not in [node.id for node in found.used]
    assert found.get(round_section) is None


def test_one_measured_result_of_a_model_with_two_leaves_the_other_to_the_model() -> None:
    computed = NETWORK.solve(VALUES, CHOICES)
    found = NETWORK.solve({**VALUES, emptying_time: 60.0}, CHOICES)
    assert found[emptying_time] == 60.0
    assert found[mean_flow] == computed[mean_flow]


def test_a_condition_that_fails_is_told_with_its_meaning() -> None:
    found = NETWORK.solve({**VALUES, tap_bore: 0.2}, CHOICES)
    assert [str(warning) for warning in found.warnings] == [
        "barrel.jet_speed: so wide a tap makes the surface sink as fast as the jet"
    ]


def test_a_model_that_finds_nothing_says_so_and_nothing_breaks() -> None:
    found = NETWORK.solve({**VALUES, level: 0.0}, CHOICES)
    assert math.isnan(found[emptying_time]) and found[flow] == 0.0
    assert [warning.validity.otherwise for warning in found.warnings] == ["there is no water in it"]


def test_what_is_not_defined_raises_no_false_alarm_further_down() -> None:
    subject, first, second = two()
    third = subject.result("third", "c", "mm", "the third")
    subject.model("nothing", (first,), (second,), lambda x: x * math.nan, "finds nothing", source=HERE)
    subject.relation(
        "next", third, second + first, "next", source=HERE, valid=((second < first, "a false alarm"),)
    )  # fmt: skip
    found = network_of(subject).solve({first: 1.0})
    assert math.isnan(found[third]) and not found.warnings


def test_a_result_that_is_undefined_for_what_lies_further_up_raises_no_false_alarm_but_still_a_danger() -> None:
    subject, first, second = two()
    third = subject.result("third", "c", "mm", "the third")
    subject.model("nothing", (first,), (second,), lambda x: x * math.nan, "finds nothing", source=HERE)
    own = ((third < first, "a false alarm"),)
    danger = ((third < 2 * first, "it may be too much: take less"),)
    subject.relation("next", third, second + first, "next", source=HERE, valid=own, hazards=danger)
    found = network_of(subject).solve({first: 1.0})
    assert [str(warned) for warned in found.warnings] == ["two.next: it may be too much: take less"]
    assert found.hazards == found.warnings


def test_a_division_by_zero_or_a_root_of_a_negative_number_ends_nothing() -> None:
    subject = Toy("edge", number=1, title="Edge", question="?")
    x = subject.given("x", "x", "1", "x", -2, 2)
    inverse = subject.result("inverse", "y", "1", "inverse")
    root = subject.result("root", "z", "1", "root")
    subject.relation("inverse", inverse, 1 / x, "inverse", source=HERE)
    subject.relation("root", root, sqrt(x), "root", source=HERE)
    network = network_of(subject)
    assert network.solve({x: 0.0})[inverse] == math.inf
    assert math.isnan(network.solve({x: -1.0})[root])
    (swept,) = network.compile([inverse], [x], {})(np.array([0.0, 2.0]))
    np.testing.assert_array_equal(swept, [math.inf, 0.5])


def test_values_that_cannot_be_together_are_told() -> None:
    assert NETWORK.clashes(VALUES) == []
    assert NETWORK.clashes({**VALUES, level: 1.5}) == [
        "level 1500 mm must be smaller than height 1000 mm: the barrel would run over"
    ]


def test_the_chain_of_a_result_stops_at_what_is_given() -> None:
    ids = [node.id for node in NETWORK.chain([water_volume], VALUES, CHOICES)]
    assert ids == ["barrel.round_section", "barrel.section", "barrel.water_volume"]
    assert [node.id for node in NETWORK.chain([water_volume], [section], CHOICES)] == ["barrel.water_volume"]
    assert NETWORK.chain([water_volume], [water_volume], CHOICES) == ()
    both = [node.id for node in NETWORK.chain([section], VALUES, {})]
    assert both == ["barrel.round_section", "barrel.square_section", "barrel.section"]


# Sweeps

EVERYTHING = (section, water_volume, filling, jet_speed, flow, emptying_time, mean_flow, thinness)


@pytest.mark.parametrize(
    "vary", [(width,), (level,), (tap_bore, level), (width, tap_bore, level, height, water_temperature)]
)
def test_a_sweep_is_the_same_as_one_by_one(vary: tuple[Quantity, ...]) -> None:
    random = np.random.default_rng(5)
    columns = [VALUES[q] * random.uniform(0.9, 1.1, 7) for q in vary]
    swept = NETWORK.compile(EVERYTHING, vary, VALUES, CHOICES)(*columns)
    for i in range(7):
        one = NETWORK.solve({**VALUES, **{q: c[i] for q, c in zip(vary, columns, strict=True)}}, CHOICES)
        for quantity, column in zip(EVERYTHING, swept, strict=True):
            assert column[i] == pytest.approx(one[quantity], rel=1e-12), quantity


def test_a_sweep_over_more_than_a_chunk_misses_none(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(network_module, "CHUNK", 10)
    levels = np.linspace(0.1, 0.9, 37)
    (volumes,) = NETWORK.compile([water_volume], [level], VALUES, CHOICES)(levels)
    np.testing.assert_allclose(volumes, math.pi * 0.25 / 4 * levels, rtol=1e-12)


def test_a_sweep_over_a_measured_result_reaches_what_depends_on_it() -> None:
    sections = np.array([0.2, 0.3])
    values = {**VALUES, section: 0.25}
    (volumes,) = NETWORK.compile([water_volume], [section], values, CHOICES)(sections)
    np.testing.assert_allclose(volumes, 0.6 * sections)
    (same,) = NETWORK.compile([section], [section], values, CHOICES)(sections)
    np.testing.assert_array_equal(same, sections)


def test_a_sweep_of_a_solution_moves_only_what_follows() -> None:
    solution = NETWORK.solve(VALUES, CHOICES)
    levels = np.array([0.2, 0.5])
    swept = solution.sweep([water_volume, section, emptying_time], [level])(levels)
    whole = NETWORK.compile([water_volume, section, emptying_time], [level], VALUES, CHOICES)(levels)
    for one, other in zip(swept, whole, strict=True):
        assert one == pytest.approx(other)
    with pytest.raises(NetworkError, match="level"):
        NETWORK.solve(without(level), CHOICES).sweep([water_volume], [width])


def test_a_sweep_of_a_solution_goes_through_its_choice() -> None:
    widths = np.array([0.3, 0.5])
    for kind in ("round", "square"):
        (swept,) = NETWORK.solve(VALUES, {shape: kind}).sweep([water_volume], [width])(widths)
        solved = [NETWORK.solve({**VALUES, width: w}, {shape: kind})[water_volume] for w in widths]
        assert swept == pytest.approx(solved, rel=1e-15)


def test_a_value_that_is_not_known_says_what_it_needs() -> None:
    solution = NETWORK.solve(without(level), CHOICES)
    assert solution.text(width) == width.text(VALUES[width]) and solution.shown(width) == width.shown(VALUES[width])
    for ask in (solution.text, solution.shown, solution.__getitem__):
        with pytest.raises(NotKnownError, match="water volume needs level"):
            ask(water_volume)


def test_a_sweep_of_a_solution_leaves_what_was_given() -> None:
    solution = NETWORK.solve({**VALUES, section: 3.0}, CHOICES)
    (same,) = solution.sweep([section], [width])(np.array([0.2, 0.5]))
    assert same == pytest.approx([3.0, 3.0])


def test_a_sweep_leaves_one_measured_result_of_a_model_alone() -> None:
    values = {**VALUES, emptying_time: 60.0}
    times, flows = NETWORK.compile([emptying_time, mean_flow], [tap_bore], values, CHOICES)(np.array([0.01, 0.02]))
    np.testing.assert_array_equal(times, [60.0, 60.0])
    assert flows[1] == pytest.approx(4 * flows[0])


def test_a_sweep_fills_in_what_depends_on_nothing_varied() -> None:
    speeds, volumes = NETWORK.compile([jet_speed, water_volume], [width], VALUES, CHOICES)(np.array([0.2, 0.4]))
    assert speeds[0] == speeds[1] == NETWORK.solve(VALUES, CHOICES)[jet_speed]
    assert volumes[1] == pytest.approx(4 * volumes[0])


def test_a_sweep_needs_no_value_of_what_it_varies() -> None:
    (volumes,) = NETWORK.compile([water_volume], [level], without(level), CHOICES)(np.array([0.5]))
    assert volumes[0] == pytest.approx(math.pi * 0.25 / 4 * 0.5)


def test_a_sweep_says_what_is_missing() -> None:
    with pytest.raises(NetworkError, match="cannot compute: water volume needs level, shape; height needs height"):
        NETWORK.compile([water_volume, height], [width], without(level, height), {})
    with pytest.raises(NetworkError, match="cannot compute: height needs height"):
        NETWORK.compile([height], [], {}, {})


@pytest.mark.parametrize("arrays", [(), (np.ones(3),), (np.ones(3), np.ones(4)), (np.ones((2, 2)), np.ones((2, 2)))])
def test_a_sweep_wants_one_equally_long_array_each(arrays: tuple[np.ndarray, ...]) -> None:
    sweep = NETWORK.compile([water_volume], [width, level], VALUES, CHOICES)
    with pytest.raises(ValueError, match=r"give 2 equally long 1-D arrays: \['width', 'level'\]"):
        sweep(*arrays)
    with pytest.raises(ValueError, match="give 0 equally long"):
        NETWORK.compile([water_volume], [], VALUES, CHOICES)()


@given(st.sets(st.sampled_from(sorted(NETWORK.quantities))), st.sampled_from([{}, CHOICES, {shape: "square"}]))
def test_whatever_is_given_each_quantity_is_known_or_said_to_be_missing(keys: set[str], choices: dict) -> None:
    values = {NETWORK.quantities[key]: 0.5 for key in keys}
    found = NETWORK.solve(values, choices)
    for quantity in NETWORK.quantities.values():
        assert (quantity in found.values) != bool(found.why_missing(quantity))
        if quantity in found.missing:
            lacking = found.missing[quantity]
            assert lacking and not any(item in found.values or item in choices for item in lacking)
    assert all(found.values[q] == v for q, v in values.items())


def test_nodes_that_serve_only_a_kind_that_was_not_chosen_are_no_concern() -> None:
    concerned = NETWORK.concerned({shape: "square"})
    assert NETWORK.nodes["barrel.round_section"] not in concerned
    assert NETWORK.nodes["barrel.square_section"] in concerned
    assert NETWORK.concerned({}) == frozenset(NETWORK.order)


# The network of the head


def test_the_head_is_one_network() -> None:
    network = whole_head()
    assert network.order and set(network.order) == set(network.nodes.values())
    assert list(network.inputs) == [q for q in network.quantities.values() if q.low is not None]
    place = {node: i for i, node in enumerate(network.order)}
    for node in network.order:
        assert all(place[network.producer[q]] < place[node] for q in node.inputs if q in network.producer)


def test_every_row_of_a_table_makes_choices_that_there_are() -> None:
    for lookup in whole_head().lookups.values():
        for row in read_table(lookup.table).rows.values():
            for choice, column in lookup.sets.items():
                assert row.text(column) in ("", *choice.options), (lookup, row.name, choice)


def test_margins_and_requirements_are_about_quantities_of_the_head() -> None:
    known = set(whole_head().quantities.values())
    watched = [m.quantity for m in whole_head().margins.values()]
    pairs = [(r.smaller, r.larger) for r in whole_head().requirements]
    assert known.issuperset(itertools.chain(watched, *pairs))


# Dangers


def hot_water() -> tuple[Network, dict[str, Quantity]]:
    """A boiler: too hot is dangerous, too full is not; the power needs a value of its own."""
    boiler = Toy("boiler", number=1, title="Boiler", question="?")
    warmth = boiler.given("warmth", "T", "degC", "warmth of the water", 0, 300)
    bears = boiler.given("bears", "T_b", "degC", "what the seal bears", 50, 300)
    fill = boiler.given("fill", "x", "percent", "how full it is", 0, 200)
    loss = boiler.given("loss", "H", "W/K", "loss", 0, 10)
    power = boiler.result("power", "W", "W", "power of the heater")
    boiler.relation(
        "power", power, loss * warmth, "What is lost", source=HERE,
        valid=((fill < 1, "it runs over: fill less"),),
        hazards=((warmth <= bears, "steam comes out: keep it cooler"), (power < 1000, "the wire burns: take less")),
    )  # fmt: skip
    return network_of(boiler), {q.key: q for q in (*boiler.part.quantities, *boiler.quantities)}


def test_a_danger_is_told_even_where_what_it_stands_with_cannot_be_computed() -> None:
    network, q = hot_water()
    hot = {q["warmth"]: 473.15, q["bears"]: 423.15}
    alone = network.solve(hot)
    assert alone.get(q["power"]) is None and alone.warnings == ()
    (danger,) = alone.hazards
    assert danger.validity.hazard and str(danger) == "boiler.power: steam comes out: keep it cooler"
    assert danger.figures(alone.values) == "warmth 200 °C must not exceed the bears of 150 °C"
    whole = network.solve({**hot, q["fill"]: 1.2, q["loss"]: 3.0})
    assert [w.validity.otherwise[:8] for w in whole.hazards] == ["steam co", "the wire"]
    assert [w.validity.otherwise[:8] for w in whole.warnings] == ["steam co", "the wire", "it runs "]
    assert network.solve({**hot, q["warmth"]: 400.0}).hazards == ()
    assert network.solve({**hot, q["warmth"]: math.nan}).hazards == ()


def test_a_danger_that_cannot_be_judged_names_the_input_that_is_not_given() -> None:
    network, q = hot_water()
    (warned,) = (only := network.solve({q["warmth"]: 473.15})).unjudged
    assert only.hazards == () and only.unjudged[warned] == q["bears"]
    assert network.solve({}).unjudged == {}
    absent = {q.key for q in whole_head().solve({whole_head().quantities["set_temperature"]: 500.0}).unjudged.values()}
    parts = {f"{part}_highest_temperature" for part in ("tube", "nozzle", "block", "screw")}
    assert absent == {"degradation_temperature", *parts}
    length = whole_head().quantities["break_length"]
    hot = {whole_head().quantities["set_temperature"]: 500.0}
    with_break = whole_head().solve({**hot, length: 0.003}).unjudged.values()
    assert "break_highest_temperature" in {q.key for q in with_break}
    assert len(whole_head().solve({**hot, length: 0.0}).unjudged) == len(absent), "there is no break that could get hot"
    assert network.solve({q["warmth"]: 400.0, q["bears"]: 423.15}).unjudged == {}


@pytest.mark.parametrize("danger", whole_head().hazards, ids=str)
def test_every_danger_of_the_head_says_what_is_wrong_and_what_to_do(danger: network_module.Warned) -> None:
    wrong, _, to_do = danger.validity.otherwise.partition(": ")
    assert len(wrong) > 15 and len(to_do) > 15


def test_the_head_watches_over_temperature() -> None:
    watched = {q.key for danger in whole_head().hazards for q in danger.validity.quantities}
    assert {"set_temperature", "melt_temperature", "degradation_temperature", "heater_power"} <= watched
