"""How likely a trial shows a difference: the F test when the screws do differ.

The F statistic sets the scatter between the means of the screws over the scatter within each screw. Where they are
alike it follows Fisher's law, where they differ the noncentral one. For two screws it is the square of Student's t,
and this is the two-sided t test.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from scipy import special
from scipy.optimize.elementwise import find_root

#: Two weighings are the least that tell anything of their spread; more than this many nobody makes.
_LEAST, _MOST = 2.0, 1e9
#: Differences in standard deviations between which a trial's limit is looked for.
_NARROW, _WIDE = 1e-7, 1e6
#: How exactly they are found, as a share.
_ACCURACY = 1e-11
#: A difference as plain as this is missed by no trial of two weighings or more.
_PLAIN = 1e6


def power_of_trial(ratio: Any, weighings: Any, screws: Any, confidence: Any) -> Any:
    """Return the chance that a trial shows a difference; NaN where it is not defined.

    The screws that lie farthest apart differ by ``ratio``, the others lie midway between them.

    Args:
        ratio: largest difference of two screws over the standard deviation of one weighing, plain numbers.
        weighings: of each screw, two or more.
        screws: how many are compared.
        confidence: chance that alike screws are not called different, 0 to 1.
    """
    ratio, weighings, screws, confidence = (
        np.asarray(x, dtype=np.float64) for x in (ratio, weighings, screws, confidence)
    )
    return _power_of_f(screws - 1, screws * (weighings - 1), weighings * ratio**2 / 2, confidence)


def power_of_blocks(ratio: Any, blocks: Any, confidence: Any) -> Any:
    """Return the chance that a trial in blocks shows a difference of two screws; NaN where it is not defined.

    This is Student's test of the differences within the blocks, two-sided.

    Args:
        ratio: difference of the screws over the standard deviation of the differences within blocks, plain numbers.
        blocks: how many hold both screws, two or more.
        confidence: chance that alike screws are not called different, 0 to 1.
    """
    ratio, blocks, confidence = (np.asarray(x, dtype=np.float64) for x in (ratio, blocks, confidence))
    return _power_of_f(np.float64(1), blocks - 1, blocks * ratio**2, confidence)


def _power_of_f(between: Any, within: Any, apart: Any, confidence: Any) -> Any:
    """Return the chance that F passes its limit, from its degrees of freedom and its noncentral parameter."""
    with np.errstate(all="ignore"):
        critical = special.fdtri(between, within, confidence)
        missed = special.ncfdtr(between, within, np.minimum(apart, _PLAIN), critical)
        # SciPy has no number where less than 1e-200 is left.
        missed = np.where(np.isnan(missed) & np.isfinite(critical) & ~np.isnan(apart), 0.0, missed)
        return (1 - missed)[()]


def weighings_for(ratio: Any, screws: Any, confidence: Any, power: Any) -> Any:
    """Return the weighings of each screw that show a difference with the wanted power, unrounded, two or more.

    Unlimited where there is no difference. In plain numbers, as for `power_of_trial`; ``power`` 0 to 1, above
    1 - confidence.
    """
    found = _rising_root(
        lambda n, d, k, sure, wanted: power_of_trial(d, n, k, sure) - wanted,
        _LEAST, _MOST, ratio, screws, confidence, power,
    )  # fmt: skip
    return _unlimited_without(ratio, found)


def blocks_for(ratio: Any, confidence: Any, power: Any) -> Any:
    """Return the blocks that show a difference of two screws with the wanted power, unrounded, two or more.

    Unlimited where there is no difference. In plain numbers, as for `power_of_blocks`; ``power`` 0 to 1, above
    1 - confidence.
    """
    found = _rising_root(
        lambda n, d, sure, wanted: power_of_blocks(d, n, sure) - wanted, _LEAST, _MOST, ratio, confidence, power
    )
    return _unlimited_without(ratio, found)


def _unlimited_without(ratio: Any, found: Any) -> Any:
    """Return how many were found to be needed, without limit where there is no difference to show."""
    return np.where((np.asarray(ratio) == 0) & ~np.isnan(found), np.inf, found)[()]


def ratio_told(weighings: Any, screws: Any, confidence: Any, power: Any) -> Any:
    """Return the difference, in standard deviations of one weighing, that a trial shows with the wanted power.

    In plain numbers, as for `power_of_trial`; ``power`` 0 to 1, above 1 - confidence.
    """
    return _rising_root(
        lambda d, n, k, sure, wanted: power_of_trial(d, n, k, sure) - wanted,
        _NARROW, _WIDE, weighings, screws, confidence, power,
    )  # fmt: skip


def _rising_root(function: Callable[..., Any], low: float, high: float, *args: Any) -> Any:
    """Return where a function that rises in its first argument passes zero; beyond ``low`` and ``high`` these.

    ``args`` are plain numbers or arrays that broadcast, handed on to the function; NaN where one of them is.
    """
    args = np.broadcast_arrays(*(np.asarray(x, dtype=np.float64) for x in args))
    found = find_root(lambda x, *some: function(np.exp(x), *some), (np.log(low), np.log(high)), args=args,
                      tolerances={"xatol": _ACCURACY, "xrtol": 0.0, "fatol": 0.0, "frtol": 0.0})  # fmt: skip
    inside = np.where(function(high, *args) < 0, high, np.exp(found.x))
    inside = np.where(function(low, *args) >= 0, low, inside)
    return np.where(np.isnan(sum(args)), np.nan, inside)[()]
