"""The order in which a builder looks at margins: those beyond their limit first, the worst of them on top."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from augerbook.core.margin import Margin, Verdict
from augerbook.core.network import Solution

#: What needs a look first.
ORDER = (Verdict.FAILS, Verdict.TIGHT, Verdict.UNKNOWN, Verdict.GOOD)


def worst_first(margins: Sequence[Margin], solution: Solution, verdicts: Mapping[str, Verdict]) -> list[Margin]:
    """Return margins by their verdicts (by id), and what is beyond a limit or tight by how far it is from good.

    What has no value stands in the order in which it came, and so do those that are good: of them none is to be mended.
    """

    def place(margin: Margin) -> tuple[int, float]:
        verdict, value = verdicts[margin.id], solution.get(margin.quantity)
        slack = math.nan if value is None else margin.slack(value)
        ranked = verdict in (Verdict.FAILS, Verdict.TIGHT) and not math.isnan(slack)
        return ORDER.index(verdict), slack if ranked else 0.0

    return sorted(margins, key=place)
