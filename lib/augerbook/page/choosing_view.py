"""What a study of candidates says, as HTML, as Markdown and as pictures: chances, aims, what fails, who is beaten."""

from __future__ import annotations

from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from augerbook.builds.build import Build
from augerbook.builds.own_rows import OwnRows
from augerbook.chapters.choosing.figures import Point, draw_chances, draw_front
from augerbook.core.margin import Margin
from augerbook.core.network import Network
from augerbook.core.quantity import Quantity
from augerbook.deciding.candidates import (
    Candidate,
    Item,
    Refused,
    combinations,
    crossed_in_steps,
    differs,
    parts_changed,
    unanswered,
)
from augerbook.deciding.draws import Draws, draws
from augerbook.deciding.ranking import (
    LIKELY,
    Aim,
    Chance,
    at_rest,
    chances,
    compared,
    front,
    margins_of_head,
    out_of_reach,
    ranked,
    weakest,
)
from augerbook.deciding.study import Study, outputs_of, run, shape_kept
from augerbook.draw.live_plot import LivePlot
from augerbook.draw.scene import Scene
from augerbook.head.screw import friction_screw, screw_material
from augerbook.page.cells import table_html
from augerbook.page.colours import QUIET

Array = NDArray[np.float64]
T = TypeVar("T")

AT_HAND = "build at hand"
#: So many candidates are listed, the best first: a table of thousands takes a browser and the kernel minutes.
_MOST_LISTED = 200
#: The aims that a page offers: keys of quantities, all the less the better. An empty key counts parts.
AIMS = {
    "evenness (unevenness of the flow)": "unevenness",
    "torque while it prints": "needed_torque",
    "force on the bearing with the nozzle blocked": "blocked_thrust",
    "mass of the whole head": "head_mass",
    "parts to buy or make anew": "",
}


def aims_offered(network: Network) -> list[str]:
    """Return the names of the aims whose quantity the network knows."""
    return [name for name, key in AIMS.items() if not key or key in network.quantities]


@dataclass(frozen=True)
class Told:
    """A study with what was aimed at, ready to be told; the first candidate is the build at hand.

    Attributes:
        study: what there is so far.
        margins: what a head has to hold.
        aims: names of `AIMS`, the first two span the picture.
        refused: candidates that could not be built.
        beforehand: sentences that stand before all else.
    """

    study: Study
    margins: tuple[Margin, ...]
    aims: tuple[str, ...]
    refused: tuple[Refused, ...] = ()
    beforehand: tuple[str, ...] = ()

    @cached_property
    def beyond(self) -> list[Margin]:
        """The margins that no candidate ever holds, and that are left out of the count."""
        return out_of_reach(self.study, self.margins)

    @cached_property
    def counted(self) -> list[Margin]:
        """The margins that are counted."""
        return [margin for margin in self.margins if margin not in self.beyond]

    @cached_property
    def likely(self) -> tuple[Chance, ...]:
        """The chance of each candidate to hold all that is counted."""
        return chances(self.study, self.counted)

    def worths(self, aim: str) -> Array:
        """Return an aim of all candidates as given, SI; parts are counted."""
        if AIMS[aim]:
            return self.study.nominal(self._quantity(aim))
        return np.array([float(len(parts)) for parts in self._parts])

    @cached_property
    def _parts(self) -> list[tuple[str, ...]]:
        """The parts that each candidate has otherwise than the build at hand."""
        at_hand, *rest = self.study.candidates
        return [(), *(parts_changed(at_hand.build, other.build) for other in rest)]

    @cached_property
    def _rests(self) -> tuple[Chance, ...]:
        """The chance of each candidate to have an operating point that comes to rest."""
        return at_rest(self.study)

    def _quantity(self, aim: str) -> Quantity:
        return next(q for q in self.study.quantities if q.key == AIMS[aim])

    @cached_property
    def order(self) -> list[int]:
        """The candidates, the most likely to hold first; of those that cannot be told apart the better in the aim."""
        return ranked(self.study.in_draws(self.study.holds(self.counted)), -self.worths(self.aims[0]))

    @cached_property
    def told_of(self) -> list[int]:
        """The candidates in their order that have been through some draws."""
        return [row for row in self.order if self.likely[row].draws]

    @cached_property
    def front(self) -> NDArray[np.bool_]:
        """Which candidates no other beats in all aims, among those that are likely enough to hold."""
        worths = np.column_stack([-self.worths(aim) for aim in self.aims])
        return front(worths, np.array([chance.share for chance in self.likely]))

    @cached_property
    def listed(self) -> list[int]:
        """Those of them that are listed: the best, those that nobody beats, and the build at hand anywhere."""
        unbeaten = [row for row in self.told_of if self.front[row]]
        kept = {*self.told_of[:_MOST_LISTED], *unbeaten[:_MOST_LISTED], 0}
        return [row for row in self.told_of if row in kept]

    def fails_first(self, row: int) -> str:
        """Say what a candidate fails at first, and how often it holds that."""
        rests = self._rests[row]
        if not rests.came_true:
            return "no operating point that comes to rest"
        found = weakest(self.study, self.counted, row)
        first = [f"{margin.name_in_words} (holds in {100 * chance.share:.0f} %)" for margin, chance in found[:1]]
        if rests.came_true < rests.draws and (not found or rests.share < found[0][1].share):
            return f"an operating point that comes to rest (in {100 * rests.share:.0f} %)"
        return first[0] if first else "nothing"

    def aim_text(self, aim: str, row: int) -> str:
        """Return an aim of one candidate: its value as given, and where nine of ten draws lie."""
        if not AIMS[aim]:
            return ", ".join(self._parts[row]) or "none"
        quantity = self._quantity(aim)
        nominal = float(self.study.nominal(quantity)[row])
        drawn = self.study.of(quantity)[row][self.study.counted]
        drawn = drawn[np.isfinite(drawn)]
        said = quantity.text(nominal) if np.isfinite(nominal) else "no value"
        if drawn.size and np.ptp(drawn) > 0:
            low, high = np.quantile(drawn, (0.05, 0.95)).tolist()
            said += f" ({quantity.text(low)} to {quantity.text(high)})"
        return said

    def better_text(self, row: int) -> tuple[str, str]:
        """Return how often a candidate is better than the build at hand, on the same draws, and how that comes about.

        By the first aim that is measured; nothing for the build at hand itself.
        """
        aim = next((name for name in self.aims if AIMS[name]), "")
        if row == 0 or not aim or not self.likely[row].draws:
            return "", ""
        found = compared(self.study, row, 0, Aim(self._quantity(aim)), self.counted)
        return str(found.better) if found.better.draws else "", str(found)

    def margin_chance(self, quantity: Quantity, row: int) -> Chance:
        """Return how often a candidate holds the margins of one quantity, whatever the others do."""
        within = [self.study.within(margin, [row]) for margin in self.margins if margin.quantity is quantity]
        held = self.study.in_draws(np.all(within, axis=0))
        return Chance(int(held.sum()), held.size)

    def columns(self) -> list[str]:
        """Return the heads of the table."""
        against = ["better than the build at hand", "against it, in draws"]
        return ["", "candidate", "holds all margins", "fails first", *self.aims, *against]

    def rows(self) -> list[list[str]]:
        """Return the cells of the table, the best candidate first, the build at hand where it belongs."""
        rows = []
        for row in self.listed:
            name = self.study.candidates[row].name
            star = "★" if self.front[row] else ""
            rows.append(
                [star, name, str(self.likely[row]), self.fails_first(row),
                 *(self.aim_text(aim, row) for aim in self.aims), *self.better_text(row)]
            )  # fmt: skip
        return rows

    def before(self) -> list[str]:
        """Return the sentences that stand above the table."""
        lines = list(self.beforehand)
        count = int(self.study.counted.sum())
        lines.append(
            f"{count} draws, the same for every candidate (seed {self.study.draws.seed}). In brackets: the bounds that "
            "so few draws leave, and for the aims where nine of ten draws lie. A star: among those that hold in half "
            "of the draws or more, no other candidate is as good in every aim and better in one. Better than the build "
            "at hand means: in that draw the candidate holds and the build at hand does not, or both hold and the "
            "candidate is better in the first aim that is measured. Only draws in which at least one of the two "
            "holds are counted."
        )
        known = self.study.candidates[0].build.solution
        beyond = {margin.name_in_words: None for margin in self.beyond if margin.quantity in known.values}
        lacking = [margin for margin in self.beyond if margin.quantity not in known.values]
        if beyond:
            lines.append(
                f"No candidate holds these in any draw, so they are left out of the count: {', '.join(beyond)}. What "
                "was varied does not bring them within their limits: vary more, or something else."
            )
        if lacking:
            why = [f"{m.name_in_words} ({m.quantity.name_in_words} {known.why_missing(m.quantity)})" for m in lacking]
            lines.append(f"Left out as well, since the build has no value for it: {'; '.join(dict.fromkeys(why))}.")
        return lines

    def after(self) -> list[str]:
        """Return the sentences below the table: who is not listed, and who could not be built, one for each reason."""
        later, left = len(self.told_of) - len(self.listed), len(self.order) - len(self.told_of)
        waiting = [f"{later:,} more come after these and are not listed"] if later else []
        waiting += [f"{left} more not computed yet"] if left else []
        names: dict[str, list[str]] = {}
        for one in self.refused:
            names.setdefault(one.reason, []).append(one.name)
        return waiting + [
            f"{who[0]}{f' and {len(who) - 1} more' if len(who) > 1 else ''}: cannot be built, {reason}"
            for reason, who in names.items()
        ]

    def html(self) -> Markup:
        """Return all of it as HTML."""
        table = table_html(self.columns(), self.rows(), ruled=True)
        above = Markup().join(
            Markup("<p style='margin:2px 0 6px;color:{}'>{}</p>").format(QUIET, x) for x in self.before()
        )
        below = Markup().join(Markup("<li>{}</li>").format(line) for line in self.after())
        return (
            above
            + Markup("<div style='overflow-x:auto'>{}</div>").format(table)
            + (Markup("<ul style='margin:6px 0 0 18px;padding:0'>{}</ul>").format(below) if below else Markup())
        )

    def markdown(self) -> str:
        """Return the same as Markdown."""
        heads = self.columns()
        lines = [*self.before(), "", f"| {' | '.join(heads)} |", "|---" * len(heads) + "|"]
        lines += [f"| {' | '.join(cells)} |" for cells in self.rows()]
        return "\n".join([*lines, "", *(f"- {line}" for line in self.after())]).rstrip()

    def chart(self) -> Scene:
        """Return the chances as bars, the best first."""
        rows = []
        for row in self.listed:
            chance = self.likely[row]
            rows.append((self.study.candidates[row].name, chance.share, *chance.bounds))
        return draw_chances(rows)

    def picture(self) -> LivePlot | Scene:
        """Return the candidates in the plane of the first two aims; with one aim, or without values, their chances."""
        if len(self.aims) < 2:
            return self.chart()
        across, up = self.aims[:2]
        xs, ys = (self._shown(aim) for aim in (across, up))
        if not np.isfinite(xs + ys).any():
            return self.chart()
        points = []
        for row, candidate in enumerate(self.study.candidates):
            chance = self.likely[row]
            if not chance.draws:
                continue
            kind = "front" if self.front[row] else "unlikely" if chance.share < LIKELY else "beaten"
            points.append(Point(candidate.name, float(xs[row]), float(ys[row]), kind, at_hand=row == 0))
        if not points:
            return self.chart()
        return draw_front(points, self._axis(across), self._axis(up))

    def _shown(self, aim: str) -> Array:
        worths = self.worths(aim)
        return np.asarray(self._quantity(aim).shown(worths)) if AIMS[aim] else worths

    def _axis(self, aim: str) -> str:
        if not AIMS[aim]:
            return aim
        quantity = self._quantity(aim)
        return quantity.axis(quantity.name_in_words)


def kept_of(margins: Sequence[Margin], aims: Sequence[str], network: Network) -> tuple[Quantity, ...]:
    """Return what must be kept of each head to tell its margins and aims, each once."""
    return outputs_of(margins, [network.quantities[AIMS[aim]] for aim in aims if AIMS[aim]])


@dataclass(frozen=True)
class Asked:
    """What is to be put through the whole head; the first candidate is the build at hand.

    Attributes:
        candidates, drawn: what to try, and on which draws.
        kept: what must be kept of each head to tell it.
        margins, aims, refused, beforehand: as of `Told`.
    """

    candidates: tuple[Candidate, ...]
    drawn: Draws
    kept: tuple[Quantity, ...]
    margins: tuple[Margin, ...]
    aims: tuple[str, ...]
    refused: tuple[Refused, ...]
    beforehand: tuple[str, ...]

    def told(self, study: Study) -> Told:
        """Return a study of this, as far as it has come, ready to be told."""
        return Told(study, self.margins, self.aims, self.refused, self.beforehand)


def asked(
    base: Build,
    options: Mapping[Item, Sequence[str]],
    aims: Sequence[str],
    *,
    own: OwnRows | None = None,
    power: int = 6,
    seed: int = 1,
) -> Generator[tuple[int, int], None, Asked]:
    """Make what is to be put through the whole head to tell a build and its candidates apart, and return it at the end.

    Until then how many candidates are done, and how many there are in all, is yielded. Arguments as for `tried`.

    Raises:
        ValueError: nothing to choose from, more than fits into memory, none can be built, or nothing is uncertain.
    """
    margins = tuple(margins_of_head(base.network))
    kept = kept_of(margins, aims, base.network)
    shape_kept(1 + combinations(options), 2**power, len(kept))  # refused, if at all, before any candidate is made
    others: list[Candidate] = []
    refused: list[Refused] = []
    for batch in crossed_in_steps(base, options, own):
        others += [one for one in batch.made if differs(base, one.build)]
        refused += batch.refused
        yield batch.done, batch.of
    if not others:
        reasons = (f"{one.name}: {one.reason}" for one in refused)
        raise ValueError("\n".join(["None of these can be built, or all are the build at hand:", *reasons]))
    candidates = (Candidate(AT_HAND, base), *others)
    drawn = draws([candidate.build for candidate in candidates], power=power, seed=seed)
    beforehand = (*unanswered(base, options), *_kept_friction(base, options))
    return Asked(candidates, drawn, kept, margins, tuple(aims), tuple(refused), beforehand)


def _kept_friction(base: Build, options: Mapping[Item, Sequence[str]]) -> list[str]:
    """Return a sentence where the screw's material is varied: friction belongs to a pair, and is not in its table."""
    if screw_material in options and friction_screw in base.values:
        return [
            f"{screw_material.name_in_words}: the {friction_screw.name_in_words} stays what it is in the build at hand "
            f"({friction_screw.text(base.values[friction_screw])}), and another material rubs otherwise. Heat, mass "
            "and strength follow it."
        ]
    return []


def returned(steps: Generator[object, None, T]) -> T:
    """Return what a generator returns at its end."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            result: T = end.value
            return result


def tried(
    base: Build,
    options: Mapping[Item, Sequence[str]],
    *,
    aims: Sequence[str] = tuple(AIMS)[:2],
    power: int = 6,
    seed: int = 1,
) -> Told:
    """Put a build and its candidates through the whole head, all on the same draws, and return what is to be told.

    Args:
        base: the build at hand; it is the first candidate.
        options: what may change, as for `augerbook.deciding.candidates.crossed`.
        aims: names of `AIMS`.
        power: exponent of two of the draws.
        seed: what the draws begin with.

    Raises:
        ValueError: nothing to choose from, none can be built, or nothing is uncertain.
    """
    wanted = returned(asked(base, options, aims, power=power, seed=seed))
    return wanted.told(run(wanted.candidates, wanted.drawn, wanted.kept))
