#!/usr/bin/env python3
"""Fixtures with strays by scikit-rf, for tests/tests/fixtures/strays.rs.

    python3 make_strays.py            write strays.json
    python3 make_strays.py --check    make them again and compare with strays.json

Each fixture is a circuit of scikit-rf's own elements: two lines of given loss, permittivity,
loss tangent and impedance, capacitors, inductors and resistors, joined at nodes by its circuit
solver. A second route, a cascade of two-ports around the part with its strays combined by hand
as an ABCD matrix, must give the same S before anything is written. Both use scikit-rf's lines,
which lose digits where a line is short against the wave: compared once with 40-digit arithmetic,
S is off by up to 2e-11 at 1 MHz, so frequencies start at 30 MHz, where it is at most 1.3e-13.

Cases are random with a fixed seed, which is written in the file.
"""

import argparse
import json
import sys
from pathlib import Path

import numpy as np
import skrf
from skrf.circuit import Circuit
from skrf.media import DefinedAEpTandZ0, DefinedGammaZ0

FILE = Path(__file__).with_name("strays.json")
SEED = 75_051
CASES = 100
FIXTURES = ("reflect", "shunt", "series")
PARAMETERS = ("s11", "s12", "s21", "s22")

# Largest difference from the committed file, in any S: some of scikit-rf's own error, which
# another processor's linear algebra may round otherwise.
CHECK_TOLERANCE = 1e-12
# Largest difference of the two routes, in any S.
ROUTE_TOLERANCE = 1e-12


def twelve_digits(x):
    """So that the last bit of a platform's power does not matter."""
    return float(f"{x:.12g}")


def cases():
    rng = np.random.default_rng(SEED)

    def log(low, high):
        return twelve_digits(10 ** rng.uniform(np.log10(low), np.log10(high)))

    def flat(low, high):
        return twelve_digits(rng.uniform(low, high))

    def line():
        return {
            "length_m": log(1e-3, 0.5),
            "permittivity": flat(1.0, 4.5),
            "zc_ohm": flat(30.0, 120.0),
            "conductor_db_per_m_at_1ghz": log(0.01, 3.0),
            "loss_tangent": log(1e-4, 2e-2),
        }

    drawn = []
    for number in range(CASES):
        magnitude, angle = log(1e-2, 1e5), flat(-np.pi / 2, np.pi / 2)
        drawn.append(
            {
                "fixture": FIXTURES[number % 3],
                "freq_hz": log(3e7, 3e9),
                "z0_ohm": 50.0 if number % 4 else 75.0,
                "device_ohm": [
                    twelve_digits(magnitude * np.cos(angle)),
                    twelve_digits(magnitude * np.sin(angle)),
                ],
                "gap_f": log(1e-14, 1e-12),
                "ground_h": log(1e-11, 5e-9),
                "pin_f": log(1e-14, 1e-12),
                "contact_ohm": log(1e-3, 1.0),
                "before": line(),
                "after": line(),
            }
        )
    return drawn


def arm(line, frequency, z0):
    media = DefinedAEpTandZ0(
        frequency=frequency,
        A=line["conductor_db_per_m_at_1ghz"],
        f_A=1e9,
        ep_r=line["permittivity"],
        tanD=line["loss_tangent"],
        z0_port=z0,
        z0=[line["zc_ohm"]],
    )
    return media.line(line["length_m"], "m")


def two_port(abcd, frequency, z0):
    s = skrf.network.a2s(np.array([abcd], dtype=complex), np.array([[z0, z0]]))
    return skrf.Network(frequency=frequency, s=s, z0=z0)


def by_circuit(case):
    z0 = case["z0_ohm"]
    frequency = skrf.Frequency(case["freq_hz"], case["freq_hz"], 1, "Hz")
    media = DefinedGammaZ0(frequency, z0_port=z0, z0=z0)
    before, after = arm(case["before"], frequency, z0), arm(case["after"], frequency, z0)
    part = two_port([[1, complex(*case["device_ohm"])], [0, 1]], frequency, z0)
    contacts = [media.resistor(case["contact_ohm"]) for _ in range(2)]
    ground = media.inductor(case["ground_h"])
    names = {"before": before, "after": after, "part": part, "ground": ground}
    names |= {"contact 1": contacts[0], "contact 2": contacts[1]}
    for name, network in names.items():
        network.name = name
    port_1, port_2 = (Circuit.Port(frequency, f"port {n}", z0=z0) for n in (1, 2))
    earth = Circuit.Ground(frequency, "earth", z0=z0)

    if case["fixture"] == "reflect":
        pin = media.capacitor(case["pin_f"])
        pin.name = "pin"
        nodes = [
            [(port_1, 0), (before, 0)],
            [(before, 1), (ground, 0)],
            [(ground, 1), (pin, 0), (contacts[0], 0)],
            [(contacts[0], 1), (part, 0)],
            [(part, 1), (pin, 1), (earth, 0)],
        ]
    elif case["fixture"] == "shunt":
        nodes = [
            [(port_1, 0), (before, 0)],
            [(before, 1), (after, 0), (contacts[0], 0)],
            [(contacts[0], 1), (part, 0)],
            [(part, 1), (ground, 0)],
            [(ground, 1), (earth, 0)],
            [(after, 1), (port_2, 0)],
        ]
    else:
        gap = media.capacitor(case["gap_f"])
        gap.name = "gap"
        nodes = [
            [(port_1, 0), (before, 0)],
            [(before, 1), (contacts[0], 0), (gap, 0)],
            [(contacts[0], 1), (part, 0)],
            [(part, 1), (contacts[1], 0)],
            [(contacts[1], 1), (gap, 1), (after, 0)],
            [(after, 1), (port_2, 0)],
        ]
    return Circuit(nodes).network.s[0]


def by_cascade(case):
    z0 = case["z0_ohm"]
    frequency = skrf.Frequency(case["freq_hz"], case["freq_hz"], 1, "Hz")
    before, after = arm(case["before"], frequency, z0), arm(case["after"], frequency, z0)
    omega = 2 * np.pi * case["freq_hz"]
    z, contact = complex(*case["device_ohm"]), case["contact_ohm"]
    ground = 1j * omega * case["ground_h"]
    if case["fixture"] == "reflect":
        z = 1 / (1 / (z + contact) + 1j * omega * case["pin_f"]) + ground
        short = skrf.Network(frequency=frequency, s=np.array([[[-1.0 + 0j]]]), z0=z0)
        return (before ** two_port([[1, z], [0, 1]], frequency, z0) ** short).s[0]
    if case["fixture"] == "shunt":
        middle = [[1, 0], [1 / (z + contact + ground), 1]]
    else:
        z = 1 / (1 / (z + 2 * contact) + 1j * omega * case["gap_f"])
        middle = [[1, z], [0, 1]]
    return (before ** two_port(middle, frequency, z0) ** after).s[0]


def make():
    made = []
    for case in cases():
        circuit, cascade = by_circuit(case), by_cascade(case)
        miss = np.abs(circuit - cascade).max()
        if not miss <= ROUTE_TOLERANCE:
            raise SystemExit(f"the two routes miss by {miss:e} for {case}")
        if case["fixture"] == "reflect":
            names = {"s11": circuit[0, 0]}
        else:
            names = dict(zip(PARAMETERS, circuit.flat))
        made.append(case | {k: [float(s.real), float(s.imag)] for k, s in names.items()})
    return {
        "made_by": f"make_strays.py with scikit-rf {skrf.__version__}, numpy {np.__version__}",
        "seed": SEED,
        "cases": made,
    }


def write(made):
    # One case a line: a change of one shows as one.
    lines = ",\n".join("    " + json.dumps(case) for case in made["cases"])
    head = {key: value for key, value in made.items() if key != "cases"}
    text = json.dumps(head, indent=2).rstrip("\n}")
    FILE.write_text(f'{text},\n  "cases": [\n{lines}\n  ]\n}}\n', encoding="ascii")


def difference(made, kept):
    """The largest difference, or a sentence where the two can't be compared."""
    if made["seed"] != kept["seed"] or len(made["cases"]) != len(kept["cases"]):
        return "seed or number of cases differs"
    largest = 0.0
    for number, (new, old) in enumerate(zip(made["cases"], kept["cases"])):
        if new.keys() != old.keys():
            return f"case {number} does not have the same fields"
        for name in new:
            if name not in PARAMETERS:
                if new[name] != old[name]:
                    return f"{name} of case {number} is {new[name]}, kept {old[name]}"
                continue
            miss = abs(complex(*new[name]) - complex(*old[name]))
            if not miss <= CHECK_TOLERANCE:
                return f"{name} of case {number} is off by {miss:e}"
            largest = max(largest, miss)
    return largest


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare, write nothing")
    check = parser.parse_args().check

    made = make()
    if not check:
        write(made)
        print(f"{FILE.name}: {len(made['cases'])} cases written, seed {SEED}")
        return 0
    found = difference(made, json.loads(FILE.read_text(encoding="ascii")))
    if isinstance(found, str):
        print(f"{FILE.name}: DIFFERS: {found}")
        return 1
    print(f"{FILE.name}: {len(made['cases'])} cases agree to {found:.1e}, seed {SEED}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
