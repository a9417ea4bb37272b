#!/usr/bin/env python3
"""A blend of two fixtures with blanks by Monte Carlo, for tests/tests/reduce/blend_oracle.rs.

    python3 make_blend.py            write blend.json
    python3 make_blend.py --check    make it again and compare with blend.json

The whole chain is written here once more: standards that are not what they are taken for, raw
readings with noise by an analyzer without error terms, three-term and twelve-term corrections,
blanks taken off. Each of its independent inputs has standard deviation 1. Two ways lead to the
covariance of the blend: the derivatives of the chain by central differences, and draws of all
inputs at once through the chain as it is, combined with the weights of the first way.

The agreement of a sweep is the linear algebra of its definition, whole matrices of all points.
"""

import argparse
import json
import sys
from pathlib import Path

import numpy as np
from scipy import stats

FILE = Path(__file__).with_name("blend.json")
SEED = 13_002
DRAWS = 200_000
Z0 = 50.0
STEP = 1e-4
# Largest relative difference from the committed file of what is not drawn, and of what is.
CHECK_TOLERANCE = 1e-7
DRAWN_TOLERANCE = 1e-6

INSTRUMENT = {
    "load": 0.004,
    "open": 0.003,
    "short": 0.002,
    "through_tracking": 0.002,
    "crosstalk": 1e-5,
    "load_match": 0.003,
    "reflect_floor": 2e-4,
    "through_floor": 1e-4,
    "trace_magnitude": 3e-4,
    "trace_phase_rad": 4e-4,
    "reconnect": 5e-4,
}
RESIDUALS = ("load", "open", "short", "through_tracking", "crosstalk", "load_match")
# Part in ohms, frequency in hertz, strays, share left by the blanks; `off` is what the reading
# in series-through is multiplied by.
CASES = (
    {"r": 300.0, "x": 400.0, "hz": 20e6, "gap_f": 0.2e-12, "pin_f": 0.3e-12, "ground_h": 2e-9,
     "share": 0.15, "off": 1.0},
    {"r": 300.0, "x": 400.0, "hz": 20e6, "gap_f": 0.2e-12, "pin_f": 0.3e-12, "ground_h": 2e-9,
     "share": 0.5, "off": 1.004},
    {"r": 40.0, "x": -90.0, "hz": 50e6, "gap_f": 0.1e-12, "pin_f": 0.5e-12, "ground_h": 1e-9,
     "share": 0.15, "off": 0.997},
)


def one_port(raw, known):
    """Directivity, source match and Δ from three standards: m = e00 + Γ·m·e11 − Γ·Δ."""
    rows = np.stack([np.stack([np.ones_like(m), g * m, -g * np.ones_like(m)], -1)
                     for m, g in zip(raw, known)], -2)
    right = np.stack(np.broadcast_arrays(*raw), -1)[..., None]
    e00, e11, delta = np.moveaxis(np.linalg.solve(rows, right)[..., 0], -1, 0)
    return e00, e11, delta


def correct_one_port(terms, m):
    e00, e11, delta = terms
    return (m - e00) / (m * e11 - delta)


def correct_full(correction, s11, s12, s21, s22):
    """Twelve terms, written with the four normalised readings."""
    (one, l1, t1, x1), (two, l2, t2, x2) = correction
    tracking = [e00 * e11 - delta for e00, e11, delta in (one, two)]
    n11, n22 = (s11 - one[0]) / tracking[0], (s22 - two[0]) / tracking[1]
    n21, n12 = (s21 - x1) / t1, (s12 - x2) / t2
    bottom = (1 + n11 * one[1]) * (1 + n22 * two[1]) - n21 * n12 * l1 * l2
    return n21 * (1 + n22 * (two[1] - l1)) / bottom


def inputs():
    """The names of all independent real inputs, complex ones twice."""
    names = [f"residual {name}" for name in RESIDUALS]
    names += [f"standard {k}" for k in range(12)]
    for what in ("part", "empty", "shorted"):
        names += [f"reflect {what} noise", f"reflect {what} reconnect"]
    for what in ("part", "gap"):
        names += [f"series {what} noise {k}" for k in range(4)]
        names.append(f"series {what} reconnect")
    doubled = [(name, part) for name in names for part in (0, 1)]
    return doubled + [("reflect removal", 0), ("series removal", 0)]


NAMES = inputs()


def coloured(reading, pair, floor):
    """A raw reading with noise made of two normal numbers, by the Cholesky factor of its floor
    and its trace noise along and across it."""
    reading = np.asarray(reading, dtype=complex)
    a, b = reading.real, reading.imag
    along, across = INSTRUMENT["trace_magnitude"], INSTRUMENT["trace_phase_rad"]
    rr = floor**2 / 2 + (a * along) ** 2 + (b * across) ** 2
    ii = floor**2 / 2 + (b * along) ** 2 + (a * across) ** 2
    low = np.sqrt(rr)
    slant = a * b * (along**2 - across**2) / low
    return reading + low * pair[0] + 1j * (slant * pair[0] + np.sqrt(ii - slant**2) * pair[1])


class Chain:
    """The chain at one part, a function of its inputs in arrays whose last axis is theirs."""

    def __init__(self, case):
        self.case = case
        w = 2j * np.pi * case["hz"]
        z = complex(case["r"], case["x"])
        y_pin, z_ground, y_gap = w * case["pin_f"], w * case["ground_h"], w * case["gap_f"]
        self.holds = {
            "part": 1 / (1 / z + y_pin) + z_ground,
            "empty": 1 / y_pin + z_ground,
            "shorted": z_ground,
            "series part": 1 / (1 / z + y_gap),
            "gap": 1 / y_gap,
        }

    def at(self, x, only_blanks=False):
        """Z by reflect and by series-through, after the removal's doubt; `only_blanks` leaves the
        part's own correction without error."""
        take = {}
        for column, (name, part) in enumerate(NAMES):
            take.setdefault(name, [0.0, 0.0])[part] = x[..., column]

        def circular(name, rms):
            re, im = take[name]
            return rms / np.sqrt(2) * (re + 1j * im)

        correction = self.correction(take, circular)
        nothing = {name: [np.zeros(x.shape[:-1])] * 2 for name in take}
        of_part = correction
        if only_blanks:
            of_part = self.correction(nothing, lambda name, rms: 0.0)

        def reflected(what, by):
            z = self.holds[what]
            plane = (z - Z0) / (z + Z0) + circular(f"reflect {what} reconnect",
                                                  INSTRUMENT["reconnect"])
            raw = coloured(plane, take[f"reflect {what} noise"], INSTRUMENT["reflect_floor"])
            gamma = correct_one_port(by[0][0], raw)
            return Z0 * (1 + gamma) / (1 - gamma)

        def passed(what, key, by):
            z = self.holds[key]
            s21 = 2 * Z0 / (z + 2 * Z0)
            s11 = np.asarray(z / (z + 2 * Z0), dtype=complex)
            through = s21 + circular(f"series {what} reconnect", INSTRUMENT["reconnect"])
            floors = [INSTRUMENT["reflect_floor"], INSTRUMENT["through_floor"]]
            raw = [coloured(reading, take[f"series {what} noise {k}"], floors[k in (1, 2)])
                   for k, reading in enumerate((s11, through, through, s11))]
            s = correct_full(by, *raw)
            return 2 * Z0 * (1 - s) / s

        share = self.case["share"]
        zm, zo, zs = reflected("part", of_part), reflected("empty", correction), reflected(
            "shorted", correction)
        reflect = (zm - zs) / (1 - (zm - zs) / (zo - zs))
        reflect = reflect + share * take["reflect removal"][0] * (reflect - zm)
        zm, zg = passed("part", "series part", of_part), passed("gap", "gap", correction)
        series = 1 / (1 / zm - 1 / zg)
        series = series + share * take["series removal"][0] * (series - zm)
        return np.stack([reflect, series], -1)

    def correction(self, take, circular):
        true = {name: circular(f"residual {name}", INSTRUMENT[name]) for name in RESIDUALS}
        tracking = 1 + true["through_tracking"]
        reflections = [1 + true["open"], -1 + true["short"], 0 + true["load"]]
        s21 = 1 / tracking - true["crosstalk"]
        s11 = 0 - true["load_match"]
        readings = [*reflections, *reflections, s11, s21, s21, s11]
        isolated = 0 - true["crosstalk"]
        readings += [isolated, isolated]
        noisy = []
        for k, reading in enumerate(readings):
            is_through = k in (7, 8, 10, 11)
            floor = INSTRUMENT["through_floor" if is_through else "reflect_floor"]
            noisy.append(coloured(reading, take[f"standard {k}"], floor))
        known = (1.0, -1.0, 0.0)
        terms = [one_port(np.broadcast_arrays(*noisy[at:at + 3]), known) for at in (0, 3)]
        t11, t12, t21, t22 = noisy[6:10]
        there, back = noisy[10:12]

        def direction(near, m11, m21, leak):
            match = correct_one_port(near, m11)
            return near, match, (m21 - leak) * (1 - near[1] * match), leak

        return direction(terms[0], t11, t21, there), direction(terms[1], t22, t12, back)


def real(z):
    """(…, 2) complex as (…, 4) real."""
    return np.stack([z[..., 0].real, z[..., 0].imag, z[..., 1].real, z[..., 1].imag], -1)


def derivatives(chain, only_blanks=False):
    count = len(NAMES)
    steps = STEP * np.eye(count)
    up, down = (real(chain.at(sign * steps, only_blanks)) for sign in (1, -1))
    return ((up - down) / (2 * STEP)).T


def unsure(chain, share):
    """Steps of the doubt about what the residuals add to the blanks: any phase, one for each
    fixture."""
    of_blanks = derivatives(chain, True)
    own = [k for k, (name, _) in enumerate(NAMES) if name.startswith("residual")]
    steps = np.zeros((4, 4))
    for fixture in (0, 1):
        rows = slice(2 * fixture, 2 * fixture + 2)
        square = (of_blanks[rows, own] ** 2).sum()
        size = share * np.sqrt(square / 2)
        steps[2 * fixture, 2 * fixture] = steps[2 * fixture + 1, 2 * fixture + 1] = size
    return steps


def blend(case):
    """Derivatives at the blend, its covariance and χ²."""
    shown = series_shown(case)
    measured = np.array([complex(case["r"], case["x"]), shown])
    z = complex(case["r"], case["x"])
    design = np.vstack([np.eye(2), np.eye(2)])
    for _ in range(40):
        here = Chain({**case, "r": z.real, "x": z.imag})
        jacobian = np.hstack([derivatives(here), unsure(here, case["share"])])
        inverse = np.linalg.inv(jacobian @ jacobian.T)
        covariance = np.linalg.inv(design.T @ inverse @ design)
        residual = real(tangent(case, z, measured)[None, :])[0]
        step = covariance @ design.T @ inverse @ residual
        z += complex(*step)
        if np.abs(step).max() < 1e-11:
            break
    left = residual - design @ step
    return z, covariance, float(left @ inverse @ left), inverse


def embed(case, z):
    w = 2j * np.pi * case["hz"]
    return (1 / (1 / z + w * case["pin_f"]) + w * case["ground_h"],
            1 / (1 / z + w * case["gap_f"]))


def series_shown(case):
    """Z by series-through where its reading is multiplied by `off`."""
    w = 2j * np.pi * case["hz"]
    zm = embed(case, complex(case["r"], case["x"]))[1]
    s = 2 * Z0 / (zm + 2 * Z0) * case["off"]
    zm = 2 * Z0 * (1 - s) / s
    return 1 / (1 / zm - w * case["gap_f"])


def tangent(case, z, measured):
    """(S − S(z))·dz/dS in both fixtures."""
    maps = (lambda q: (embed(case, q)[0] - Z0) / (embed(case, q)[0] + Z0),
            lambda q: 2 * Z0 / (embed(case, q)[1] + 2 * Z0))
    h = 1e-4 * abs(z)
    return np.array([(s(m) - s(z)) * 2 * h / (s(z + h) - s(z - h))
                     for s, m in zip(maps, measured)])


def drawn(case):
    """Covariance of the blend from draws through the chain as it is."""
    z, _, _, inverse = blend({**case, "off": 1.0})
    chain = Chain(case)
    rng = np.random.default_rng(SEED)
    x = rng.standard_normal((DRAWS, len(NAMES)))
    design = np.vstack([np.eye(2), np.eye(2)])
    weights = np.linalg.inv(design.T @ inverse @ design) @ design.T @ inverse
    off = real(chain.at(x)) - np.array([z.real, z.imag] * 2)
    return np.cov((off @ weights.T).T)


def three(c):
    return [float(c[0, 0]), float(c[1, 1]), float(c[0, 1])]


def agreement():
    """One p-value of a made-up sweep, by whole matrices."""
    rng = np.random.default_rng(SEED + 1)
    points, columns = 7, 5
    residual = rng.normal(size=(points, 6)).round(6)
    own = (0.2 + rng.random((points, 3))).round(6)
    constants = (rng.normal(size=(points, columns, 6))
                 * np.array([3.0, 2.0, 1.0, 0.2, 0.05])[None, :, None]).round(6)
    common = (0.5 * rng.normal(size=(points, 1, 6))).round(6)
    design = np.vstack([np.eye(2)] * 3)
    y, rows = [], []
    for k in range(points):
        noise = np.diag(np.repeat(own[k], 2)) + common[k].T @ common[k]
        root = np.linalg.inv(np.linalg.cholesky(noise))
        along, _ = np.linalg.qr(root @ design, mode="complete")
        free = along[:, 2:].T @ root
        y.append(free @ residual[k])
        rows.append(free @ constants[k].T)
    y, s = np.concatenate(y), np.vstack(rows)
    u, d, _ = np.linalg.svd(s, full_matrices=False)
    large = d > 1
    whole = np.eye(len(y)) + s @ s.T
    chi_square = y @ np.linalg.solve(whole, y)
    of_constants = (((u.T @ y) ** 2 / (1 + d**2))[large]).sum()
    directions = int(large.sum())
    p = min(stats.chi2.sf(of_constants, directions),
            stats.chi2.sf(chi_square - of_constants, len(y) - directions))
    return {
        "residual": residual.tolist(),
        "own": own.tolist(),
        "constants": constants.tolist(),
        "common": common[:, 0].tolist(),
        "of_constants": [float(of_constants), directions],
        "of_noise": [float(chi_square - of_constants), len(y) - directions],
        "p": float(1 - (1 - p) ** 2),
    }


def make():
    cases = []
    for case in CASES:
        z, covariance, chi_square, _ = blend(case)
        cases.append({
            **case,
            "z": [z.real, z.imag],
            "covariance": three(covariance),
            "chi_square": chi_square,
            "drawn": three(drawn(case)),
        })
    return {"seed": SEED, "draws": DRAWS, "instrument": INSTRUMENT, "cases": cases,
            "agreement": agreement()}


def numbers(tree, path=""):
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield from numbers(value, f"{path}/{key}")
    elif isinstance(tree, list):
        for at, value in enumerate(tree):
            yield from numbers(value, f"{path}/{at}")
    else:
        yield path, tree


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare, write nothing")
    check = parser.parse_args().check
    made = make()
    if not check:
        FILE.write_text(json.dumps(made, indent=1) + "\n", encoding="ascii")
        print(f"{FILE.name}: {len(made['cases'])} cases written, seed {SEED}")
        return 0
    kept = dict(numbers(json.loads(FILE.read_text(encoding="ascii"))))
    found = dict(numbers(made))
    if kept.keys() != found.keys():
        print(f"{FILE.name}: DIFFERS: other entries")
        return 1
    for path, value in found.items():
        tolerance = DRAWN_TOLERANCE if "/drawn/" in path else CHECK_TOLERANCE
        size = max(abs(value), 1e-6)
        if not abs(value - kept[path]) <= tolerance * size:
            print(f"{FILE.name}: DIFFERS: {path} is {value}, kept {kept[path]}")
            return 1
    print(f"{FILE.name}: {len(found)} numbers agree, seed {SEED}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
