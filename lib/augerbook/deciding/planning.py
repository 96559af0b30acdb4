"""A trial before it is made: in which order to weigh, as a table to print and as CSV to fill in.

Each block weighs every screw once, in an order drawn by lot, so that what changes from block to block (the hopper
empties, the day warms up) falls on all screws alike.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from augerbook.deciding.weighings import COLUMNS

#: A plan longer than this is a mistake in typing.
_MOST = 10_000


@dataclass(frozen=True)
class Planned:
    """One weighing to be made: its place in the order, its block, its screw and the state of the hopper."""

    number: int
    block: int
    screw: str
    hopper: str


def blocked_order(
    screws: Sequence[str], weighings: int, *, seed: int, hopper: Sequence[str] = ("fresh", "half", "low")
) -> tuple[Planned, ...]:
    """Return the order of a trial: as many blocks as weighings of each screw, drawn by lot within each block.

    Args:
        screws: their names.
        weighings: of each screw.
        seed: the same seed gives the same order; take another for each trial.
        hopper: states that the blocks go through in turn; one state for a hopper that is kept full.

    Raises:
        ValueError: fewer than two screws, a name twice or empty, no weighings, or far too many.
    """
    names = [name.strip() for name in screws]
    if len(names) < 2 or len(set(names)) < len(names) or not all(names):
        raise ValueError(f"a trial compares two screws or more, each with a name of its own, not {list(screws)}")
    if not hopper:
        raise ValueError("name at least one state of the hopper, such as 'full'")
    if weighings < 1 or weighings * len(names) > _MOST:
        raise ValueError(f"{weighings} weighings of {len(names)} screws: plan at least 1 and at most {_MOST:,} in all")
    random = np.random.default_rng(seed)
    order: list[Planned] = []
    for block in range(weighings):
        for place in random.permutation(len(names)):
            order.append(Planned(len(order) + 1, block + 1, names[place], hopper[block % len(hopper)]))
    return tuple(order)


def plan_csv(plan: Sequence[Planned]) -> str:
    """Return a plan as CSV with empty cells for what will be weighed, as `read_weighings` takes it."""
    text = io.StringIO()
    text.write(
        "# plan of a trial: fill in time, mass, turns and temperature, in this order; one colour of plastic only\n"
    )
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(name if unit in (None, "1") else f"{name} [{unit}]" for name, unit in COLUMNS.items())
    filled = {"screw": lambda p: p.screw, "hopper": lambda p: p.hopper, "block": lambda p: str(p.block)}
    for planned in plan:
        writer.writerow(filled[name](planned) if name in filled else "" for name in COLUMNS)
    return text.getvalue()


def plan_blocks(plan: Sequence[Planned]) -> dict[int, list[Planned]]:
    """Return the weighings of each block, in their order."""
    blocks: dict[int, list[Planned]] = {}
    for planned in plan:
        blocks.setdefault(planned.block, []).append(planned)
    return blocks


def plan_table(plan: Sequence[Planned]) -> str:
    """Return a plan as a Markdown table: a row for each block, to be printed and laid beside the balance."""
    blocks = plan_blocks(plan)
    most = max(len(row) for row in blocks.values())
    lines = [
        f"| block | hopper | {' | '.join(f'weighing {place + 1}' for place in range(most))} |",
        "|---" * (most + 2) + "|",
    ]
    lines += [
        f"| {block} | {row[0].hopper} | {' | '.join(f'{p.number}: {p.screw}' for p in row)} |"
        for block, row in blocks.items()
    ]
    return "\n".join(lines)
