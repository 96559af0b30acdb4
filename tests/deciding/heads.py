"""Toy heads to choose among: one result that adds up, one with a root that may be missing, two uncertain inputs."""

from functools import cache

from augerbook.builds.build import Build, Entry
from augerbook.core.network import Network
from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from sympy import pi, sin, sqrt

from tests.core.toy import Toy, network_of

SOURCE = Source("definition")


@cache
def kettle() -> Toy:
    """Heat and hold of a kettle; the name says nothing, the sums do."""
    toy = Toy("kettle")
    size = toy.given("size", "s", "mm", "size", 1, 100)
    push = toy.given("push", "p", "N", "push", 0, 100)
    drag = toy.given("drag", "d", "N", "drag", 0, 100)
    left = toy.equals("left", "l", "N", "what is left", 3 * push - 2 * drag, "a sum", source=SOURCE)
    toy.equals("root", "r", "1", "its root", sqrt(left) * size, "a root", source=SOURCE)
    toy.margin("left", left, good=30, limit=10, why="too little", advice="push", source=Source("judgement"))
    return toy


@cache
def kettles() -> Network:
    """The network of the kettle, where another process finds it."""
    return Network([kettle()], [kettle().part], home="tests.deciding.heads:kettles")


def quantity(key: str) -> Quantity:
    """A quantity of the kettle."""
    return kettles().quantities[key]


def kettle_build(
    size: float = 0.01,
    push: float = 20.0,
    drag_ends: tuple[float, float] | None = None,
    push_ends: tuple[float, float] | None = None,
) -> Build:
    """A kettle with its drag at 10 N, and the ends of what is uncertain."""
    entries = {
        quantity("size"): Entry(size),
        quantity("push"): Entry(push, *(push_ends or (None, None))),
        quantity("drag"): Entry(10.0, *(drag_ends or (None, None))),
    }
    return Build("kettle", "", entries, {}, {}, kettles())


def ishigami() -> tuple[Build, Quantity]:
    """Ishigami's function, whose shares of variance are known in closed form."""
    toy = Toy("ishigami")
    angles = [toy.given(f"x{i}", f"x_{i}", "1", "an angle", -4, 4) for i in (1, 2, 3)]
    one, two, three = angles
    value = sin(one) + 7 * sin(two) ** 2 + three**4 * sin(one) / 10
    result = toy.equals("y", "y", "1", "the result", value, "Ishigami", source=SOURCE)
    ends = {q: Entry(0.0, -float(pi), float(pi)) for q in angles}
    return Build("ishigami", "", ends, {}, {}, network_of(toy)), result
