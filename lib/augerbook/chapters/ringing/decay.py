"""Frequency and damping from a record of dying vibration: a damped sine fitted to all readings, and crests alone."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import least_squares

Array = NDArray[np.float64]

#: How closely a record should tell the damping, as a share of it.
TOLD_TO = 0.1
#: Less than this is no vibration, whatever its readings.
LEAST_WAVES = 2.0
#: Crests below this share of the largest count no more: noise makes them too large.
_LOWEST_CREST = 0.2


@dataclass(frozen=True)
class DampedSine:
    """A damped sine about a middle, and how well it is known.

    Attributes:
        frequency, damping: natural frequency in Hz and damping ratio.
        frequency_error, damping_error: their standard deviations.
        start: time of the first reading, in s; decay and turning count from there.
        decay, turning: rate of decay and damped angular frequency, in 1/s.
        cosine, sine: amplitudes of both parts at the start, in the unit of the readings.
        middle, slope: what the readings die away to, at the start, and how it drifts, in the unit of the readings and
            that over s.
        noise: standard deviation of what is left beside the sine.
    """

    frequency: float
    damping: float
    frequency_error: float
    damping_error: float
    start: float
    decay: float
    turning: float
    cosine: float
    sine: float
    middle: float
    slope: float
    noise: float

    @property
    def amplitude(self) -> float:
        """Height of the envelope at the start, in the unit of the readings."""
        return math.hypot(self.cosine, self.sine)

    def envelope(self, time: Array) -> Array:
        """Return the height of the envelope at times in s."""
        shrunk: Array = self.amplitude * np.exp(-self.decay * (time - self.start))
        return shrunk

    def reading(self, time: Array) -> Array:
        """Return the fitted reading at times in s."""
        parts = _parts(time - self.start, self.turning, self.decay)
        fitted: Array = parts @ np.array([self.cosine, self.sine, self.middle, self.slope])
        return fitted

    def rest(self, time: Array) -> Array:
        """Return about what the readings swing at times in s: the middle and its drift."""
        line: Array = self.middle + self.slope * (time - self.start)
        return line


def fit_damped_sine(time: Array, reading: Array) -> DampedSine:
    """Return the damped sine that all readings together fit best, by least squares; steps in time need not be even.

    Amplitudes, middle and its drift follow from turning and decay by linear least squares, so that only these two are
    searched.
    The standard deviations are those of a linearised fit with even, independent noise.

    Args:
        time: of each reading, in s.
        reading: acceleration or displacement in any one unit; as many as times, at least seven.
    """
    since = time - time[0]

    def rest(searched: Array) -> Array:
        parts = _parts(since, *searched)
        left: Array = parts @ np.linalg.lstsq(parts, reading, rcond=None)[0] - reading
        return left

    first = _first_guess(since, reading)
    found = least_squares(rest, first, x_scale=np.abs(first), method="lm", xtol=1e-12, ftol=1e-12)
    turning, decay = abs(float(found.x[0])), float(found.x[1])
    parts = _parts(since, turning, decay)
    cosine, sine, middle, slope = (float(value) for value in np.linalg.lstsq(parts, reading, rcond=None)[0])
    left = parts @ np.array([cosine, sine, middle, slope]) - reading
    noise = float(np.sqrt((left**2).sum() / max(len(reading) - 6, 1)))
    spread = _covariance(since, turning, decay, cosine, sine) * noise**2
    natural = math.hypot(turning, decay)
    by_frequency = np.array([turning, decay]) / (2 * math.pi * natural)
    by_damping = np.array([-decay * turning, turning**2]) / natural**3
    return DampedSine(
        natural / (2 * math.pi), decay / natural,
        float(np.sqrt(by_frequency @ spread @ by_frequency)), float(np.sqrt(by_damping @ spread @ by_damping)),
        float(time[0]), decay, turning, cosine, sine, middle, slope, noise,
    )  # fmt: skip


def _parts(since: Array, turning: float, decay: float) -> Array:
    shrinking = np.exp(-decay * since)
    return np.column_stack(
        [shrinking * np.cos(turning * since), shrinking * np.sin(turning * since), np.ones_like(since), since]
    )


def _covariance(since: Array, turning: float, decay: float, cosine: float, sine: float) -> Array:
    """Return the covariance of turning and decay for a noise of one."""
    parts = _parts(since, turning, decay)
    by_turning = since * (sine * parts[:, 0] - cosine * parts[:, 1])
    by_decay = -since * (cosine * parts[:, 0] + sine * parts[:, 1])
    slopes = np.column_stack([by_turning, by_decay, parts])
    # Columns of one size: those of the readings may be micrometres in metres, those of the middle are ones.
    size = np.linalg.norm(slopes, axis=0)
    across = np.linalg.pinv(slopes / size) / size[:, None]
    return np.asarray((across @ across.T)[:2, :2], dtype=np.float64)


def _first_guess(since: Array, reading: Array) -> Array:
    """Turning and decay to begin with: the highest line of the spectrum with even steps, and how the swing falls."""
    step = float(np.median(np.diff(since)))
    even = np.interp(np.arange(0.0, since[-1] + step / 2, step), since, reading)
    places = np.arange(len(even))
    even = even - np.polyval(np.polyfit(places, even, 1), places)  # a sensor that drifts is no slow vibration
    lines = np.abs(np.fft.rfft(even, 8 * len(even)))
    lines[:8] = 0.0  # less than one wave in the record is no vibration
    turning = 2 * math.pi * int(lines.argmax()) / (8 * len(even) * step)
    third = len(even) // 3
    early, late = float(np.std(even[:third])), float(np.std(even[-third:]))
    decay = math.log(early / late) / (2 / 3 * since[-1]) if 0 < late < early else 0.01 * turning
    return np.array([turning, decay])


def crest_damping(reading: Array) -> float:
    """Return the damping ratio by the logarithmic decrement of crests and valleys, the simple way; NaN for too few.

    Args:
        reading: one after another, in any one unit, about any middle; when each was taken does not matter.
    """
    swing = reading - (reading.max() + reading.min()) / 2
    sides = np.flatnonzero(np.diff(np.sign(swing)) != 0) + 1
    bounds = [0, *sides.tolist(), len(swing)]
    ends = np.array([reading[a:b][np.abs(swing[a:b]).argmax()] for a, b in pairwise(bounds)])
    # From each crest to the valley after it: the middle drops out. The first and last half wave may be cut.
    falls = np.abs(np.diff(ends[1:-1]))
    large = falls > _LOWEST_CREST * (falls.max() if falls.size else np.inf)
    kept = falls[: int(large.argmin()) if not large.all() else large.size]
    if kept.size < 3:
        return math.nan
    slope = float(np.polyfit(np.arange(kept.size), np.log(kept), 1)[0])
    decrement = -2 * slope
    return decrement / math.hypot(2 * math.pi, decrement)


@lru_cache(maxsize=32)
def _remembered(time: bytes, reading: bytes) -> tuple[DampedSine, float]:
    columns = (np.frombuffer(time), np.frombuffer(reading))
    fit = fit_damped_sine(*columns)
    since = columns[0] - columns[0][0]
    return fit, crest_damping(columns[1] - fit.slope * since)


def fit_of(columns: tuple[Array, Array]) -> DampedSine:
    """Return the fit of a record's columns, time in s and reading; the same record is fitted once."""
    time, reading = (np.ascontiguousarray(column, dtype=np.float64) for column in columns)
    return _remembered(time.tobytes(), reading.tobytes())[0]


def fitted_decay(columns: tuple[Array, Array]) -> tuple[float, ...]:
    """Return what a record says: frequency in Hz, damping, both standard deviations, signal over noise, waves,
    readings in a wave, and the longest step over the usual one; all plain numbers but the frequencies.

    Args:
        columns: time in s and reading.
    """  # fmt: skip
    fit, time = fit_of(columns), columns[0]
    steps = np.diff(time)
    usual = float(np.median(steps))
    signal = fit.amplitude / fit.noise if fit.noise > 0 else math.inf
    return (
        fit.frequency, fit.damping, fit.frequency_error, fit.damping_error, signal,
        float(time[-1] - time[0]) * fit.frequency, 1 / (usual * fit.frequency), float(steps.max()) / usual,
    )  # fmt: skip


def decrement_of_crests(columns: tuple[Array, Array]) -> float:
    """Return the damping ratio by the crests of a record, a plain number.

    Args:
        columns: time in s and reading.
    """
    time, reading = (np.ascontiguousarray(column, dtype=np.float64) for column in columns)
    return _remembered(time.tobytes(), reading.tobytes())[1]


def _variance(fall: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the variance of the damping, over that of an endless record, for what the swing falls in the record.

    Args:
        fall: twice the logarithm of the first crest over the last, a plain number above zero.
    """
    # Fisher's information of height and decay: sums of the squared envelope times powers of time, as integrals.
    left = np.exp(-fall)
    flat, arm = -np.expm1(-fall), 1 - left * (1 + fall)
    square = 2 - left * (2 + 2 * fall + fall**2)
    # For a fall of next to nothing the difference below is lost in rounding; it is its first term then.
    spread = np.where(fall < 1e-2, fall**4 / 12 * (1 - fall), flat * square - arm**2)
    found: NDArray[np.float64] = np.asarray(flat / spread)
    return found


class Telling(NamedTuple):
    """Waves in which a record tells its damping, and how many times harder the push would have to be at the least."""

    waves: NDArray[np.float64]
    push: NDArray[np.float64]


def telling_record(damping: ArrayLike, error: ArrayLike, waves: ArrayLike) -> Telling:
    """Return how many waves tell a damping to `TOLD_TO` of it, and how much harder a push tells it at all.

    A vibration that has died away tells nothing more: readings in its tail add nothing but noise. Where no length of
    the record is enough the waves are infinite and the push is above one; so many times harder, or that number
    squared of taps averaged, is enough with a long record.

    Args:
        damping, error: damping ratio of the record at hand and its standard deviation, plain numbers.
        waves: in the record at hand.

    Both are infinite where there is no damping to tell.
    """
    ratio, spread, long = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in (damping, error, waves)))
    damped = ratio > 0
    with np.errstate(all="ignore"):
        fall = 4 * math.pi * np.where(damped, ratio, np.nan) * long
        endless = spread / np.sqrt(_variance(fall))
        push = np.where(damped, endless / (TOLD_TO * ratio), np.inf)
        wanted = (TOLD_TO * ratio / endless) ** 2
        # The variance falls with every wave more: halve the range, in logarithms, in which it comes to the wanted one.
        low, high = np.full(ratio.shape, -25.0), np.full(ratio.shape, 6.0)
        for _ in range(60):
            middle = (low + high) / 2
            enough = _variance(np.exp(middle)) <= wanted
            low, high = np.where(enough, low, middle), np.where(enough, middle, high)
        needed = np.maximum(LEAST_WAVES, np.exp(high) / (4 * math.pi * ratio))
    waves_found = np.where(damped & (push < 1), needed, np.inf)
    known = np.isfinite(ratio) & np.isfinite(spread) & np.isfinite(long)
    return Telling(np.where(known, waves_found, np.nan)[()], np.where(known, push, np.nan)[()])
