"""The numpy twin of the bench: the same algebra, the same number of draws per trial.

Prints one line per case, its name and the median seconds of several rounds.
"""

import statistics
import sys
import time

import numpy as np

MAP_SIDE = 512
TRIALS = 1_000_000


def timed(name, rounds, work):
    seconds = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    print(name, statistics.median(seconds), flush=True)


def product(a, b):
    """Product of two quadratics in one variable, coefficients along axis 0."""
    return np.array(
        [
            a[0] * b[0],
            a[0] * b[1] + a[1] * b[0],
            a[0] * b[2] + a[1] * b[1] + a[2] * b[0],
            a[1] * b[2] + a[2] * b[1],
            a[2] * b[2],
        ]
    )


def best_map(forms):
    """Index of the least form at every pixel of the chart, 255 outside.

    A form is six coefficients of V^2, VX, X^2, VI, XI, I^2. Along a row it is a quartic, so a
    pixel costs one Horner scheme per fixture, as in the library.
    """
    middle = (2 * np.arange(MAP_SIDE) + 1) / MAP_SIDE - 1
    g, h = middle[np.newaxis, :], -middle[:, np.newaxis]
    h2 = (h * h)[:, 0]
    ones = np.ones(MAP_SIDE)
    v = np.array([1 + h2, 2 * ones, ones])
    x = np.array([1 - h2, 0 * ones, -ones])
    i = np.array([1 + h2, -2 * ones, ones])
    pairs = [product(a, b) for a, b in ((v, v), (v, x), (x, x), (v, i), (x, i), (i, i))]
    least = None
    for number, form in enumerate(forms):
        c = sum(f * p for f, p in zip(form, pairs))[:, :, np.newaxis]
        value = c[4] * g
        for k in (3, 2, 1):
            value += c[k]
            value *= g
        value += c[0]
        if least is None:
            least, best = value, np.zeros(value.shape, np.uint8)
        else:
            better = value < least
            best[better] = number
            np.minimum(least, value, out=least)
    best[g * g + h * h >= 1] = 255
    return best


def monte_carlo():
    """Noisy standards through a raw one-port, the calibration solved, a part corrected and
    inverted, R and X with their 95 % intervals."""
    rng = np.random.default_rng(1)

    def circular(sigma):
        return sigma * (rng.standard_normal(TRIALS) + 1j * rng.standard_normal(TRIALS))

    e00, e11, tracking = 0.05 - 0.03j, 0.10 + 0.08j, 0.704761 - 0.591365j

    def raw(gamma):
        return e00 + tracking * gamma / (1 - e11 * gamma) + circular(2e-4)

    opened, shorted, load = (raw(g + circular(s)) for g, s in ((1, 5e-3), (-1, 5e-3), (0, 4e-3)))
    part = raw(0.3 + 0.4j)
    up, down = opened - load, load - shorted
    source = (up - down) / (up + down)
    gain = up * (1 - source)
    moved = part - load
    gamma = moved / (gain + source * moved)
    z = 50 * (1 + gamma) / (1 - gamma)
    return [
        (np.mean(q), np.std(q, ddof=1), np.quantile(q, [0.025, 0.5, 0.975])) for q in (z.real, z.imag)
    ]


def main():
    forms = np.array([float(number) for number in sys.argv[1:]]).reshape(3, 6)
    timed("map", 21, lambda: best_map(forms))
    timed("monte_carlo", 5, monte_carlo)
    counts = np.bincount(best_map(forms).ravel(), minlength=256)
    print("map_counts", counts[0], counts[1], counts[2], flush=True)
    for name, (mean, u, ends) in zip(("r", "x"), monte_carlo()):
        print(name, mean, u, *ends, flush=True)


main()
