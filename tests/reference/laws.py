"""Polarization laws: current density from the metal into the bath (A/m2) and its slope.

eta = metal potential - bath potential - rest. A Tafel law has one branch on cathodes and anodes,
and the difference of both on floating metal, which takes current on one side and gives it on the
other. `limiting` caps the magnitude: i = ik / (1 + |ik| / limiting).
"""
import numpy as np

GAS, FARADAY = 8.314462618, 96485.33212


def kinetic(law, role, temperature):
    """Function eta -> (i, di/deta) without the limit."""
    kind = law["law"]
    if kind == "linear":
        return lambda e: (e / law["resistance"], np.full_like(e, 1 / law["resistance"]))
    if kind == "tafel":
        i0, k = law["exchange"], np.log(10) / law["slope"]
        ca = (lambda e: (-i0 * np.exp(-k * e), k * i0 * np.exp(-k * e)))
        an = (lambda e: (i0 * np.exp(k * e), k * i0 * np.exp(k * e)))
        if role == "anode":
            return an
        if role == "floating":
            return lambda e: (2 * i0 * np.sinh(k * e), 2 * k * i0 * np.cosh(k * e))
        return ca
    if kind == "table":
        return table(law["points"])
    i0, vt = law["exchange"], GAS * temperature / FARADAY
    aa, ac = law["alpha_anodic"], law["alpha_cathodic"]
    return lambda e: (
        i0 * (np.exp(aa * e / vt) - np.exp(-ac * e / vt)),
        i0 / vt * (aa * np.exp(aa * e / vt) + ac * np.exp(-ac * e / vt)),
    )


def table(points):
    """Monotone cubic through measured points (|eta|, |i|) from the origin, odd, straight beyond the
    last point; slopes by Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238."""
    x, y = np.array(points, dtype=float).T
    rise = np.diff(y) / np.diff(x)
    m = np.concatenate([rise[:1], (rise[:-1] + rise[1:]) / 2, rise[-1:]])
    for k, r in enumerate(rise):
        a, b = m[k] / r, m[k + 1] / r
        if np.hypot(a, b) > 3:
            m[k], m[k + 1] = 3 * a * r / np.hypot(a, b), 3 * b * r / np.hypot(a, b)

    def law(e):
        z = np.abs(e)
        k = np.clip(np.searchsorted(x, z, side="right") - 1, 0, len(x) - 2)
        h = x[k + 1] - x[k]
        d = np.minimum(z, x[-1]) - x[k]
        t = d / h
        second, third = 3 * rise[k] - 2 * m[k] - m[k + 1], m[k] + m[k + 1] - 2 * rise[k]
        i = y[k] + d * (m[k] + t * (second + t * third))
        di = m[k] + t * (2 * second + 3 * t * third)
        over = z - np.minimum(z, x[-1])
        return np.sign(e) * (i + over * m[-1]), np.where(over > 0, m[-1], di)

    return law


def law_function(law, role, temperature):
    """Function eta -> (i, di/deta) with the limit."""
    f = kinetic(law, role, temperature)
    lim = law.get("limiting")
    if lim is None:
        return f

    def limited(e):
        i, d = f(np.clip(e, -8.0, 8.0))
        cap = 1 + np.abs(i) / lim
        return i / cap, d / cap**2

    return limited


def steepness(law, temperature):
    """Overpotential over which the law grows e-fold, V (None: no such scale)."""
    if law["law"] == "tafel":
        return law["slope"] / np.log(10)
    if law["law"] == "butler-volmer":
        return GAS * temperature / FARADAY / max(law["alpha_anodic"], law["alpha_cathodic"])
    return None


def overpotential(law, role, temperature, density):
    """eta at which the law gives `density` (A/m2, metal to bath), by bisection."""
    if law["law"] == "none":
        return 0.0
    f = law_function(law, role, temperature)
    lo, hi = -8.0, 8.0
    if law["law"] == "linear":
        lo, hi = -1e4, 1e4
    with np.errstate(over="ignore"):
        for _ in range(200):
            mid = 0.5 * (lo + hi)
            lo, hi = (mid, hi) if f(np.array([mid]))[0][0] < density else (lo, mid)
    return 0.5 * (lo + hi)
