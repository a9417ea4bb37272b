#!/usr/bin/env python3
"""Readings of the three fixtures by scikit-rf, for tests/scikit_rf.rs, and calibrations by
scikit-rf, for tests/calibration_scikit_rf.rs.

    python3 make_vectors.py            write vectors.json and calibration_vectors.json
    python3 make_vectors.py --check    make them again and compare with both files

The calibrations are made in calibration_vectors.py. What follows is about the readings.

No reading is computed from its formula here. Each circuit is built as a network:

* shunt-through and series-through: the ABCD matrix of one admittance to ground or one
  impedance between the ports, turned to S by scikit-rf;
* reflect: the same series two-port ended in a short, connected by scikit-rf.

A second route that shares nothing with the first, a three-port tee ended in the device's
reflection, must give the shunt reading too before anything is written.

The devices are random with a fixed seed, which is written in the file.
"""

import argparse
import json
import sys
from pathlib import Path

import numpy as np
import skrf

import calibration_vectors

FILE = Path(__file__).with_name("vectors.json")
SEED = 75_050
RANDOM_DEVICES = 200
REFERENCES_OHM = (50.0, 75.0)

# Largest difference from the committed file, relative to max(1, |S|) or to |Z|.
CHECK_TOLERANCE = 1e-14
# Largest difference of the two routes, relative to max(1, |S|): some tens of roundings in
# the tee's solution of linear equations.
ROUTE_TOLERANCE = 1e-12

ONE_POINT = skrf.Frequency(1, 1, 1, "Hz")


def devices():
    """R + jX in ohms: random over 1 mOhm to 1 MOhm at every phase, then corners."""
    rng = np.random.default_rng(SEED)
    magnitude = 10 ** rng.uniform(-3, 6, RANDOM_DEVICES)
    angle = rng.uniform(-np.pi, np.pi, RANDOM_DEVICES)
    drawn = [complex(m * np.cos(a), m * np.sin(a)) for m, a in zip(magnitude, angle)]
    corners = [
        ohm * direction
        for ohm in (1e-3, 1.0, 25.0, 37.5, 50.0, 75.0, 100.0, 150.0, 1e3, 1e6)
        for direction in (1, 1j, -1j, 1 + 1j, 1 - 1j)
    ]
    active = [complex(-5, 30), complex(-300, -20), complex(-1e-3, 1e-3), complex(-1e6, 1.0)]
    # Twelve digits, so that the last bit of a platform's cosine does not matter.
    return [
        complex(float(f"{z.real:.12g}"), float(f"{z.imag:.12g}"))
        for z in map(complex, drawn + corners + active)
    ]


def two_port(abcd, z0):
    s = skrf.network.a2s(np.array([abcd], dtype=complex), np.array([[z0, z0]]))
    return skrf.Network(frequency=ONE_POINT, s=s, z0=z0)


def one_port(gamma, z0):
    return skrf.Network(frequency=ONE_POINT, s=np.array([[[gamma]]], dtype=complex), z0=z0)


def readings(z, z0):
    series = two_port([[1, z], [0, 1]], z0)
    shunt = two_port([[1, 0], [1 / z, 1]], z0)
    reflect = series ** one_port(-1, z0)

    tee = skrf.Network(
        frequency=ONE_POINT,
        s=np.array([[[-1, 2, 2], [2, -1, 2], [2, 2, -1]]], dtype=complex) / 3,
        z0=z0,
    )
    second_route = skrf.network.connect(tee, 2, reflect, 0).s[0, 1, 0]
    first_route = shunt.s[0, 1, 0]
    miss = abs(first_route - second_route) / max(1, abs(first_route))
    if miss > ROUTE_TOLERANCE:
        raise SystemExit(f"{z} ohm on {z0}: the two routes to the shunt reading miss by {miss:e}")
    return {
        "reflect_s11": reflect.s[0, 0, 0],
        "shunt_s11": shunt.s[0, 0, 0],
        "shunt_s21": first_route,
        "series_s11": series.s[0, 0, 0],
        "series_s21": series.s[0, 1, 0],
    }


def parts(value):
    return {"re": float(value.real), "im": float(value.imag)}


def make():
    vectors = [
        {
            "reference_ohm": z0,
            "device_ohm": parts(z),
            **{name: parts(value) for name, value in readings(z, z0).items()},
        }
        for z0 in REFERENCES_OHM
        for z in devices()
    ]
    return {
        "made_by": f"make_vectors.py with scikit-rf {skrf.__version__}, numpy {np.__version__}",
        "seed": SEED,
        "vectors": vectors,
    }


def write(made, file):
    # One vector a line: a change of one shows as one. Python's float repr comes back exactly.
    separators = (",", ":") if file == calibration_vectors.FILE else (", ", ": ")
    lines = ",\n".join(
        "    " + json.dumps(vector, separators=separators) for vector in made["vectors"]
    )
    head = {key: value for key, value in made.items() if key != "vectors"}
    text = json.dumps(head, indent=2).rstrip("\n}")
    file.write_text(f'{text},\n  "vectors": [\n{lines}\n  ]\n}}\n', encoding="ascii")


def difference(made, kept):
    """The largest difference, or a sentence where the two can't be compared."""
    if made["seed"] != kept["seed"] or len(made["vectors"]) != len(kept["vectors"]):
        return "seed or number of vectors differs"
    largest = 0.0
    for new, old in zip(made["vectors"], kept["vectors"]):
        if new.keys() != old.keys() or new["reference_ohm"] != old["reference_ohm"]:
            return "the vectors do not have the same fields"
        for name in new.keys() - {"reference_ohm"}:
            a, b = (complex(v[name]["re"], v[name]["im"]) for v in (new, old))
            size = abs(b) if name == "device_ohm" else max(1.0, abs(b))
            miss = abs(a - b) / size
            if not miss <= CHECK_TOLERANCE:
                return f"{name} of {old['device_ohm']} is {a}, kept {b}, off by {miss:e}"
            largest = max(largest, miss)
    return largest


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare, write nothing")
    check = parser.parse_args().check

    codes = [
        run(check, FILE, make, difference),
        run(
            check,
            calibration_vectors.FILE,
            calibration_vectors.make,
            calibration_vectors.difference,
        ),
    ]
    return max(codes)


def run(check, file, make, difference):
    made = make()
    seed = made["seed"]
    if not check:
        write(made, file)
        print(f"{file.name}: {len(made['vectors'])} vectors written, seed {seed}")
        return 0
    found = difference(made, json.loads(file.read_text(encoding="ascii")))
    if isinstance(found, str):
        print(f"{file.name}: DIFFERS: {found}")
        return 1
    print(f"{file.name}: {len(made['vectors'])} vectors agree to {found:.1e}, seed {seed}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
