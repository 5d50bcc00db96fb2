"""Computes the reference values beside this file by other methods than the program's own.

    python3 -m venv venv && venv/bin/pip install -r requirements.txt && venv/bin/python generate.py

The cases are drawn from a generator with a fixed seed, so that a second run writes the same files.
"""
import csv
import json
import math
import pathlib
import platform

import mpmath
import numpy as np
import numpy_financial as npf
import pint
import scipy
from scipy import integrate

HERE = pathlib.Path(__file__).parent
rng = np.random.default_rng(20)
units = pint.UnitRegistry()


def write(name, header, rows):
    with open(HERE / name, "w", newline="") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(header)
        out.writerows(rows)


def exact(x):
    return repr(float(x))


# Beams: the stiffness method with Hermite elements, a node at every step and at the load. The program integrates
# flexibilities instead.

def element(l, stiffness):
    return [[stiffness / l**3 * x for x in row] for row in [
        [12, 6 * l, -12, 6 * l],
        [6 * l, 4 * l * l, -6 * l, 2 * l * l],
        [-12, -6 * l, 12, -6 * l],
        [6 * l, 2 * l * l, -6 * l, 4 * l * l],
    ]]


def sag(segments, modulus, at, fixed):
    """Deflection under a unit load; `fixed` picks degrees of freedom from (first, last) x (move, turn).

    Steps of very different stiffness cost a dozen digits: the equations are solved with forty.
    """
    number = mpmath.mpf
    places = [number(0)]
    for length, _, _ in segments:
        places.append(places[-1] + number(length))
    # A load next to a step stands at the step: no element may be next to nothing.
    at = next((p for p in places if abs(p - number(at)) < 1e-6), number(at))
    nodes = sorted(set(places) | {at})
    size = 2 * len(nodes)
    k = [[number(0)] * size for _ in range(size)]
    for i, (a, b) in enumerate(zip(nodes, nodes[1:])):
        j = next(j for j in range(len(segments)) if (a + b) / 2 <= places[j + 1])
        _, d, bore = segments[j]
        stiffness = number(modulus) * number(math.pi) * (number(d) ** 4 - number(bore) ** 4) / 64
        for row, line in enumerate(element(b - a, stiffness)):
            for column, x in enumerate(line):
                k[2 * i + row][2 * i + column] += x
    gone = {"first move": 0, "first turn": 1, "last move": size - 2, "last turn": size - 1}
    free = [i for i in range(size) if i not in [gone[f] for f in fixed]]
    where = free.index(2 * nodes.index(at))
    k = [[k[i][j] for j in free] for i in free]
    load = [number(int(i == where)) for i in range(len(free))]
    return float(mpmath.lu_solve(mpmath.matrix(k), mpmath.matrix(load))[where])


mpmath.mp.dps = 40
ENDS = {
    "overhung": ["first move", "first turn"],
    "propped": ["first move", "first turn", "last move"],
    "supported": ["first move", "last move"],
    "held": ["first move", "first turn", "last move", "last turn"],
}

rows = []
for case in range(200):
    count = int(rng.integers(1, 7))
    segments = []
    for _ in range(count):
        d = round(float(rng.uniform(2, 40)), 2)
        bore = round(float(rng.uniform(0.1, 0.7)) * d, 2) if rng.random() < 0.3 else 0.0
        segments.append((round(float(rng.uniform(1, 60)), 2), d, bore))
    total = sum(s[0] for s in segments)
    modulus = float(rng.choice([207.0, 193.0, 113.8, 69.0, 97.0, 3.7]))
    force = round(float(rng.uniform(5, 500)), 1)
    at = round(float(rng.uniform(0.05, 0.95)) * total, 3)
    start = round(float(rng.uniform(0.0, 0.6)) * total, 3)
    stop = min(round(start + float(rng.uniform(0.05, 0.4)) * total, 3), math.floor(total * 1000) / 1000)
    y = {name: force * sag(segments, modulus * 1000, at, fixed) for name, fixed in ENDS.items()}
    # A moving load, at eighty-one places and at every step between.
    border = 0.0
    places = list(np.linspace(start, stop, 81))
    for s in segments:
        border += s[0]
        if start < border < stop:
            places.append(border)
    moving = [0.0 if p <= 0 or p >= total - 1e-9 else force * sag(segments, modulus * 1000, float(p), ENDS["propped"])
              for p in places]
    shape = ";".join(f"{l}:{d}:{b}" for l, d, b in segments)
    rows.append([case, shape, modulus, force, at] + [exact(y[n]) for n in ENDS]
                + [start, stop, exact(min(moving)), exact(max(moving))])
write("beams.csv", ["case", "length:dia:bore mm", "modulus GPa", "force N", "at mm"] + [f"{n} mm" for n in ENDS]
      + ["from mm", "to mm", "propped least mm", "propped greatest mm"], rows)

# Turning and facing at constant surface speed: numerical integration of the time along the path.

rows = []
for case in range(200):
    outer = round(float(rng.uniform(1, 65)), 2)
    inner = 0.0 if rng.random() < 0.4 else round(float(rng.uniform(0, 1)) * outer, 2)
    length = 0.0 if case < 120 else round(float(rng.uniform(0.5, 80)), 2)
    feed = round(float(rng.uniform(0.01, 0.4)), 3)
    speed = round(float(rng.uniform(20, 400)), 1)
    cap = round(float(rng.uniform(2000, 12000)), 0)
    path = math.hypot(length, (outer - inner) / 2)

    def minutes(s):
        d = outer + (inner - outer) * s / path if path > 0 else outer
        n = cap if d <= 0 else min(cap, 1000 * speed / (math.pi * d))
        return 1 / (feed * n)

    d_cap = 1000 * speed / (math.pi * cap)
    kink = [path * (outer - d_cap) / (outer - inner)] if inner < d_cap < outer else None
    t = integrate.quad(minutes, 0, path, points=kink, epsabs=0, epsrel=1e-12, limit=200)[0] if path > 0 else 0.0
    rows.append([case, outer, inner, length, feed, speed, cap, exact(t * 60)])
write("facing.csv", ["case", "start dia mm", "end dia mm", "length mm", "feed mm/rev", "speed m/min", "cap rpm", "time s"], rows)

# Present values and rates of return: numpy-financial, and all roots of the polynomial by its companion matrix.

cases = []
for case in range(200):
    years = int(rng.integers(2, 13))
    flows = [-round(float(rng.uniform(1e4, 9e5)), 0)] + [round(float(rng.normal(9e4, 8e4)), 0) for _ in range(years)]
    if rng.random() < 0.15:
        flows[-1] = -round(float(rng.uniform(1e4, 4e5)), 0)
    rate = round(float(rng.uniform(-0.05, 0.4)), 4)
    # x = 1 / (1 + i), searched for rates of -90 % to 1,000 %; a root with next to no imaginary part counts.
    roots = np.roots(flows[::-1])
    real = sorted(float(1 / x.real - 1) for x in roots if abs(x.imag) < 1e-9 and 1 / 11 <= x.real <= 10)
    one = float(npf.irr(flows))
    if len(real) == 1 and -0.9 <= one <= 10:
        assert abs(one - real[0]) < 1e-6, (flows, one, real)
    cases.append({"flows": flows, "rate": rate, "npv": float(npf.npv(rate, flows)), "irr": real,
                  "annuity": float(-npf.pmt(0.01 + abs(rate), years, abs(flows[0])))})
(HERE / "investment.json").write_text(json.dumps(cases, indent=None, separators=(",", ":")).replace("},{", "},\n{") + "\n")

# Cutting forces and powers in units that a library keeps track of.

rows = []
for case in range(100):
    kc11 = float(rng.integers(300, 3400)) * units("N/mm^2")
    mc = round(float(rng.uniform(0.1, 0.35)), 3)
    depth = round(float(rng.uniform(0.05, 5)), 3) * units.mm
    feed = round(float(rng.uniform(0.04, 0.6)), 3) * units.mm
    kappa = round(float(rng.uniform(45, 95)), 1) * units.degree
    speed = round(float(rng.uniform(10, 400)), 1) * units("m/min")
    dia = round(float(rng.uniform(1, 65)), 2) * units.mm
    sine = math.sin(kappa.to("radian").magnitude)
    h, b = feed * sine, depth / sine
    force = kc11 * (h / units.mm).to("").magnitude ** -mc * b * h
    power = (force * speed).to("kW")
    torque = (force * dia / 2).to("N m")
    turns = (speed / (math.pi * dia)).to("1/min")
    rows.append([case, kc11.magnitude, mc, depth.magnitude, feed.magnitude, kappa.magnitude, speed.magnitude, dia.magnitude,
                 exact(force.to("N").magnitude), exact(power.magnitude), exact(torque.magnitude), exact(turns.magnitude)])
write("cutting.csv", ["case", "kc1.1 N/mm2", "mc", "depth mm", "feed mm/rev", "edge deg", "speed m/min", "dia mm",
                      "force N", "power kW", "torque N.m", "speed rpm"], rows)

# Conversions of the units that the language has.

KEPT = {"mm": ["mm", "um", "cm", "m", "in", "thou", "uin", "ft"], "mm2": ["mm2", "in2"],
        "m/min": ["m/min", "mm/min", "in/min", "ft/min"], "kW": ["kW", "W", "hp"], "N": ["N", "kN", "lbf"],
        "N.m": ["N.m", "lbf.ft"], "bar": ["bar", "MPa", "N/mm2", "psi"], "kg": ["kg", "lb"],
        "s": ["s", "min", "h", "day", "week", "year"], "l/min": ["l/min"], "m/s2": ["m/s2"]}
SPELT = {"mm2": "mm**2", "in2": "inch**2", "in": "inch", "in/min": "inch/min", "uin": "microinch", "N.m": "N*m",
         "lbf.ft": "lbf*ft", "N/mm2": "N/mm**2", "hp": "horsepower", "l/min": "l/min", "m/s2": "m/s**2", "um": "micrometer"}
rows = []
for kept, names in KEPT.items():
    for name in names:
        factor = units.Quantity(1.0, SPELT.get(name, name)).to(SPELT.get(kept, kept)).magnitude
        rows.append([name, kept, exact(factor)])
write("units.csv", ["unit", "kept in", "factor"], rows)

versions = {"python": platform.python_version(), "numpy": np.__version__, "scipy": scipy.__version__,
            "numpy-financial": npf.__version__, "mpmath": mpmath.__version__, "pint": pint.__version__}
(HERE / "versions.json").write_text(json.dumps(versions, indent=1) + "\n")
