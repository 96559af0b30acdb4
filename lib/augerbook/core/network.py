"""The network: relations and models joined by the quantities they share."""

from __future__ import annotations

import importlib
import math
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from functools import cached_property, lru_cache
from graphlib import CycleError, TopologicalSorter
from heapq import heappop, heappush
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sympy.logic.boolalg import Boolean

from augerbook.core.conditions import holds, in_figures
from augerbook.core.margin import Margin, Requirement
from augerbook.core.part import Part
from augerbook.core.plan import Lacking, LazyValues, Plan, Step, lacking_in_words, lacking_of
from augerbook.core.quantity import Choice, Lookup, Quantity, Series
from augerbook.core.relation import Node, Select, Validity
from augerbook.core.subject import Circle, Subject

Array = NDArray[np.float64]
#: SI values of a build: floats for quantities, a tuple of arrays for a series.
Values = Mapping[Any, Any]
Choices = Mapping[Choice, str]

#: Candidates computed at a time: intermediate arrays stay in the processor's cache.
CHUNK = 16_384


class NetworkError(ValueError):
    """Declarations that do not fit together."""


@dataclass(frozen=True)
class Warned:
    """A validity condition that does not hold."""

    node: Node
    validity: Validity

    def __str__(self) -> str:
        return f"{self.node.id}: {self.validity.otherwise}"

    def figures(self, values: Values) -> str:
        """Say in figures what stands against what."""
        return in_figures(self.validity.condition, values)

    def fails(self, values: Values) -> bool:
        """Whether the condition does not hold at SI values; while one of them is missing or not defined it may."""
        compared = {q: np.float64(values[q]) for q in self.validity.quantities if q in values}
        # What is not defined further up decides nothing here; the node's own result not being defined does.
        further_up = (q for q in self.validity.quantities if q not in self.node.outputs)
        undecided = any(math.isnan(compared.get(q, math.nan)) for q in further_up)
        if not undecided and not self.validity.hazard and any(math.isnan(value) for value in compared.values()):
            # Nor does the node's own result where that is from further up; of a danger nobody is to be left untold.
            given = (q for q in self.node.inputs if isinstance(q, Quantity) and q in values)
            undecided = any(math.isnan(values[q]) for q in given)
        holds = None if undecided else self.validity.holds(compared)
        return holds is not None and not holds


def _at_home(home: str) -> Network:
    module, _, function = home.partition(":")
    found = getattr(importlib.import_module(module), function)()
    assert isinstance(found, Network)
    return found


class NotKnownError(KeyError):
    """A value that was neither given nor can be computed; the message says what it needs."""

    def __str__(self) -> str:
        return str(self.args[0])


@dataclass(frozen=True)
class Solution:
    """What follows from a build.

    Attributes:
        network, choices: what it was solved by.
        values: every known quantity in SI, given and computed; computed when it is asked for.
        given: the keys of the given ones.
        used: the nodes that can be computed and matter under the choices, in order.
        missing: for each result that cannot be computed, the inputs and choices it lacks.
        watched: every condition of the network whose failing can hurt people.
    """

    network: Network
    choices: Choices
    values: LazyValues
    given: frozenset[Quantity | Series]
    used: tuple[Node, ...]
    missing: Mapping[Quantity | Series, Lacking]
    watched: tuple[Warned, ...] = ()

    def __reduce__(self) -> tuple[Any, ...]:
        return (Network.solve, (self.network, {item: self.values[item] for item in self.given}, dict(self.choices)))

    @cached_property
    def warnings(self) -> tuple[Warned, ...]:
        """The validity conditions that fail."""
        with np.errstate(all="ignore"):
            concerning = (Warned(node, validity) for node in self.used for validity in node.valid)
            return tuple(w for w in concerning if w.fails(self.values))

    @cached_property
    def cautions(self) -> tuple[Warned, ...]:
        """The validity conditions that fail and are no dangers."""
        return tuple(w for w in self.warnings if not w.validity.hazard)

    @cached_property
    def hazards(self) -> tuple[Warned, ...]:
        """The dangers at these values, also where what their relation computes is not asked for or lacks something."""
        with np.errstate(all="ignore"):
            return tuple(w for w in self.watched if w.fails(self.values))

    @cached_property
    def unjudged(self) -> dict[Warned, Quantity]:
        """The dangers that nobody can judge for want of a single input, and that input."""
        found = {}
        for warned in self.watched:
            compared = warned.validity.quantities
            absent = [q for q in compared if q not in self.values]
            if len(absent) == 1 < len(compared) and absent[0].low is not None:
                known = {q: self.values[q] for q in compared if q not in absent}
                if warned.validity.condition.subs(known) != True:  # noqa: E712 (SymPy's true is no Python bool)
                    found[warned] = absent[0]
        return found

    def __getitem__(self, quantity: Quantity) -> float:
        """Return the SI value.

        Raises:
            NotKnownError: it is neither given nor can be computed.
        """
        if quantity not in self.values:
            raise NotKnownError(f"{quantity.name_in_words} {self.why_missing(quantity)}")
        value: float = self.values[quantity]
        return value

    def shown(self, quantity: Quantity) -> float:
        """Return the value in the unit shown to people.

        Raises:
            NotKnownError: as for the SI value.
        """
        return float(quantity.shown(self[quantity]))

    def text(self, quantity: Quantity, *, digits: int | None = None) -> str:
        """Return the value as text with its unit: ``"6.00 mm"``.

        Raises:
            NotKnownError: as for the SI value.
        """
        return quantity.text(self[quantity], digits=digits)

    def holds(self, condition: Boolean) -> bool:
        """Return whether a condition holds, such as that of a state.

        Raises:
            NotKnownError: a quantity in it is neither given nor can be computed.
        """
        return holds(condition, {q: self[q] for q in condition.free_symbols})

    def sweep(self, outputs: Sequence[Quantity], vary: Sequence[Quantity]) -> Sweep:
        """Return one array function for ``outputs`` over ``vary``; what does not follow from these stays as it is.

        Raises:
            NetworkError: something needed is missing.
        """
        moves = self.network.downstream(vary, self.given)
        stays = {q for q in self.values if q not in moves}
        chain = self.network.chain(outputs, stays, self.choices)
        needed = {q for node in chain for q in node.needs(self.choices)} | set(outputs)
        fixed = {q: self.values.exact(q) for q in needed if q in stays}
        return self.network.compile(outputs, vary, fixed, self.choices)

    def get(self, quantity: Quantity) -> float | None:
        """Return the SI value, or None when it could not be computed."""
        return self.values.get(quantity)

    def lacking(self, *quantities: Quantity) -> list[Quantity | Choice | Series | Lookup]:
        """Return what must be given to compute all of ``quantities``, each thing once, by its name.

        Where none of the figures is given that a row of a table has, the row is asked for: a material, not its modulus.
        """
        unknown = [quantity for quantity in quantities if quantity not in self.values]
        lacking: set[Quantity | Choice | Series | Lookup] = {*lacking_of(self.missing, *unknown)}
        for lookup in self.network.lookups.values():
            of_a_row = {*lookup.fills, *lookup.sets}
            if not (lacking.isdisjoint(of_a_row) or of_a_row & (self.given | set(self.choices))):
                lacking = (lacking - of_a_row) | {lookup}
        return sorted(lacking, key=lambda item: item.name_in_words)

    def why_missing(self, *quantities: Quantity) -> str:
        """Say in words what is needed to compute all of ``quantities``, each thing once; empty where all are known."""
        lacking = self.lacking(*quantities)
        return lacking_in_words(lacking) if lacking else ""


class Network:
    """The inputs of a set of parts, and relations and models of subjects, as a directed acyclic graph.

    ``home`` says where another process finds the same network, ``"module:function"``: with it builds, solutions and
    sweeps can be handed to process pools, which pass on text and numbers, not compiled functions.

    Raises:
        NetworkError: two declarations of one key, two nodes for one result, a cycle.
    """

    def __init__(self, subjects: Iterable[Subject], parts: Iterable[Part] = (), *, home: str = "") -> None:
        self.home = home
        self.subjects = tuple(sorted(subjects, key=lambda s: s.number))
        self.parts = tuple(sorted(parts, key=lambda p: p.number))
        self.quantities: dict[str, Quantity] = {}
        self.choices: dict[str, Choice] = {}
        self.lookups: dict[str, Lookup] = {}
        self.series: dict[str, Series] = {}
        self.nodes: dict[str, Node] = {}
        self.producer: dict[Quantity | Series, Node] = {}
        self.margins: dict[str, Margin] = {}
        self.declared: dict[str, Quantity | Choice | Lookup | Series] = {}
        for part in self.parts:
            self._add_inputs(part)
        for subject in self.subjects:
            self._add(subject)
        self._check()
        self.order: tuple[Node, ...] = self._sorted()
        # A slider changes values, not which are given: the plan of the last move is nearly always the next one's.
        # A search that tries other kinds of parts needs some dozens; it must not push that of the sliders out.
        self.plan = lru_cache(maxsize=512)(self._make_plan)

    def __reduce__(self) -> tuple[Any, ...]:
        if not self.home:
            raise TypeError("a network without a home cannot be handed to another process: say home='module:function'")
        return (_at_home, (self.home,))

    def _add_inputs(self, part: Part) -> None:
        self._declare([*part.quantities, *part.choices, *part.lookups, *part.series_inputs], part.name)
        self.quantities.update({quantity.key: quantity for quantity in part.quantities})
        self.choices.update({choice.key: choice for choice in part.choices})
        self.lookups.update({lookup.key: lookup for lookup in part.lookups})
        self.series.update({series.key: series for series in part.series_inputs})

    def _declare(self, items: Iterable[Quantity | Choice | Lookup | Series], where: str) -> None:
        for item in items:
            if item.key in self.declared:
                raise NetworkError(f"{item.key} is declared twice, the second time in {where}")
            self.declared[item.key] = item

    def _add(self, subject: Subject) -> None:
        self._declare(subject.quantities, subject.name)
        self.quantities.update({quantity.key: quantity for quantity in subject.quantities})
        for node in subject.nodes:
            if node.id in self.nodes:
                raise NetworkError(f"{node.id} is declared twice")
            self.nodes[node.id] = node
            for output in node.outputs:
                if output in self.producer:
                    raise NetworkError(f"{output.key} is computed by {self.producer[output].id} and by {node.id}")
                self.producer[output] = node
        for margin in subject.margins:
            if margin.id in self.margins:
                raise NetworkError(f"margin {margin.id} is declared twice")
            self.margins[margin.id] = margin

    def _check(self) -> None:
        known: set[Quantity | Series] = {*self.quantities.values(), *self.series.values()}
        for node in self.nodes.values():
            for quantity in (*node.inputs, *node.outputs):
                if quantity not in known:
                    raise NetworkError(f"{node.id} uses {quantity.key}, which no part or subject here declares")
        for quantity in self.quantities.values():
            if quantity not in self.producer and quantity.low is None:
                raise NetworkError(f"{quantity.key} is neither computed nor given a range as an input")

    def _sorted(self) -> tuple[Node, ...]:
        """Return the nodes in an order of computation; among possible ones, that of their declaration."""
        nodes = tuple(self.nodes.values())
        place = {node: index for index, node in enumerate(nodes)}
        sorter = TopologicalSorter({n: [self.producer[q] for q in n.inputs if q in self.producer] for n in nodes})
        try:
            sorter.prepare()
        except CycleError as error:
            raise NetworkError(f"the relations form a circle: {error.args[1]}") from error
        ready: list[int] = []
        order: list[Node] = []
        while sorter.is_active():
            for node in sorter.get_ready():
                heappush(ready, place[node])
            order.append(nodes[heappop(ready)])
            sorter.done(order[-1])
        return tuple(order)

    @cached_property
    def inputs(self) -> tuple[Quantity, ...]:
        """The quantities a build gives."""
        return tuple(q for q in self.quantities.values() if q.low is not None)

    def inputs_of(self, subject: Subject) -> tuple[Quantity, ...]:
        """Return the inputs that a subject's relations, models and their conditions use, in the order of the parts."""
        met = {q for node in subject.nodes for q in node.inputs}
        met |= {q for node in subject.nodes for validity in node.valid for q in validity.quantities}
        return tuple(q for q in self.inputs if q in met)

    @cached_property
    def hazards(self) -> tuple[Warned, ...]:
        """The conditions whose failing can hurt people."""
        return tuple(Warned(node, v) for node in self.order for v in node.valid if v.hazard)

    @cached_property
    def circles(self) -> tuple[Circle, ...]:
        """What is assumed, and what finds it."""
        return tuple(circle for subject in self.subjects for circle in subject.circles)

    @cached_property
    def assumed(self) -> frozenset[Quantity]:
        """The inputs that the circles find: what a build gives of them is only where they begin."""
        return frozenset(circle.assumed for circle in self.circles)

    @property
    def findings(self) -> tuple[Circle, ...]:
        """What a build may give by hand and a chapter finds, in the order of the chapters."""
        return tuple(pair for subject in self.subjects for pair in subject.findings)

    @cached_property
    def requirements(self) -> tuple[Requirement, ...]:
        """What must hold between inputs."""
        return tuple(r for part in self.parts for r in part.requirements)

    def clashes(self, values: Values) -> list[str]:
        """Return a sentence for each requirement that the values break."""
        found = (requirement.clash(dict(values)) for requirement in self.requirements)
        return [sentence for sentence in found if sentence is not None]

    def clashing(self, values: Values) -> list[Quantity]:
        """Return the inputs of all requirements that the values break, each once."""
        broken = (requirement for requirement in self.requirements if requirement.clash(dict(values)) is not None)
        return list(dict.fromkeys(q for requirement in broken for q in (requirement.smaller, requirement.larger)))

    def solve(self, values: Values, choices: Choices | None = None) -> Solution:
        """Compute everything that follows from ``values`` (SI) and ``choices``.

        A given value wins over the relation that would compute it: a measured stiffness replaces the formula's.

        Raises:
            ValueError: a choice is none of its options.
        """
        return self._solve(values, choices or {}, frozenset())

    def _solve(self, values: Values, choices: Choices, withheld: frozenset[Quantity]) -> Solution:
        plan = self.plan(frozenset(values), frozenset(choices.items()), withheld)
        known = LazyValues(plan, values)
        return Solution(self, choices, known, frozenset(values), plan.concerned, plan.missing, self.hazards)

    def _make_plan(
        self,
        given: frozenset[Quantity | Series],
        choices: frozenset[tuple[Choice, str]],
        withheld: frozenset[Quantity],
    ) -> Plan:
        chosen = dict(choices)
        known: set[Quantity | Series] = set(given)
        missing: dict[Quantity | Series, Lacking] = {}
        steps: list[Step] = []
        for node in self.order:
            takes = tuple(q for q in node.outputs if q not in known and q not in withheld)
            if not takes:
                continue
            lacking = self._lacking(node, known, missing, chosen)
            if lacking:
                missing.update(dict.fromkeys(takes, lacking))
                continue
            steps.append(Step(node, node.needs(chosen), takes))
            known.update(takes)
        concerned = self.concerned(chosen)
        return Plan(
            tuple(steps), frozenset(known), missing, tuple(step.node for step in steps if step.node in concerned)
        )

    @cached_property
    def _users(self) -> dict[Quantity | Series, list[Node]]:
        users: dict[Quantity | Series, list[Node]] = {}
        for node in self.order:
            for quantity in node.inputs:
                users.setdefault(quantity, []).append(node)
        return users

    def concerned(self, choices: Choices) -> frozenset[Node]:
        """Return the nodes that matter under the choices: not those that serve only kinds that were not chosen."""
        chosen = dict(choices)
        found: set[Node] = set()
        for node in reversed(self.order):
            for quantity in node.outputs:
                users = self._users.get(quantity, [])
                if not users or any(user in found and quantity in user.needs(chosen) for user in users):
                    found.add(node)
                    break
        return frozenset(found)

    def _lacking(
        self,
        node: Node,
        known: Set[Quantity | Series],
        missing: Mapping[Quantity | Series, Lacking],
        chosen: dict[Choice, str],
    ) -> Lacking:
        if isinstance(node, Select) and node.choice not in chosen:
            return frozenset({node.choice})
        lacking = (missing.get(q, frozenset({q})) for q in node.needs(chosen) if q not in known)
        return frozenset(item for items in lacking for item in items)

    def chain(
        self, outputs: Iterable[Quantity], given: Iterable[Quantity | Series], choices: Choices
    ) -> tuple[Node, ...]:
        """Return the nodes needed for ``outputs``, in order, stopping at the given quantities."""
        stop, chosen = set(given), dict(choices)
        wanted: set[Quantity | Series] = set()
        wanted.update(outputs)
        wanted -= stop
        needed: set[Node] = set()
        while wanted:
            node = self.producer.get(wanted.pop())
            if node is None or node in needed:
                continue
            needed.add(node)
            wanted |= set(node.needs(chosen)) - stop
        return tuple(node for node in self.order if node in needed)

    def upstream(
        self, outputs: Iterable[Quantity], given: Iterable[Quantity | Series], choices: Choices
    ) -> set[Quantity | Series]:
        """Return all that ``outputs`` are computed from, step by step back to the given quantities."""
        return {q for node in self.chain(outputs, given, choices) for q in node.needs(choices)}

    def downstream(self, moved: Iterable[Quantity], given: Set[Quantity | Series]) -> set[Quantity | Series]:
        """Return the moved quantities and all that follows from them, but for what is given."""
        moves: set[Quantity | Series] = set(moved)
        for node in self.order:
            if not moves.isdisjoint(node.inputs):
                moves.update(q for q in node.outputs if q not in given)
        return moves

    def flows(self) -> dict[tuple[str, str], tuple[Quantity | Series, ...]]:
        """Return what flows between subjects: for ``(origin, user)`` the origin's results the user computes with."""
        found: dict[tuple[str, str], dict[Quantity | Series, None]] = {}
        for subject in self.subjects:
            for node in subject.nodes:
                for quantity in node.inputs:
                    origin = self.origin(quantity)
                    if quantity in self.producer and origin != subject.name:
                        found.setdefault((origin, subject.name), {})[quantity] = None
        return {pair: tuple(quantities) for pair, quantities in found.items()}

    def origin(self, quantity: Quantity | Series) -> str:
        """Return the name of the subject that computes ``quantity``, or of the part that it is an input of."""
        return self._computed_in.get(quantity, quantity.owner)

    @cached_property
    def _computed_in(self) -> dict[Quantity | Series, str]:
        return {output: subject.name for subject in self.subjects for node in subject.nodes for output in node.outputs}

    def compile(
        self,
        outputs: Sequence[Quantity],
        vary: Sequence[Quantity],
        values: Values,
        choices: Choices | None = None,
    ) -> Sweep:
        """Return one array function for ``outputs``, over the inputs in ``vary``, the rest fixed at ``values``.

        Raises:
            NetworkError: something needed is missing; the message names it.
        """
        return Sweep(self, tuple(outputs), tuple(vary), dict(values), dict(choices or {}))


class Sweep:
    """A compiled set of outputs: what depends on no varied input is computed once, the rest in chunks."""

    def __init__(
        self,
        network: Network,
        outputs: tuple[Quantity, ...],
        vary: tuple[Quantity, ...],
        values: dict[Any, Any],
        choices: dict[Choice, str],
    ) -> None:
        self._made_from = (network, outputs, vary, values, choices)
        withheld = frozenset(vary)
        fixed = network._solve({q: v for q, v in values.items() if q not in withheld}, choices, withheld)
        plan = network.plan(frozenset(values) | withheld, frozenset(choices.items()), frozenset())
        absent = [
            f"{q.name_in_words} {lacking_in_words(lacking_of(plan.missing, q))}" for q in outputs if q not in plan.known
        ]
        if absent:
            raise NetworkError(f"cannot compute: {'; '.join(absent)}")
        self.outputs, self.vary = outputs, vary
        needed = set(network.chain(outputs, (*fixed.values, *vary), choices))
        self._steps = tuple(
            Step(step.node, step.needs, tuple(q for q in step.takes if q not in fixed.values))
            for step in plan.steps
            if step.node in needed
        )
        asked = {*outputs, *(q for step in self._steps for q in step.needs)}
        self._fixed = {q: fixed.values.exact(q) for q in asked if q in fixed.values}

    def __reduce__(self) -> tuple[Any, ...]:
        return (Sweep, self._made_from)

    def __call__(self, *arrays: Any) -> tuple[Array, ...]:
        """Compute the outputs for one equal-length 1-D SI array per varied input."""
        columns = [np.atleast_1d(np.asarray(a, dtype=np.float64)) for a in arrays]
        if len(columns) != len(self.vary) or len({c.shape for c in columns}) != 1 or columns[0].ndim != 1:
            raise ValueError(f"give {len(self.vary)} equally long 1-D arrays: {[q.key for q in self.vary]}")
        size = columns[0].shape[0]
        results = tuple(np.empty(size) for _ in self.outputs)
        with np.errstate(all="ignore"):
            for start in range(0, size, CHUNK):
                part = slice(start, min(start + CHUNK, size))
                known: dict[Any, Any] = dict(self._fixed)
                known.update(zip(self.vary, (c[part] for c in columns), strict=True))
                for step in self._steps:
                    known.update(step.run(known))
                for result, quantity in zip(results, self.outputs, strict=True):
                    result[part] = known[quantity]
        return results
