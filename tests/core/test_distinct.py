"""Heads that are the same to a model are computed once, and nobody notices."""

from typing import NamedTuple

import numpy as np
from augerbook.core.distinct import different, each_once
from numpy.typing import NDArray


class Both(NamedTuple):
    """A sum and a product."""

    total: NDArray[np.float64]
    product: NDArray[np.float64]


def test_each_head_is_computed_once_and_all_get_their_own() -> None:
    seen: list[tuple[int, ...]] = []

    @each_once
    def model(x: NDArray[np.float64], y: NDArray[np.float64], z: float) -> Both:
        seen.append(np.broadcast(x, y, z).shape)
        return Both(x + y + z, x * y * z)

    x, y = np.array([3.0, 1.0, 3.0, 3.0]), np.array([[2.0], [5.0]])
    found = model(x, y, 7.0)
    assert seen == [(4,)]  # 1 and 3 with 2 and 5
    np.testing.assert_array_equal(found.total, x + y + 7.0)
    np.testing.assert_array_equal(found.product, x * y * 7.0)
    assert model(1.0, 2.0, 3.0) == (6.0, 6.0)


def test_what_is_not_defined_stays_in_its_place() -> None:
    (values,), places = different([np.array([np.nan, 2.0, np.nan, 2.0])])
    np.testing.assert_array_equal(values[places], [np.nan, 2.0, np.nan, 2.0])
