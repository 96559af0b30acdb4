"""Worked examples: a relation at a build, step by step, in forms that can be displayed, posted and cited."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import sympy as sp
from sympy.printing.str import StrPrinter

from augerbook.core.network import Choices, Network, Solution, Values
from augerbook.core.quantity import Quantity, Series
from augerbook.core.relation import Node, Relation, Select
from augerbook.core.sources import Source
from augerbook.core.spread import elasticities, spread


class _PlainPrinter(StrPrinter):
    """Formulas as one line of text; `Quantity` asks for ``quantity_names``."""

    def __init__(self, names: Mapping[sp.Basic, str]) -> None:
        super().__init__({"order": "none"})
        self.quantity_names = names


def plain_formula(expression: sp.Basic, names: Mapping[Quantity, str] | None = None) -> str:
    """Return ``expression`` on one line, with each quantity's symbol or the text given in ``names``."""
    symbols = {q: q.plain_notation for q in expression.free_symbols if isinstance(q, Quantity)}
    text = _PlainPrinter({**symbols, **(names or {})}).doprint(expression)
    return str(text).replace("**", "^").replace("*", "·").replace("pi", "π")


@dataclass(frozen=True)
class Step:
    """One node of a worked example, already in words and symbols."""

    id: str
    meaning: str
    formula: str
    substituted: str
    result: str
    latex_formula: str
    latex_substituted: str


@dataclass(frozen=True)
class WorkedExample:
    """A result at a build, ready to be read, posted and checked.

    Attributes:
        id: the relation's stable id and a fingerprint of the build: ``"thrust.with_friction:1a2b3c4d"``.
        given: symbol, value and meaning of each value that goes in.
        depends: in one line, what moves the result most.
        build_block: the build as TOML, to be pasted on the start page.
    """

    id: str
    version: str
    title: str
    build_name: str
    given: tuple[tuple[str, str, str, str], ...]
    steps: tuple[Step, ...]
    result: str
    depends: str
    sources: tuple[str, ...]
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]
    build_block: str

    def _lines(self, bold: Callable[[str], str], code: Callable[[str], str], block: Callable[[str], str]) -> str:
        lines = [bold(f"{self.title}: {self.result}"), f"Build: {self.build_name}", "", bold("Given")]
        lines += [f"- {code(f'{symbol} = {value}')} {meaning}" for symbol, _, value, meaning in self.given]
        for step in self.steps:
            lines += ["", bold(step.meaning) + f" ({step.id})"]
            lines += [f"- {code(part)}" for part in (step.formula, step.substituted, step.result) if part]
        lines += ["", self.depends] if self.depends else [""]
        lines += [f"Assumes: {'; '.join(self.assumptions)}."] if self.assumptions else []
        lines += [f"Source: {'; '.join(self.sources)}."] if self.sources else []
        lines += [f"Warning: {warning}." for warning in self.warnings]
        lines += [
            "",
            f"Example {self.id}, augerbook {self.version}.",
            "The build, to paste on the start page:",
        ]
        return "\n".join(lines) + "\n" + block(self.build_block)

    def markdown(self) -> str:
        """The example for a forum that takes Markdown."""
        return self._lines(lambda t: f"**{t}**", lambda t: f"`{t}`", lambda t: f"\n```toml\n{t}```\n")

    def bbcode(self) -> str:
        """The example for a forum that takes BBCode."""
        return self._lines(lambda t: f"[b]{t}[/b]", lambda t: t, lambda t: f"[code]\n{t}[/code]\n")

    def text(self) -> str:
        """The example as plain text."""
        return self._lines(lambda t: t, lambda t: t, lambda t: f"\n{t}")

    def _repr_markdown_(self) -> str:
        lines = [f"**{self.title}: {self.result}**", "", f"Build: {self.build_name}", ""]
        lines += ["| symbol | value | |", "|---|---|---|"]
        lines += [f"| ${latex}$ | {value} | {meaning} |" for _, latex, value, meaning in self.given]
        for step in self.steps:
            lines += ["", f"*{step.meaning}* (`{step.id}`)", ""]
            lines += [f"$${part}$$" for part in (step.latex_formula, step.latex_substituted) if part]
        if self.depends:
            lines += ["", self.depends]
        if self.assumptions:
            lines += ["", "Assumes: " + "; ".join(self.assumptions) + "."]
        if self.sources:
            lines += ["", "Source: " + "; ".join(self.sources) + "."]
        lines += [line for warning in self.warnings for line in ("", f"**Warning:** {warning}.")]
        lines += ["", f"Example `{self.id}`, augerbook {self.version}."]
        return "\n".join(lines)

    def __repr__(self) -> str:
        return self.text()


def fingerprint(build_block: str) -> str:
    """Return the short fingerprint of a build block that makes an example's id unique."""
    return hashlib.sha256(build_block.encode()).hexdigest()[:8]


def work_out(
    network: Network,
    quantity: Quantity,
    values: Values,
    choices: Choices | None = None,
    *,
    ends: Mapping[Quantity, tuple[float, float]] | None = None,
    version: str,
    build_name: str,
    build_block: str,
    whole_chain: bool = False,
    cite: Callable[[Source], str] = str,
) -> WorkedExample:
    """Work out ``quantity`` at a build.

    Args:
        whole_chain: show every step from the given values on, not only the last relation.
        ends: input spreads in SI, for the range of the result.

    Raises:
        ValueError: the quantity is an input, or inputs are missing (named in the message).
    """
    chosen = dict(choices or {})
    solution = network.solve(values, chosen)
    if quantity not in solution.values:
        raise ValueError(f"{quantity.name_in_words} {solution.why_missing(quantity)}")
    if quantity in solution.given:
        raise ValueError(f"{quantity.name_in_words} is given in this build: there is nothing to work out")
    nodes = network.chain([quantity], solution.given, chosen) if whole_chain else _last(network, quantity, chosen)
    computed = {q for node in nodes for q in node.outputs}
    inputs = dict.fromkeys(q for node in nodes for q in node.needs(chosen) if q not in computed)
    result = quantity.text(solution[quantity])
    if ends:
        around = spread(network, quantity, values, dict(ends), chosen)
        if around.low < around.high:
            result += (
                f" (from {quantity.text(around.low)} to {quantity.text(around.high)} with the spread of the inputs)"
            )
    movers = elasticities(network, [quantity], values, chosen).get(quantity, [])[:3]
    depends = "; ".join(f"{q.name_in_words} +1 % gives {slope:+.2g} %" for q, slope in movers)
    last = network.producer[quantity]
    return WorkedExample(
        id=f"{last.id}:{fingerprint(build_block)}",
        version=version,
        title=quantity.name_in_words.capitalize(),
        build_name=build_name,
        given=tuple(_given(item, solution) for item in sorted(inputs, key=lambda item: _symbols(item)[0].lower())),
        steps=tuple(_step(node, solution, chosen) for node in nodes),
        result=result,
        depends=f"Depends most on: {depends}." if depends else "",
        sources=tuple(dict.fromkeys(cite(node.source) for node in nodes)),
        assumptions=tuple(dict.fromkeys(a for node in nodes for a in node.assumptions)),
        warnings=tuple(str(w) for w in solution.warnings if w.node in nodes),
        build_block=build_block,
    )


def _symbols(item: Quantity | Series) -> tuple[str, str]:
    if isinstance(item, Series):
        return item.name_in_words, rf"\text{{{item.name_in_words}}}"
    return item.plain_notation, item.latex_notation


def _given(item: Quantity | Series, solution: Solution) -> tuple[str, str, str, str]:
    """Return symbol, LaTeX symbol, value and meaning of what goes in."""
    if isinstance(item, Series):
        return (*_symbols(item), f"{len(solution.values[item][0])} rows", item.meaning)
    return (*_symbols(item), item.text(solution[item]), item.meaning)


def _last(network: Network, quantity: Quantity, chosen: Choices) -> tuple[Node, ...]:
    """Return the last relation, with the choice that leads to it when there is one."""
    node = network.producer[quantity]
    if isinstance(node, Select):
        before = network.producer.get(node.needs(dict(chosen))[0])
        return (before, node) if before is not None else (node,)
    return (node,)


def _step(node: Node, solution: Solution, chosen: Choices) -> Step:
    output = node.outputs[0]
    result = "; ".join(f"{q.plain_notation} = {q.text(solution[q])}" for q in node.outputs)
    if isinstance(node, Relation):
        values = {q: f"({q.text(solution[q])})" for q in node.inputs}
        latex_values = {q: rf"\left({q.latex_value(solution[q])}\right)" for q in node.inputs}
        latex_result = output.latex_value(solution[output])
        return Step(
            node.id,
            node.meaning,
            f"{output.plain_notation} = {plain_formula(node.rhs)}",
            f"{output.plain_notation} = {plain_formula(node.rhs, values)}",
            result,
            node.latex(),
            rf"{output.latex_notation} = {sp.latex(node.rhs, symbol_names=latex_values)} = {latex_result}",
        )
    if isinstance(node, Select):
        kind = chosen[node.choice]
        formula = (
            f"{output.plain_notation} = {node.branches[kind].plain_notation}, as {node.choice.name_in_words} is {kind}"
        )
        latex = (
            rf"{output.latex_notation} = {node.branches[kind].latex_notation} = {output.latex_value(solution[output])}"
        )
        return Step(node.id, node.meaning, formula, "", result, latex, "")
    latex = r",\; ".join(rf"{q.latex_notation} = {q.latex_value(solution[q])}" for q in node.outputs)
    return Step(node.id, node.meaning, "solved numerically", "", result, latex, "")
