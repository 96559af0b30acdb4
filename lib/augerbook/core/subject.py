"""A subject: what one chapter declares. Its methods declare and register in one step, so nothing is listed twice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import sympy as sp
from sympy.logic.boolalg import Boolean

from augerbook.core.margin import Margin
from augerbook.core.quantity import Choice, Quantity, Series
from augerbook.core.relation import Model, Node, Relation, Select
from augerbook.core.sources import Source


@dataclass(frozen=True)
class Circle:
    """An input that is assumed, and the result that finds what it should be."""

    assumed: Quantity
    found: Quantity


def _pair(assumed: Quantity, found: Quantity) -> Circle:
    if assumed.low is None or assumed.unit != found.unit:
        raise ValueError(f"{assumed.key} and {found.key} cannot stand for each other")
    return Circle(assumed, found)


class Subject:
    """The results, relations, models and margins of one chapter; its inputs belong to parts.

    Attributes:
        name: short name, the same as of the module, the notebook and the test file.
        number: the chapter's place in the handbook.
        title, question: for the contents page.
        plans: whether its margins judge a plan, as that of a trial, and not what is planned.
    """

    def __init__(self, name: str, *, number: int, title: str, question: str, plans: bool = False) -> None:
        self.name, self.number, self.title, self.question, self.plans = name, number, title, question, plans
        self.quantities: list[Quantity] = []
        self.nodes: list[Node] = []
        self.margins: list[Margin] = []
        self.circles: list[Circle] = []
        self.findings: list[Circle] = []

    def __repr__(self) -> str:
        return f"<subject {self.name}>"

    def result(
        self,
        key: str,
        notation: str,
        unit: str,
        meaning: str,
        *,
        digits: int = 3,
        positive: bool = False,
        nonnegative: bool = False,
        title: str = "",
    ) -> Quantity:
        """Declare a computed quantity.

        ``title`` is what it is called where its key would not tell, as in copies and margins.

        ``positive`` only where nothing can make it zero or negative, ``nonnegative`` only where nothing can make it
        negative: SymPy and spreads count on it.
        """
        quantity = Quantity(
            key, notation, unit, meaning, digits=digits, owner=self.name, positive=positive, nonnegative=nonnegative,
            title=title,
        )  # fmt: skip
        self.quantities.append(quantity)
        return quantity

    def relation(
        self,
        short_id: str,
        lhs: Quantity,
        rhs: sp.Expr,
        meaning: str,
        *,
        source: Source,
        assumptions: Sequence[str] = (),
        valid: Sequence[tuple[Boolean, str]] = (),
        hazards: Sequence[tuple[Boolean, str]] = (),
    ) -> Relation:
        """Declare ``lhs = rhs`` under the id ``<subject>.<short_id>``.

        ``hazards`` are conditions like ``valid`` that can hurt people when they fail.
        """
        relation = Relation(
            f"{self.name}.{short_id}", lhs, rhs, meaning,
            source=source, assumptions=assumptions, valid=valid, hazards=hazards,
        )  # fmt: skip
        self.nodes.append(relation)
        return relation

    def equals(
        self,
        key: str,
        notation: str,
        unit: str,
        meaning: str,
        rhs: sp.Expr,
        words: str,
        *,
        source: Source,
        short_id: str = "",
        digits: int = 3,
        positive: bool = False,
        nonnegative: bool = False,
        title: str = "",
        assumptions: Sequence[str] = (),
        valid: Sequence[tuple[Boolean, str]] = (),
        hazards: Sequence[tuple[Boolean, str]] = (),
    ) -> Quantity:
        """Declare a result and the relation that gives it, in one go; return the result.

        ``meaning`` says what the quantity is, ``words`` what the relation says. The id is ``<subject>.<key>`` unless
        ``short_id`` says otherwise: an id never changes. All else as for `result` and `relation`.
        """
        quantity = self.result(
            key, notation, unit, meaning, digits=digits, positive=positive, nonnegative=nonnegative, title=title
        )  # fmt: skip
        self.relation(
            short_id or key, quantity, rhs, words,
            source=source, assumptions=assumptions, valid=valid, hazards=hazards,
        )  # fmt: skip
        return quantity

    def model(
        self,
        short_id: str,
        inputs: Sequence[Quantity | Series],
        outputs: Sequence[Quantity],
        function: Callable[..., Any],
        meaning: str,
        *,
        source: Source,
        assumptions: Sequence[str] = (),
        valid: Sequence[tuple[Boolean, str]] = (),
        hazards: Sequence[tuple[Boolean, str]] = (),
    ) -> Model:
        """Declare a numerical model under the id ``<subject>.<short_id>``.

        ``function`` gets SI floats or arrays in the order of ``inputs``, a tuple of arrays for a series, and
        returns one result or a tuple of them in the order of ``outputs``.
        """
        model = Model(
            f"{self.name}.{short_id}", inputs, outputs, function, meaning,
            source=source, assumptions=assumptions, valid=valid, hazards=hazards,
        )  # fmt: skip
        self.nodes.append(model)
        return model

    def select(
        self, short_id: str, output: Quantity, choice: Choice, branches: dict[str, Quantity], meaning: str
    ) -> Select:
        """Declare that ``output`` is one of several quantities, by ``choice``."""
        select = Select(f"{self.name}.{short_id}", output, choice, branches, meaning)
        self.nodes.append(select)
        return select

    def circle(self, assumed: Quantity, found: Quantity) -> Circle:
        """Declare that an input is assumed for what this subject then finds.

        Raises:
            ValueError: what is assumed is no input, or the two have different units.
        """
        circle = _pair(assumed, found)
        self.circles.append(circle)
        return circle

    def finds(self, given: Quantity, found: Quantity) -> Circle:
        """Declare that this subject finds what a build may give by hand, where the build has what that takes.

        Nothing goes round here: a build without it keeps what it gives, and one with it may take it over.

        Raises:
            ValueError: what is given is no input, or the two have different units.
        """
        pair = _pair(given, found)
        self.findings.append(pair)
        return pair

    def margin(
        self,
        short_id: str,
        quantity: Quantity,
        *,
        good: float,
        limit: float,
        why: str,
        advice: str,
        source: Source,
        title: str = "",
    ) -> Margin:
        """Declare a margin; ``good`` and ``limit`` in the quantity's shown unit, their order gives the direction."""
        margin = Margin(f"{self.name}.{short_id}", quantity, good, limit, why, advice, source, title)
        self.margins.append(margin)
        return margin
