#!/usr/bin/env python3
"""What comes out of 90 benches, for tests/tests/uncertainty/bench_twin.rs.

    python3 make_bench.py            write bench.json
    python3 make_bench.py --check    make it again and compare with bench.json

A bench is a scenario file: an invented instrument in one of its bands, a fixture with strays that
are left or taken out, a calibration by some method, and a part. Each trial makes that bench anew.

* The fixture is a chain of ABCD matrices, turned into S-parameters: arm, part with the strays at
  it, arm. Strays that are taken out are drawn about their known sizes.
* The raw analyzer is the signal flow of twelve error terms. A method that corrects a term meets it
  at any size; one that leaves it out meets it circular, with the rms that the front end of the
  scenario has (FRONT_END, which the Rust test compares with that front end).
* The calibration is made: standards off by their residuals are measured by that analyzer, the
  terms are solved for from their readings, and the part's raw readings are corrected by them.
* Noise, drift, cable, reconnection and rounding act on the corrected reading, since an instrument
  quotes its floor and its display for that.
* Ohms come from the reading by the textbook formula of the fixture, or, where strays are taken
  out, from three readings of the known fixture: short, open and 50 ohm in place of the part.

Written are u(R) and u(X), the standard deviations of the part's R and X with the known strays
taken out, and 1 000 of these Z in units of u/100; the same deviations to first order, from errors
a fiftieth as large; and 1 000 |Z| that come out, as ln(|Z|/|Z of the part|) in units of `step`.

References: 12-term model, Rumiantsev & Ridler, IEEE Microw. Mag. 9(3), 2008 (equations
recomputed); ABCD matrices and their S-parameters, Pozar, Microwave Engineering (cited from memory);
JCGM 101 for the Monte Carlo. Random numbers have a fixed seed.
"""

import argparse
import json
import math
import sys
from pathlib import Path

import numpy as np

FILE = Path(__file__).with_name("bench.json")
SEED = 14_001
TRIALS = 200_000
KEPT = 1_000
Z0 = 50.0
LIGHT = 299_792_458.0
# Largest relative difference of a standard deviation from the committed file.
CHECK_TOLERANCE = 1e-8
# A standard deviation is written where the nominal reading is this many of its own away from that
# of an open: nearer it grows with the number of trials.
LEAST_DISTANCE = 8.0
# Every error times this for the first order; the display too.
SMALL_SCALE = 1.0 / 50.0

# The figures of the invented instruments: load; open and short; through tracking; load match left;
# crosstalk; floors of reflection and transmission; trace noise dB and degrees; raw match;
# reconnection. Display steps are the same in all bands.
PRESETS = {
    "handheld": {
        7e6: (-38, 0.015, 0.018, -34, -62, -70, -70, 0.015, 0.10, 0.18, 0.003),
        1e8: (-34, 0.025, 0.025, -30, -58, -64, -64, 0.025, 0.20, 0.20, 0.006),
        4e8: (-28, 0.05, 0.05, -26, -50, -55, -55, 0.05, 0.5, 0.25, 0.015),
    },
    "club bench": {
        7e6: (-44, 0.008, 0.006, None, -85, -90, -90, 0.004, 0.025, 0.10, 0.001),
        1e8: (-40, 0.012, 0.010, None, -80, -75, -88, 0.006, 0.04, 0.12, 0.002),
        4e8: (-36, 0.02, 0.015, None, -75, -68, -84, 0.01, 0.08, 0.15, 0.004),
    },
    "laboratory": {
        7e6: (-56, 0.0025, 0.0008, None, -110, -110, -110, 0.0006, 0.004, 0.05, 0.0003),
        1e8: (-52, 0.004, 0.0015, None, -105, -92, -108, 0.001, 0.008, 0.06, 0.0005),
        4e8: (-48, 0.006, 0.003, None, -100, -86, -104, 0.0015, 0.015, 0.08, 0.001),
    },
}
DISPLAY = {"handheld": (0.05, 0.5), "club bench": (0.001, 0.01), "laboratory": (0.0001, 0.001)}

# Sizes of the raw terms of the front end that scenarios with this seed have: |D|, |R|, |R - 1|,
# |source match|, |load match|, |T|, |T - 1|, |crosstalk|.
FRONT_END_SEED = 59
FRONT_END = {
    ("handheld", 7e6): (0.04375, 0.86552, 0.24429, 0.19043, 0.21594, 0.94714, 1.51707, 6.3864e-5),
    ("handheld", 1e8): (0.03482, 0.84593, 1.79335, 0.22904, 0.22018, 0.91835, 1.55879, 7.0380e-5),
    ("handheld", 4e8): (0.04302, 0.82001, 1.54823, 0.25971, 0.28523, 0.87093, 0.32654, 6.2397e-5),
    ("club bench", 7e6): (0.04375, 0.86552, 0.24429, 0.10579, 0.11997, 0.9429, 1.51014, 6.3864e-5),
    ("club bench", 1e8): (0.03482, 0.84593, 1.79335, 0.13743, 0.13211, 0.91765, 1.55496, 7.038e-5),
    ("club bench", 4e8): (0.04302, 0.82001, 1.54823, 0.15582, 0.17114, 0.87811, 0.32354, 6.2397e-5),
    ("laboratory", 7e6): (0.04375, 0.86552, 0.24429, 0.0529, 0.05998, 0.94027, 1.50581, 6.3864e-5),
    ("laboratory", 1e8): (0.03482, 0.84593, 1.79335, 0.06871, 0.06605, 0.91715, 1.5521, 7.038e-5),
    ("laboratory", 4e8): (0.04302, 0.82001, 1.54823, 0.08311, 0.09127, 0.88313, 0.32152, 6.2397e-5),
}

# Of each fixture ten parts, one for each setting below: ohms.
PARTS = {
    "reflect": (
        12.0, 60 + 110j, 5 - 20j, 220.0, 25 + 40j, 20 + 15j, 100.0, 8 - 30j, 150 - 60j, 3.3 + 9j,
    ),
    "shunt": (0.1, 3 + 12j, 0.5 + 2j, 22 - 9j, 47.0, 4 - 6j, 1 + 1j, 12.0, 8 - 25j, 0.3 + 0.8j),
    "series": (1e4, 1e5, 300 - 800j, 470.0, 1e3 + 700j, 150.0, 2e3, 820 - 300j, 90 + 200j, 220.0),
}

SMALL = {"gap": 0.1e-12, "ground": 1e-9, "pin": 0.2e-12, "contact": 0.01}
LARGE = {"gap": 0.4e-12, "ground": 5e-9, "pin": 1e-12, "contact": 0.03, "braid": 0.02,
         "braid_loop": 2e-7}
ARM = {"length": 0.05, "velocity_factor": 0.7, "impedance": 60.0, "loss": 1.0}
OTHER_ARM = {"length": 0.12, "velocity_factor": 0.7, "impedance": 50.0, "loss": 1.0}

# Method, frequency, strays, arms, removed, what is left in doubt, and further lines.
SETTINGS = (
    {"method": "both directions", "hz": 7e6},
    {"method": "both directions", "hz": 1e8, "strays": SMALL},
    {"method": "both directions", "hz": 7e6, "strays": LARGE, "arms": (ARM, ARM), "left": 0.15},
    {"method": "one direction", "hz": 1e8, "strays": SMALL, "arms": (ARM, OTHER_ARM), "left": 0.05},
    {"method": "one port and through", "hz": 7e6, "skipped": ["isolation"], "load_db": -22},
    {"method": "scaled", "hz": 1e8, "strays": SMALL},
    {"method": "raw", "hz": 7e6, "strays": LARGE, "arms": (ARM, OTHER_ARM)},
    {"method": "one port", "hz": 7e6, "strays": SMALL, "left": 0.15},
    {"method": "both directions", "hz": 4e8, "connections": 3, "load_ohm": 51.0,
     "entries": {"contact": 0.02, "ground_loop": 0.01, "drift": 0.002, "cable_phase": 0.01}},
    {"method": "both directions, through unknown", "hz": 4e8, "strays": SMALL, "arms": (ARM, OTHER_ARM),
     "left": 0.1},
)


def db(level):
    return 0.0 if level is None else 10.0 ** (level / 20.0)


# --- the scenario file ---


def method_key(bench):
    if bench["method"] == "scaled":
        return "open and through" if bench["preset"] == "laboratory" else "short and through"
    return bench["method"]


def scenario(bench):
    part = bench["part"]
    lines = [
        "version = 1",
        f"seed = {FRONT_END_SEED}",
        "[device]",
        'kind = "fixed"',
        f'impedance = "{part.real!r} {"-" if part.imag < 0 else "+"} j{abs(part.imag)!r}"',
        "[at]",
        f"frequency = {bench['hz']!r}",
        "[instrument]",
        f'preset = "{bench["preset"]}"',
    ]
    units = {"contact": " Ω", "ground_loop": " Ω", "drift": "", "cable_phase": " rad"}
    lines += [f'{key} = "{value!r}{units[key]}"' for key, value in bench.get("entries", {}).items()]
    if "load_db" in bench:
        lines.append(f'load = "{bench["load_db"]} dB"')
    if "strays" in bench:
        lines.append("[strays]")
        lines += [f"{key} = {value!r}" for key, value in bench["strays"].items()]
        if "left" in bench:
            lines += ["removed = true", f'left = "{100 * bench["left"]!r} %"']
        for name, arm in zip(("arm", "second_arm"), bench.get("arms", ())):
            lines.append(f"[strays.{name}]")
            lines += [f"{key} = {value!r}" for key, value in arm.items()]
    lines += ["[calibration]", f'method = "{method_key(bench)}"']
    if "connections" in bench:
        lines.append(f"connections = {bench['connections']}")
    if "skipped" in bench:
        lines.append(f"skipped = {json.dumps(bench['skipped'])}")
    if "load_ohm" in bench:
        lines += ["[calibration.load]", f"resistance = {bench['load_ohm']!r}",
                  'taken_as = "ideal"']
    return "\n".join(lines) + "\n"


# --- the fixture ---


def times(m, n):
    return (
        m[0] * n[0] + m[1] * n[2], m[0] * n[1] + m[1] * n[3],
        m[2] * n[0] + m[3] * n[2], m[2] * n[1] + m[3] * n[3],
    )


def arm_phase(arm, hz):
    return 2.0 * math.pi * hz * arm["length"] / (arm["velocity_factor"] * LIGHT)


def arm_abcd(arm, hz, factor):
    neper = arm["loss"] * math.sqrt(hz / 1e9) * arm["length"] * math.log(10.0) / 20.0
    gl = (neper + 1j * arm_phase(arm, hz)) * factor
    zc = arm["impedance"]
    return np.cosh(gl), zc * np.sinh(gl), np.sinh(gl) / zc, np.cosh(gl)


def in_fixture(fixture, z, bench, factors):
    """S-parameters of a part in a fixture; `factors` is what each stray is multiplied by."""
    w = 2j * math.pi * bench["hz"]
    strays = bench.get("strays", {})

    def of(name):
        return strays.get(name, 0.0) * factors.get(name, 1.0)

    count = 2 if fixture == "series" else 1
    z = z + count * of("contact")
    if fixture == "reflect":
        z = 1.0 / (1.0 / z + w * of("pin")) + w * of("ground")
    elif fixture == "shunt":
        # Two like braids of 4 R all round share the current with the loop's inductance.
        braid = strays.get("braid", 0.0)
        if braid:
            loop = w * strays["braid_loop"]
            shared = braid * 4.0 * braid / (4.0 * braid + loop)
            z = z + shared * factors.get("braid", 1.0)
        z = z + w * of("ground")
    else:
        z = 1.0 / (1.0 / z + w * of("gap"))
    one, zero = np.ones_like(z), np.zeros_like(z)
    whole = (one, z, zero, one) if fixture == "series" else (one, zero, 1.0 / z, one)
    if "arms" in bench:
        first, second = bench["arms"]
        whole = times(arm_abcd(first, bench["hz"], factors.get("first", 1.0)), whole)
        if fixture == "reflect":
            # Behind the part there is nothing: its port 2 is open.
            z_in = whole[0] / whole[2]
            return (z_in - Z0) / (z_in + Z0), zero, zero, zero
        whole = times(whole, arm_abcd(second, bench["hz"], factors.get("second", 1.0)))
    elif fixture == "reflect":
        return (z - Z0) / (z + Z0), zero, zero, zero
    a, b, c, d = whole[0], whole[1] / Z0, whole[2] * Z0, whole[3]
    bottom = a + b + c + d
    s21 = 2.0 / bottom
    return (a + b - c - d) / bottom, s21, s21, (b + d - a - c) / bottom


# --- the analyzer ---


def flow(terms, s11, s12, s21, s22):
    """Raw readings with one port sending: what enters, after all loops of both matches."""
    s, l = terms["source"], terms["load"]
    seen = s11 + s12 * l * s21 / (1.0 - l * s22)
    into = 1.0 / (1.0 - s * seen)
    m11 = terms["directivity"] + terms["reflect"] * seen * into
    m21 = terms["leak"] + terms["through"] * s21 * into / (1.0 - l * s22)
    return m11, m21


def one_port_raw(terms, gamma):
    return terms["directivity"] + terms["reflect"] * gamma / (1.0 - terms["source"] * gamma)


def solve_one_port(m_open, m_short, m_load):
    """Terms from readings of standards taken for +1, -1 and 0."""
    up, down = m_open - m_load, m_load - m_short
    source = (up - down) / (up + down)
    return m_load, up * (1.0 - source), source


def corrected(bench, fixture, raw, standards, leak, s):
    """The reading of a network s, by the calibration that was made with these standards."""
    s11, s12, s21, s22 = s
    method = bench["method"]
    isolated = "isolation" not in bench.get("skipped", [])
    forward, reverse = raw
    if fixture == "reflect":
        m = one_port_raw(forward, s11)
        if method == "raw":
            return m
        if method == "scaled":
            by_open = method_key(bench) == "open and through"
            connected = 1.0 + standards["open"] if by_open else -1.0 + standards["short"]
            return m / one_port_raw(forward, connected) * (1.0 if by_open else -1.0)
        d, r, e = solve_one_port(
            one_port_raw(forward, 1.0 + standards["open"]),
            one_port_raw(forward, -1.0 + standards["short"]),
            one_port_raw(forward, standards["load"]),
        )
        return (m - d) / (r + e * (m - d))

    # With the part in place some signal passes beside it.
    m11, m21 = flow(forward, s11, s12, s21, s22)
    m22, m12 = flow(reverse, s22, s21, s12, s11)
    m21 = m21 + forward["through"] * leak
    m12 = m12 + reverse["through"] * leak
    if method in ("raw", "one port"):
        return m21
    through = 1.0 / (1.0 + standards["tracking"])
    off = standards["load_match"]
    t11, t21 = flow(forward, off, through, through, off)
    x = forward["leak"] if isolated else 0.0
    if method == "scaled":
        return (m21 - x) / (t21 - x)

    def direction(terms, t11, t21, x):
        d, r, e = solve_one_port(
            one_port_raw(terms, 1.0 + standards["open"]),
            one_port_raw(terms, -1.0 + standards["short"]),
            one_port_raw(terms, standards["load"]),
        )
        load = (t11 - d) / (r + e * (t11 - d))
        return d, r, e, load, (t21 - x) * (1.0 - e * load)

    d, r, e, l, t = direction(forward, t11, t21, x)
    n11, n21 = (m11 - d) / r, (m21 - x) / t
    if method == "one port and through":
        return n21 / (1.0 + e * n11)
    if method == "one direction":
        e_back, l_back, n22, n12 = e, l, n11, n21
    else:
        t22, t12 = flow(reverse, off, through, through, off)
        x_back = reverse["leak"] if isolated else 0.0
        d2, r2, e_back, l_back, t2 = direction(reverse, t22, t12, x_back)
        n22, n12 = (m22 - d2) / r2, (m12 - x_back) / t2
    whole = (1.0 + n11 * e) * (1.0 + n22 * e_back) - n21 * n12 * l * l_back
    return n21 * (1.0 + n22 * (e_back - l)) / whole


# --- one bench ---


def circular(rng, rms, count=TRIALS):
    return rms / math.sqrt(2.0) * (rng.normal(size=count) + 1j * rng.normal(size=count))


def front_end(bench, rng, scale):
    """Terms of both directions, each trial its own. What the method corrects is not scaled."""
    d, r, r_off, s, l, t, t_off, x = FRONT_END[bench["preset"], bench["hz"]]
    d, r_off, s, l, t_off, x = (size * scale for size in (d, r_off, s, l, t_off, x))
    raw_match = PRESETS[bench["preset"]][bench["hz"]][9]
    method = bench["method"]
    known_phase = np.exp(0.7j)

    def direction():
        terms = {
            "directivity": circular(rng, d), "source": circular(rng, s), "load": circular(rng, l),
            "reflect": r * known_phase, "through": t * known_phase, "leak": circular(rng, x),
        }
        if method in ("both directions", "both directions, through unknown", "one direction"):
            terms["source"] = circular(rng, raw_match)
            if method != "one direction":
                terms["load"] = circular(rng, raw_match)
        if method == "raw":
            terms["reflect"] = 1.0 + circular(rng, r_off)
        if method in ("raw", "one port"):
            terms["through"] = 1.0 + circular(rng, t_off)
        return terms

    return direction(), direction()


def rounded(s, steps, scale, rng):
    """As a display shows it, on a grid whose place is not known."""
    step_db, step_degrees = (step * scale for step in steps)
    grid = rng.uniform(size=(2, TRIALS))
    level = 20.0 * np.log10(np.abs(s)) / step_db
    angle = np.degrees(np.angle(s)) / step_degrees
    level = (np.round(level + grid[0]) - grid[0]) * step_db
    angle = (np.round(angle + grid[1]) - grid[1]) * step_degrees
    return 10.0 ** (level / 20.0) * np.exp(1j * np.radians(angle))


def by_formula(fixture, s):
    if fixture == "reflect":
        return Z0 * (1.0 + s) / (1.0 - s)
    if fixture == "shunt":
        return 0.5 * Z0 * s / (1.0 - s)
    return 2.0 * Z0 * (1.0 - s) / s


def nominal(fixture, z, bench):
    s11, _, s21, _ = in_fixture(fixture, np.array([complex(z)]), bench, {})
    return (s11 if fixture == "reflect" else s21)[0]


def taken_out(fixture, s, bench):
    """From the readings of short, open and 50 ohm in the known fixture."""
    short, opened, load = (nominal(fixture, z, bench) for z in (1e-14, 1e14, Z0))
    return Z0 * (s - short) * (load - opened) / ((s - opened) * (load - short))


def readings(bench, rng, scale=1.0):
    """Readings with every error multiplied by `scale`."""
    fixture, preset = bench["fixture"], bench["preset"]
    figures = PRESETS[preset][bench["hz"]]
    load, ends, tracking, load_match, crosstalk, reflect_floor, through_floor = figures[:7]
    trace_db, trace_degrees, _, reconnect = figures[7:]

    def error(rms):
        return circular(rng, scale * rms)

    def real(sigma):
        return scale * sigma * rng.normal(size=TRIALS)

    load = bench.get("load_db", load)
    standards = {
        "load": error(db(load)), "open": error(ends), "short": error(ends),
        "tracking": error(tracking), "load_match": error(db(load_match)),
    }
    if "load_ohm" in bench:
        # Of unknown phase, as the budget of a standard taken for another has it.
        off = (bench["load_ohm"] - Z0) / (bench["load_ohm"] + Z0)
        standards["load"] = standards["load"] + error(off)
    entries = bench.get("entries", {})
    z = complex(bench["part"]) + (2 if fixture == "series" else 1) * real(
        entries.get("contact", 0.0)
    )
    if fixture == "shunt":
        z = z + error(entries.get("ground_loop", 0.0))
    names = [*bench.get("strays", {}), "first", "second"]
    factors = {name: 1.0 + real(bench.get("left", 0.0)) for name in names}
    s = in_fixture(fixture, z, bench, factors)
    raw = front_end(bench, rng, scale)
    s = corrected(bench, fixture, raw, standards, error(db(crosstalk)), s)
    s = s * (1.0 + error(entries.get("drift", 0.0)))
    s = s * np.exp(1j * real(entries.get("cable_phase", 0.0)))
    if "connections" in bench:
        s = s + error(reconnect / math.sqrt(bench["connections"]))
    nepers = math.log(10.0) / 20.0
    s = s * np.exp(real(nepers * trace_db) + 1j * real(math.radians(trace_degrees)))
    s = s + error(db(reflect_floor if fixture == "reflect" else through_floor))
    return rounded(s, DISPLAY[preset], scale, rng)


def measured(bench, number):
    rng = np.random.default_rng([SEED, number])
    fixture, part = bench["fixture"], complex(bench["part"])
    s = readings(bench, rng)
    cell = {"fixture": fixture, "scenario": scenario(bench)}
    wide = math.sqrt(np.linalg.eigvalsh(np.cov(s.real, s.imag))[1])
    distance = abs(nominal(fixture, part, bench) - nominal(fixture, 1e14, bench)) / wide
    cell["distance"] = round(float(distance), 3)
    cell["raw"] = list(FRONT_END[bench["preset"], bench["hz"]])
    cell["arm_doubt"] = bench.get("left", 0.0) * max(
        [0.0, *(arm_phase(arm, bench["hz"]) for arm in bench.get("arms", ()))]
    )
    # What one direction leaves out is a match that it corrects as well, so it has no size to scale.
    if bench["method"] != "one direction":
        z = taken_out(fixture, readings(bench, rng, SMALL_SCALE), bench)
        cell["first"] = [float(np.std(z.real)) / SMALL_SCALE, float(np.std(z.imag)) / SMALL_SCALE]
    z = taken_out(fixture, s, bench)
    if distance >= LEAST_DISTANCE:
        u = [float(np.std(z.real)), float(np.std(z.imag))]
        cell["u"] = u
        off = z[:KEPT] - part
        cell["r"] = [round(x) for x in (100.0 * off.real / u[0]).tolist()]
        cell["x"] = [round(x) for x in (100.0 * off.imag / u[1]).tolist()]
    out = by_formula(fixture, s[:KEPT]) if "left" not in bench else z[:KEPT]
    log = np.log(np.abs(out) / abs(part))
    step = float(np.subtract(*np.quantile(log, [0.84, 0.16]))) / 200.0
    cell["step"] = step
    cell["modulus"] = [round(x) for x in (log / step).tolist()]
    return cell


def benches():
    for preset in PRESETS:
        for fixture, parts in PARTS.items():
            for part, setting in zip(parts, SETTINGS, strict=True):
                yield {"preset": preset, "fixture": fixture, "part": complex(part), **setting}


def make():
    cells = [measured(bench, number) for number, bench in enumerate(benches())]
    return {"seed": SEED, "trials": TRIALS, "front_end_seed": FRONT_END_SEED, "benches": cells}


def difference(new, old):
    """A sentence, or the largest relative difference of a standard deviation."""
    largest = 0.0
    for at, (a, b) in enumerate(zip(new["benches"], old["benches"], strict=True)):
        if a.keys() != b.keys() or a["scenario"] != b["scenario"]:
            return f"bench {at} is another"
        for key in ("u", "first"):
            for x, y in zip(a.get(key, []), b.get(key, []), strict=True):
                largest = max(largest, abs(x / y - 1.0))
        for key in ("r", "x", "modulus"):
            # A last digit may be rounded otherwise.
            if any(abs(x - y) > 1 for x, y in zip(a.get(key, []), b.get(key, []), strict=True)):
                return f"bench {at} has other {key}"
    return largest if largest <= CHECK_TOLERANCE else f"u differs by {largest:.1e}"


def written(made):
    """One bench a line."""
    lines = ",\n".join(json.dumps(cell, separators=(",", ":")) for cell in made["benches"])
    head = json.dumps({key: made[key] for key in made if key != "benches"})[1:-1]
    return f'{{{head}, "benches": [\n{lines}\n]}}\n'


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare, write nothing")
    check = parser.parse_args().check
    made = make()
    if not check:
        FILE.write_text(written(made), encoding="ascii")
        print(f"{FILE.name}: written, {len(made['benches'])} benches, seed {SEED}")
        return 0
    found = difference(made, json.loads(FILE.read_text(encoding="ascii")))
    if isinstance(found, str):
        print(f"{FILE.name}: DIFFERS: {found}")
        return 1
    print(f"{FILE.name}: agrees to {found:.1e}, seed {SEED}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
