"""Outlines as loops of exact lines and arcs, metal (or tank inside) on the left.

A segment is a dict: {"p": start, "q": end} for a line; with "c", "r", "a0", "da" for an arc
(centre, radius, start angle, signed sweep). All lengths in mm. `tangent` points are joints where
the outline runs smoothly, so they are no corners.
"""
import math

import numpy as np


def line(p, q):
    return {"p": tuple(p), "q": tuple(q), "len": math.dist(p, q)}


def arc(c, r, a0, da):
    p = (c[0] + r * math.cos(a0), c[1] + r * math.sin(a0))
    q = (c[0] + r * math.cos(a0 + da), c[1] + r * math.sin(a0 + da))
    return {"p": p, "q": q, "c": tuple(c), "r": r, "a0": a0, "da": da, "len": r * abs(da)}


def area2(points):
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1]))


def polygon(points, corner=0.0):
    """Counter-clockwise polygon; every corner rounded with radius `corner` if that is not 0."""
    pts = [tuple(map(float, p)) for p in points]
    if area2(pts) < 0:
        pts = [pts[0]] + pts[:0:-1]
    n = len(pts)
    if corner == 0:
        return [line(pts[i], pts[(i + 1) % n]) for i in range(n)], []
    fillets, tangent = [], []
    for i in range(n):
        a, b, c = (np.array(pts[(i + k) % n]) for k in (-1, 0, 1))
        u, v = (b - a) / np.linalg.norm(b - a), (c - b) / np.linalg.norm(c - b)
        turn = math.atan2(u[0] * v[1] - u[1] * v[0], u @ v)
        t = corner * math.tan(abs(turn) / 2)
        side = 1 if turn > 0 else -1
        normal = np.array([-u[1], u[0]]) * side
        centre = b - t * u + corner * normal
        a0 = math.atan2(-normal[1], -normal[0])
        fillets.append(arc(centre, corner, a0, turn))
        tangent += [fillets[-1]["p"], fillets[-1]["q"]]
    segs = []
    for i in range(n):
        segs.append(fillets[i])
        segs.append(line(fillets[i]["q"], fillets[(i + 1) % n]["p"]))
    return segs, tangent


def rect(at, size, corner=0.0):
    (x, y), (w, h) = at, (size[0] / 2, size[1] / 2)
    return polygon([(x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)], corner)


def circle(at, radius, ccw=True):
    d = math.pi if ccw else -math.pi
    segs = [arc(at, radius, 0.0, d), arc(at, radius, d, d)]
    return segs, [s["p"] for s in segs]


def loops_of(shape):
    """Loops and tangent points of a shape in the words of the job file."""
    if "rect" in shape:
        loops = [rect(shape["rect"]["at"], shape["rect"]["size"], shape["rect"].get("corner", 0.0))]
    elif "disc" in shape:
        loops = [circle(shape["disc"]["at"], shape["disc"]["radius"])]
    elif "ring" in shape:
        r = shape["ring"]
        loops = [circle(r["at"], r["outer"]), circle(r["at"], r["inner"], ccw=False)]
    else:
        loops = [polygon(shape["polygon"], shape.get("corner_radius", 0.0))]
    return [l for l, _ in loops], [p for _, t in loops for p in t]


def _within(seg, ang):
    """Fraction along an arc of angle `ang`, may fall outside 0..1."""
    d = (ang - seg["a0"]) * np.sign(seg["da"])
    mid = abs(seg["da"]) / 2
    d = (d - mid + math.pi) % (2 * math.pi) - math.pi + mid
    return d / abs(seg["da"])


def project(seg, x, y):
    """Distance from points to a segment and the fraction along it of the nearest point."""
    if "c" in seg:
        dx, dy = x - seg["c"][0], y - seg["c"][1]
        t = np.clip(_within(seg, np.arctan2(dy, dx)), 0, 1)
        a = seg["a0"] + t * seg["da"]
        px, py = seg["c"][0] + seg["r"] * np.cos(a), seg["c"][1] + seg["r"] * np.sin(a)
    else:
        (ax, ay), (bx, by) = seg["p"], seg["q"]
        ux, uy = bx - ax, by - ay
        t = np.clip(((x - ax) * ux + (y - ay) * uy) / (ux * ux + uy * uy), 0, 1)
        px, py = ax + t * ux, ay + t * uy
    return np.hypot(x - px, y - py), t
