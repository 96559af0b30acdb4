"""HTML and Markdown tables of results and margins."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.core.margin import Margin, Verdict
from augerbook.core.network import Solution
from augerbook.core.quantity import Quantity
from augerbook.core.relation import Node
from augerbook.core.spread import spread_in_words, spreads
from augerbook.page.alarms import broken, conditions_html, hazards_html
from augerbook.page.cells import CELL
from augerbook.page.colours import QUIET

#: What the last column of a table of results holds.
SPREAD_NOTE = "The last column: how far each result can lie, with the spreads of the build's uncertain values."
_AT_VALUES = "Judged by the values alone: what is good here, but not over all of its spread, the live page calls tight."
_ROW = Markup(
    f"<tr><td style='{CELL}'>{{meaning}}</td><td style='{CELL}'>{{symbol}}</td>"
    f"<td style='{CELL};text-align:right{{unbroken}}'><b>{{value}}</b></td>"
    f"<td style='{CELL};color:{QUIET}'>{{spread}}</td></tr>"
)


def value_text(solution: Solution, quantity: Quantity) -> str:
    """Return a value with its unit, or what is missing for it."""
    if quantity in solution.values:
        return solution.text(quantity)
    return solution.why_missing(quantity) if quantity in solution.missing else "not given"


def spreads_in_words(build: Build, quantities: Sequence[Quantity]) -> dict[Quantity, str]:
    """Return from where to where each quantity goes with the spread of the build's inputs, in words."""
    known = [q for q in quantities if q in build.solution.values]
    found = spreads(build.network, known, build.values, build.ends, build.choices)
    return {q: words for q, around in found.items() if (words := spread_in_words(q, around))}


def results_html(build: Build, quantities: Sequence[Quantity], around: Mapping[Quantity, str] | None = None) -> Markup:
    """Return the values of some quantities as an HTML table, dangers above it, below it the conditions that fail.

    ``around`` are their spreads in words, when they are known already.
    """
    solution = build.solution
    behind = build.network.chain(quantities, solution.given, build.choices)
    rows = Markup().join(
        _ROW.format(
            meaning=q.meaning,
            symbol=q.plain_notation,
            unbroken=";white-space:nowrap" if q in solution.values else "",
            value=value_text(solution, q),
            spread=(around or {}).get(q, ""),
        )
        for q in quantities
    )
    note = Markup("<p style='margin:2px 0;color:{}'>{}</p>").format(QUIET, SPREAD_NOTE) if around else Markup()
    table = Markup("<table style='border-collapse:collapse;line-height:1.35'>{}</table>").format(rows)
    return hazards_html(solution, behind) + table + note + warnings_html(solution, behind)


def warnings_html(solution: Solution, nodes: Collection[Node] | None = None) -> Markup:
    """Return the conditions that fail (of some nodes) and are no dangers, as an HTML list; empty without any."""
    return conditions_html(broken(solution, nodes), solution.values)


def results_markdown(
    solution: Solution, quantities: Sequence[Quantity], around: Mapping[Quantity, str] | None = None
) -> str:
    """Return the values of some quantities, and their spreads in words where given, as a Markdown table."""
    head, line = ("| what | symbol | value |", "|---|---|---|")
    if not around:
        rows = [f"| {q.meaning} | ${q.latex_notation}$ | {value_text(solution, q)} |" for q in quantities]
        return "\n".join([head, line, *rows])
    rows = [
        f"| {q.meaning} | ${q.latex_notation}$ | {value_text(solution, q)} | {around.get(q, '')} |" for q in quantities
    ]
    return "\n".join([f"{head} spread |", f"{line}---|", *rows, "", SPREAD_NOTE])


def margins_markdown(margins: Sequence[Margin], solutions: Mapping[str, Solution]) -> str:
    """Return the margins of one or more named builds as a Markdown table, judged at their values alone."""
    lines = [f"| margin | rule | {' | '.join(solutions)} |", "|---|---|" + "---|" * len(solutions)]
    for margin in margins:
        cells = []
        for solution in solutions.values():
            value = solution.get(margin.quantity)
            verdict = margin.verdict(value)
            if value is None or verdict is Verdict.UNKNOWN:
                cells.append(f"{verdict}: {value_text(solution, margin.quantity)}")
            else:
                cells.append(f"{margin.text(value)}: {verdict}")
        lines.append(f"| {margin.name_in_words} | {margin.rule()} | {' | '.join(cells)} |")
    return "\n".join([*lines, "", _AT_VALUES])
