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
    i0, vt = law["exchange"], GAS * temperature / FARADAY
    aa, ac = law["alpha_anodic"], law["alpha_cathodic"]
    return lambda e: (
        i0 * (np.exp(aa * e / vt) - np.exp(-ac * e / vt)),
        i0 / vt * (aa * np.exp(aa * e / vt) + ac * np.exp(-ac * e / vt)),
    )


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
