"""A part of what is built, with the inputs that describe it: what a build file may say about it."""

from __future__ import annotations

from collections.abc import Callable

from augerbook.core.margin import Requirement
from augerbook.core.quantity import Choice, Lookup, Quantity, Series


class Part:
    """The inputs of one part. Its methods declare and register in one step, so nothing is listed twice.

    Attributes:
        name: short name, the same as of the module and of the section in a build file.
        number: its place among the parts.
        title: for headings.
    """

    def __init__(self, name: str, *, number: int, title: str) -> None:
        self.name, self.number, self.title = name, number, title
        self.quantities: list[Quantity] = []
        self.choices: list[Choice] = []
        self.lookups: list[Lookup] = []
        self.series_inputs: list[Series] = []
        self.requirements: list[Requirement] = []

    def __repr__(self) -> str:
        return f"<{type(self).__name__.lower()} {self.name}>"

    def given(
        self,
        key: str,
        notation: str,
        unit: str,
        meaning: str,
        low: float,
        high: float,
        *,
        digits: int = 3,
        primary: bool = False,
        title: str = "",
    ) -> Quantity:
        """Declare an input with its plausible range (in ``unit``); the ``primary`` ones come first on the page.

        ``title`` is what it is called where its key, read as words, would not do.
        """
        quantity = Quantity(
            key,
            notation,
            unit,
            meaning,
            low=low,
            high=high,
            digits=digits,
            part=self.name,
            primary=primary,
            title=title,
            owner=self.name,
        )
        self.quantities.append(quantity)
        return quantity

    def choice(self, key: str, meaning: str, options: dict[str, str]) -> Choice:
        """Declare an input that is one of a few named kinds."""
        choice = Choice(key, meaning, options, part=self.name, owner=self.name)
        self.choices.append(choice)
        return choice

    def lookup(
        self,
        key: str,
        meaning: str,
        table: str,
        fills: dict[Quantity, str],
        *,
        sets: dict[Choice, str] | None = None,
        tells: tuple[Choice | tuple[Quantity, ...], ...] = (),
    ) -> Lookup:
        """Declare a name in the build file that fills inputs from a row of a table, also those of other parts."""
        lookup = Lookup(key, meaning, table, fills, part=self.name, sets=sets, owner=self.name, tells=tells)
        self.lookups.append(lookup)
        return lookup

    def series(
        self, key: str, meaning: str, columns: tuple[Quantity, ...], *, check: Callable[..., list[str]]
    ) -> Series:
        """Declare an input that is a short table; ``check`` takes its SI columns and returns faults in words."""
        series = Series(key, meaning, columns, part=self.name, check=check, owner=self.name)
        self.series_inputs.append(series)
        return series

    def require(self, smaller: Quantity, larger: Quantity, because: str) -> Requirement:
        """Declare that one input must be smaller than another for the build to exist."""
        requirement = Requirement(smaller, larger, because)
        self.requirements.append(requirement)
        return requirement
