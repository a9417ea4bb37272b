"""Calibrations by scikit-rf, for tests/calibration_scikit_rf.rs; run by make_vectors.py.

Two hundred random analyzers. Each is a pair of random two-ports (the error boxes), random
reflections behind them (the switch terms) and a leak between the ports. Standards and parts are
cascaded with the boxes by scikit-rf, terminated with the switch terms by scikit-rf, and the leak
added: these are the raw readings. No twelve-term formula is used to make them.

Kept with the raw readings are the parts themselves, and what scikit-rf's calibrations make of
the raw readings. Where that is not the part, within `CORRECTED`, nothing is written.

Standards are ideal and flush in every fourth case and in the others an open with fringing
capacitance, a short with inductance and a load with strays behind lossy offsets of another
impedance than the ports', built as chain matrices from the figures in the file.
"""

import warnings
from pathlib import Path

import numpy as np
import skrf
from skrf.calibration import calibration as algorithms

FILE = Path(__file__).with_name("calibration_vectors.json")
SEED = 60_444
CASES = 200
Z0 = 50.0

# scikit-rf's own correction against the part it started from.
CORRECTED = 1e-12
# Largest difference from the committed file, relative to max(1, |x|): solving linear equations
# differs in the last digits between builds of numpy.
CHECK_TOLERANCE = 1e-12

ONE_POINT = skrf.Frequency(1, 1, 1, "Hz")


def network(s):
    s = np.array(s, dtype=complex)
    return skrf.Network(frequency=ONE_POINT, s=s.reshape(1, *s.shape), z0=Z0)


def one_port(gamma):
    return network([[gamma]])


def chain(abcd):
    s = skrf.network.a2s(np.array([abcd], dtype=complex), np.array([[Z0, Z0]]))
    return network(s[0])


def series(z):
    return chain([[1, z], [0, 1]])


def shunt(y):
    return chain([[1, 0], [y, 1]])


OPEN, SHORT, LOAD = one_port(1), one_port(-1), one_port(0)
THROUGH = network([[0, 1], [1, 0]])


def offset_line(line, freq_hz):
    """The chain matrix of a line from its figures, by the telegrapher's equations to first order
    in the loss."""
    delay, zc, loss = line
    r = loss * np.sqrt(freq_hz / 1e9)
    omega = 2 * np.pi * freq_hz
    exponent = delay * (1j * omega + (1 + 1j) * r / (2 * zc))
    impedance = zc + (1 - 1j) * r / (2 * omega)
    return chain(
        [
            [np.cosh(exponent), impedance * np.sinh(exponent)],
            [np.sinh(exponent) / impedance, np.cosh(exponent)],
        ]
    )


def kit(rng):
    """Figures of a set of standards, all of two-digit size in SI."""

    def line(most_delay):
        return [rng.uniform(0, most_delay), rng.uniform(48, 52), rng.uniform(0, 3e9)]

    return {
        "capacitance": [50e-15 * rng.uniform(0.5, 1.5), 1e-27 * rng.normal(),
                        1e-36 * rng.normal(), 1e-46 * rng.normal()],
        "inductance": [5e-12 * rng.uniform(0, 2), 1e-24 * rng.normal(),
                       1e-34 * rng.normal(), 1e-44 * rng.normal()],
        "load": [50 + rng.normal(), 50e-12 * rng.uniform(0, 2), 10e-15 * rng.uniform(0, 2)],
        "open_line": line(30e-12),
        "short_line": line(30e-12),
        "load_line": line(30e-12),
        "through_line": line(50e-12),
    }


def polynomial(coefficients, x):
    return sum(c * x**k for k, c in enumerate(coefficients))


def standards(figures, freq_hz):
    omega = 2 * np.pi * freq_hz
    capacitance = polynomial(figures["capacitance"], freq_hz)
    inductance = polynomial(figures["inductance"], freq_hz)
    resistance, load_l, load_c = figures["load"]
    opened = shunt(1j * omega * capacitance) ** OPEN
    shorted = series(1j * omega * inductance) ** SHORT
    load = shunt(1j * omega * load_c) ** series(resistance + 1j * omega * load_l) ** SHORT
    lines = [offset_line(figures[f"{name}_line"], freq_hz) for name in ("open", "short", "load")]
    reflections = [line**end for line, end in zip(lines, (opened, shorted, load))]
    return reflections, offset_line(figures["through_line"], freq_hz)


class Analyzer:
    """Error boxes, switch terms and leak."""

    def __init__(self, rng):
        def turned(least, most):
            return rng.uniform(least, most) * np.exp(2j * np.pi * rng.uniform())

        def box():
            return [[turned(0.02, 0.1), turned(0.8, 1.0)], [turned(0.8, 1.0), turned(0.1, 0.2)]]

        # The reflections of box 2 are turned round: its source match faces the part.
        one, two = box(), box()
        self.one = network(one)
        self.two = network(two).flipped()
        self.switches = (one_port(turned(0.02, 0.15)), one_port(turned(0.02, 0.15)))
        self.leak = (turned(1e-5, 1e-3), turned(1e-5, 1e-3))

    def raw(self, part):
        read = algorithms.terminate(self.one**part**self.two, *self.switches)
        read.s[:, 1, 0] += self.leak[0]
        read.s[:, 0, 1] += self.leak[1]
        return read

    def raw_pair(self, left, right):
        """Reflections on both ports at once."""
        return self.raw(skrf.network.two_port_reflect(left, right))


def random_part(kind, rng):
    size = 10 ** rng.uniform(-1, 3.5)
    z = size * np.exp(1j * np.pi * (rng.uniform() - 0.5))
    if kind == "shunt":
        return shunt(1 / z)
    if kind == "series":
        return series(z)
    # Neither symmetric nor reciprocal.
    entry = lambda most: most * rng.uniform() * np.exp(2j * np.pi * rng.uniform())
    return network([[entry(0.6), entry(0.9)], [entry(0.9), entry(0.6)]])


def parameters(net):
    s = net.s[0]
    return [pair(s[0, 0]), pair(s[0, 1]), pair(s[1, 0]), pair(s[1, 1])]


def pair(value):
    value = complex(value)
    return [value.real, value.imag]


def gamma(net):
    return complex(net.s[0, 0, 0])


def corrected_by_enhanced_response(calibration, raw):
    """scikit-rf puts zero for the raw S22 and S12 that one direction lacks, which leaves the
    directivity in as a reflection of the part. Here they are what a matched, cut part would
    read, so that N22 = N12 = 0."""
    filled = raw.copy()
    filled.s[:, 1, 1] = calibration.coefs["reverse directivity"]
    filled.s[:, 0, 1] = calibration.coefs["reverse isolation"]
    return algorithms.TwelveTerm.apply_cal(calibration, filled)


def make_case(number, rng):
    analyzer = Analyzer(rng)
    freq_hz = float(f"{10 ** rng.uniform(6, 9.7):.6g}")
    figures = None if number % 4 == 0 else kit(rng)
    if figures is None:
        reflections, through = [OPEN, SHORT, LOAD], THROUGH
    else:
        # Short figures, so that the file holds exactly what was used.
        figures = {k: [float(f"{x:.4g}") for x in v] for k, v in figures.items()}
        reflections, through = standards(figures, freq_hz)

    pairs = [skrf.network.two_port_reflect(r, r) for r in reflections]
    raw_pairs = [analyzer.raw(p) for p in pairs]
    raw_through = analyzer.raw(through)
    isolation = raw_pairs[2]
    full = algorithms.TwelveTerm(
        measured=[*raw_pairs, raw_through],
        ideals=[*pairs, through],
        n_thrus=1,
        isolation=isolation,
    )
    enhanced = algorithms.EnhancedResponse(
        measured=[*raw_pairs, raw_through],
        ideals=[*pairs, through],
        n_thrus=1,
        isolation=isolation,
    )

    # Reciprocal, lossy, mismatched; known within 60 degrees.
    unknown = (
        series(rng.uniform(1, 20) + 1j * rng.normal(0, 20))
        ** offset_line([rng.uniform(0, 0.8) / freq_hz, 60.0, 0.0], freq_hz)
        ** shunt(rng.uniform(0, 5e-3) + 1j * rng.normal(0, 5e-3))
    )
    angle = np.angle(unknown.s[0, 1, 0]) + np.radians(rng.uniform(-60, 60))
    estimate = complex(np.exp(1j * angle))
    raw_unknown = analyzer.raw(unknown)
    by_unknown = algorithms.UnknownThru(
        measured=[*raw_pairs, raw_unknown],
        ideals=[*pairs, network([[0, estimate], [estimate, 0]])],
        isolation=isolation,
        switch_terms=analyzer.switches,
    )

    kind = ("shunt", "series", "other")[number % 3]
    part = random_part(kind, rng)
    raw_part = analyzer.raw(part)
    known_gamma = 0.98 * np.sqrt(rng.uniform()) * np.exp(2j * np.pi * rng.uniform())
    reflection = one_port(known_gamma)
    raw_reflection = analyzer.raw_pair(reflection, LOAD).s11

    # Five standards with noise: nothing fits exactly.
    more = [one_port(0.9 * np.exp(2j * np.pi * rng.uniform())) for _ in range(2)]
    known_five = [*reflections, *more]
    noisy_five = []
    for standard in known_five:
        read = gamma(analyzer.raw_pair(standard, LOAD))
        noisy_five.append(one_port(read + 1e-3 * complex(rng.normal(), rng.normal())))
    fit = algorithms.OnePort(measured=noisy_five, ideals=known_five)
    left_over = float(fit.output_from_run["residuals"][0, 0].real)

    one_port_calibration = algorithms.OnePort(
        measured=[m.s11 for m in raw_pairs], ideals=reflections
    )
    by_full = full.apply_cal(raw_part)
    found = {
        "full": by_full,
        "unknown": by_unknown.apply_cal(raw_part),
    }
    back = one_port_calibration.apply_cal(raw_reflection)
    for name, net in found.items():
        miss = np.abs(net.s - part.s).max()
        if not miss <= CORRECTED:
            raise SystemExit(f"case {number}: scikit-rf's {name} misses the part by {miss:e}")
    if not abs(gamma(back) - known_gamma) <= CORRECTED:
        raise SystemExit(f"case {number}: scikit-rf's one-port misses the reflection")
    by_enhanced = corrected_by_enhanced_response(enhanced, raw_part)

    ports = [[pair(m.s[0, k, k]) for m in raw_pairs] for k in (0, 1)]
    return {
        "freq_hz": freq_hz,
        "kit": figures,
        "known_reflections": [pair(gamma(r)) for r in reflections],
        "known_through": parameters(through),
        "raw_reflections": ports,
        "raw_through": parameters(raw_through),
        "raw_isolation": [pair(isolation.s[0, 1, 0]), pair(isolation.s[0, 0, 1])],
        "switch_terms": [pair(gamma(s)) for s in analyzer.switches],
        "raw_unknown": parameters(raw_unknown),
        "unknown_estimate": pair(estimate),
        "part_kind": kind,
        "part": parameters(part),
        "raw_part": parameters(raw_part),
        "full": parameters(found["full"]),
        "unknown": parameters(found["unknown"]),
        "enhanced": [pair(by_enhanced.s[0, 0, 0]), pair(by_enhanced.s[0, 1, 0])],
        "reflection": pair(known_gamma),
        "raw_reflection": pair(gamma(raw_reflection)),
        "one_port": pair(gamma(back)),
        "more_reflections": [pair(gamma(m)) for m in more],
        "noisy_five": [pair(gamma(m)) for m in noisy_five],
        "fit": [
            pair(fit.coefs[name][0])
            for name in ("directivity", "source match", "reflection tracking")
        ],
        "fit_rms": float(np.sqrt(left_over / len(known_five))),
    }


def make():
    rng = np.random.default_rng(SEED)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        vectors = [make_case(number, rng) for number in range(CASES)]
    return {
        "made_by": f"calibration_vectors.py with scikit-rf {skrf.__version__}, "
        f"numpy {np.__version__}",
        "seed": SEED,
        "vectors": vectors,
    }


def leaves(value, path=""):
    """Numbers with their place."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from leaves(inner, f"{path}/{name}")
    elif isinstance(value, list):
        for k, inner in enumerate(value):
            yield from leaves(inner, f"{path}/{k}")
    else:
        yield path, value


def difference(made, kept):
    """The largest difference, or a sentence where the two can't be compared."""
    if made["seed"] != kept["seed"] or len(made["vectors"]) != len(kept["vectors"]):
        return "seed or number of vectors differs"
    largest = 0.0
    for number, (new, old) in enumerate(zip(made["vectors"], kept["vectors"])):
        new, old = dict(leaves(new)), dict(leaves(old))
        if new.keys() != old.keys():
            return f"case {number} does not have the same fields"
        for path, b in old.items():
            a = new[path]
            if path.startswith("/kit") or not isinstance(b, float):
                if a != b:
                    return f"case {number}{path} is {a}, kept {b}"
                continue
            miss = abs(a - b) / max(1.0, abs(b))
            if not miss <= CHECK_TOLERANCE:
                return f"case {number}{path} is {a}, kept {b}, off by {miss:e}"
            largest = max(largest, miss)
    return largest
