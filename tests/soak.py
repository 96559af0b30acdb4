"""How many random examples are drawn: few and the same each time or, in a soak, many and others each time.

``pytest --hypothesis-profile=soak --hypothesis-seed=N`` soaks: the seed says which examples, so that what fails can be
drawn again.
"""

from hypothesis import HealthCheck, settings

_USUAL, _SOAK = "handbook", "soak"
#: A soak draws so many times more.
MORE = 10


def register_profiles() -> None:
    """Make both profiles known and load the usual one; pytest's option ``--hypothesis-profile`` comes after it."""
    # Symbolic work is slow the first time and machines are busy: limits on time would fail at random. Examples that
    # failed are not kept between runs, and none is drawn at random, so that a run depends on nothing but the sources.
    settings.register_profile(
        _USUAL, derandomize=True, database=None, deadline=None, suppress_health_check=[HealthCheck.too_slow]
    )
    settings.register_profile(
        _SOAK, settings.get_profile(_USUAL), derandomize=False, max_examples=100 * MORE, print_blob=True
    )
    settings.load_profile(_USUAL)


def soaking() -> bool:
    """Whether this run soaks. Known once pytest is configured, so also while tests are collected."""
    return settings.get_current_profile_name() == _SOAK


def examples(count: int) -> settings:
    """Decorate a test whose examples take long: draw so many, not hypothesis's hundred; in a soak as often more."""
    return settings(max_examples=count * (MORE if soaking() else 1))
