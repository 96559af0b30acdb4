"""Relations (one SymPy equation each) and numerical models, which share one face towards the network."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import sympy as sp
from sympy.logic.boolalg import Boolean

from augerbook.core.compiled import compiled
from augerbook.core.dimensions import DimensionError, check_condition, dimension_of
from augerbook.core.formulas import latex_formula
from augerbook.core.quantity import Choice, Quantity, Series
from augerbook.core.sources import Source
from augerbook.core.units import UnitError, dimensionality, to_si, ureg

#: Nodes of its tree from which on a formula is searched for what repeats in it.
_LONG = 60


def quantities_in(expression: sp.Basic) -> tuple[Quantity, ...]:
    """Return the quantities in ``expression``, ordered by key."""
    return tuple(sorted((s for s in expression.free_symbols if isinstance(s, Quantity)), key=lambda q: q.key))


@dataclass(frozen=True)
class Validity:
    """A condition under which a relation holds, as data.

    ``condition`` is a SymPy condition between quantities; ``otherwise`` says what it means when it fails. A ``hazard``
    can hurt people: its words say what is wrong, then after a colon what to do.
    """

    condition: Boolean
    otherwise: str
    hazard: bool = False

    @cached_property
    def quantities(self) -> tuple[Quantity, ...]:
        """The quantities it compares."""
        return quantities_in(self.condition)

    @cached_property
    def _compiled(self) -> Callable[..., Any]:
        return compiled(self.quantities, self.condition)

    def holds(self, values: Mapping[Any, Any]) -> Any:
        """Return True (or an array of it) where the condition holds, None where a value is missing."""
        if any(q not in values for q in self.quantities):
            return None
        return self._compiled(*(values[q] for q in self.quantities))


def validities(valid: Sequence[tuple[Boolean, str]], hazards: Sequence[tuple[Boolean, str]]) -> tuple[Validity, ...]:
    """Return conditions with their words as data, the dangers first."""
    dangers = (Validity(condition, words, hazard=True) for condition, words in hazards)
    return (*dangers, *(Validity(condition, words) for condition, words in valid))


class Node:
    """What the network joins: inputs, outputs and an array function between them.

    Attributes:
        id: stable identifier such as ``"thrust.with_friction"``; it never gets another meaning.
        inputs, outputs: quantities, in the order of the arguments and results of ``array``.
        choice: by which kind the inputs needed are decided; None where all are always needed.
    """

    id: str
    meaning: str
    inputs: tuple[Quantity | Series, ...]
    outputs: tuple[Quantity, ...]
    choice: Choice | None = None
    assumptions: tuple[str, ...]
    valid: tuple[Validity, ...]
    source: Source

    def array(self, *values: Any) -> tuple[Any, ...]:
        """Compute the outputs from SI floats or arrays given in the order of ``inputs``."""
        raise NotImplementedError

    def needs(self, choices: Mapping[Choice, str]) -> tuple[Quantity | Series, ...]:
        """Return the inputs needed under the given choices."""
        return self.inputs

    def __repr__(self) -> str:
        return f"<{self.id}>"


class Relation(Node):
    """One equation ``lhs = rhs`` between quantities; everything else is generated from it."""

    inputs: tuple[Quantity, ...]

    def __init__(
        self,
        node_id: str,
        lhs: Quantity,
        rhs: sp.Expr,
        meaning: str,
        *,
        source: Source,
        assumptions: Sequence[str] = (),
        valid: Sequence[tuple[Boolean, str]] = (),
        hazards: Sequence[tuple[Boolean, str]] = (),
    ) -> None:
        self.id, self.meaning, self.source = node_id, meaning, source
        self.lhs, self.rhs = lhs, sp.sympify(rhs)
        self.inputs, self.outputs = quantities_in(self.rhs), (lhs,)
        self.assumptions = tuple(assumptions)
        self.valid = validities(valid, hazards)

    @cached_property
    def equation(self) -> sp.Eq:
        """The equation itself."""
        return sp.Eq(self.lhs, self.rhs, evaluate=False)

    @cached_property
    def _compiled(self) -> Callable[..., Any]:
        # Looking for what repeats takes longer than all else; in short formulas little does.
        repeats = sum(1 for _ in sp.preorder_traversal(self.rhs)) > _LONG
        return compiled(self.inputs, self.rhs, cse=repeats)

    def array(self, *values: Any) -> tuple[Any, ...]:
        """Compute the left side from SI floats or arrays in the order of ``inputs``; NaN outside its domain."""
        return (self._compiled(*values),)

    def si(self, **values: Any) -> Any:
        """Compute the left side from SI floats or arrays given by key."""
        return self._compiled(*(values[q.key] for q in self.inputs))

    def __call__(self, **values: Any) -> Any:
        """Compute the left side: pint quantities by key in, a pint quantity in the shown unit out.

        Raises:
            TypeError: a value is missing or too many.
            UnitError: a value measures something else; a plain number is taken for no angle.
        """
        missing = [q.key for q in self.inputs if q.key not in values]
        extra = sorted(set(values) - {q.key for q in self.inputs})
        if missing or extra:
            raise TypeError(f"{self.id} takes {[q.key for q in self.inputs]}: missing {missing}, unknown {extra}")
        floats = [_si(q, ureg.Quantity(values[q.key])) for q in self.inputs]
        return ureg.Quantity(self.lhs.shown(self._compiled(*floats)), self.lhs.unit)

    def check_dimensions(self) -> None:
        """Check both sides and all validity conditions.

        Raises:
            DimensionError: they do not fit.
        """
        if self.rhs != 0 and dimension_of(self.rhs) != dimensionality(self.lhs.unit):
            raise DimensionError(f"{self.id}: the right side is not in {self.lhs.unit}")
        for validity in self.valid:
            check_condition(validity.condition)

    def latex(self) -> str:
        """The equation in LaTeX."""
        return f"{self.lhs.latex_notation} = {latex_formula(self.rhs)}"

    def solve_for(self, quantity: Quantity) -> list[sp.Expr]:
        """Return the expressions for ``quantity`` that satisfy the equation.

        Raises:
            ValueError: it does not occur, or SymPy finds no closed form.
        """
        if quantity == self.lhs:
            return [self.rhs]
        if quantity not in self.inputs:
            raise ValueError(f"{quantity.key} does not occur in {self.id}")
        try:
            solutions = sp.solve(self.equation, quantity)
        except NotImplementedError as error:
            raise ValueError(f"{self.id} has no closed form for {quantity.key}") from error
        return list(solutions)

    def sensitivity(self) -> dict[Quantity, sp.Expr]:
        """Return for each input the elasticity: per cent change of the result per per cent of the input."""
        return {q: sp.diff(self.rhs, q) * q / self.rhs for q in self.inputs}


def _si(quantity: Quantity, value: Any) -> Any:
    try:
        return to_si(value.magnitude, str(value.units), quantity.unit)
    except UnitError as error:
        raise UnitError(f"{quantity.key} {error}") from None


class Model(Node):
    """A numerical model: a plain vectorised function on SI floats with declared inputs and outputs."""

    def __init__(
        self,
        node_id: str,
        inputs: Sequence[Quantity | Series],
        outputs: Sequence[Quantity],
        function: Callable[..., Any],
        meaning: str,
        *,
        source: Source,
        assumptions: Sequence[str] = (),
        valid: Sequence[tuple[Boolean, str]] = (),
        hazards: Sequence[tuple[Boolean, str]] = (),
    ) -> None:
        self.id, self.meaning, self.source, self.function = node_id, meaning, source, function
        self.inputs, self.outputs, self.assumptions = tuple(inputs), tuple(outputs), tuple(assumptions)
        self.valid = validities(valid, hazards)

    def array(self, *values: Any) -> tuple[Any, ...]:
        """Compute the outputs; the function is called with the values in the order of ``inputs``."""
        result = self.function(*values)
        results = tuple(result) if len(self.outputs) > 1 else (result,)
        if len(results) != len(self.outputs):
            raise ValueError(f"{self.id} returns {len(results)} results, but declares {len(self.outputs)}")
        return results


class Select(Node):
    """Takes one quantity as the result, by a choice: the plate's stiffness is that of the kind of plate built."""

    inputs: tuple[Quantity, ...]
    choice: Choice

    def __init__(
        self, node_id: str, output: Quantity, choice: Choice, branches: dict[str, Quantity], meaning: str
    ) -> None:
        if set(branches) != set(choice.options):
            raise ValueError(f"{node_id}: give one quantity for each of {sorted(choice.options)}")
        if any(dimensionality(q.unit) != dimensionality(output.unit) for q in branches.values()):
            raise DimensionError(f"{node_id}: a branch is not in {output.unit}")
        self.id, self.meaning, self.choice, self.branches = node_id, meaning, choice, dict(branches)
        self.inputs, self.outputs = tuple(dict.fromkeys(branches.values())), (output,)
        self.assumptions, self.valid, self.source = (), (), Source("definition")

    def needs(self, choices: Mapping[Choice, str]) -> tuple[Quantity, ...]:
        """Return the quantity of the kind chosen, or all while nothing is chosen.

        Raises:
            ValueError: the kind chosen is none of the options.
        """
        if self.choice not in choices:
            return self.inputs
        kind = choices[self.choice]
        if kind not in self.branches:
            options = ", ".join(f"'{option}'" for option in self.branches)
            raise ValueError(f"{self.choice.name_in_words} '{kind}' is not known: expected one of {options}")
        return (self.branches[kind],)

    def array(self, *values: Any) -> tuple[Any, ...]:
        """Pass on the one needed quantity."""
        if len(values) != 1:
            raise ValueError(f"{self.id}: choose {self.choice.name_in_words} first")
        return (np.asarray(values[0])[()],)
