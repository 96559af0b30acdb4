"""The map of the handbook: its chapters, and how quantities flow between them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from augerbook.core.network import Network
from augerbook.draw.scene import Scene
from augerbook.page.chapter import Markdown

_ROW, _BOX, _LEFT, _RIGHT = 8.4, 5.6, 42.0, 112.0
#: How far an arc reaches sideways for each chapter that it passes, and how the arrows of a box are spread.
_REACH, _SPREAD = 3.6, 1.3


def network_map(network: Network) -> Scene:
    """Draw the chapters in their order; arrows on the right lead to later chapters, on the left to earlier ones."""
    places = {subject.name: index for index, subject in enumerate(network.subjects)}
    height = _ROW * len(places) + 4
    flows = network.flows()
    scene = Scene(
        width=_LEFT + _RIGHT,
        height=height,
        title="What each chapter hands on",
        alt=f"Map of {len(places)} chapters as boxes in their order, with {len(flows)} arrows for quantities of one "
        "chapter that another computes with; the table below lists them.",
    )

    def y(name: str) -> float:
        return height - 2 - _ROW * (places[name] + 0.5)

    for owner, user in flows:
        apart = places[user] - places[owner]
        shift = _SPREAD * np.sign(apart)
        x, side = (_RIGHT, 1.0) if apart > 0 else (_LEFT, -1.0)
        scene.arrow_along(_arc(x, y(owner) - shift, y(user) + shift, side * _REACH * abs(apart)), "motion")
    for subject in network.subjects:
        bottom = y(subject.name) - _BOX / 2
        scene.rectangle((_LEFT, bottom), _RIGHT - _LEFT, _BOX, "solid_paper")
        scene.label((_LEFT + 2, y(subject.name)), f"{subject.number}  {subject.title}", anchor="start")
    return scene


def _arc(x: float, start: float, end: float, reach: float) -> NDArray[np.float64]:
    turn = np.linspace(0, np.pi, 40)
    middle, half = (start + end) / 2, (start - end) / 2
    limit = 0.92 * _LEFT
    bulge = np.clip(reach, -limit, limit)
    return np.column_stack([x + bulge * np.sin(turn), middle + half * np.cos(turn)])


def flow_table(network: Network) -> Markdown:
    """Return what flows between the chapters as a table."""
    lines = ["| from chapter | to chapter | quantities |", "|---|---|---|"]
    for (owner, user), items in sorted(network.flows().items()):
        lines.append(f"| {owner} | {user} | {', '.join(item.name_in_words for item in items)} |")
    return Markdown("\n".join(lines))
