"""Toys for the tests of the core: a subject that brings a part for its own inputs, and a network of such."""

from typing import Any

from augerbook.core.network import Network
from augerbook.core.part import Part
from augerbook.core.quantity import Quantity
from augerbook.core.subject import Subject


class Toy(Subject):
    """A subject and a part of the same name in one."""

    def __init__(self, name: str, *, number: int = 1, title: str = "Toy", question: str = "?") -> None:
        super().__init__(name, number=number, title=title, question=question)
        self.part = Part(name, number=number, title=title)

    def given(self, *declared: Any, **more: Any) -> Quantity:
        """Declare an input of the part."""
        return self.part.given(*declared, **more)


def network_of(*toys: Toy) -> Network:
    """Return the network of toys and their parts."""
    return Network(toys, [toy.part for toy in toys])
