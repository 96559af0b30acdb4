"""A field that shows what the build says until somebody types another value into it."""

from __future__ import annotations

import ipywidgets as widgets

from augerbook.builds.build import Build, exact_number
from augerbook.core.quantity import Quantity
from augerbook.core.units import with_unit


class FollowingField:
    """A text field for one input, filled from the build at hand; what a person typed stays until it is emptied.

    Attributes:
        widget: the field.
        quantity: the input that it asks for.
    """

    def __init__(self, quantity: Quantity, usual: str, *, width: str) -> None:
        """Begin with ``usual``, which stands there as long as no build says otherwise."""
        self.quantity, self._usual, self._filled = quantity, usual, usual
        self.widget = widgets.Text(
            value=usual,
            description=quantity.name_in_words,
            continuous_update=False,
            tooltip=quantity.meaning,
            style={"description_width": "180px"},
            layout=widgets.Layout(width=width),
        )

    @property
    def own(self) -> bool:
        """Whether somebody typed a value."""
        return self.widget.value.strip() not in ("", self._filled)

    def follow(self, build: Build) -> None:
        """Show what a build says, unless somebody typed a value of his own."""
        if self.own:
            return
        si = build.values.get(self.quantity)
        self._filled = self._usual if si is None else with_unit(exact_number(self.quantity, si), self.quantity.unit)
        self.widget.value = self._filled
