"""Limits are typed a second time, in ``limits/NAME.csv``: whoever changes one means to, and says where it is from.

A row for each margin, its limits and their origin, and for each condition under which a relation holds, with the words
a reader gets when it fails.
"""

import csv
from pathlib import Path

import pytest
import sympy as sp
from augerbook.chapters import all_subjects
from augerbook.core.margin import Margin, Verdict
from augerbook.core.subject import Subject

TYPED = Path(__file__).parent / "limits"
MARGINS = [margin for subject in all_subjects() for margin in subject.margins]


def of_the_library(subject: Subject) -> list[list[str]]:
    rows = [
        ["margin", m.id, f"good {m.good:g}, limit {m.limit:g}, in {m.quantity.unit}", str(m.source)]
        for m in subject.margins
    ]
    for node in subject.nodes:
        for v in node.valid:
            rows.append(["danger" if v.hazard else "holds", node.id, sp.sstr(v.condition), v.otherwise])
    return rows


@pytest.mark.parametrize("subject", all_subjects(), ids=lambda subject: subject.name)
def test_limits_are_those_that_were_typed(subject: Subject) -> None:
    with (TYPED / f"{subject.name}.csv").open(encoding="utf-8", newline="") as file:
        typed = list(csv.reader(file))
    assert typed[0] == ["kind", "id", "limit", "words"]
    assert of_the_library(subject) == typed[1:]


def test_every_table_of_limits_has_a_chapter() -> None:
    assert {path.stem for path in TYPED.iterdir()} == {subject.name for subject in all_subjects()}


@pytest.mark.parametrize("margin", MARGINS, ids=lambda margin: margin.id)
def test_the_verdict_turns_at_the_limits(margin: Margin) -> None:
    """Just inside of both, just beyond each: by a millionth of the way between them."""
    step = 1e-6 * (margin.good - margin.limit)
    at = {
        Verdict.GOOD: (margin.good + step, margin.good + 1e3 * step),
        Verdict.TIGHT: (margin.good - step, margin.limit + step),
        Verdict.FAILS: (margin.limit - step, margin.limit - 1e3 * step),
    }
    for verdict, shown in at.items():
        assert [margin.verdict(margin.quantity.si(value)) for value in shown] == [verdict, verdict]
