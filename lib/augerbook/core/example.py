"""Worked examples: a relation at a build, step by step, in forms that can be displayed, posted and cited."""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass

from augerbook.core.formulas import latex_formula, plain_formula
from augerbook.core.markup import for_markdown, for_plain
from augerbook.core.network import Choices, Network, Solution, Values
from augerbook.core.quantity import Quantity, Series, latex_notation, plain_notation
from augerbook.core.relation import Node, Relation, Select
from augerbook.core.sources import Source
from augerbook.core.spread import (
    OneStep,
    effects,
    effects_in_words,
    sharers_in_words,
    small_steps,
    spread,
    spread_in_words,
)
from augerbook.core.units import latex_unit, number


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
        id: the relation's stable id and a fingerprint of the values and choices that the result follows from:
            ``"thrust.with_friction:1a2b3c4d"``. What else a build holds does not change it.
        given: symbol, value and meaning of each value that goes in.
        depends: in one line, what moves the result most.
        rests: in one line, what of it nobody measured; empty where all is given.
        build_name: as it was typed; every form makes it inert.
        build_block: the build as TOML, to be pasted on the start page.
        build_line: on one line what the last step alone takes, to be pasted in the same way.
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
    build_line: str = ""
    rests: str = ""

    def _paragraphs(
        self, bold: Callable[[str], str], code: Callable[[str], str], typed: Callable[[str], str]
    ) -> list[str]:
        """Return the example up to its build: a blank line between paragraphs is what every forum keeps."""
        goes_in = "\n".join(f"- {code(f'{symbol} = {value}')}: {meaning}" for symbol, _, value, meaning in self.given)
        paragraphs = [
            bold(f"{self.title}: {self.result}"),
            f"Build: {typed(self.build_name)}",
            bold("What goes in"),
            goes_in,
        ]
        for step in self.steps:
            lines = (step.formula, step.substituted, step.result)
            paragraphs += [f"{bold(step.meaning)} ({code(step.id)})"]
            paragraphs += ["\n".join(f"- {code(line)}" for line in lines if line)]
        paragraphs += self._remarks(bold)
        paragraphs += [f"Example {code(self.id)}, augerbook {self.version}. The build, to paste on the start page:"]
        return [paragraph for paragraph in paragraphs if paragraph]

    def _remarks(self, bold: Callable[[str], str]) -> list[str]:
        remarks = [f"{bold('Warning:')} {warning}." for warning in self.warnings]
        remarks += [f"{self.rests}."] if self.rests else []
        remarks += [self.depends] if self.depends else []
        remarks += [f"Assumes: {'; '.join(self.assumptions)}."] if self.assumptions else []
        remarks += [f"Source: {'; '.join(self.sources)}."] if self.sources else []
        return remarks

    def markdown(self) -> str:
        """The example for a forum that takes Markdown."""
        paragraphs = self._paragraphs(lambda t: f"**{t}**", lambda t: f"`{t}`", for_markdown)
        return "\n\n".join([*paragraphs, f"```toml\n{self.build_block}```\n"])

    def bbcode(self) -> str:
        """The example for a forum that takes BBCode."""
        paragraphs = self._paragraphs(lambda t: f"[b]{t}[/b]", lambda t: t, for_plain)
        return "\n\n".join([*paragraphs, f"[code]\n{self.build_block}[/code]\n"])

    def text(self) -> str:
        """The example as plain text."""
        return "\n\n".join([*self._paragraphs(lambda t: t, lambda t: t, for_plain), self.build_block])

    def short(self, form: str = "text") -> str:
        """The example in five lines: result, formula, id, build, and the values that the last step takes.

        Args:
            form: ``"markdown"``, ``"bbcode"`` or ``"text"``.
        """
        before, after = {"markdown": ("**", "**"), "bbcode": ("[b]", "[/b]"), "text": ("", "")}[form]
        # In BBCode code is a block of its own: there it is for the values to paste alone.
        code = "`" if form == "markdown" else ""
        open_block, close_block = ("[code]", "[/code]") if form == "bbcode" else (code, code)
        name = for_markdown(self.build_name) if form == "markdown" else for_plain(self.build_name)
        last = self.steps[-1]
        lines = [
            f"{before}{self.title}: {self.result}{after}",
            f"{last.meaning}: {code}{last.formula}{code}",
            f"Example {code}{self.id}{code}, augerbook {self.version}",
            f"Build: {name}",
            f"From, to paste on the start page: {open_block}{self.build_line}{close_block}",
            *(f"{before}Warning:{after} {warning}." for warning in self.warnings),
        ]
        # Two spaces at an end keep the line where a forum would join it to the next.
        return ("  \n" if form == "markdown" else "\n").join(lines) + "\n"

    def _repr_markdown_(self) -> str:
        lines = [f"**{self.title}: {self.result}**", "", f"Build: {for_markdown(self.build_name)}", ""]
        lines += ["| what goes in | value | meaning |", "|---|---|---|"]
        lines += [f"| ${latex}$ | {value} | {meaning} |" for _, latex, value, meaning in self.given]
        for step in self.steps:
            lines += ["", f"*{step.meaning}* (`{step.id}`)", ""]
            lines += [f"$${part}$$" for part in (step.latex_formula, step.latex_substituted) if part]
        lines += [line for remark in self._remarks(lambda t: f"**{t}**") for line in ("", remark)]
        lines += ["", f"Example `{self.id}`, augerbook {self.version}."]
        return "\n".join(lines)

    def __repr__(self) -> str:
        # A notebook stores this beside the formulas. The build is in what gets copied.
        end = f"Example {self.id}, augerbook {self.version}."
        return "\n\n".join([*self._paragraphs(lambda t: t, lambda t: t, for_plain)[:-1], end])


def fingerprint(text: str) -> str:
    """Return the short fingerprint of a text that makes an example's id unique."""
    return hashlib.sha256(text.encode()).hexdigest()[:8]


def what_it_follows_from(
    result: Quantity, chain: Sequence[Node], solution: Solution, ends: Mapping[Quantity, tuple[float, float]]
) -> str:
    """Return, line by line, the result and the given values, spreads and choices that its chain uses.

    Nine digits: what a build file tells apart, and less than processors differ by.
    """
    used = {item for node in chain for item in node.needs(solution.choices) if item in solution.given}
    lines = [f"{node.choice.key} = {solution.choices.get(node.choice, '')}" for node in chain if node.choice]
    for item in used:
        if isinstance(item, Series):
            columns = zip(item.columns, solution.values[item], strict=True)
            lines += [
                f"{item.key}.{q.key} = {[f'{number:.9g}' for number in q.shown(column)]}" for q, column in columns
            ]
        else:
            numbers = (solution[item], *ends.get(item, ()))
            lines.append(f"{item.key} = {[f'{float(item.shown(number)):.9g}' for number in numbers]} {item.unit}")
    return "\n".join([result.key, *sorted(set(lines))])


def work_out(
    network: Network,
    quantity: Quantity,
    values: Values,
    choices: Choices | None = None,
    *,
    ends: Mapping[Quantity, tuple[float, float]] | None = None,
    steps: Sequence[OneStep] | None = None,
    version: str,
    build_name: str,
    build_block: str,
    build_line: str = "",
    whole_chain: bool = False,
    cite: Callable[[Source], str] = str,
    estimated: Set[Quantity] = frozenset(),
    rests: str = "",
) -> WorkedExample:
    """Work out ``quantity`` at a build.

    Args:
        whole_chain: show every step from the given values on, not only the last relation.
        ends: input spreads in SI, for the range of the result.
        steps: the steps that a builder can take; what moves the result is told of these alone.
        estimated: the given values that nobody measured, which are marked.
        rests: in one line, what of the whole result rests on estimates.

    Raises:
        ValueError: the quantity is an input, or inputs are missing (named in the message).
    """
    chosen = dict(choices or {})
    solution = network.solve(values, chosen)
    if quantity not in solution.values:
        raise ValueError(f"{quantity.name_in_words} {solution.why_missing(quantity)}")
    if quantity in solution.given:
        raise ValueError(f"{quantity.name_in_words} is given in this build: there is nothing to work out")
    chain = network.chain([quantity], solution.given, chosen)
    nodes = chain if whole_chain else last_steps(network, quantity, solution, chosen)
    items = [q for node in nodes for q in (*node.needs(chosen), *node.outputs)]
    # A margin says 1.005 where the limit is 1: an example of it that said 1.00 would seem to contradict it.
    judged = [m.digits(solution[quantity]) for m in network.margins.values() if m.quantity == quantity]
    figures = _Figures(quantity, solution, items, max(judged, default=quantity.digits))
    computed = {q for node in nodes for q in node.outputs}
    inputs = dict.fromkeys(q for node in nodes for q in node.needs(chosen) if q not in computed)
    result = figures.text(quantity)
    opening = "Depends" if steps is None else "Of what can be changed it depends"
    if steps is None:
        steps = [step for q, si in values.items() if isinstance(q, Quantity) for step in small_steps(q, si)]
    moved = effects_in_words(quantity, effects(network, [quantity], values, steps, chosen).get(quantity, []))
    depends = [f"{opening} most on {moved}."] if moved else []
    if ends:
        around = spread(network, quantity, values, dict(ends), chosen)
        if words := spread_in_words(quantity, around):
            result += f" (with the spread of the inputs {words})"
            if sharers := sharers_in_words(around):
                depends.append(f"Its spread comes most from {sharers}.")
    last = network.producer[quantity]
    return WorkedExample(
        id=f"{last.id}:{fingerprint(what_it_follows_from(quantity, chain, solution, ends or {}))}",
        version=version,
        title=quantity.name_in_words[0].upper() + quantity.name_in_words[1:],
        build_name=build_name,
        given=tuple(
            _given(q, network, figures, estimated) for q in sorted(inputs, key=lambda q: figures.symbols(q)[0].lower())
        ),
        steps=tuple(_step(node, figures, chosen) for node in nodes),
        result=result,
        depends=" ".join(depends),
        sources=tuple(dict.fromkeys(cite(node.source) for node in nodes)),
        assumptions=tuple(dict.fromkeys(a for node in nodes for a in node.assumptions)),
        # A condition that fails further up spoils the result as well, whether or not its step is shown.
        warnings=tuple(str(w) for w in solution.warnings if w.node in chain),
        build_block=build_block,
        build_line=build_line,
        rests=rests,
    )


class _Figures:
    """The values of an example as text, with digits enough for a reader who computes along.

    What is given stands as it was given; what is computed on the way has one digit more than the result. Where two
    quantities of different chapters have one symbol, the chapter's name tells them apart.
    """

    def __init__(self, result: Quantity, solution: Solution, items: Iterable[Quantity | Series], digits: int) -> None:
        self.result, self.solution, self._digits = result, solution, digits
        quantities = {q for q in items if isinstance(q, Quantity)}
        count = Counter(q.plain_notation for q in quantities)
        self.plain, self.in_latex = {}, {}
        for q in quantities:
            owned = f"{q.notation}_{q.owner}" if count[q.plain_notation] > 1 else q.notation
            self.plain[q], self.in_latex[q] = plain_notation(owned), latex_notation(owned)

    def symbols(self, item: Quantity | Series) -> tuple[str, str]:
        """Symbol of a quantity or name of a series, as text and in LaTeX."""
        if isinstance(item, Series):
            return item.name_in_words, rf"\text{{{item.name_in_words}}}"
        return self.plain[item], self.in_latex[item]

    def digits(self, quantity: Quantity) -> int:
        if quantity == self.result:
            return self._digits
        if quantity not in self.solution.given:
            return quantity.digits + 1
        shown = self.solution.shown(quantity)
        enough = range(quantity.digits, quantity.digits + 4)
        return next((n for n in enough if math.isclose(float(f"{shown:.{n}g}"), shown, rel_tol=1e-9)), enough[-1])

    def text(self, quantity: Quantity) -> str:
        return quantity.text(self.solution[quantity], digits=self.digits(quantity))

    def latex(self, quantity: Quantity) -> str:
        return quantity.latex_value(self.solution[quantity], digits=self.digits(quantity))

    def in_formula(self, quantity: Quantity) -> tuple[str, str]:
        """Text and LaTeX of a value inside a formula, where temperatures are absolute."""
        if quantity.unit != "degC":
            return self.text(quantity), self.latex(quantity)
        kelvin = number(self.solution[quantity], max(self.digits(quantity), 4))
        return f"{kelvin} K", kelvin + latex_unit("K")


def _given(
    item: Quantity | Series, network: Network, figures: _Figures, estimated: Set[Quantity]
) -> tuple[str, str, str, str]:
    """Return symbol, LaTeX symbol, value and meaning of what goes in; of what was computed also by which relation."""
    if isinstance(item, Series):
        return (*figures.symbols(item), f"{len(figures.solution.values[item][0])} rows", item.meaning)
    by = " (estimated)" if item in estimated else ""
    by = by if item in figures.solution.given else f" (from {network.producer[item].id})"
    return (*figures.symbols(item), figures.text(item), item.meaning + by)


def last_steps(network: Network, quantity: Quantity, solution: Solution, chosen: Choices) -> tuple[Node, ...]:
    """Return the relation that gives a result, and before it the one whose result it passes on when it only chooses."""
    node = network.producer[quantity]
    branch = node.needs(chosen)[0] if isinstance(node, Select) else None
    if branch is None or branch in solution.given:
        return (node,)
    return (network.producer[branch], node)


#: Results of a model that fit on one line of a page.
_ON_A_LINE = 6


def _step(node: Node, figures: _Figures, chosen: Choices) -> Step:
    plain, latex = figures.symbols(node.outputs[0])
    result = "; ".join(f"{figures.symbols(q)[0]} = {figures.text(q)}" for q in node.outputs)
    if isinstance(node, Relation):
        values = {q: figures.in_formula(q) for q in node.inputs}
        in_plain = plain_formula(node.rhs, {q: text for q, (text, _) in values.items()})
        in_latex = latex_formula(node.rhs, {q: text for q, (_, text) in values.items()})
        return Step(
            node.id,
            node.meaning,
            f"{plain} = {plain_formula(node.rhs, figures.plain)}",
            f"{plain} = {in_plain}" if values else "",
            result,
            f"{latex} = {latex_formula(node.rhs, figures.in_latex)}",
            f"{latex} = {in_latex} = {figures.latex(node.outputs[0])}" if values else "",
        )
    if isinstance(node, Select):
        branch, branch_latex = figures.symbols(node.branches[chosen[node.choice]])
        kind = f", as {node.choice.name_in_words} is {chosen[node.choice]}"
        shown = f"{latex} = {branch_latex} = {figures.latex(node.outputs[0])}"
        return Step(node.id, node.meaning, f"{plain} = {branch}{kind}", "", result, shown, "")
    equations = [rf"{figures.symbols(q)[1]} = {figures.latex(q)}" for q in node.outputs]
    shown = r",\; ".join(equations)
    if len(equations) > _ON_A_LINE:  # more would run out of the page
        half = (len(equations) + 1) // 2
        rows = (r",\; ".join(equations[:half]) + ",", r",\; ".join(equations[half:]))
        shown = rf"\begin{{gathered}} {rows[0]} \\ {rows[1]} \end{{gathered}}"
    return Step(node.id, node.meaning, "solved numerically", "", result, shown, "")
