"""What the chapters' cells call: generated tables, derivations held against the library, checks, explorers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import ipywidgets as widgets
import sympy as sp

from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.builds.typed import typed_si
from augerbook.chapters import whole_head
from augerbook.checks import published_checks
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.core.relation import Relation
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.core.units import UnitError, number, plain_unit
from augerbook.draw.picture import Drawn, Picture
from augerbook.page.cite import cite
from augerbook.page.controls import MessageLine, Sliders
from augerbook.page.deferred import SOON, Deferred
from augerbook.page.plain import Html
from augerbook.page.session import Session
from augerbook.page.stand_in import display_with_still, plain_form
from augerbook.page.tables_html import results_html, results_markdown, spreads_in_words, value_text


class Markdown:
    """Markdown as the value of a cell; where only plain text is shown, the same, or the first lines of a long text."""

    def __init__(self, text: str) -> None:
        self.text = text

    def _repr_markdown_(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return plain_form(self.text)


def quantity_table(subject: Subject) -> Markdown:
    """Return the inputs a subject computes with, its results and those it borrows, as a table."""
    network = whole_head()
    met = {q: None for node in subject.nodes for q in (*node.inputs, *node.outputs)}
    given = network.inputs_of(subject)
    borrowed = [q for q in met if isinstance(q, Quantity) and q.low is None and q.owner != subject.name]
    lines = [
        "| symbol | meaning | unit | given, plausible range | name in build files |",
        "|---|---|---|---|---|",
    ]
    for quantity in (*given, *subject.quantities, *borrowed):
        unit = plain_unit(quantity.unit)
        origin = network.origin(quantity)
        if quantity.low is not None:
            role = quantity.range_text
        elif origin != subject.name:
            role = f"from chapter {origin}"
        else:
            role = "computed"
        lines.append(f"| ${quantity.latex_notation}$ | {quantity.meaning} | {unit} | {role} | `{quantity.key}` |")
    for choice in network.choices.values():
        if any(node.choice == choice for node in subject.nodes):
            options = ", ".join(f"'{option}'" for option in choice.options)
            lines.append(f"| | {choice.meaning} | | one of {options} | `{choice.key}` |")
    for series in network.series.values():
        if series in met:
            columns = ", ".join(q.meaning for q in series.columns)
            lines.append(f"| | {series.meaning} | | rows of {columns} | `{series.key}` |")
    for lookup in network.lookups.values():
        if 2 * len(set(given) & set(lookup.fills)) >= len(lookup.fills):  # a row that fills one in six says little here
            lines.append(f"| | {lookup.meaning} | | a name in the table *{lookup.table}* | `{lookup.key}` |")
    return Markdown("\n".join(lines))


def quantities_that_matter(quantities: Sequence[Quantity]) -> Markdown:
    """Return a few quantities with their values in the shipped builds; the notation appendix has all of them."""
    builds = [shipped_build(name) for name in shipped_builds()]
    lines = [
        f"| symbol | meaning | {' | '.join(f'*{build.name}*' for build in builds)} |",
        "|---|---|" + "---|" * len(builds),
    ]
    lines += [
        f"| ${q.latex_notation}$ | {q.meaning} | {' | '.join(value_text(b.solution, q) for b in builds)} |"
        for q in quantities
    ]
    return Markdown("\n".join([*lines, "", "All symbols stand in the [notation appendix](A_notation.ipynb)."]))


def assumption_table(subject: Subject) -> Markdown:
    """Return the assumptions and ranges of validity of the subject's relations and models."""
    assumed: dict[str, list[str]] = {}
    for node in subject.nodes:
        for assumption in node.assumptions:
            assumed.setdefault(assumption, []).append(f"`{node.id}`")
    lines = [f"- {words.capitalize() if words.islower() else words[0].upper() + words[1:]}: {', '.join(ids)}."
             for words, ids in assumed.items()]  # fmt: skip
    bounds: dict[str, list[str]] = {}
    for node in subject.nodes:
        for validity in node.valid:
            key = f"${sp.latex(validity.condition)}$, else {validity.otherwise}"
            bounds.setdefault(key, []).append(f"`{node.id}`")
    if bounds:
        lines += ["", "Holds only while:", ""]
        lines += [f"- {words} ({', '.join(ids)})." for words, ids in bounds.items()]
    return Markdown("\n".join(lines))


def margin_table(subject: Subject) -> Markdown:
    """Return the subject's margins with their limits, reasons and origin."""
    lines = ["| margin | good and limit | why | if it fails | origin of the limit |", "|---|---|---|---|---|"]
    lines += [
        f"| {m.name_in_words} | {m.rule()} | {m.why} | {m.advice} | {cite(m.source, linked=True)} |"
        for m in subject.margins
    ]
    return Markdown("\n".join(lines))


def source_list(subject: Subject) -> Markdown:
    """Return the sources of the subject's relations, margins and checks."""
    lines: dict[str, list[str]] = {}

    def add(source: Source, user: str) -> None:
        lines.setdefault(cite(source, linked=True), []).append(user)

    for node in subject.nodes:
        add(node.source, f"`{node.id}`")
    for margin in subject.margins:
        add(margin.source, f"margin `{margin.id}`")
    body = [f"- {source}: {', '.join(dict.fromkeys(users))}" for source, users in lines.items()]
    checks = dict.fromkeys(check.provenance(linked=True) for check in published_checks(subject.name))
    body += ["", "Published figures of the checks:", ""] if checks else []
    return Markdown("\n".join([*body, *(f"- {line}" for line in checks)]))


def _named(node_id: str) -> str:
    """An id as a link to the appendix that says what its symbols mean."""
    return f"[`{node_id}`](A_notation.ipynb)"


def confirm(node_id: str, derived: sp.Expr) -> Markdown:
    """Hold a derived expression against the library's relation.

    Both sides may contain results of other relations; these are replaced by what they stand for before the
    comparison, so that the derivation may use either.

    Raises:
        AssertionError: the two differ; the message shows both, and what each of them gives in a shipped build.
        TypeError: the id belongs to a numerical model.
    """
    relation, expression = _closed_form(node_id), sp.sympify(derived)
    difference = _difference(*_in_the_same_results(expression, relation.rhs))
    if difference != 0:
        difference = _difference(_expanded(expression), _expanded(relation.rhs))
    if difference != 0:
        raise AssertionError(f"{node_id}: the derivation gives {expression}. {_apart(relation, expression)}")
    return Markdown(f"The derivation gives the library's relation {_named(node_id)}:\n\n$${relation.latex()}$$")


def _apart(relation: Relation, derived: sp.Expr) -> str:
    """Say how a derivation that was not found to be the library's relation differs from it, and what to do."""
    said = f"The library has {relation.rhs}."
    if strange := sorted(str(symbol) for symbol in derived.free_symbols if not isinstance(symbol, Quantity)):
        return f"{said} Put quantities of the library in the place of {', '.join(strange)}."
    solution = shipped_build(name := shipped_builds()[0]).solution
    if not (derived.free_symbols | relation.rhs.free_symbols) <= solution.values.keys():
        return said
    gives, has = (complex(side.subs({q: solution[q] for q in side.free_symbols})) for side in (derived, relation.rhs))
    if abs(gives - has) > 1e-9 * abs(has):
        return f"{said} In {name} that is {has.real:.6g}, and the derivation gives {gives.real:.6g} (SI units)."
    return (
        f"{said} In {name} both are {has.real:.6g} (SI units), so that they may differ in form alone, as two "
        "logarithms do from that of a quotient: bring the derivation to the library's form before quantities are put "
        "in."
    )


def _closed_form(node_id: str) -> Relation:
    node = whole_head().nodes[node_id]
    if not isinstance(node, Relation):
        raise TypeError(f"{node_id} is no closed-form relation: use confirm_value")
    return node


def relation(node_id: str) -> Markdown:
    """Show a relation that says what it means and needs no derivation: a definition, or one step in words.

    Raises:
        KeyError: there is no such relation.
        TypeError: the id belongs to a numerical model.
    """
    shown = _closed_form(node_id)
    by_definition = ", by definition" if shown.source.key == "definition" else ""
    return Markdown(f"{shown.meaning}{by_definition} ({_named(node_id)}):\n\n$${shown.latex()}$$")


def _difference(one: sp.Expr, other: sp.Expr) -> sp.Expr:
    """Return the simplified difference; arguments of functions are brought to one form first."""
    # Nineteen of twenty end with the first, most others with the second: minutes faster than to simplify.
    if sp.cancel(one - other) == 0:
        return sp.S.Zero
    apart = sp.bottom_up(one, sp.factor) - sp.bottom_up(other, sp.factor)
    if apart == 0 or sp.simplify(one - other) == 0:
        return sp.S.Zero
    return sp.simplify(apart)


def _in_the_same_results(one: sp.Expr, other: sp.Expr) -> tuple[sp.Expr, sp.Expr]:
    """Replace results that stand on one side alone; what stands on both makes the comparison no easier, only longer."""
    for node in reversed(whole_head().order):
        if isinstance(node, Relation) and one.has(node.lhs) != other.has(node.lhs):
            one, other = (side.subs(node.lhs, node.rhs) for side in (one, other))
    return one, other


def _expanded(expression: sp.Expr) -> sp.Expr:
    for node in reversed(whole_head().order):
        if isinstance(node, Relation) and expression.has(node.lhs):
            expression = expression.subs(node.lhs, node.rhs)
    return expression


def confirm_value(node_id: str, what: str, *, library: float, expected: float, relative: float = 1e-6) -> Markdown:
    """Hold a number computed by a model against one that is known otherwise.

    Raises:
        AssertionError: they differ by more than ``relative`` (absolute where the expected number is zero).
        KeyError: no such model.
    """
    node = whole_head().nodes[node_id]
    difference = abs(library - expected) / (abs(expected) or 1.0)
    if not difference <= relative:
        raise AssertionError(f"{node_id}: {what}: {library:.8g} instead of {expected:.8g}")
    return Markdown(f"{_named(node.id)}: {what}: {number(library, 5)}, expected {number(expected, 5)}.")


def check_table(subject: str) -> Markdown:
    """Run the published checks of a subject and return them as a table.

    Raises:
        AssertionError: a figure is not reproduced within its tolerance.
        LookupError: there are no checks of such a subject.
    """
    checks = published_checks(subject)
    if not checks:
        raise LookupError(
            f"no published figures of '{subject}': take one of {[one.name for one in whole_head().subjects]}"
        )
    lines = [
        "| published example | what | published | here | differs by | allowed | source |",
        "|---|---|---|---|---|---|---|",
    ]
    for check in checks:
        for outcome in check.run():
            q = outcome.quantity
            if not outcome.agrees:
                raise AssertionError(f"{check.what}: {q.text(outcome.computed)} instead of {q.text(outcome.published)}")
            published, here = (q.text(v, digits=max(q.digits, 4)) for v in (outcome.published, outcome.computed))
            note = f" ({check.note})" if check.note else ""
            lines.append(
                f"| {check.what}{note} | {q.name_in_words} | {published} | {here} | {percent_text(outcome.difference)} "
                f"| {percent_text(check.tolerance)} | {check.provenance(linked=True)} |"
            )
    return Markdown("\n".join(lines))


def percent_text(ratio: float) -> str:
    """Return a share as per cent; of the smallest only that they are small."""
    return "below 0.01 %" if ratio < 1e-4 else f"{number(100 * ratio, 2)} %"


def exercise(
    quantity: Quantity, answer: str | float | None = None, *, build: str = "otter", within: float = 0.02, **changes: str
) -> Markdown:
    """Tell whether an answer is right, without saying what would be.

    Args:
        quantity: what is asked for.
        answer: a number with its unit, as ``"12.5 mm"``, or without it, as a text or not; None before the reader has
            typed one.
        build: name of the shipped build that the question is about.
        within: how far an answer may be off, as a share of the right one.
        changes: other values for inputs of that build, by key and with their units.

    Raises:
        UnitError: a change is no number with a unit of its kind.
    """
    head = shipped_build(build)
    for key, text in changes.items():
        head = head.with_value(whole_head().quantities[key], typed_si(whole_head().quantities[key], text))
    right = head.solution[quantity]
    if answer is None:
        unit = plain_unit(quantity.unit)
        kind = f"a number in {unit}" if unit else "a plain number"
        return Markdown(f"Put your answer in place of `None`, {kind} in quotation marks, and run the cell.")
    try:
        given = typed_si(quantity, str(answer))
    except UnitError as error:
        return Markdown(f"**No answer yet**: the text {str(answer)!r} {error}.")
    if abs(given - right) <= within * abs(right):
        return Markdown("**Right.**")
    far = abs(given - right) > abs(right)
    return Markdown(f"**Not yet**: {'much ' if far else ''}too {'large' if given > right else 'small'}.")


def explore(
    picture: Picture | Callable[[Solution], Drawn],
    *,
    sliders: Sequence[Quantity],
    results: Sequence[Quantity],
    build: str = "otter",
) -> None:
    """Show sliders with a picture and a table that follow them; without a kernel, a still picture and table.

    Raises:
        ValueError: the picture needs something the build does not give.
    """
    session = Session(shipped_build(build))
    if isinstance(picture, Picture):
        if lacking := picture.missing(session.solution):
            raise ValueError(f"{picture.title}: {lacking}")
        draw: Callable[[Solution], Drawn] = picture.scene
    else:
        draw = picture
    canvas = Html(layout=widgets.Layout(width="100%"))
    table = Html(layout=widgets.Layout(width="100%"))

    def tabulate() -> None:
        table.value = results_html(session.build, results)

    def with_spreads() -> Iterator[None]:
        around = spreads_in_words(session.build, results)
        yield
        table.value = results_html(session.build, results, around)

    # The picture first: what else changes must not keep the browser from painting it.
    numbers, spread_too = Deferred(tabulate, SOON), Deferred(with_spreads)

    def refresh() -> None:
        canvas.value = draw(session.solution).svg()
        numbers.request()
        spread_too.request()

    controls = Sliders(session, sliders)
    message = MessageLine(session)
    session.on_change(refresh)
    still, around = draw(session.solution), spreads_in_words(session.build, results)
    canvas.value, table.value = still.svg(), results_html(session.build, results, around)
    panel = widgets.VBox([controls.box, message.widget, canvas, table], layout=widgets.Layout(width="100%"))
    display_with_still(panel, still, results_markdown(session.solution, results, around))
