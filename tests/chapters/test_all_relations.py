"""Every relation, model and choice of the handbook: what each one owes to those who rely on it."""

import math
import re
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest
import sympy as sp
from augerbook import __version__
from augerbook.builds.build import Build
from augerbook.builds.shipped import read_build, shipped_build, shipped_builds
from augerbook.chapters import all_subjects, whole_head
from augerbook.checks import published_checks
from augerbook.core.example import WorkedExample
from augerbook.core.quantity import Choice, Quantity, Series
from augerbook.core.relation import Model, Node, Relation, Select
from augerbook.core.sources import PLAIN_SOURCES, Source
from augerbook.core.subject import Subject
from augerbook.page.cite import worked
from augerbook.tables import references

from tests.chapters.chapters import chapter_of, confirmed_in, typed_again
from tests.chapters.outside import outside_tests
from tests.every import for_each
from tests.soak import soaking

NODES = list(whole_head().nodes.values())
COMPUTING = [node for node in NODES if not isinstance(node, Select)]
BUILDS = shipped_builds()

#: Results that one chapter declares, since it needs them first and may not import the one that computes them.
DECLARED_ELSEWHERE = {
    "melt.nozzle": ["nozzle_pressure"],
    "heat.break_outside_diameter": ["break_outside_diameter"],
    "heat.cold_length": ["cold_length"],
    "operating.wall_thrust": ["wall_thrust"],
    "ripple.melt_give": ["melt_give"],
}

SUBJECT_OF = {node.id: subject for subject in all_subjects() for node in subject.nodes}


def subject_of(node: Node) -> Subject:
    return SUBJECT_OF[node.id]


def each(nodes: Iterable[Any]) -> Any:
    """A test for each chapter, which names all of its nodes that fail."""
    return for_each(nodes, group=lambda node: subject_of(node).name, name=lambda node: node.id)


each_node = each(NODES)
each_computing = each(COMPUTING)
each_relation = each(node for node in NODES if isinstance(node, Relation))
each_subject = pytest.mark.parametrize("subject", all_subjects(), ids=lambda subject: subject.name)


# What it is


@each_node
def test_id_and_meaning(node: Node) -> None:
    assert re.fullmatch(r"[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*", node.id)
    assert node.id.partition(".")[0] == subject_of(node).name
    assert 4 <= len(node.meaning) <= 120 and node.meaning[0].isupper() and not node.meaning.endswith(".")
    for words in (*node.assumptions, *(validity.otherwise for validity in node.valid)):
        assert len(words) > 10 and not words.endswith("."), words
    elsewhere = [output.key for output in node.outputs if output.owner != subject_of(node).name]
    assert elsewhere == DECLARED_ELSEWHERE.get(node.id, []), elsewhere


@pytest.mark.slow
@pytest.mark.parametrize("name", BUILDS)
def test_what_is_declared_never_negative_never_is(name: str) -> None:
    """Over the spreads of a build, all inputs moved together, and with each slider of the start page at its ends."""
    build = shipped_build(name)
    computed = (q for q in build.network.quantities.values() if q in build.solution.values and q not in build.values)
    outputs = [q for q in computed if q.is_nonnegative]
    assert len(outputs) > 50
    draws = np.random.default_rng(7).uniform(*np.array(list(build.ends.values())).T, (400, len(build.ends)))
    found = build.network.compile(outputs, list(build.ends), build.values, build.choices)(*draws.T)
    assert [q.key for q, column in zip(outputs, found, strict=True) if np.any(column < 0)] == []
    sliders = [q for q in build.values if isinstance(q, Quantity) and q.primary]
    ends = [(moved, moved.si(end)) for moved in sliders for end in (moved.low, moved.high)]
    heads = [[end if q is moved else build.values[q] for q in sliders] for moved, end in ends]
    found = build.network.compile(outputs, sliders, build.values, build.choices)(*np.array(heads).T)
    for (moved, end), column in zip(ends, np.transpose(found), strict=True):
        extreme = build.with_value(moved, end)
        below = [q for q, value in zip(outputs, column, strict=True) if value < 0] if not extreme.clashes() else []
        # Nothing left of a difference may be rounded to less than nothing in an array, and to nothing by itself.
        below = [q for q in below if extreme.solution[q] < 0]
        assert [q.key for q in below if not told_to_be_void(extreme, q)] == [], (moved.key, end)


def told_to_be_void(build: Build, quantity: Quantity) -> bool:
    """Whether a condition fails that the quantity rests on, so that the page does not pass its figure off as sound."""
    rests_on = {node.id for node in build.network.chain([quantity], build.values, build.choices)}
    return any(warned.node.id in rests_on for warned in build.solution.warnings)


@each_node
def test_source(node: Node) -> None:
    assert_is_a_source(node.source)


@for_each(
    whole_head().margins.values(), group=lambda margin: margin.id.partition(".")[0], name=lambda margin: margin.id
)
def test_source_of_a_margin(margin: Any) -> None:
    assert_is_a_source(margin.source)


def assert_is_a_source(source: Source) -> None:
    assert source.key in references() or source.key in PLAIN_SOURCES, source
    if source.key in references() and references()[source.key].kind != "paper":
        assert source.place, f"{source.key}: say where in it"


@each_relation
def test_dimensions(node: Relation) -> None:
    node.check_dimensions()


@each_relation
def test_latex(node: Relation) -> None:
    text = node.latex()
    assert text.startswith(f"{node.lhs.latex_notation} = ")
    for quantity in node.inputs:
        assert quantity.latex_notation in text
        assert "_" not in quantity.key or quantity.key not in text
    assert text.count("{") == text.count("}") and text.count(r"\left") == text.count(r"\right")


@each_subject
def test_a_symbol_stands_for_one_quantity_within_a_chapter(subject: Subject) -> None:
    met = dict.fromkeys(q for node in subject.nodes for q in (*node.inputs, *node.outputs) if isinstance(q, Quantity))
    symbols: dict[str, list[str]] = {}
    for quantity in dict.fromkeys((*subject.quantities, *met)):
        symbols.setdefault(quantity.plain_notation, []).append(quantity.key)
    assert {symbol: keys for symbol, keys in symbols.items() if len(keys) > 1} == {}


# Who confirms it


@pytest.mark.slow
def test_marks_and_confirmations_name_what_there_is() -> None:
    faults = [f"{t.name}: {fault}" for t in outside_tests() for fault in t.faults]
    faults += [f"{t.name}: there is no {i}" for t in outside_tests() for i in t.ids if i not in whole_head().nodes]
    for subject in all_subjects():
        if chapter_of(subject).is_file():
            named = set().union(*confirmed_in(chapter_of(subject)).values())
            faults += [f"{chapter_of(subject).name}: there is no {i}" for i in sorted(named - set(whole_head().nodes))]
    if faults:
        pytest.fail("\n".join(faults), pytrace=False)


@each_computing
def test_something_outside_the_project_was_held_against_it(node: Node) -> None:
    published = [c for subject in all_subjects() for c in published_checks(subject.name) if node.id in c.covers]
    marked = [test for test in outside_tests() if node.id in test.ids and not test.faults]
    if not published and not marked:
        pytest.fail(
            f"nothing outside the project checks {node.id}: add a published figure to data/checks that covers it, "
            "or a test marked outside",
            pytrace=False,
        )


@each_computing
def test_its_chapter_confirms_it(node: Node) -> None:
    path = chapter_of(subject_of(node))
    if not path.is_file():
        pytest.fail(f"the chapter {path.name} is missing", pytrace=False)
    wanted = ("confirm", "relation") if isinstance(node, Relation) else ("confirm_value",)
    if not any(node.id in confirmed_in(path)[function] for function in wanted):
        pytest.fail(f'{path.name} has no cell with {wanted[0]}("{node.id}", ...)', pytrace=False)


@each_subject
def test_what_is_confirmed_was_derived(subject: Subject) -> None:
    """A relation typed again word for word derives nothing: it is shown with ``relation``, not confirmed."""
    repeated = []
    for node_id, typed in typed_again(chapter_of(subject)):
        if sp.sympify(typed) == whole_head().nodes[node_id].rhs:
            repeated.append(node_id)
    assert repeated == []


# How it computes


def within_range(quantity: Quantity, random: np.random.Generator) -> float:
    assert quantity.low is not None and quantity.high is not None
    if quantity.low > 0 and quantity.high / quantity.low > 100:
        return float(np.exp(random.uniform(math.log(quantity.low), math.log(quantity.high))))
    return float(random.uniform(quantity.low, quantity.high))


def point(number: int) -> tuple[dict[Any, Any], dict[Choice, str]]:
    """Values (SI) for all inputs and a choice of each kind: anywhere within the ranges, or near a shipped build."""
    random = np.random.default_rng(number)
    network = whole_head()
    values: dict[Any, Any] = {q: q.si(within_range(q, random)) for q in network.inputs}
    choices = {choice: str(random.choice(list(choice.options))) for choice in network.choices.values()}
    values |= {series: shipped_build(BUILDS[0]).rows[series] for series in network.series.values()}
    if number % 2:
        near = shipped_build(BUILDS[number // 2 % len(BUILDS)]).values
        values |= {q: v * random.uniform(0.99, 1.01) for q, v in near.items() if isinstance(q, Quantity)}
    for _ in range(100):
        clashing = [r for r in network.requirements if r.clash(values)]
        if not clashing:
            return values, choices
        for rule in clashing:
            low = rule.smaller.si(rule.smaller.low)
            values[rule.larger] = max(values[rule.larger], low * 1.05)
            values[rule.smaller] = random.uniform(low, values[rule.larger] * 0.999)
    raise AssertionError(f"no values meet all requirements: {clashing}")


POINTS = 6


@cache
def known_at(number: int) -> Mapping[Any, Any]:
    """All values at a point, with each branch of each choice computed."""
    values, choices = point(number)
    solution = whole_head().solve(values, choices)
    assert not solution.missing, {q.key: solution.why_missing(q) for q in solution.missing}
    return solution.values


@pytest.mark.parametrize("number", range(POINTS))
def test_with_all_inputs_given_everything_can_be_computed(number: int) -> None:
    known = known_at(number)
    assert {q for q in whole_head().quantities.values() if q not in known} == set()


def called(node: Node, values: list[Any]) -> list[np.ndarray]:
    with np.errstate(all="ignore"):
        return [np.asarray(result, dtype=np.float64) for result in node.array(*values)]


def ways_to_call(node: Node) -> list[tuple[Quantity | Series, ...]]:
    """The arguments a node wants: one way for most, several where a choice decides."""
    return list(dict.fromkeys(node.needs(kinds) for kinds in kinds_of_heads()))


@cache
def kinds_of_heads() -> list[dict[Choice, str]]:
    """The choices of a head with each option of each of them in turn."""
    _, choices = point(0)
    return [choices | {choice: kind} for choice in choices for kind in choice.options]


def single(number: int, needs: tuple[Quantity | Series, ...]) -> list[Any]:
    known = known_at(number)
    return [known[item] if isinstance(item, Series) else np.float64(known[item]) for item in needs]


@each_computing
def test_arrays_give_what_single_values_give(node: Node) -> None:
    for needs in ways_to_call(node):
        places = [single(number, needs) for number in range(POINTS)]
        one_by_one = np.array([called(node, place) for place in places])
        assert one_by_one.shape == (POINTS, len(node.outputs)), "a single value must give a single result"
        assert not np.isnan(one_by_one).all(axis=0).any(), "not defined at any of the points"
        stacked = [
            places[0][i] if isinstance(item, Series) else np.array([place[i] for place in places])
            for i, item in enumerate(needs)
        ]
        for column, result in zip(one_by_one.T, called(node, stacked), strict=True):
            np.testing.assert_allclose(np.broadcast_to(result, POINTS), column, rtol=1e-9, atol=0)


@pytest.mark.slow
@each_computing
def test_one_array_among_single_values_is_enough(node: Node) -> None:
    """A sweep varies some inputs and leaves the rest single."""
    for needs in ways_to_call(node):
        base = single(1, needs)
        here = called(node, base)
        for i, item in enumerate(needs):
            if isinstance(item, Series):
                continue
            moved = base[i] * np.array([1.0, 1.002])
            expected = np.array([here, called(node, [*base[:i], moved[1], *base[i + 1 :]])])
            for column, result in zip(expected.T, called(node, [*base[:i], moved, *base[i + 1 :]]), strict=True):
                np.testing.assert_allclose(np.broadcast_to(result, 2), column, rtol=1e-9, err_msg=item.key)


@each(node for node in NODES if isinstance(node, Select))
def test_a_choice_passes_on_its_branch(node: Select) -> None:
    values, choices = point(1)
    for kind, branch in node.branches.items():
        solution = whole_head().solve(values, choices | {node.choice: kind})
        assert node.needs({node.choice: kind}) == (branch,)
        np.testing.assert_equal(solution[node.outputs[0]], solution[branch])


@each(node for node in NODES if isinstance(node, Model))
def test_a_model_takes_nothing_for_an_answer_when_an_input_is_not_defined(node: Model) -> None:
    """What is not defined further up must end in 'not defined' or a number, never in an error."""
    for needs in ways_to_call(node):
        base = single(1, needs)
        for i, item in enumerate(needs):
            if isinstance(item, Quantity) and item in whole_head().producer:
                results = called(node, [*base[:i], np.float64(np.nan), *base[i + 1 :]])
                assert len(results) == len(node.outputs), item.key


# What can be cited


def computed(name: str) -> list[Quantity]:
    return [q for node in shipped_build(name).solution.used for q in node.outputs]


def samples(name: str) -> list[Quantity]:
    """Of each chapter a result of each kind of node; of the second build others than of the first. In a soak all."""
    if soaking():
        return computed(name)
    kinds: dict[tuple[str, type], list[Quantity]] = {}
    for quantity in computed(name):
        node = whole_head().producer[quantity]
        kinds.setdefault((subject_of(node).name, type(node)), []).append(quantity)
    return [found[BUILDS.index(name) * (len(found) - 1) // max(1, len(BUILDS) - 1)] for found in kinds.values()]


@cache
def restored(block: str) -> Build:
    return read_build(block)


EXAMPLES = [pytest.param(name, q, id=f"{name}-{q.key}") for name in BUILDS for q in samples(name)]


def test_samples_reach_all_chapters_and_kinds() -> None:
    shown = [whole_head().producer[q] for name in BUILDS for q in samples(name)]
    assert {subject_of(node) for node in shown} == {s for s in all_subjects() if s.nodes}
    assert {type(node) for node in shown} >= {Relation, Model, Select}


@pytest.mark.parametrize(("name", "quantity"), EXAMPLES)
def test_a_worked_example_can_be_posted_and_restored(name: str, quantity: Quantity) -> None:
    example: WorkedExample = worked(quantity, name)
    assert example.id.startswith(f"{whole_head().producer[quantity].id}:") and example.version == __version__
    for post in (example.markdown(), example.bbcode(), example.text()):
        assert example.id in post and f"augerbook {__version__}" in post
        assert example.result in post and example.build_name in post
        block = read_build(post).toml()
        assert block == example.build_block
        again = restored(block).solution
        assert quantity.text(again[quantity]) in example.result
        for symbol, _, value, _ in example.given:
            assert f"{symbol} = {value}" in post
    assert not re.search(r"\(\([^()]*\)\)", example.text())
    shown = example._repr_markdown_()
    assert example.id in shown and example.result in shown and "nan" not in shown.lower().replace("nano", "")


@pytest.mark.parametrize("name", BUILDS)
def test_most_of_the_handbook_can_be_computed_at_a_shipped_build(name: str) -> None:
    solution = shipped_build(name).solution
    results = [q for q in whole_head().quantities.values() if q in whole_head().producer]
    assert len(computed(name)) > 0.6 * len(results)
    undefined = [q.key for q in computed(name) if math.isnan(solution[q])]
    assert undefined == []
