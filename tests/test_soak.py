"""Random examples: the same in each run, others in a soak."""

from hypothesis import settings

from tests.soak import MORE, examples, soaking


def test_a_run_depends_on_nothing_but_the_sources_unless_it_soaks() -> None:
    assert settings.default is not None
    assert settings.default.derandomize is not soaking()
    assert settings.default.database is None and settings.default.deadline is None
    assert settings.default.max_examples == 100 * (MORE if soaking() else 1)


def test_few_examples_keep_all_other_settings() -> None:
    few = examples(20)
    assert few.max_examples == 20 * (MORE if soaking() else 1)
    assert few.derandomize is not soaking() and few.database is None
