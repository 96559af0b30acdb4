"""The healthy sample notebook, a fresh copy for each test."""

import pytest
from nbformat import NotebookNode

from tests.handbook import refresh
from tests.handbook.breaking import SAMPLE


@pytest.fixture
def sample() -> NotebookNode:
    return refresh.parse(SAMPLE.read_text(encoding="utf-8"))
