"""nbval as this handbook needs it: loaded with ``-p`` into the nbval runs of ``test_notebooks.py``.

nbval takes a cell without an execution count for one that never ran, and reports a widget's view, which is
not committed, as an unexpected output. So each cell gets a count here, and what it puts out is cleaned
the way ``refresh.py`` cleans it before nbval compares.
"""

from collections.abc import Iterable
from typing import Any

import nbformat
import pytest
from nbval.plugin import IPyNbCell

from tests.handbook.refresh import clean_outputs

_nbval_compares = IPyNbCell.compare_outputs


def _compare_cleaned(self: IPyNbCell, test: Iterable[Any], ref: Iterable[Any], skip_compare: Any = None) -> bool:
    fresh = clean_outputs([nbformat.from_dict(output) for output in test])
    return bool(_nbval_compares(self, fresh, ref, skip_compare))


def pytest_configure() -> None:
    IPyNbCell.compare_outputs = _compare_cleaned


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        assert isinstance(item, IPyNbCell)
        item.cell.execution_count = item.cell_num + 1
