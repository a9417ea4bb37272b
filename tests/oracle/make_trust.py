#!/usr/bin/env python3
"""How much of an exact Monte Carlo lies inside the linear uncertainty, for
tests/tests/uncertainty/uncertainty_trust.rs.

    python3 make_trust.py            write trust.json
    python3 make_trust.py --check    make it again and compare with trust.json

The inverse of every fixture is Z = A + B/T with T the distance of the reading from the pole. A
scatter w of T relative to t0 gives (Z - Z0)/(-B/t0) = 1 - 1/(1 + w), and w itself to first order.
w is a Gaussian with the standard deviations s1 >= s2 along two axes at right angles, turned by any
angle against t0, and R is any direction in the plane. For each k = 1/s1 and ratio = s2/s1 this
counts what lies inside
  joint:     the linear 95 % ellipse, chi-square below -2 ln 0.05, and
  component: R within 2 u(R),
and writes the least of all angles.
"""

import argparse
import json
import sys
from pathlib import Path

import numpy as np

FILE = Path(__file__).with_name("trust.json")
SEED = 13_008
DRAWS = 100_000
K = (5, 7, 10, 14, 20, 25, 35, 50, 100, 200)
RATIO = (1.0, 0.7, 0.5, 0.3, 0.2, 0.1, 0.05)
TURNS = np.radians(np.arange(0.0, 180.0, 22.5))
COMPONENTS = np.radians(np.arange(0.0, 180.0, 30.0))

# The draws are the same, so only rounding at the rim of a region may differ.
CHECK_TOLERANCE = 5 / DRAWS


def least(k, ratio, x, y):
    joint, component = 1.0, 1.0
    for turn in TURNS:
        axis = np.exp(1j * turn)
        moved = 1.0 - 1.0 / (1.0 + (x + 1j * ratio * y) / k * axis)
        along = moved / axis * k
        inside = along.real**2 + (along.imag / ratio) ** 2 < -2.0 * np.log(0.05)
        joint = min(joint, float(np.mean(inside)))
        for angle in COMPONENTS:
            to_r = np.exp(1j * angle)
            seen = axis * to_r
            u = np.hypot(seen.real, ratio * seen.imag) / k
            inside = np.abs((moved * to_r).real) < 2.0 * u
            component = min(component, float(np.mean(inside)))
    return {"k": k, "ratio": ratio, "joint": joint, "component": component}


def made():
    draws = np.random.default_rng(SEED)
    x, y = draws.standard_normal((2, DRAWS))
    cells = [least(k, ratio, x, y) for k in K for ratio in RATIO]
    return {"seed": SEED, "draws": DRAWS, "cells": cells}


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="compare, write nothing")
    check = parser.parse_args().check
    found = made()
    if not check:
        FILE.write_text(json.dumps(found, indent=1) + "\n")
        return 0
    kept = json.loads(FILE.read_text())
    pairs = zip(kept["cells"], found["cells"], strict=True)
    off = max(abs(a[key] - b[key]) for a, b in pairs for key in a)
    print(f"trust.json: {len(found['cells'])} cells, largest difference {off:.1e}")
    return int(off > CHECK_TOLERANCE)


if __name__ == "__main__":
    sys.exit(main())
