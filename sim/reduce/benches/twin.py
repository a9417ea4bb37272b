"""The numpy twin of the bench: reflect readings in ohms, with the same algebra, on one core.

Arguments: points with an instrument, points with raw standards, the standard uncertainties of
load, open and short, of the noise floor per component, of trace noise in magnitude and phase.
Prints a name, the median seconds on the core and the sum of u(R), u(X) and the region's radius of each case.
"""

import statistics
import sys
import time

import numpy as np

Z0 = 50.0
RADIUS_IN_SIGMA = np.sqrt(-2 * np.log(0.05))
MANY, SOME = (int(word) for word in sys.argv[1:3])
LOAD, OPEN, SHORT, FLOOR, MAGNITUDE, PHASE = (float(word) for word in sys.argv[3:])


def along(a):
    return np.array([a.real**2, a.imag**2, a.real * a.imag])


def noise_of(s):
    floor = FLOOR**2 * np.array([np.ones_like(s.real), np.ones_like(s.real), 0 * s.real])
    return floor + MAGNITUDE**2 * along(s) + PHASE**2 * along(1j * s)


def through(c, d):
    """A covariance seen through a derivative d: the real and imaginary variance, and the cross."""
    a, b = d.real, d.imag
    return np.array(
        [
            a * a * c[0] - 2 * a * b * c[2] + b * b * c[1],
            b * b * c[0] + 2 * a * b * c[2] + a * a * c[1],
            a * b * (c[0] - c[1]) + (a * a - b * b) * c[2],
        ]
    )


def widest(c):
    return 0.5 * (c[0] + c[1]) + np.sqrt(0.25 * (c[0] - c[1]) ** 2 + c[2] ** 2)


def in_ohms(gamma, own_slope, raw, standards):
    """Ohms, noise, total covariance, region and distance from the pole of each point.

    `standards` are the raw reading of open, short and load and the derivative there.
    """
    z = Z0 * (1 + gamma) / (1 - gamma)
    ohms = (z + Z0) ** 2 / (2 * Z0)
    weights = (gamma * (gamma + 1) / 2, gamma * (gamma - 1) / 2, 1 - gamma * gamma)
    random = through(noise_of(raw), own_slope * ohms)
    for weight, (reading, slope) in zip(weights, standards):
        random = random + through(noise_of(reading), weight * slope * ohms)
    total = random.copy()
    for weight, sigma in zip(weights, (OPEN, SHORT, LOAD)):
        step = weight * ohms * sigma
        total[:2] += step.real**2 + step.imag**2
    sigma = np.sqrt(widest(through(total, 1 / ohms)))
    rho = sigma * RADIUS_IN_SIGMA
    t0 = 1 - gamma
    delta = t0.real**2 + t0.imag**2 - rho * rho
    center = -Z0 + 2 * Z0 * t0.conj() / delta
    radius = 2 * Z0 * rho / np.abs(delta)
    return z, random, total, center, radius, np.abs(t0) / sigma


def with_instrument(gamma):
    ideal = [(np.complex128(value), 1.0) for value in (1, -1, 0)]
    return in_ohms(gamma, np.ones_like(gamma), gamma, ideal)


def with_standards(raw, opened, shorted, loaded):
    up, down = opened - loaded, loaded - shorted
    source = (up - down) / (up + down)
    gain = up * (1 - source)

    def derivative(m):
        return gain / (gain + source * (m - loaded)) ** 2

    moved = raw - loaded
    gamma = moved / (gain + source * moved)
    standards = [(m, derivative(m)) for m in (opened, shorted, loaded)]
    return in_ohms(gamma, derivative(raw), raw, standards)


def timed(name, rounds, work):
    seconds = []
    for _ in range(rounds):
        start = time.process_time()
        _, _, total, _, radius, _ = work()
        seconds.append(time.process_time() - start)
    checked = np.sum(np.sqrt(total[0]) + np.sqrt(total[1]) + radius)
    print(name, statistics.median(seconds), checked, flush=True)


def coil(points):
    z = 3 + 2j * np.pi * 2e-6 * (1e6 + 30.0 * np.arange(1, points + 1))
    return (z - Z0) / (z + Z0)


many, some = coil(MANY), coil(SOME)
same = [np.full(SOME, value, dtype=complex) for value in (0.9, -0.95, 0.02)]
timed("instrument", 5, lambda: with_instrument(many))
timed("standards", 5, lambda: with_standards(some, *same))
