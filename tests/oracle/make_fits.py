#!/usr/bin/env python3
"""Fits of part models by scipy and scikit-rf, for tests/tests/parts/scipy_fits.rs.

    python3 make_fits.py            write fits.json
    python3 make_fits.py --check    make them again and compare with fits.json

Each sweep is a circuit of R, L, C and lines put together by scikit-rf from its media and
connected by its own network algebra, with seeded noise added whose covariance is written beside
each point. scipy.optimize.least_squares (method lm, residuals whitened with numpy's Cholesky
factor) then fits the same circuit, written here as one line of complex arithmetic per kind in the
values themselves and not in their logarithms; the covariance of the values is (J^T J)^-1 with J
by five-point differences. A systematic shift adds the linear response of the fit to it.

Three sweeps more have a scatter and two shifts that hang on the impedance: the scatter is
a*|Z|*|1 + Z/Z0|, the shifts are b*Z and c*Z^2/Z0, each a complex number and so two components.
They are fitted in rounds, with scatter and shifts taken at the fitted circuit, until nothing moves,
and chi-square is r^T V^-1 r with the whole matrix V of the readings. One of the three has a ripple
that the shifts could follow if they were taken at each reading.

A chance of chi-square is scipy.stats.chi2.sf, in the same file. So are bounds of quantities that
can't be negative, the 95 % quantile of scipy.stats.truncnorm cut off below zero, and the
frequencies where X of a lossy coil crosses zero, by scipy.optimize.brentq.
"""

import argparse
import json
import sys
from pathlib import Path

import numpy as np
import scipy
import scipy.optimize
import scipy.stats
import skrf

FILE = Path(__file__).with_name("fits.json")
SEED = 75_051

# Largest difference from the committed file. Values and their covariance are where scipy's
# search stops; the rest is arithmetic.
CHECK_TOLERANCE = 1e-6

TAU = 2 * np.pi


def capacitor(v, w):
    c, esr, esl = v
    return esr + 1j * w * esl + 1 / (1j * w * c)


def coil(v, w):
    l, r, c = v
    return 1 / (1 / (r + 1j * w * l) + 1j * w * c)


def resistor(v, w):
    r, c, l = v
    return 1 / (1 / r + 1j * w * c) + 1j * w * l


def choke(v, w):
    l0, relaxation, c, r = v
    core = 1j * w * l0 / (1 + 1j * w / (TAU * relaxation))
    return r + 1 / (1 / core + 1j * w * c)


def crystal(v, w):
    fs, r1, c1, c0 = v
    ws = TAU * fs
    # 1/(ws^2 c1)*(w^2 - ws^2)/w with the difference as a product.
    x = (w - ws) * (w + ws) / (ws * ws * c1 * w)
    return 1 / (1j * w * c0 + 1 / (r1 + 1j * x))


def stub(v, w):
    zc, delay, loss = v
    exponent = loss * np.sqrt(w / w[-1]) + 1j * w * delay
    return zc / np.tanh(exponent)


# Name, model, true values, frequencies. A crystal's fs is moved in units of about its width.
KINDS = [
    ("capacitor", capacitor, [10e-9, 0.2, 2e-9], np.geomspace(1e6, 200e6, 15)),
    ("coil", coil, [10e-6, 1.0, 2e-12], np.geomspace(0.3e6, 60e6, 15)),
    ("resistor", resistor, [150.0, 0.3e-12, 4e-9], np.geomspace(10e6, 5e9, 15)),
    ("choke", choke, [50e-6, 5e6, 3e-12, 0.5], np.geomspace(20e3, 100e6, 15)),
    (
        "crystal",
        crystal,
        [10e6, 10.0, 20e-15, 5e-12],
        10e6 + np.linspace(-250.0, 250.0, 31),
    ),
    ("stub", stub, [75.0, 5e-9, 0.05], np.linspace(10e6, 200e6, 15)),
]
CHANCES = [
    (0.1, 1), (6.6, 1), (30.0, 1), (3.0, 2), (5.0, 7),
    (80.0, 79), (120.0, 78), (900.0, 801), (2100.0, 2000),
]

# Scatter and shifts that hang on the impedance: a, b, c, and Z0 in ohms.
MOVING = {"a": 2e-3, "b": 0.02, "c": 2e-3, "z0": 50.0}
# Name, model, true values, frequencies, ripple relative to |Z|.
MOVED = [
    ("coil", coil, [10e-6, 20.0, 2e-12], np.geomspace(1e6, 12e6, 61), 0.0),
    ("coil", coil, [10e-6, 20.0, 2e-12], np.geomspace(1e6, 12e6, 61), 0.03),
    ("capacitor", capacitor, [100e-12, 2.0, 3e-9], np.geomspace(20e6, 200e6, 61), 0.0),
]

# Value and standard uncertainty of a quantity that is not below zero.
BOUNDS = [
    (0.0, 1.0), (0.05, 0.159155), (2.0, 1.0), (1.0, 1.0), (-1.0, 1.0), (-0.3e-9, 1.7e-9),
    (-3.0, 1.0), (-8.0, 2.0), (-25.0, 1.0), (50.0, 1.0),
]

# L, R, C of a coil, and the resistance that grows with the root of f with the f where it is so.
COILS = [
    (10e-6, 600.0, 10e-12, 0.0, 1e6),
    (10e-6, 5.0, 10e-12, 0.0, 1e6),
    (1e-6, 100.0, 50e-12, 0.0, 1e6),
    (10e-6, 1.0, 2e-12, 300.0, 10e6),
    (4.7e-6, 40.0, 5e-12, 90.0, 30e6),
    (1e-3, 900.0, 100e-12, 20.0, 1e5),
]

# Noise per component relative to |Z|.
NOISE = 2e-4


def by_network(name, values, freq_hz):
    """The impedance by scikit-rf's media and network algebra, where it has the circuit."""
    media = skrf.media.DefinedGammaZ0(
        frequency=skrf.Frequency.from_f(freq_hz, unit="Hz"), z0=50.0, gamma=1j
    )

    def in_line(z):
        s = np.zeros((len(freq_hz), 2, 2), dtype=complex)
        s[:, 0, 0] = s[:, 1, 1] = z / (z + 100)
        s[:, 0, 1] = s[:, 1, 0] = 100 / (z + 100)
        return skrf.Network(frequency=media.frequency, s=s, z0=50.0)

    if name == "capacitor":
        c, esr, esl = values
        chain = media.resistor(esr) ** media.inductor(esl) ** media.capacitor(c) ** media.short()
    elif name == "coil":
        l, r, c = values
        chain = media.shunt_capacitor(c) ** media.resistor(r) ** media.inductor(l) ** media.short()
    elif name == "resistor":
        r, c, l = values
        chain = media.inductor(l) ** media.shunt_capacitor(c) ** media.resistor(r) ** media.short()
    elif name == "crystal":
        fs, r1, c1, c0 = values
        w, ws = TAU * freq_hz, TAU * fs
        motional = in_line(r1 + 1j * (w - ws) * (w + ws) / (ws * ws * c1 * w))
        chain = media.shunt_capacitor(c0) ** motional ** media.short()
    elif name == "choke":
        # A single relaxation is L0 with 2 pi fr L0 across it.
        l0, relaxation, c, r = values
        resistance = TAU * relaxation * l0
        chain = (
            media.resistor(r)
            ** media.shunt_capacitor(c)
            ** media.shunt(media.inductor(l0) ** media.short())
            ** media.resistor(resistance)
            ** media.short()
        )
    else:
        zc, delay, loss = values
        gamma = loss * np.sqrt(freq_hz / freq_hz[-1]) + 1j * TAU * freq_hz * delay
        line = skrf.media.DefinedGammaZ0(
            frequency=media.frequency, z0=zc, gamma=gamma
        ).line(1, "m")
        chain = line ** skrf.media.DefinedGammaZ0(frequency=media.frequency, z0=zc).open()
    return chain.z[:, 0, 0]


def scipy_fit(model, start, freq_hz, z, covariance):
    w = TAU * freq_hz
    factors = np.linalg.inv(np.linalg.cholesky(covariance))

    def whitened(curve):
        pairs = np.stack([curve.real, curve.imag], axis=-1)
        return np.einsum("nij,nj->ni", factors, pairs).ravel()

    offset, unit = np.zeros(len(start)), np.array(start)
    if model is crystal:
        offset[0], unit[0] = start[0], 100.0

    def values(theta):
        return offset + unit * theta

    def residuals(theta):
        return whitened(z - model(values(theta), w))

    def jacobian(theta):
        columns = []
        for k in range(len(theta)):
            # Small against the loss of the line, which is what bends the models most.
            h = 1e-4
            moved = [theta + m * h * np.eye(len(theta))[k] for m in (-2, -1, 1, 2)]
            a, b, c, d = (model(values(t), w) for t in moved)
            columns.append(whitened((a - 8 * b + 8 * c - d) / (12 * h)))
        return np.stack(columns, axis=-1)

    theta = np.where(offset == 0.0, 1.0, 0.0)
    found = scipy.optimize.least_squares(
        residuals, theta, jac=lambda t: -jacobian(t), method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15
    )
    jac = jacobian(found.x)
    inverse = np.linalg.inv(jac.T @ jac)
    return values(found.x), unit, jac, inverse, whitened, 2 * found.cost


def moving_errors(z):
    """Covariance of each point, and the shifts as real components, at impedances z."""
    a, b, c, z0 = (MOVING[key] for key in ("a", "b", "c", "z0"))
    size = a * np.abs(z) * np.abs(1 + z / z0)
    covariance = size[:, None, None] ** 2 * np.eye(2)
    return covariance, [b * z, 1j * b * z, c * z * z / z0, 1j * c * z * z / z0]


def moved_fits(rng):
    made = []
    for name, model, truth, freq_hz, ripple in MOVED:
        w = TAU * freq_hz
        exact = model(truth, w)
        exact = exact * (1 + ripple * np.cos(TAU * 7 * np.arange(len(w)) / len(w)))
        covariance, shifts = moving_errors(exact)
        draws = rng.standard_normal((2, len(w)))
        noise = np.sqrt(covariance[:, 0, 0]) * (draws[0] + 1j * draws[1])
        residuals = rng.standard_normal(len(shifts))
        z = exact + noise + sum(r * s for r, s in zip(residuals, shifts))
        z = np.array([complex(float(f"{x.real:.12g}"), float(f"{x.imag:.12g}")) for x in z])
        at, values = z, truth
        for _ in range(50):
            covariance, shifts = moving_errors(at)
            found = scipy_fit(model, truth, freq_hz, z, covariance)
            values, unit, jac, inverse, whitened, _ = found
            moved = model(values, w)
            still = np.max(np.abs(moved / at - 1))
            at = moved
            if still < 1e-13:
                break
        steps = np.stack([whitened(shift) for shift in shifts], axis=-1)
        followed = inverse @ jac.T @ steps
        u = unit * np.sqrt(np.diag(inverse + followed @ followed.T))
        rest = whitened(z - at)
        # The least of r^T V^-1 r over the values: generalised least squares.
        full = np.linalg.inv(np.eye(len(rest)) + steps @ steps.T)
        best = np.linalg.solve(jac.T @ full @ jac, jac.T @ full @ rest)
        rest = rest - jac @ best
        chi_square = float(rest @ full @ rest)
        made.append(
            {
                "kind": name,
                "ripple": ripple,
                "freq_hz": [float(f) for f in freq_hz],
                "re": [float(x.real) for x in z],
                "im": [float(x.imag) for x in z],
                "values": [float(v) for v in values],
                "u": [float(x) for x in u],
                "chi_square": chi_square,
                "p": float(scipy.stats.chi2.sf(chi_square, len(rest) - len(values))),
            }
        )
    return made


def resonance(l, r, c, skin, at_hz):
    lossless = 1 / (TAU * np.sqrt(l * c))

    def reactance(hz):
        w = TAU * hz
        return coil((l, r + skin * np.sqrt(hz / at_hz), c), w).imag

    zero = scipy.optimize.brentq(reactance, 1e-3 * lossless, lossless, xtol=1e-6, rtol=1e-14)
    return {
        "l": l, "r": r, "c": c, "skin": skin, "at_hz": at_hz,
        "zero_hz": float(zero), "lossless_hz": float(lossless),
    }


def make():
    rng = np.random.default_rng(SEED)
    fits = []
    for name, model, truth, freq_hz in KINDS:
        w = TAU * freq_hz
        exact = by_network(name, truth, freq_hz)
        miss = np.max(np.abs(exact / model(truth, w) - 1))
        if miss > 1e-9:
            raise SystemExit(f"{name}: network and formula miss by {miss:e}")
        size = NOISE * np.abs(exact)
        shape = np.array([[1.0, 0.4], [0.4, 2.0]])
        covariance = size[:, None, None] ** 2 * shape
        drawn = rng.standard_normal((len(freq_hz), 2))
        noise = np.einsum("nij,nj->ni", np.linalg.cholesky(covariance), drawn)
        z = exact + noise[:, 0] + 1j * noise[:, 1]
        # Twelve digits, so that the last bit of a platform's tangent does not matter.
        z = np.array([complex(float(f"{x.real:.12g}"), float(f"{x.imag:.12g}")) for x in z])
        shift = z * 1e-3 * (1 + 0.5j * (freq_hz / freq_hz[-1]) ** 2)
        values, unit, jac, inverse, whitened, cost = scipy_fit(
            model, truth, freq_hz, z, covariance
        )
        moved = inverse @ jac.T @ whitened(shift)
        total = inverse + np.outer(moved, moved)
        left = whitened(shift) - jac @ moved
        rest = whitened(z - model(values, w))
        full = np.eye(len(rest)) + np.outer(left, left)
        chi_square = float(rest @ np.linalg.solve(full, rest))
        u = unit * np.sqrt(np.diag(total))
        correlation = total * np.outer(unit, unit) / np.outer(u, u)
        fits.append(
            {
                "kind": name,
                "freq_hz": [float(f) for f in freq_hz],
                "re": [float(x.real) for x in z],
                "im": [float(x.imag) for x in z],
                "variance_re": [float(c[0, 0]) for c in covariance],
                "variance_im": [float(c[1, 1]) for c in covariance],
                "cross": [float(c[0, 1]) for c in covariance],
                "shift_re": [float(x.real) for x in shift],
                "shift_im": [float(x.imag) for x in shift],
                "values": [float(v) for v in values],
                "u": [float(x) for x in u],
                "correlation": [[float(x) for x in row] for row in correlation],
                "chi_square": chi_square,
                "p": float(scipy.stats.chi2.sf(chi_square, len(rest) - len(values))),
            }
        )
    moved = moved_fits(rng)
    chances = [
        {"x": x, "nu": nu, "p": float(scipy.stats.chi2.sf(x, nu))}
        for x, nu in CHANCES
    ]
    bounds = [
        {"v": v, "u": u, "bound": float(scipy.stats.truncnorm.ppf(0.95, -v / u, np.inf, v, u))}
        for v, u in BOUNDS
    ]
    return {
        "made_by": f"make_fits.py with scipy {scipy.__version__}, scikit-rf {skrf.__version__}, "
        f"numpy {np.__version__}",
        "seed": SEED,
        "chances": chances,
        "moving": MOVING,
        "bounds": bounds,
        "resonances": [resonance(*coil) for coil in COILS],
        "fits": fits,
        "moved_fits": moved,
    }


def numbers(tree):
    """All numbers of a tree in order."""
    if isinstance(tree, dict):
        return [x for key in sorted(tree) for x in numbers(tree[key])]
    if isinstance(tree, list):
        return [x for item in tree for x in numbers(item)]
    return [tree] if isinstance(tree, float) else []


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--check", action="store_true", help="compare, write nothing")
    check = parser.parse_args().check
    made = make()
    if not check:
        lists = ("fits", "moved_fits")
        head = json.dumps({k: v for k, v in made.items() if k not in lists}, indent=2)
        text = head.removesuffix("\n}")
        for key in lists:
            lines = ",\n".join("    " + json.dumps(fit) for fit in made[key])
            text += f',\n  "{key}": [\n{lines}\n  ]'
        FILE.write_text(text + "\n}\n", "ascii")
        print(f"{FILE.name}: {len(made['fits'])} fits written, seed {SEED}")
        return 0
    new, old = numbers(made), numbers(json.loads(FILE.read_text("ascii")))
    if len(new) != len(old):
        print(f"{FILE.name}: DIFFERS: {len(new)} numbers, kept {len(old)}")
        return 1
    largest = max(abs(a - b) / max(abs(b), 1e-300) for a, b in zip(new, old))
    if not largest <= CHECK_TOLERANCE:
        print(f"{FILE.name}: DIFFERS by {largest:e}")
        return 1
    print(f"{FILE.name}: {len(new)} numbers agree to {largest:.1e}, seed {SEED}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
