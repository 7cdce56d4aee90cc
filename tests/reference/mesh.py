"""Body-fitted meshes of curved fourth-order triangles, graded geometrically into every corner."""
import math

import gmsh
import numpy as np

import outline

ORDER = 4
ON = 1e-6  # mm: closer than this is "on the outline"; booleans keep points to about 1e-7 mm


class Mesh:
    """nodes (mm), triangles with conductivity, wall pieces of every body, corner points."""

    def __init__(self, nodes, tris, kappa, edges, corners):
        self.nodes, self.tris, self.kappa = nodes, tris, kappa
        self.edges, self.corners = edges, corners


def add_shape(occ, loops):
    """Surface of a body; the first loop is the outer one, the rest are holes."""
    faces = []
    for loop in loops:
        first = [occ.addPoint(*s["p"], 0) for s in loop]
        tags = []
        for k, s in enumerate(loop):
            a, b = first[k], first[(k + 1) % len(loop)]
            if "c" not in s:
                tags.append(occ.addLine(a, b))
            elif abs(s["da"]) < 3:
                tags.append(occ.addCircleArc(a, occ.addPoint(*s["c"], 0), b))
            else:
                tags.append(half_circle(occ, s, a, b))
        faces.append((2, occ.addPlaneSurface([occ.addCurveLoop(tags)])))
    if len(faces) > 1:
        faces, _ = occ.cut(faces[:1], faces[1:])
    return faces[0][1]


def half_circle(occ, s, a, b):
    """An arc of half a turn through its middle point, which fixes its side."""
    ang = s["a0"] + s["da"] / 2
    m = occ.addPoint(s["c"][0] + s["r"] * math.cos(ang), s["c"][1] + s["r"] * math.sin(ang), 0)
    return occ.addCircleArc(a, m, b, center=False)


def build(layout, scale, tip, order=ORDER):
    """Meshes `layout`; `scale` multiplies all sizes, `tip` is the size at corners in mm."""
    gmsh.initialize()
    try:
        return _build(layout, scale, tip, order)
    finally:
        gmsh.finalize()


def _build(layout, scale, tip, order):
    gmsh.option.setNumber("General.Terminal", 0)
    gmsh.option.setNumber("General.NumThreads", 1)
    occ = gmsh.model.occ
    tank_loops, _ = outline.loops_of({"polygon": layout["tank"]})
    bodies = [(b, *outline.loops_of(b["shape"])) for b in layout["bodies"]]
    tank = (2, add_shape(occ, tank_loops))
    solids = [(2, add_shape(occ, l)) for b, l, _ in bodies if b["role"] != "screen"]
    fluid, _ = occ.cut([tank], solids)
    screens = [(2, add_shape(occ, l)) for b, l, _ in bodies if b["role"] == "screen"]
    if screens:
        inside, _ = occ.intersect(fluid, screens, removeObject=False, removeTool=True)
        fluid, _ = occ.fragment(fluid, inside)
    occ.removeAllDuplicates()
    occ.synchronize()
    fluid = gmsh.model.getEntities(2)

    tangent = [p for _, _, t in bodies for p in t]
    curves = {}
    for f in fluid:
        for _, c in gmsh.model.getBoundary([f], oriented=False):
            curves.setdefault(c, []).append(f[1])
    ends = {p for c in curves for _, p in gmsh.model.getBoundary([(1, c)], oriented=False)}
    corners = []
    for p in sorted(ends):
        x, y, _ = gmsh.model.getValue(0, p, [])
        # outlines cross an axis of symmetry squarely: no corner of anything
        if layout.get("symmetry") == "axial" and x < ON:
            continue
        if not any(math.hypot(x - a, y - b) < ON for a, b in tangent):
            corners.append((x, y))
    owner = {c: body_at(bodies, c) for c, fs in curves.items() if len(fs) == 1}
    pieces = [(piece(tank_loops, bodies, c), owner.get(c)) for c in sorted(curves)]

    set_sizes(pieces, bodies, np.array(corners), np.array(tangent), scale, tip)
    gmsh.option.setNumber("Mesh.Algorithm", 6)
    gmsh.model.mesh.generate(2)
    gmsh.model.mesh.setOrder(order)
    tags, xyz, _ = gmsh.model.mesh.getNodes()
    index = np.zeros(int(tags.max()) + 1, dtype=int)
    index[tags] = np.arange(len(tags))
    nodes = xyz.reshape(-1, 3)[:, :2]
    tri_type = gmsh.model.mesh.getElementType("Triangle", order)
    line_type = gmsh.model.mesh.getElementType("Line", order)
    tris, kappa = [], []
    for _, f in fluid:
        _, conn = gmsh.model.mesh.getElementsByType(tri_type, f)
        conn = index[conn].reshape(-1, (order + 1) * (order + 2) // 2)
        cx, cy = nodes[conn[:, :3]].mean(axis=1)[0]
        k = layout["kappa"]
        for b, loops, _ in bodies:
            if b["role"] == "screen" and winding(loops, cx, cy):
                k = b["kappa"]
        tris.append(conn)
        kappa.append(np.full(len(conn), k))
    edges = {}
    for c, k in owner.items():
        if k is not None:
            _, conn = gmsh.model.mesh.getElementsByType(line_type, c)
            edges.setdefault(k, []).append(index[conn].reshape(-1, order + 1))
    used = np.unique(np.concatenate(tris))
    new = np.full(len(nodes), -1)
    new[used] = np.arange(len(used))
    return Mesh(
        nodes[used], new[np.concatenate(tris)], np.concatenate(kappa),
        {k: new[np.concatenate(v)] for k, v in edges.items()}, np.array(corners),
    )


def body_at(bodies, curve):
    """Number of the solid body on whose outline a boundary curve lies; metal wins over shields."""
    lo, hi = gmsh.model.getParametrizationBounds(1, curve)
    found = []
    for k, (b, loops, _) in enumerate(bodies):
        if b["role"] == "screen":
            continue
        ok = True
        for t in (0.21, 0.5, 0.83):
            x, y, _ = gmsh.model.getValue(1, curve, [lo[0] + t * (hi[0] - lo[0])])
            ok &= min(outline.project(s, x, y)[0] for l in loops for s in l) < 10 * ON
        if ok:
            found.append(k)
    metal = [k for k in found if bodies[k][0]["role"] != "shield"]
    return (metal or found or [None])[0]


def winding(loops, x, y):
    """Even-odd inside test on the chords of the loops (screens have straight sides)."""
    inside = False
    for loop in loops:
        for s in loop:
            (x0, y0), (x1, y1) = s["p"], s["q"]
            if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
                inside = not inside
    return inside


def piece(tank_loops, bodies, curve):
    """The line or arc that a curve of the mesh is, cut to the curve's ends."""
    lo, hi = gmsh.model.getParametrizationBounds(1, curve)
    p, m, q = (gmsh.model.getValue(1, curve, [lo[0] + t * (hi[0] - lo[0])])[:2] for t in (0, 0.5, 1))
    segments = [s for l in tank_loops for s in l] + [s for _, ls, _ in bodies for l in ls for s in l]
    base = min(segments, key=lambda s: float(outline.project(s, *m)[0]))
    if "c" not in base:
        return outline.line(p, q)
    c, r = base["c"], base["r"]
    a0, am = (math.atan2(z[1] - c[1], z[0] - c[0]) for z in (p, m))
    half = (am - a0 + math.pi) % (2 * math.pi) - math.pi
    return outline.arc(c, r, a0, 2 * half)


def set_sizes(pieces, bodies, corners, tangent, scale, tip):
    """Size = tip + 0.4 x distance to the nearest corner (0.3 without polarization, where the flux
    is infinite there); bounded by radii, edges and gaps.

    Where a line runs smoothly into an arc the curvature jumps and the potential has a weak
    singularity (r^2 log r): graded too, down to 0.03 of the radius.
    """
    span = max(max(s["p"]) for s, _ in pieces) - min(min(s["p"]) for s, _ in pieces)
    # cathodes finest: near the limiting current the density bends sharply along an outline
    kinds = {"anode": 0.018, "shield": 0.04, "screen": 0.04}

    def own(s, k):
        share = 0.05 if k is None else kinds.get(bodies[k][0]["role"], 0.012)
        cap = 0.25 * s["r"] if "c" in s else (0.12 if share < 0.03 else 0.2) * s["len"]
        return scale * min(cap, share * span)

    groups = sorted({-1 if k is None else k for _, k in pieces})
    members = [np.array([(-1 if k is None else k) == g for _, k in pieces]) for g in groups]
    h_of = np.array([own(s, k) for s, k in pieces])
    p = np.array([s["p"] for s, _ in pieces])
    u = np.array([s["q"] for s, _ in pieces]) - p
    uu = np.maximum((u**2).sum(axis=1), 1e-300)
    arcs = [(n, s) for n, (s, _) in enumerate(pieces) if "c" in s]
    grade = 0.3 if any(b.get("law", {}).get("law") == "none" for b, _, _ in bodies) else 0.4
    # joints of a line and an arc; the seam of a whole circle is none
    joints, soft = [], []
    for t in tangent:
        meet = [s for s, _ in pieces if min(math.dist(s["p"], t), math.dist(s["q"], t)) < ON]
        if len({s.get("r") for s in meet}) > 1:
            joints.append(t)
            soft.append(0.03 * scale * min(s["r"] for s in meet if "c" in s))
    joints, soft = np.array(joints), np.array(soft)

    def size(dim, tag, x, y, z, lc):
        d = np.array([x, y]) - p
        t = np.clip((d * u).sum(axis=1) / uu, 0, 1)
        dist = np.hypot(d[:, 0] - t * u[:, 0], d[:, 1] - t * u[:, 1])
        for n, s in arcs:
            dist[n] = outline.project(s, x, y)[0]
        h = min(scale * 0.08 * span, (h_of + scale * 0.35 * dist).min())
        near = sorted(dist[m].min() for m in members)
        if len(near) > 1:
            h = min(h, scale * 0.45 * (near[0] + near[1]) + tip)
        if len(corners):
            c = np.hypot(corners[:, 0] - x, corners[:, 1] - y).min()
            h = min(h, tip + scale * grade * c)
        if len(joints):
            c = np.hypot(joints[:, 0] - x, joints[:, 1] - y)
            h = min(h, (soft + scale * 0.3 * c).min())
        return float(h)

    for name in ("ExtendFromBoundary", "FromPoints", "FromCurvature"):
        gmsh.option.setNumber("Mesh.MeshSize" + name, 0)
    gmsh.option.setNumber("Mesh.MeshSizeMin", 0)
    gmsh.option.setNumber("Mesh.LcIntegrationPrecision", 1e-6)
    gmsh.model.mesh.setSizeCallback(size)
