"""Dangers and broken conditions in words: what stands against what, what that means, what to do."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.builds.contradictions import contradictions
from augerbook.core.network import Solution, Warned
from augerbook.core.relation import Node
from augerbook.page.colours import DANGER, EDGE
from augerbook.page.session import Session

_OUTSIDE = f"border-left:6px double {EDGE};padding:2px 0 2px 10px;margin:0 0 6px;line-height:1.4"
#: Where the broken conditions stand in full: a count of them elsewhere on the page leads there.
_LANDING = "outside the range"


def hazards_html(solution: Solution, nodes: Collection[Node] | None = None) -> Markup:
    """Return the dangers at a solution, one box each, and those that cannot be judged; empty without any.

    Args:
        nodes: those of some nodes only, besides what the given values alone tell: it needs no computing.
    """
    if nodes is None:
        return _together(hazard_html(w, solution.values) for w in solution.hazards) + _unjudged_html(solution)
    known = [w for w in solution.watched if w.node in nodes or solution.given.issuperset(w.validity.quantities)]
    failing = [w for w in known if w.fails(solution.values)]
    return _together(hazard_html(warned, solution.values) for warned in failing)


def hazard_html(warned: Warned, values: Mapping[Any, Any]) -> Markup:
    """Return one danger as a box: value, limit, and what to do."""
    box = Markup("<div role='alert' class='danger' style='{}'><b>Danger: {}.</b> {}</div>")
    return box.format(DANGER, warned.figures(values), _sentence(warned.validity.otherwise))


def _unjudged_html(solution: Solution) -> Markup:
    lines = [
        f"whether {warned.validity.otherwise.partition(':')[0]}: give the {absent.name_in_words}"
        for warned, absent in solution.unjudged.items()
    ]
    if not lines:
        return Markup()
    box = Markup(
        "<div class='unjudged' style='{}'><b>Not watched over, since a value is not given:</b>"
        "<ul style='margin:0 0 0 18px;padding:0'>{}</ul></div>"
    )
    return box.format(_OUTSIDE, _items(lines))


def conditions_html(warnings: Iterable[Warned], values: Mapping[Any, Any]) -> Markup:
    """Return broken conditions with their figures, each once, as an HTML list; empty without any."""
    lines = _told(warnings, values)
    if not lines:
        return Markup()
    box = Markup(
        "<div class='outside' data-landing='{}' tabindex='-1' style='{}'><b>Outside the models' range, so that figures "
        "which need this are not to be trusted:</b><ul style='margin:0 0 0 18px;padding:0'>{}</ul></div>"
    )
    return box.format(_LANDING, _OUTSIDE, _items(_sentence(line) for line in lines))


def _counted_html(solution: Solution) -> Markup:
    """Return how many conditions are broken, as a line that leads to where they stand; empty without any."""
    count = len(_told(broken(solution), solution.values))
    if not count:
        return Markup()
    line = Markup(
        "<div style='margin:0 0 4px'><b>Outside the models' range:</b> <button type='button' data-jump='{}' "
        "style='all:unset;cursor:pointer;outline:revert;text-decoration:underline dotted'>{}</button>. "
        "Do not trust figures that need {}.</div>"
    )
    held = ("1 condition does not hold", "it") if count == 1 else (f"{count} conditions do not hold", "them")
    return line.format(_LANDING, *held)


def _told(warnings: Iterable[Warned], values: Mapping[Any, Any]) -> list[str]:
    return list(dict.fromkeys(f"{w.figures(values)}: {w.validity.otherwise}" for w in warnings))


def alarms_html(solution: Solution) -> Markup:
    """Return what must be read before any margin: all dangers, then all broken conditions."""
    return _dangers_html(solution) + conditions_html(broken(solution), solution.values)


def alarms_in_short(solution: Solution) -> Markup:
    """Return the same for where there is little room: all dangers, for nobody may miss one, and of the rest a count."""
    return _dangers_html(solution) + _counted_html(solution)


def _dangers_html(solution: Solution) -> Markup:
    dangers = hazards_html(solution)
    if not solution.hazards:
        return dangers
    calm = Markup("<p style='margin:0 0 6px'><b>No figure below tells of this danger, however good it reads.</b></p>")
    return dangers + calm


def behind_html(session: Session) -> Markup:
    """Say that what follows is of an earlier build than the latest values would make; empty where it is not."""
    if not session.clashing:
        return Markup()
    box = Markup(
        "<div class='behind' style='{}'><b>Without your latest changes:</b> two values cannot go together, and what "
        "stands here belongs to the last build that was possible. {}</div>"
    )
    return box.format(_OUTSIDE, " ".join(_sentence(clash) for clash in session.wanted.clashes()))


def contradictions_html(build: Build) -> Markup:
    """Return what a build says in two ways that cannot both be true; empty without any."""
    lines = contradictions(build)
    if not lines:
        return Markup()
    box = Markup("<div class='contradiction' style='{}'><b>This does not go together:</b> {}</div>")
    return box.format(_OUTSIDE, " ".join(_sentence(line) for line in lines))


def broken(solution: Solution, nodes: Collection[Node] | None = None) -> list[Warned]:
    """Return the conditions that fail (of some nodes) and are no dangers."""
    return [w for w in solution.cautions if nodes is None or w.node in nodes]


def _together(pieces: Iterable[str]) -> Markup:
    return Markup().join(pieces)


def _items(lines: Iterable[str]) -> Markup:
    return _together(Markup("<li>{}</li>").format(line) for line in lines)


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."
