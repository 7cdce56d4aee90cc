"""Checks the reference solver itself against closed forms: `python3 tests/reference/check.py`.

Eccentric cylinders (Kasper 1940: two line charges) and equal strips flush with a channel's walls
(Wagner 1951), both without polarization, the latter with singular ends; and plates with Tafel laws.
"""
import math
import os
import pathlib
import sys

os.environ.setdefault("OMP_NUM_THREADS", "1")
sys.path.insert(0, str(pathlib.Path(__file__).parent))

import numpy as np
from scipy.special import ellipkm1

import fixture
import outline
import table
from layouts import NONE, body, box, layout, tafel


def circle_points(at, radius, n):
    return [[at[0] + radius * math.cos(2 * math.pi * k / n), at[1] + radius * math.sin(2 * math.pi * k / n)]
            for k in range(n)]


def report(name, got, want):
    print(f"{name:44s} {got:.9g} {want:.9g} error {abs(got / want - 1):.1e}")
    return abs(got / want - 1)


def means_error(lay, k, answer, exact):
    """Largest relative error of window means (0.3 mm clear of corners) against exact(s0, s1)."""
    m, _, runs = answer
    rows = table.windows(lay, k, runs[k], m.corners)
    return max(abs(j / exact(lay, loop, s0, s1) - 1) for loop, s0, s1, j in rows)


def eccentric(scale):
    r1, r2, e, at = 8.0, 20.0, 6.0, (37.3, 31.9)
    lay = layout("", circle_points(at, 22.0, 80), 3.0, ("voltage", 1.7), [
        body("part", "tube", NONE, ring={"at": list(at), "outer": 24.0, "inner": r2}),
        body("anode", "rod", NONE, disc={"at": [at[0] + e, at[1]], "radius": r1})], depth=1000.0)
    ans = fixture.answer(lay, scale)
    ratio = math.acosh((r1 * r1 + r2 * r2 - e * e) / (2 * r1 * r2))
    worst = report("eccentric cylinders: current", -ans[1].current[0], 2 * math.pi * 3.0 * 1.7 / ratio)
    b = r2 * r2 + e * e - r1 * r1
    a = (b - math.sqrt(b * b - 4 * e * e * r2 * r2)) / (2 * e)
    far = r2 * r2 / a

    def exact(lay, loop, s0, s1):
        u, w = np.polynomial.legendre.leggauss(8)
        ts = 0.5 * (s0 + s1) + 0.5 * (s1 - s0) * u
        pts = [table.place(outline.loops_of(lay["bodies"][0]["shape"])[0][loop], t) for t in ts]
        z = np.array([complex(x - at[0], y - at[1]) for x, y in pts])
        j = 3.0 * 1.7 / ratio * (far - a) / (abs(z - a) * abs(z - far)) * 1e3
        return w @ j / 2

    local = means_error(lay, 0, ans, exact)
    print(f"{'':44s} local means error {local:.1e}")
    return max(worst, local)


def strips(scale):
    l, h, x0 = 31.3, 31.3, 140.0
    lay = layout("", box(280.0, h), 10.0, ("current", 2.0), [
        body("part", "strip", NONE, polygon=[[x0 - l / 2, -5], [x0 + l / 2, -5], [x0 + l / 2, 0], [x0 - l / 2, 0]]),
        body("anode", "other", NONE,
             polygon=[[x0 - l / 2, h], [x0 + l / 2, h], [x0 + l / 2, h + 5], [x0 - l / 2, h + 5]])], depth=1000.0)
    ans = fixture.answer(lay, scale)
    eps = math.pi * l / (2 * h)
    big, small = ellipkm1(1 / math.cosh(eps) ** 2), ellipkm1(math.tanh(eps) ** 2)
    worst = report("flush strips: voltage", ans[1].anode_v, 2.0 / 10.0 * small / big)

    def exact(lay, loop, s0, s1):
        # the wetted side is the third edge of the rectangle, run from right to left
        def up_to(s):
            t = math.asin(max(-1.0, min(1.0, 1 - 2 * (s - l - 5) / l)))
            u, w = np.polynomial.legendre.leggauss(60)
            ts = t / 2 + t / 2 * u
            x = l / 2 * np.sin(ts)
            y = 2 * x * eps / l
            j = eps * math.cosh(eps) / (big * np.sqrt(np.sinh(eps - y) * np.sinh(eps + y)))
            return t / 2 * w @ (j * l / 2 * np.cos(ts))
        return 2.0 / (l * 1e-3) * (up_to(s0) - up_to(s1)) / (s1 - s0)

    local = means_error(lay, 0, ans, exact)
    print(f"{'':44s} local means error {local:.1e}")
    return max(worst, local)


def plates(scale):
    i, d, kappa = 400.0, 63.7, 8.0
    lay = layout("", box(100.0, 40.0), kappa, ("mean", i), [
        body("part", "plate", tafel(0.01, 0.12, limiting=900.0), polygon=[[-5, -5], [17.1, -5], [17.1, 45], [-5, 45]]),
        body("anode", "anode", tafel(20.0, 0.04, rest=0.3),
             polygon=[[17.1 + d, -5], [120, -5], [120, 45], [17.1 + d, 45]])])
    ans = fixture.answer(lay, scale)
    kin = i / (1 - i / 900.0)
    want = i * d * 1e-3 / kappa + 0.12 * math.log10(kin / 0.01) + 0.04 * math.log10(i / 20.0) + 0.3
    return report("parallel plates, Tafel and limit: voltage", ans[1].anode_v, want)


if __name__ == "__main__":
    worst = max(check(0.75) for check in (plates, eccentric, strips))
    sys.exit(0 if worst < 1e-5 else f"worst error {worst:.1e}")
