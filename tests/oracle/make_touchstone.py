#!/usr/bin/env python3
"""Touchstone texts and what scikit-rf reads in them, for tests/touchstone_scikit_rf.rs.

    python3 make_touchstone.py            write touchstone.json
    python3 make_touchstone.py --check    make them again and compare with touchstone.json

Only where scikit-rf follows the standard: order of two-port columns in both versions, DB, MA
and RI, Z, [Reference] (unequal ones too), half matrices, three and four ports. It does not for
fields of the option line in other orders, Y, H and G of version 1, and noise that begins at
the sweep's last frequency: those are checked by the standard's own words elsewhere.

The numbers are random with a fixed seed, which is written in the file.
"""

import argparse
import json
import sys
import tempfile
from pathlib import Path

import numpy as np
import skrf

FILE = Path(__file__).with_name("touchstone.json")
SEED = 20_090_424

# Largest difference from the committed file.
CHECK_TOLERANCE = 1e-13


def pair(rng, form):
    """One complex number as text: two numbers of six digits."""
    if form == "RI":
        first, second = rng.uniform(-1, 1, 2)
    else:
        first = rng.uniform(0.1, 1.2) if form == "MA" else rng.uniform(-40, 2)
        second = rng.uniform(-180, 180)
    return f"{first:.6g} {second:.6g}"


def one(rng, ports, parameter, form, unit, reference):
    """Two records of version 1."""
    lines = [f"# {unit} {parameter} {form} R {reference}"]
    for frequency in ("1.5", "2.25"):
        rows = [[pair(rng, form) for _ in range(ports)] for _ in range(ports)]
        if ports < 3:
            lines.append(" ".join([frequency] + [cell for row in rows for cell in row]))
            continue
        for number, row in enumerate(rows):
            lines.append(" ".join(([frequency] if number == 0 else [""]) + row))
    return "\n".join(lines) + "\n"


def two(rng, ports, parameter, form, order=None, references=None, matrix=None):
    """Two records of version 2."""
    lines = ["[Version] 2.0", f"# MHz {parameter} {form} R 50", f"[Number of Ports] {ports}"]
    if order:
        lines.append(f"[Two-Port Data Order] {order}")
    lines.append("[Number of Frequencies] 2")
    if references:
        lines.append("[Reference] " + " ".join(map(str, references)))
    if matrix:
        lines.append(f"[Matrix Format] {matrix}")
    lines.append("[Network Data]")
    for frequency in ("1.5", "2.25"):
        for row in range(ports):
            columns = {
                None: range(ports),
                "Full": range(ports),
                "Lower": range(row + 1),
                "Upper": range(row, ports),
            }[matrix]
            cells = [pair(rng, form) for _ in columns]
            if parameter == "Z":
                # Ohms, with a diagonal that keeps the conversion far from a pole.
                cells = [
                    f"{rng.uniform(20, 90):.6g} {rng.uniform(-30, 30):.6g}"
                    if column == row
                    else f"{rng.uniform(-5, 5):.6g} {rng.uniform(-5, 5):.6g}"
                    for column in columns
                ]
            lines.append(" ".join(([frequency] if row == 0 else [""]) + cells))
    return "\n".join(lines) + "\n[End]\n"


def texts():
    rng = np.random.default_rng(SEED)
    for form in ("RI", "MA", "DB"):
        yield f"v1-{form}.s1p", one(rng, 1, "S", form, "MHz", 50)
        yield f"v1-{form}.s2p", one(rng, 2, "S", form, "GHz", 75)
    yield "v1-z.s1p", one(rng, 1, "Z", "RI", "kHz", 75)
    yield "v1-z.s2p", one(rng, 2, "Z", "MA", "Hz", 75)
    yield "v1.s3p", one(rng, 3, "S", "RI", "MHz", 50)
    yield "v1.s4p", one(rng, 4, "S", "DB", "MHz", 50)
    for order in ("12_21", "21_12"):
        yield f"v2-{order}.s2p", two(rng, 2, "S", "RI", order)
        yield f"v2-z-{order}.s2p", two(rng, 2, "Z", "RI", order, (20, 75))
    yield "v2-reference.s1p", two(rng, 1, "Z", "RI", None, (20,))
    for matrix in ("Lower", "Upper", "Full"):
        yield f"v2-{matrix}.s3p", two(rng, 3, "S", "MA", None, (50, 75, 20), matrix)
    yield "v2-lower.s2p", two(rng, 2, "S", "RI", "12_21", None, "Lower")
    yield "v2-z.s3p", two(rng, 3, "Z", "RI", None, (50, 75, 20))
    yield "v2-z-upper.s4p", two(rng, 4, "Z", "RI", None, None, "Upper")
    yield "v2.s4p", two(rng, 4, "S", "RI")


def read(folder, name, text):
    path = Path(folder) / name
    path.write_text(text)
    network = skrf.Network(path)
    points, ports, _ = network.s.shape
    return {
        "name": name,
        "text": text,
        "frequency_hz": [float(f) for f in network.f],
        "references_ohm": [float(z.real) for z in network.z0[0]],
        "s": [
            [float(part) for part in (network.s[k, i, j].real, network.s[k, i, j].imag)]
            for k in range(points)
            for i in range(ports)
            for j in range(ports)
        ],
    }


def make():
    with tempfile.TemporaryDirectory() as folder:
        files = [read(folder, name, text) for name, text in texts()]
    return {"made_with": f"scikit-rf {skrf.__version__}", "seed": SEED, "files": files}


def compare(made, kept):
    """What differs, in words; empty where nothing does."""
    if [f["name"] for f in made["files"]] != [f["name"] for f in kept["files"]]:
        return ["other files"]
    different = []
    for new, old in zip(made["files"], kept["files"]):
        if new["text"] != old["text"]:
            different.append(f"{new['name']}: other text")
            continue
        for key in ("frequency_hz", "references_ohm", "s"):
            a, b = np.array(new[key]), np.array(old[key])
            scale = 1.0 if key == "s" else np.abs(b)
            if a.shape != b.shape or np.any(np.abs(a - b) > CHECK_TOLERANCE * scale):
                different.append(f"{new['name']}: other {key}")
    return different


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare instead of writing")
    made = make()
    if parser.parse_args().check:
        different = compare(made, json.loads(FILE.read_text()))
        if different:
            sys.exit("\n".join(different))
        print(f"{len(made['files'])} files agree with {FILE.name}")
        return
    FILE.write_text(json.dumps(made, indent=1) + "\n")
    print(f"{len(made['files'])} files in {FILE.name}")


if __name__ == "__main__":
    main()
