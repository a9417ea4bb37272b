#!/usr/bin/env python3
"""Every number and every formula of the book's formula sheet and bench card, recomputed outside the
project: circuits by scikit-rf, probabilities by scipy.

    python3 check_sheet.py BOOK      BOOK is the folder of the built book

A number that no rule here recomputes is a fault, and so is a formula. Printed digits may be off by
half of the last one.
"""

import argparse
import re
import sys
import xml.etree.ElementTree as ElementTree
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import skrf
from skrf.network import a2s, z2s
from scipy import optimize, stats

Z0 = 50.0
FIXTURES = ("reflect", "shunt", "series")
PREFIX = {"": 1.0, "m": 1e-3, "µ": 1e-6, "n": 1e-9, "p": 1e-12, "k": 1e3, "M": 1e6}
HZ = np.array([7.1e6])


# --- what the outside says ------------------------------------------------------------------


def reading(fixture, z):
    """The reading of an impedance, by scikit-rf from its chain matrix."""
    z = complex(z)
    if fixture == "reflect":
        return complex(z2s(np.array([[[z]]]), Z0)[0, 0, 0])
    chain = [[1, z], [0, 1]] if fixture == "series" else [[1, 0], [1 / z, 1]]
    return complex(a2s(np.array([chain], dtype=complex), Z0)[0, 1, 0])


def sensitivity(fixture, z):
    """K = |dZ/dS|/|Z|, by a central difference."""
    z = complex(z)
    step = 1e-5 * abs(z)
    moved = reading(fixture, z + step) - reading(fixture, z - step)
    return abs(2 * step / moved) / abs(z)


def least_sensitivity(fixture):
    found = optimize.minimize_scalar(
        lambda log_ohm: sensitivity(fixture, np.exp(log_ohm)),
        bounds=np.log([1.0, 1e4]),
        method="bounded",
        options={"xatol": 1e-9},
    )
    return float(np.exp(found.x)), float(found.fun)


RADIUS = float(stats.rayleigh.ppf(0.95))
FACTORS = {
    "2": (2.0, {"95": 100 * 0.95, "1.96": stats.norm.ppf(0.975), "2": 2.0}),
    "√(−2 ln 0.05)": (RADIUS, {"95": 95.0}),
    # e holds both directions: rms length √2·σ.
    "√(−ln 0.05)": (RADIUS / np.sqrt(2), {"95": 95.0}),
    # Twice the scatter of a difference of two readings.
    "2√2": (2 * np.hypot(1, 1), {}),
    "ln 10/20": ((10 ** (1e-6 / 20) - 1) / 1e-6, {}),
    "π/180": (abs(np.exp(1j * np.radians(1e-6)) - 1) / 1e-6, {}),
}


# --- reading the page -----------------------------------------------------------------------


class Page(HTMLParser):
    """Tables with their captions, formulas, and the text beside both."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.tables, self.text, self.skipped = [], [], []
        self.cell = self.caption = None
        self.depth = {"svg": 0, "math": 0, "nav": 0, "minutes": 0}

    def handle_starttag(self, tag, attrs):
        if tag in ("svg", "math"):
            self.depth[tag] += 1
        elif tag == "table":
            self.tables.append({"caption": "", "rows": []})
        elif tag == "tr" and self.tables:
            self.tables[-1]["rows"].append([])
        elif tag in ("td", "th"):
            self.cell = ""
        elif tag == "caption":
            self.caption = ""

    def handle_endtag(self, tag):
        if tag in ("svg", "math"):
            self.depth[tag] -= 1
        elif tag in ("td", "th") and self.cell is not None:
            self.tables[-1]["rows"][-1].append(" ".join(self.cell.split()))
            self.cell = None
        elif tag == "caption":
            self.tables[-1]["caption"] = " ".join(self.caption.split())
            self.caption = None

    def handle_data(self, data):
        if self.depth["svg"] or self.depth["math"]:
            return
        if self.caption is not None:
            self.caption += data
        elif self.cell is not None:
            self.cell += data
        else:
            self.text.append(data)


def main_part(path):
    html = path.read_text(encoding="utf-8")
    main = html.split("<main>", 1)[1].split("</main>", 1)[0]
    return re.sub(r'<p class="minutes">.*?</p>', "", main)


NUMBER = re.compile(r"[−-]?\d+(?:\.\d+)?")


def number(text):
    """A printed number, and half of its last digit."""
    text = text.replace("−", "-")
    decimals = len(text.split(".")[1]) if "." in text else 0
    return float(text), 0.5 * 10.0**-decimals


def complex_number(text):
    """As 0.2000 + j0.4000, with the half digit of its parts."""
    parts = re.fullmatch(r"([−-]?[\d.]+)(?: ([+−-]) j([\d.]+))?", text)
    if parts is None:
        raise ValueError(f"no complex number: {text}")
    re_, half = number(parts[1])
    if parts[2] is None:
        return complex(re_), half
    im, half_im = number(parts[3])
    return complex(re_, im if parts[2] == "+" else -im), max(half, half_im)


def ohms(text):
    """A part as the page names it: 1 kΩ, 50 + j50 Ω, −j100 Ω."""
    plain = text.replace("−", "-").replace("\u202f", " ").strip()
    real = re.fullmatch(r"([\d.]+) ?([mkM]?)Ω", plain)
    if real:
        return float(real[1]) * PREFIX[real[2]]
    plain = plain.removesuffix("Ω").replace(" ", "")
    return complex(re.sub(r"j([\d.]+)", r"\1j", plain))


class Faults(list):
    count = 0

    def compare(self, what, printed, half, true):
        self.count += 1
        # A number on the border may be rounded either way, and a difference has errors of its own.
        if not abs(printed - true) <= half * (1 + 1e-4) + 1e-12:
            self.append(f"{what}: printed {printed}, outside {true}")


def check_reading(faults, what, cell, s):
    if abs(s) < 1e-12:
        if cell != "0":
            faults.append(f"{what}: printed {cell}, outside 0")
        faults.count += 1
        return
    value, level = re.fullmatch(r"(.+) \(([−-]?[\d.]+) ?dB\)", cell).groups()
    printed, half = complex_number(value)
    faults.compare(f"{what}, real", printed.real, half, s.real)
    faults.compare(f"{what}, imaginary", printed.imag, half, s.imag)
    faults.compare(f"{what}, level", *number(level), 20 * np.log10(abs(s)))


def check_readings(faults, rows):
    for name, *cells in rows[1:]:
        for fixture, cell in zip(FIXTURES, cells, strict=True):
            check_reading(faults, f"{name} in {fixture}", cell, reading(fixture, ohms(name)))


def check_sensitivity(faults, rows):
    for name, *cells in rows[1:]:
        z = ohms(name)
        of_size = [sensitivity(fixture, z) for fixture in FIXTURES]
        in_share = [k * abs(reading(f, z)) for k, f in zip(of_size, FIXTURES)]
        for fixture, cell, true in zip(2 * FIXTURES, cells, of_size + in_share, strict=True):
            faults.compare(f"K of {name} in {fixture}", *number(cell), true)


def check_factors(faults, rows):
    for name, value, use in rows[1:]:
        true, in_words = FACTORS[name]
        faults.compare(f"factor {name}", *number(value), true)
        for word in NUMBER.findall(use):
            if word not in in_words:
                faults.append(f"factor {name}: nothing recomputes {word} in \"{use}\"")
            else:
                faults.compare(f"{word} in {use}", *number(word), in_words[word])


def check_card(faults, rows):
    for name, *cells in rows[1:]:
        for fixture, cell in zip(FIXTURES, cells, strict=True):
            what = f"{name}, {fixture}"
            if name == "Smallest K at":
                ohm, k = re.fullmatch(r"(.+Ω) \(K = ([\d.]+)\)", cell).groups()
                true_ohm, true_k = least_sensitivity(fixture)
                faults.compare(what, ohms(ohm), 0.5, true_ohm)
                faults.compare(what, *number(k), true_k)
            elif name.endswith(" reads"):
                part = name.removesuffix(" reads")
                z = {"An open": 1e15, "A short": 1e-15}.get(part) or ohms(part)
                check_reading(faults, what, cell, reading(fixture, z))
            elif NUMBER.search(cell):
                faults.append(f"{what}: nothing recomputes \"{cell}\"")


TABLES = {
    "Readings of known parts": check_readings,
    "How many times a reading error": check_sensitivity,
    "Factors": check_factors,
    "The three fixtures on a reference": check_card,
}
# Numbers in running text, with what they are outside.
IN_TEXT = {"95": 100 * stats.rayleigh.cdf(RADIUS)}


# --- formulas -------------------------------------------------------------------------------


def tokens(element):
    """MathML as a list of operands and signs of Python."""
    tag = element.tag
    text = (element.text or "").strip()
    children = list(element)
    if tag in ("math", "mrow", "mstyle", "semantics"):
        return [token for child in children for token in tokens(child)]
    if tag == "mfrac":
        return ["(" + expression(children[0]) + ")/(" + expression(children[1]) + ")"]
    if tag == "msqrt":
        inside = expression_of([t for child in children for t in tokens(child)])
        return ["sqrt(" + inside + ")"]
    if tag in ("msub", "msup", "msubsup"):
        base = tokens(children[0])
        if tag != "msup":
            base = ["".join(base) + "_" + "".join(children[1].itertext())]
        if tag != "msub":
            power = "".join(children[-1].itertext())
            base = [*base, "′" if power in ("′", "'") else "**" + power]
        return base
    if tag == "mspace":
        width = float(element.get("width", "0em").removesuffix("em"))
        return [";"] if width > 1 else []
    return [text] if text else []


FUNCTIONS = ("ln", "log_10", "cos", "sin")
SIGNS = {"−": "-", "+": "+", "/": "/", "=": "=", "(": "(", ")": ")", "\u2061": "", "\u2062": ""}


def expression_of(parts):
    """Operands side by side are multiplied; bars are sizes."""
    out, is_open, after, function = "", False, False, False
    for part in parts:
        if part in ("|", "∣", "‖"):
            out += ")" if is_open else ("*abs(" if after else "abs(")
            is_open, after = not is_open, is_open
        elif part.startswith("**"):
            out += part
        elif part in SIGNS:
            sign = SIGNS[part]
            if sign == "(" and after and not function:
                out += "*"
            out += sign
            after = sign == ")" or (sign == "" and after)
            function = False
        else:
            operand = f"({part})" if function else part
            out += ("*" if after and not function else "") + operand
            function = part in FUNCTIONS
            after = not function
    return out


def expression(element):
    return expression_of(tokens(element))


def formulas(html):
    for source in re.findall(r'<math display="block">.*?</math>|<math>.*?</math>', html):
        pieces, parts = [], tokens(ElementTree.fromstring(source))
        piece = []
        for part in [*parts, ";"]:
            if part == ";":
                pieces.append(expression_of(piece))
                piece = []
            else:
                piece.append(part)
        yield from (piece for piece in pieces if "=" in piece)


def inductor_and_capacitor(henry, farad, hz):
    """Impedances by scikit-rf's lumped elements."""
    band = skrf.Frequency.from_f(np.array([hz]), unit="hz")
    media = skrf.media.DefinedGammaZ0(band, z0=Z0)
    return [complex(part.a[0, 0, 1]) for part in (media.inductor(henry), media.capacitor(farad))]


def draws(seed):
    rng = np.random.default_rng(seed)
    for _ in range(20):
        size = 10 ** rng.uniform(-1, 4)
        yield complex(size * np.exp(1j * rng.uniform(-1.5, 1.5)))


def close(a, b):
    return abs(a - b) <= 1e-6 * max(abs(a), abs(b), 1e-30)


def same_as(names, outside):
    """A rule: the right side equals what the outside says, for drawn values."""

    def rule(right):
        for values in names():
            value = eval(right, {"sqrt": np.emath.sqrt, "π": np.pi, "ln": np.log}, dict(values))
            if not close(complex(value), complex(outside(values))):
                return f"{value} where the outside has {outside(values)} at {values}"
        return None

    return rule


def of_fixture(fixture):
    def values():
        for z in draws(7):
            s = reading(fixture, z)
            yield {"Z": z, "z": z / Z0, "Z_0": Z0, "S_11": s, "S_21": s}

    through = "S_11" if fixture == "reflect" else "S_21"
    return {
        through: same_as(values, lambda v: reading(fixture, v["Z"])),
        "Z": same_as(values, lambda v: v["Z"]),
        "K": same_as(values, lambda v: sensitivity(fixture, v["Z"])),
    }


def lc_values():
    rng = np.random.default_rng(3)
    for _ in range(5):
        yield {"L": 10 ** rng.uniform(-9, -4), "C": 10 ** rng.uniform(-12, -7), "f": 10 ** rng.uniform(5, 9)}


def resonance(values):
    def reactance(log_hz):
        return sum(inductor_and_capacitor(values["L"], values["C"], np.exp(log_hz))).imag

    return np.exp(optimize.brentq(reactance, np.log(1e2), np.log(1e12), xtol=1e-13))


def series_values():
    rng = np.random.default_rng(4)
    for _ in range(5):
        r, x = 10 ** rng.uniform(-1, 3), 10 ** rng.uniform(-1, 3)
        yield {"R_s": r, "X_s": x, "Q": x / r}


def parallel(values):
    return 1 / complex(values["R_s"], values["X_s"])


def wrong_load(values):
    """An ideal open and short, and a load that is taken for the reference, solved by scikit-rf."""
    band = skrf.Frequency.from_f(np.array([1e6]), unit="hz")

    def one(gamma):
        return skrf.Network(frequency=band, s=[[[gamma]]], z0=Z0)

    load = reading("reflect", values["Z_load"])
    solved = skrf.calibration.OnePort(
        measured=[one(-1), one(1), one(load)], ideals=[one(-1), one(1), one(0)]
    )
    seen = solved.apply_cal(one(reading("reflect", values["Z"]))).s[0, 0, 0]
    return Z0 * (1 + seen) / (1 - seen)


def with_load():
    for z, load in zip(draws(11), 10 * [47.0, 51.0]):
        yield {"Z": z, "Z_0": Z0, "Z_load": load}


def beside():
    for z, empty in zip(draws(12), draws(13)):
        yield {"Z": z, "Z_empty": empty, "Z_read": z * empty / (z + empty)}


def sums(fixture):
    """S21 − S11 or S21 + S11 of the whole two-port is one."""
    sign = {"shunt": -1, "series": 1}[fixture]
    for z in draws(5):
        chain = [[1, z], [0, 1]] if fixture == "series" else [[1, 0], [1 / z, 1]]
        s = a2s(np.array([chain], dtype=complex), Z0)[0]
        if not close(s[1, 0] + sign * s[0, 0], 1):
            return f"{fixture}: the sum is {s[1, 0] + sign * s[0, 0]}"
    return None


RULES = {
    "X_L": same_as(lc_values, lambda v: inductor_and_capacitor(v["L"], v["C"], v["f"])[0].imag),
    "X_C": same_as(lc_values, lambda v: inductor_and_capacitor(v["L"], v["C"], v["f"])[1].imag),
    "f_0": same_as(lc_values, resonance),
    "R_p": same_as(series_values, lambda v: 1 / parallel(v).real),
    "X_p": same_as(series_values, lambda v: -1 / parallel(v).imag),
    "ρ": same_as(lambda: [{"σ": 1.0}, {"σ": 3.0}], lambda v: stats.rayleigh.ppf(0.95, scale=v["σ"])),
    # ± of a value: the radius over rms length.
    "±": lambda right: None
    if abs(eval(right, {}, {"e": 1.0}) - RADIUS / np.sqrt(2)) < 0.005
    else f"{right} where the outside has {RADIUS / np.sqrt(2)}",
    "SWR": same_as(
        lambda: [{"Γ": g} for g in (0.1, 0.5 + 0.2j, 0.9j)],
        lambda v: skrf.Network(f=[1], f_unit="hz", s=[[[v["Γ"]]]], z0=Z0).s_vswr[0, 0, 0],
    ),
    # So many averages bring a distance d to the one that is seen.
    "N": same_as(
        lambda: [{"d": d} for d in (0.4, 1.3, 2.5)],
        lambda v: optimize.brentq(lambda n: np.sqrt(n) * v["d"] - np.sqrt(8), 1e-3, 1e4, xtol=1e-12),
    ),
    "Z′": same_as(with_load, wrong_load),
    "(1)/(Z)": same_as(beside, lambda v: 1 / v["Z"]),
}
# What a formula only names, or what the tests of the project hold against solved calibrations.
DEFINED = {"Q", "level", "S", "m", "e", "u*(d)", "z", "Z", "Y", "ω"}


def check_formulas(faults, html, name):
    of_fixtures = {key: of_fixture(key) for key in FIXTURES}
    turn = {}
    checked = 0
    for formula in formulas(html):
        left, right = formula.split("=", 1)
        left = left.replace("*′", "′")
        faults.count += 1
        if left.startswith("S_21") and right == "1":
            fault = sums("shunt" if "-" in left else "series")
        elif left in ("S_11", "S_21", "Z", "K") and right not in ("R+jX", "R+j*X"):
            # The three fixtures stand in the order of the book.
            at = turn.get(left, {"S_21": 1}.get(left, 0))
            turn[left] = at + 1
            fixture = FIXTURES[at % 3]
            rule = of_fixtures[fixture][left]
            fault = rule(right)
            checked += 1
        elif left in RULES:
            fault = RULES[left](right)
            checked += 1
        elif left in DEFINED or formula in DEFINED:
            fault = None
        else:
            fault = "nothing recomputes it"
        if fault:
            faults.append(f"{name}: {formula}: {fault}")
    return checked


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("book", type=Path)
    folder = parser.parse_args().book
    faults = Faults()
    for name, tables, formulas_least in (
        ("sheet.html", ("Readings", "How many", "Factors"), 15),
        ("card.html", ("The three", "Factors"), 6),
    ):
        html = main_part(folder / name)
        page = Page()
        page.feed(html)
        for table in page.tables:
            check = next((f for key, f in TABLES.items() if table["caption"].startswith(key)), None)
            if check:
                check(faults, table["rows"])
            elif any(NUMBER.search(cell.replace("1/s", "")) for row in table["rows"] for cell in row):
                faults.append(f"{name}: nothing recomputes the table \"{table['caption']}\"")
        captions = [table["caption"] for table in page.tables]
        for wanted in tables:
            if not any(caption.startswith(wanted) for caption in captions):
                faults.append(f"{name}: no table \"{wanted}…\"; has it another name now?")
        for word in NUMBER.findall(" ".join(page.text)):
            if word not in IN_TEXT:
                faults.append(f"{name}: nothing recomputes {word} in the text")
            else:
                faults.compare(f"{name}, {word}", *number(word), IN_TEXT[word])
        checked = check_formulas(faults, html, name)
        if checked < formulas_least:
            faults.append(f"{name}: only {checked} formulas were found, expected {formulas_least}")
    for fault in faults:
        print(fault)
    print(f"formula sheet and bench card: {faults.count} numbers and formulas, {len(faults)} faults")
    return int(bool(faults))


if __name__ == "__main__":
    sys.exit(main())
