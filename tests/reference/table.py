"""Cumulative current along the wetted outline of every metal body."""
import math

import numpy as np

import outline
import solve

PIECES = 4      # rows per wall element; cubic interpolation between rows is then good to 1e-6
THIN = 0.02     # mm: rows closer than this are merged (tiny elements at corners)


def runs(layout, mesh, ans, k):
    """Connected wetted stretches of body `k`.

    Each run is (loop, rows) with rows [s_mm, cumulative current into the metal per depth (A/m),
    density into the metal (A/m2)] in order of arc length; around an axis both are times 2 pi r.
    """
    loops, _ = outline.loops_of(layout["bodies"][k]["shape"])
    inner, gauss_w, cuts = places()
    val_i, der_i = solve.line_values(2 * inner - 1)
    val_c, _ = solve.line_values(2 * cuts - 1)
    conn = mesh.edges[k]
    j_i = -solve.density(ans, k, val_i, conn)
    j_c = -solve.density(ans, k, val_c, conn)
    x = mesh.nodes[conn]
    speed = 2 * np.linalg.norm(np.einsum("qa,eaj->eqj", der_i, x), axis=2)
    return chain(loops, np.einsum("qa,eaj->eqj", val_c, x), speed, gauss_w, j_i, j_c)


def places():
    """Where the density of a wall element is asked: Gauss points of every piece (local coordinate
    0..1), weights of one piece, ends of the pieces."""
    gauss_u, gauss_w = np.polynomial.legendre.leggauss(6)
    cuts = np.linspace(0, 1, PIECES + 1)
    inner = np.concatenate([(a + b) / 2 + (b - a) / 2 * gauss_u for a, b in zip(cuts, cuts[1:])])
    return inner, gauss_w / 2, cuts


def chain(loops, x_c, speed, gauss_w, j_i, j_c):
    """Runs from wall elements: places of the cuts (mm), mm per unit of local coordinate and
    densities at the Gauss points, densities at the cuts."""
    amount = (j_i * speed * 1e-3).reshape(len(x_c), PIECES, -1) @ gauss_w / PIECES
    length = speed.reshape(len(x_c), PIECES, -1) @ gauss_w / PIECES
    pieces = {}
    for e in range(len(x_c)):
        mx, my = x_c[e, PIECES // 2]
        loop, start, seg = locate(loops, mx, my)
        t0, t1 = (float(outline.project(seg, *x_c[e, i])[1]) for i in (0, -1))
        # elements of low degree are a little shorter than the arcs they stand for
        ln = length[e] * abs(t1 - t0) * seg["len"] / length[e].sum()
        if t1 < t0:
            t0, am, ln, jc = t1, amount[e][::-1], ln[::-1], j_c[e][::-1]
        else:
            am, jc = amount[e], j_c[e]
        pieces.setdefault(loop, []).append((start + t0 * seg["len"], ln, am, jc))
    out = []
    for loop, items in sorted(pieces.items()):
        items.sort(key=lambda it: it[0])
        rows = None
        for s, ln, am, jc in items:
            if rows is None or abs(s - rows[-1][0]) > 1e-5:
                rows = [[s, 0.0, jc[0]]]
                out.append((loop, rows))
            for i in range(PIECES):
                rows.append([rows[-1][0] + ln[i], rows[-1][1] + am[i], jc[i + 1]])
    return [(loop, thin(rows, corner_arcs(loops[loop]))) for loop, rows in out]


def corner_arcs(loop):
    """Arc lengths at which the segments of a loop start and end."""
    s, out = 0.0, [0.0]
    for seg in loop:
        s += seg["len"]
        out.append(s)
    return np.array(out)


def locate(loops, x, y):
    best = None
    for n, loop in enumerate(loops):
        start = 0.0
        for seg in loop:
            d = float(outline.project(seg, x, y)[0])
            if best is None or d < best[0]:
                best = (d, n, start, seg)
            start += seg["len"]
    return best[1:]


def thin(rows, keep):
    """Drops rows closer than THIN to the one before, but no row at a joint of segments."""
    out = [rows[0]]
    for r, nxt in zip(rows[1:], rows[2:] + [None]):
        joint = np.abs(keep - r[0]).min() < 1e-6
        if joint and r[0] - out[-1][0] < THIN and len(out) > 1 and np.abs(keep - out[-1][0]).min() > 1e-6:
            out.pop()
        if nxt is None or joint or r[0] - out[-1][0] >= THIN:
            out.append(r)
    return out


def cumulative(rows, s):
    """Cumulative current at arc length s by cubic interpolation (values and slopes of the rows)."""
    a = np.array([r[0] for r in rows])
    i = int(np.clip(np.searchsorted(a, s) - 1, 0, len(rows) - 2))
    (s0, c0, j0), (s1, c1, j1) = rows[i], rows[i + 1]
    h = s1 - s0
    t = (s - s0) / h
    m0, m1 = j0 * h * 1e-3, j1 * h * 1e-3
    return (c0 * (1 + 2 * t) * (1 - t) ** 2 + m0 * t * (1 - t) ** 2
            + c1 * t * t * (3 - 2 * t) + m1 * t * t * (t - 1))


def place(loop, s):
    """Point at arc length s."""
    for seg in loop:
        if s <= seg["len"] + 1e-9:
            t = s / seg["len"]
            if "c" in seg:
                a = seg["a0"] + t * seg["da"]
                return seg["c"][0] + seg["r"] * math.cos(a), seg["c"][1] + seg["r"] * math.sin(a)
            return tuple(p + t * (q - p) for p, q in zip(seg["p"], seg["q"]))
        s -= seg["len"]
    return loop[-1]["q"]


def surface(layout, loop, s0, s1):
    """Surface of a stretch, m2 per m of depth, or m2 all around an axis: of r along a line its middle
    is the mean, of an arc the mean follows from its chord."""
    if layout.get("symmetry") != "axial":
        return (s1 - s0) * 1e-3
    total, at = 0.0, 0.0
    for seg in loop:
        a, b = max(s0, at) - at, min(s1, at + seg["len"]) - at
        if b > a:
            t = np.array([a, b]) / seg["len"]
            if "c" in seg:
                angle = seg["a0"] + t * seg["da"]
                across = seg["r"] * (math.sin(angle[1]) - math.sin(angle[0])) / (angle[1] - angle[0])
                middle = seg["c"][0] + across
            else:
                middle = seg["p"][0] + t.mean() * (seg["q"][0] - seg["p"][0])
            total += 2 * math.pi * middle * (b - a)
        at += seg["len"]
    return total * 1e-6


def windows(layout, k, body_runs, corners, clear=0.3):
    """Means over short stretches at least `clear` mm from every corner: [(s0, s1, mean)]."""
    loops, _ = outline.loops_of(layout["bodies"][k]["shape"])
    out = []
    for loop, rows in body_runs:
        s, end = rows[0][0], rows[-1][0]
        while s < end - 0.02:
            x, y = place(loops[loop], s)
            d = np.hypot(corners[:, 0] - x, corners[:, 1] - y).min() if len(corners) else 1e9
            e = min(end, s + max(0.1, 0.1 * min(d, 30.0)))
            x1, y1 = place(loops[loop], e)
            d1 = np.hypot(corners[:, 0] - x1, corners[:, 1] - y1).min() if len(corners) else 1e9
            if d >= clear and d1 >= clear:
                got = cumulative(rows, e) - cumulative(rows, s)
                out.append((loop, s, e, got / surface(layout, loops[loop], s, e)))
            s = e
    return out
