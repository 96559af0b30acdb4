"""Margins: what a builder must watch, with its limits and where they are from."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from augerbook.core.quantity import Quantity
from augerbook.core.sources import Source
from augerbook.core.units import with_unit


class Verdict(StrEnum):
    """How a value stands against its limits, in the words shown to people."""

    GOOD = "good"
    TIGHT = "tight"
    FAILS = "beyond the limit"
    UNKNOWN = "cannot be computed"


@dataclass(frozen=True)
class Margin:
    """A quantity to watch.

    ``good`` and ``limit`` are in the quantity's shown unit. ``good`` above ``limit`` means that more is better;
    below it, less is better.

    Attributes:
        why: what goes wrong beyond the limit, one plain sentence.
        advice: what to change when it fails, one plain sentence.
        source: where the limit is from; 'judgement' and 'common practice' are said as such.
        title: what it is called where its quantity has another margin too; else as its quantity.
    """

    id: str
    quantity: Quantity
    good: float
    limit: float
    why: str
    advice: str
    source: Source
    title: str = ""

    def __post_init__(self) -> None:
        if self.good == self.limit:
            raise ValueError(f"margin {self.id}: 'good' and 'limit' must differ, their order gives the direction")

    @property
    def name_in_words(self) -> str:
        """What it is called."""
        return self.title or self.quantity.name_in_words

    def slack(self, si: float) -> float:
        """Return how far within its limit a value (SI) lies, in parts of the way to good; NaN without one."""
        good, limit = self.quantity.si(self.good), self.quantity.si(self.limit)
        return float((si - limit) / (good - limit))

    @property
    def more_is_better(self) -> bool:
        """Whether larger values are safer."""
        return self.good > self.limit

    def verdict(self, si: float | None) -> Verdict:
        """Judge an SI value."""
        if si is None or math.isnan(si):
            return Verdict.UNKNOWN
        if self._reaches(si, self.good):
            return Verdict.GOOD
        return Verdict.TIGHT if self._reaches(si, self.limit) else Verdict.FAILS

    def holds(self, si: ArrayLike) -> NDArray[np.bool_]:
        """Return whether values (SI, of any shape) are within the limit; one that is NaN is not."""
        return np.asarray(self._reaches(np.asarray(si, dtype=np.float64), self.limit))

    def _reaches(self, si: Any, bound: float) -> Any:
        end = self.quantity.si(bound)
        return si >= end if self.more_is_better else si <= end

    def text(self, si: float) -> str:
        """Return an SI value with its unit, in as many digits as tell it from the limits: 1.004, not 1.00, above 1."""
        return self.quantity.text(si, digits=self.digits(si))

    def digits(self, si: float) -> int:
        """Return how many digits tell an SI value from the limits."""
        bounds = [float(self.quantity.si(bound)) for bound in (self.good, self.limit)]
        return self.quantity.digits_apart(si, *bounds)

    def rule(self) -> str:
        """The limits in words: ``"good from 2, limit 1.5"``."""
        return "good {}, limit {}".format(*self.bounds())

    def bounds(self) -> tuple[str, str]:
        """Both limits in words: ``("from 2", "1.5")``."""
        at_good, at_limit = (with_unit(f"{x:g}", self.quantity.unit) for x in (self.good, self.limit))
        return f"{'from' if self.more_is_better else 'up to'} {at_good}", at_limit


@dataclass(frozen=True)
class Requirement:
    """What must hold between inputs for the build to exist at all: the core is thinner than the screw.

    ``smaller`` must be less than ``larger`` (both inputs); ``because`` completes the sentence.
    """

    smaller: Quantity
    larger: Quantity
    because: str

    def clash(self, values: dict[Quantity, float]) -> str | None:
        """Return a sentence naming both values when they clash, else None (also when one is missing)."""
        small, large = values.get(self.smaller), values.get(self.larger)
        # Written and read again, values keep twelve digits: what differs by less is the same.
        if small is None or large is None or large - small > 1e-9 * abs(large):
            return None
        return (
            f"{self.smaller.name_in_words} {self.smaller.text(small)} must be smaller than "
            f"{self.larger.name_in_words} {self.larger.text(large)}: {self.because}"
        )
