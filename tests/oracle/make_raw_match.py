#!/usr/bin/env python3
"""What the raw match of the ports does in the through fixtures, for tests/tests/uncertainty.

    python3 make_raw_match.py            write raw_match.json
    python3 make_raw_match.py --check    make it again and compare with raw_match.json

The twelve-term chain is written here from its signal flow: a port reflects what the part and the
load match behind it reflect, and a transmission passes all round trips between the two matches.
Standards are off by the residuals dL, dO, dS (reflections), dT, lambda, dX (through, isolation);
the calibration takes them for ideal; the part is corrected with what it found. Three things follow.

* Reach for 10 % (95 %) and crossovers for value of the invented instruments, from first
  derivatives by each residual and mixed ones by residual and raw match, both taken from the chain
  on circles in the complex plane, since it is analytic in each.
* The covariance of the corrected S21 by Monte Carlo, residuals and raw match drawn anew in each
  trial; of S21 and not of ohms, which bend near an open.
* What the region that is right over all front ends covers for single front ends: the value that
  one front end in a hundred stays below, for the worst part and fixture.

References: 12-term model and its correction, Rumiantsev & Ridler, IEEE Microw. Mag. 9(3), 2008
(equations recomputed); JCGM 101 for the Monte Carlo. Random numbers have a fixed seed.
"""

import argparse
import json
import math
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

FILE = Path(__file__).with_name("raw_match.json")
SEED = 13_004
TRIALS = 200_000
FRONT_ENDS = 200
TRIALS_OF_ONE = 2_000
Z0 = 50.0
CHI_95 = -2.0 * math.log(0.05)
# Largest relative difference from the committed file: another processor may round otherwise.
CHECK_TOLERANCE = 1e-8

CAUSES = ("load", "open", "short", "tracking", "leak", "load_match")
THROUGH = ("shunt", "series")


def db(level):
    return 10.0 ** (level / 20.0)


def instrument(load, ends, tracking, load_match, leak, floor, trace, step, raw):
    nepers = math.log(10.0) / 20.0
    pairs = [(trace, 1.0), (step, 1.0 / math.sqrt(12.0))]
    relative = sum(
        (share * size * nepers) ** 2 + (share * math.radians(angle)) ** 2
        for (size, angle), share in pairs
    )
    return {
        "residuals": dict(
            zip(CAUSES, (db(load), ends, ends, tracking, db(leak), load_match), strict=True)
        ),
        "floor": db(floor),
        "relative": math.sqrt(relative),
        "raw": raw,
    }


INSTRUMENTS = {
    "handheld": instrument(
        -38, 0.015, 0.018, db(-34), -62, -70, (0.015, 0.10), (0.05, 0.5), 0.18
    ),
    "club bench": instrument(
        -44, 0.008, 0.006, 0.0, -85, -90, (0.004, 0.025), (0.001, 0.01), 0.10
    ),
    "laboratory": instrument(
        -56, 0.0025, 0.0008, 0.0, -110, -110, (0.0006, 0.004), (0.0001, 0.001), 0.05
    ),
}
PARTS = (2.0, 12.0, 50.0, 220.0, 1500.0, 8 - 30j, 60 + 110j, 0.5 + 9j)


def in_fixture(fixture, z):
    """S11 = S22 and S21 = S12 of a part, z = Z/Z0."""
    if fixture == "shunt":
        return -1.0 / (2.0 * z + 1.0), 2.0 * z / (2.0 * z + 1.0)
    return z / (z + 2.0), 2.0 / (z + 2.0)


def flow(s, l, s11, s12, s21, s22):
    """Raw reflection and transmission, directivity 0 and trackings 1: they drop out."""
    seen = s11 + s12 * s21 * l / (1.0 - s22 * l)
    loops = (1.0 - s * s11) * (1.0 - l * s22) - s * l * s12 * s21
    return seen / (1.0 - s * seen), s21 / loops


def found_one_port(s, d):
    """Directivity, source match and tracking, from readings of the standards taken for ideal."""
    raw = [g / (1.0 - s * g) for g in (d["load"], 1.0 + d["open"], -1.0 + d["short"])]
    up, down = raw[1] - raw[0], raw[0] - raw[2]
    source = (up - down) / (up + down)
    return raw[0], source, up * (1.0 - source)


def corrected(s, l, d, rho, t):
    """S21 of a part as corrected; s, l the raw matches of both directions, d the residuals."""
    through = 1.0 / (1.0 + d["tracking"]) - d["leak"]
    directions = []
    for k in (0, 1):
        e00, e11, tracking = found_one_port(s[k], d)
        m11, m21 = flow(s[k], l[k], -d["load_match"], through, through, -d["load_match"])
        _, leaked = flow(s[k], l[k], d["load"], -d["leak"], -d["leak"], d["load"])
        e22 = (m11 - e00) / (tracking + e11 * (m11 - e00))
        gain = (m21 - leaked) * (1.0 - e11 * e22)
        p11, p21 = flow(s[k], l[k], rho, t, t, rho)
        directions.append(((p11 - e00) / tracking, (p21 - leaked) / gain, e11, e22))
    (n11, n21, s1, l1), (n22, n12, s2, l2) = directions
    whole = (1.0 + n11 * s1) * (1.0 + n22 * s2) - n21 * n12 * l1 * l2
    return n21 * (1.0 + n22 * (s2 - l1)) / whole


NONE = dict.fromkeys(CAUSES, 0.0)
CIRCLE = np.exp(2j * np.pi * np.arange(8) / 8)


def derivatives(fixture, z):
    """By each residual: dS21, and the sum of squares of its derivatives by the raw matches."""
    h = 1e-2
    rho, t = in_fixture(fixture, z)
    first, mixed = {}, {}
    for cause in CAUSES:
        moved = corrected((0, 0), (0, 0), {**NONE, cause: h * CIRCLE}, rho, t)
        first[cause] = np.mean(moved / CIRCLE) / h
        total = 0.0
        for which in range(4):
            match = [0.0, 0.0, 0.0, 0.0]
            match[which] = h * CIRCLE[:, None]
            both = corrected(match[:2], match[2:], {**NONE, cause: h * CIRCLE[None, :]}, rho, t)
            slope = np.mean(both / CIRCLE[:, None] / CIRCLE[None, :]) / (h * h)
            total += abs(slope) ** 2
        mixed[cause] = total
    return first, mixed


def relative_square(name, fixture, z):
    """e^2 = E|dZ/Z|^2 of all causes."""
    of = INSTRUMENTS[name]
    size = {cause: value**2 for cause, value in of["residuals"].items()}
    if fixture == "reflect":
        s = (z - 1.0) / (z + 1.0)
        gain = abs(z + 1.0) ** 2 / (2.0 * abs(z))
        ends = abs(z - 1.0) ** 2 / 4.0
        systematic = (
            4.0 * size["load"] + ends * size["open"] + ends * size["short"] / abs(z) ** 2
        )
    else:
        _, s = in_fixture(fixture, z)
        first, mixed = derivatives(fixture, z)
        inner = 2.0 * z + 1.0 if fixture == "shunt" else z + 2.0
        gain = abs(inner) ** 2 / (2.0 * abs(z))
        systematic = gain**2 * sum(
            size[cause] * (abs(first[cause]) ** 2 + of["raw"] ** 2 * mixed[cause])
            for cause in CAUSES
        )
    return systematic + gain**2 * (of["floor"] ** 2 + abs(s) ** 2 * of["relative"] ** 2)


def roots(f, low, high, steps=240):
    grid = np.linspace(math.log(low), math.log(high), steps)
    values = [f(math.exp(x)) for x in grid]
    return [
        math.exp(brentq(lambda x: f(math.exp(x)), a, b, xtol=1e-13, rtol=1e-13))
        for a, b, fa, fb in zip(grid, grid[1:], values, values[1:])
        if (fa < 0.0) != (fb < 0.0)
    ]


def reach(name, fixture, wanted=0.1):
    """Ends of the range in which sqrt(-ln 0.05)*e is at most `wanted`, for a resistor, ohms."""
    limit = wanted**2 / -math.log(0.05)
    return roots(lambda z: relative_square(name, fixture, z) - limit, 1e-6, 1e6, 120)


def crossovers(name, turn):
    """|Z| at which the fixture of least e changes, ohms; `turn` is 1 or 1j."""
    found = []
    for a, b, c in (
        ("reflect", "shunt", "series"),
        ("reflect", "series", "shunt"),
        ("shunt", "series", "reflect"),
    ):
        def of(fixture, z):
            return relative_square(name, fixture, z * turn)

        for z in roots(lambda z: math.log(of(a, z) / of(b, z)), 1e-2, 1e2, 80):
            if of(c, z) >= of(a, z):
                found.append(z * Z0)
    return sorted(found)


def circular(rng, rms, count):
    return rms / math.sqrt(2.0) * (rng.normal(size=count) + 1j * rng.normal(size=count))


def draw(rng, of, count):
    residuals = {cause: circular(rng, of["residuals"][cause], count) for cause in CAUSES}
    match = [circular(rng, of["raw"], count) for _ in range(4)]
    return residuals, match


def covariance(values):
    r, x = values.real, values.imag
    both = np.cov(r, x)
    return [both[0, 0], both[1, 1], both[0, 1]]


def monte_carlo():
    cells = []
    for number, (name, of) in enumerate(INSTRUMENTS.items()):
        rng = np.random.default_rng([SEED, number])
        residuals, match = draw(rng, of, TRIALS)
        for part in PARTS:
            for fixture in THROUGH:
                rho, t = in_fixture(fixture, part / Z0)
                s21 = corrected(match[:2], match[2:], residuals, rho, t)
                cells.append({
                    "instrument": name,
                    "fixture": fixture,
                    "part": [complex(part).real, complex(part).imag],
                    "covariance": covariance(s21),
                })
    return cells


def single_front_ends():
    """Coverage of |dS|^2 <= CHI_95 * variance by one front end, the variance being right over all
    of them to first order; systematic errors alone."""
    lowest = {}
    for number, (name, of) in enumerate(INSTRUMENTS.items()):
        rng = np.random.default_rng([SEED, 100 + number])
        size = {cause: value**2 for cause, value in of["residuals"].items()}
        worst = 1.0
        for part in PARTS:
            for fixture in THROUGH:
                rho, t = in_fixture(fixture, part / Z0)
                first, mixed = derivatives(fixture, part / Z0)
                variance = 0.5 * sum(
                    size[c] * (abs(first[c]) ** 2 + of["raw"] ** 2 * mixed[c]) for c in CAUSES
                )
                inside = []
                for _ in range(FRONT_ENDS):
                    match = [circular(rng, of["raw"], None) for _ in range(4)]
                    residuals, _ = draw(rng, of, TRIALS_OF_ONE)
                    s21 = corrected(match[:2], match[2:], residuals, rho, t)
                    inside.append(np.mean(np.abs(s21 - t) ** 2 <= CHI_95 * variance))
                worst = min(worst, float(np.quantile(inside, 0.01)))
        lowest[name] = worst
    return lowest


def make():
    return {
        "seed": SEED,
        "trials": TRIALS,
        "presets": {
            name: {
                "raw_match": of["raw"],
                "reach": {f: [z * Z0 for z in reach(name, f)] for f in ("reflect", *THROUGH)},
                "value_resistive": crossovers(name, 1.0),
                "value_reactive": crossovers(name, 1j),
            }
            for name, of in INSTRUMENTS.items()
        },
        "monte_carlo": monte_carlo(),
        "coverage_of_one_front_end_in_a_hundred": single_front_ends(),
    }


def numbers(tree, path=""):
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from numbers(value, f"{path}/{key}")
    elif isinstance(tree, list):
        for at, value in enumerate(tree):
            yield from numbers(value, f"{path}/{at}")
    else:
        yield path, tree


def difference(new, old):
    """A sentence, or the largest relative difference."""
    new, old = dict(numbers(new)), dict(numbers(old))
    if new.keys() != old.keys():
        return "other entries"
    largest = 0.0
    for path, value in new.items():
        kept = old[path]
        if isinstance(value, str) or isinstance(kept, str):
            if value != kept:
                return f"{path} is {value}, kept {kept}"
            continue
        # A count may flip one trial at the edge of a region.
        tolerance = 2.0 / TRIALS_OF_ONE if "coverage_of_one" in path else CHECK_TOLERANCE
        # A covariance near zero is compared with its variances.
        scale = abs(kept)
        if path.endswith("/covariance/2"):
            stem = path.removesuffix("/2")
            scale = math.sqrt(old[f"{stem}/0"] * old[f"{stem}/1"])
        miss = abs(value - kept) / max(scale, 1e-300)
        if not miss <= tolerance:
            return f"{path} is {value}, kept {kept}"
        largest = max(largest, miss)
    return largest


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare, write nothing")
    check = parser.parse_args().check

    made = make()
    if not check:
        FILE.write_text(json.dumps(made, indent=1) + "\n", encoding="ascii")
        print(f"{FILE.name}: written, seed {SEED}")
        return 0
    found = difference(made, json.loads(FILE.read_text(encoding="ascii")))
    if isinstance(found, str):
        print(f"{FILE.name}: DIFFERS: {found}")
        return 1
    print(f"{FILE.name}: agrees to {found:.1e}, seed {SEED}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
