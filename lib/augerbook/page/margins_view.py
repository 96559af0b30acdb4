"""The margins of a build as HTML: number, bar, words, what to change and what it depends on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.builds.turned import can_be_turned
from augerbook.core.margin import Margin, Verdict
from augerbook.core.network import Network, Solution
from augerbook.core.quantity import Quantity
from augerbook.core.spread import Spread, elasticities, movers_in_words, sharers_in_words, spread_in_words, spreads
from augerbook.draw.margin_bar import margin_bar
from augerbook.page.alarms import alarms_html
from augerbook.page.cite import cite
from augerbook.page.colours import EDGE, FAINT, INK, QUIET
from augerbook.page.estimated_view import notes_of

_SIGNS = {
    Verdict.GOOD: ("✓", f"1px solid {FAINT}"),
    Verdict.TIGHT: ("!", f"3px double {EDGE}"),
    Verdict.FAILS: ("✕", f"2px solid {INK}"),
    Verdict.UNKNOWN: ("?", f"1px dashed {EDGE}"),
}
_CHIP = Markup(
    "<span title='{verdict}' style='border:{edge};border-radius:4px;padding:0 6px;"
    "margin:0 6px 4px 0;display:inline-block;white-space:nowrap'>{sign} {words}, {verdict}</span>"
)
_MARGIN = Markup(
    "<div role='listitem' data-margin='{id}' data-verdict='{verdict}' "
    "style='border-left:{edge};padding:3px 0 3px 10px;margin:0 0 8px;line-height:1.35'>{body}</div>"
)
#: Margins whose sensitivities are computed in one step: a few hundredths of a second.
_AT_A_TIME = 5
#: Which of two verdicts on one quantity is told.
_GRAVITY = (Verdict.GOOD, Verdict.TIGHT, Verdict.UNKNOWN, Verdict.FAILS)


@dataclass(frozen=True)
class Sensitivities:
    """What the margins of a build depend on, computed when the sliders rest.

    Attributes:
        movers: for each quantity the inputs that a builder can turn, the one that moves it most first, with its per
            cent per per cent.
        spreads: for each quantity its spread from those of the inputs.
        notes: which estimates decide it, or what it lacks (HTML); nothing where all is known.
    """

    movers: Mapping[Quantity, Sequence[tuple[Quantity, float]]] = field(default_factory=dict)
    spreads: Mapping[Quantity, Spread] = field(default_factory=dict)
    notes: Mapping[Quantity, Markup] = field(default_factory=dict)


def sensitivities_of(build: Build, margins: Sequence[Margin]) -> Sensitivities:
    """Return what each margin depends on at this build."""
    known = list(dict.fromkeys(m.quantity for m in margins if m.quantity in build.solution.values))
    movers = elasticities(build.network, known, build.values, build.choices, can_be_turned(build))
    behind = build.network.upstream(known, build.values, build.choices) | set(known)
    ends = {q: pair for q, pair in build.ends.items() if q in behind}  # few margins hang on all that is uncertain
    around = spreads(build.network, known, build.values, ends, build.choices)
    return Sensitivities(movers, around, notes_of(build, [m.quantity for m in margins], around))


def in_doubt(margin: Margin, value: float | None, around: Spread | None) -> bool:
    """Whether a margin that is good at its value lies beyond its limit, or has none, somewhere within its spread."""
    if around is None or margin.verdict(value) is not Verdict.GOOD:
        return False
    ends = [around.low, around.high] if math.isfinite(around.nominal) else []
    return bool(around.lost) or any(margin.verdict(end) is Verdict.FAILS for end in ends)


def judged(margin: Margin, solution: Solution, depends: Sensitivities) -> Verdict:
    """Return the verdict on a margin: one that is good at its value and not within all of its spread is tight."""
    value = solution.get(margin.quantity)
    if in_doubt(margin, value, depends.spreads.get(margin.quantity)):
        return Verdict.TIGHT
    return margin.verdict(value)


def sensitivities_in_steps(build: Build, margins: Sequence[Margin]) -> Iterator[Sensitivities]:
    """Yield what the margins depend on, more of them each time: computed in short steps, the last holds all."""
    movers: dict[Quantity, Sequence[tuple[Quantity, float]]] = {}
    around: dict[Quantity, Spread] = {}
    notes: dict[Quantity, Markup] = {}
    for start in range(0, len(margins), _AT_A_TIME):
        some = sensitivities_of(build, margins[start : start + _AT_A_TIME])
        movers.update(some.movers)
        around.update(some.spreads)
        notes.update(some.notes)
        yield Sensitivities(dict(movers), dict(around), dict(notes))


def all_margins(network: Network) -> list[Margin]:
    """Return the margins of all chapters, in their order."""
    return list(network.margins.values())


def margins_html(
    margins: Sequence[Margin], solution: Solution, depends: Sensitivities, other: tuple[str, Solution] | None = None
) -> Markup:
    """Return the margins as HTML; ``other`` is a named build to compare with."""
    rows = Markup().join(_row(margin, solution, depends, other) for margin in margins)
    return _summary(margins, solution, depends) + Markup("<div role='list'>{}</div>").format(rows)


def strip_html(margins: Sequence[Margin], solution: Solution) -> Markup:
    """Return all margins in a few lines, to stand beside what is being moved: first those that need a look.

    Before them stand dangers, and conditions that do not hold: no margin knows of them.
    """
    worst: dict[Quantity, Verdict] = {}  # a quantity that must be neither small nor large has two margins, and one chip
    for margin in margins:
        verdict = margin.verdict(solution.get(margin.quantity))
        worst[margin.quantity] = max(verdict, worst.get(margin.quantity, verdict), key=_GRAVITY.index)
    chips, good = [], []
    for quantity, verdict in worst.items():
        sign, edge = _SIGNS[verdict]
        words = f"{quantity.name_in_words} {_value(quantity, solution)}"
        if verdict is Verdict.GOOD:
            good.append(Markup("<span style='white-space:nowrap'>{}</span>").format(words))
        else:
            chips.append(_CHIP.format(verdict=verdict, edge=edge, sign=sign, words=words))
    rest = Markup()
    if good:
        calm = Markup("<small style='color:{}'>{} good: {}</small>")
        rest = calm.format(QUIET, _SIGNS[Verdict.GOOD][0], Markup(", ").join(good))
    strip = Markup("<div style='line-height:1.4'>{}{}<br>{}</div>")
    return strip.format(alarms_html(solution), Markup().join(chips), rest)


def _summary(margins: Sequence[Margin], solution: Solution, depends: Sensitivities) -> Markup:
    counts = dict.fromkeys(Verdict, 0)
    for margin in margins:
        counts[judged(margin, solution, depends)] += 1
    said = ", ".join(f"{count} {verdict}" for verdict, count in counts.items() if count)
    return Markup("<p style='margin:2px 0 6px' class='margins-summary'><b>Margins:</b> {}</p>").format(said)


def _row(
    margin: Margin,
    solution: Solution,
    depends: Sensitivities,
    other: tuple[str, Solution] | None,
) -> Markup:
    quantity, value = margin.quantity, solution.get(margin.quantity)
    verdict = judged(margin, solution, depends)
    name = quantity.meaning[0].upper() + quantity.meaning[1:]
    head = Markup("<b>{}</b>: {} <small>({})</small>").format(name, _value(quantity, solution), margin.rule())
    lines: list[str] = [head + _compared(margin, other), _bar(margin, value, verdict)]  # plain text is escaped below
    if verdict is Verdict.UNKNOWN and quantity not in depends.notes:
        lines.append(f"{margin.quantity.name_in_words} {solution.why_missing(quantity)}".strip())
    elif verdict in (Verdict.TIGHT, Verdict.FAILS):
        lines.append(f"{margin.why[0].upper()}{margin.why[1:]}. To change: {margin.advice}.")
    lines.append(depends.notes.get(quantity, ""))
    small = []
    around = depends.spreads.get(quantity)
    if in_doubt(margin, value, around):
        lines.insert(
            2, "Good at its value, but its spread reaches beyond the limit: what is least known decides, see below."
        )
    if around is not None and (words := spread_in_words(quantity, around)):
        sharers = f" Most of it from {sharers_in_words(around)}." if around.low < around.high else ""
        small.append(f"With the spread of the inputs {words}.{sharers}")
    movers = depends.movers.get(quantity, ())
    if moved := movers_in_words(quantity, movers, solution.values):
        small.append(f"Of what you can change it depends most on {moved}.")
    elif quantity in depends.movers:
        small.append("Nothing that you can change moves it by a small step.")
    small.append(f"Limit: {cite(margin.source)}. Id {margin.id}.")
    lines.append(Markup("<small style='color:{}'>{}</small>").format(QUIET, " ".join(small)))
    edge = {Verdict.GOOD: f"2px solid {FAINT}", Verdict.TIGHT: f"6px double {EDGE}"}.get(verdict, f"8px solid {INK}")
    body = Markup("<br>").join(line for line in lines if line)
    return _MARGIN.format(id=margin.id, verdict=verdict, edge=edge, body=body)


def _value(quantity: Quantity, solution: Solution) -> str:
    return solution.text(quantity) if quantity in solution.values else "no value"


def _compared(margin: Margin, other: tuple[str, Solution] | None) -> Markup:
    if other is None:
        return Markup()
    name, solution = other
    verdict = margin.verdict(solution.get(margin.quantity))
    return Markup(" · <i>{}: {}, {}</i>").format(name, _value(margin.quantity, solution), verdict)


def _bar(margin: Margin, value: float | None, verdict: Verdict) -> Markup:
    if value is None:
        return Markup()
    # A bar begins at zero. Where a limit lies at or below zero, it begins one width of the tight zone before it.
    least = min(margin.good, margin.limit)
    start = 0.0 if least > 0 else least - abs(margin.good - margin.limit)
    shown = float(margin.quantity.shown(value))
    return Markup(margin_bar(shown - start, margin.good - start, margin.limit - start, str(verdict)))
