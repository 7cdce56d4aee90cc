"""The same equations by scikit-fem: div(kappa grad phi) = 0 with polarization laws on the metal.

Curved triangles (six nodes), Lagrange elements of second or higher degree, Newton's method on
potentials of bath and unwired or current-fed metal together. Metal without polarization is held at
its potential and its flux recovered from the residual through the outline's mass matrix. In an axial
section every integral carries the weight 2 pi r, r being x: currents are those all around, in A.
"""
import logging

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as spl
from skfem import (Basis, BilinearForm, ElementTriP2, ElementTriP3, ElementTriP4, FacetBasis, LinearForm, MeshTri,
                   MeshTri2)
from skfem.helpers import dot, grad
from skfem.mapping import MappingIsoparametric

import laws
import mesh as meshes
import table

logging.getLogger("skfem").setLevel(logging.ERROR)

DEGREES = {2: ElementTriP2, 3: ElementTriP3, 4: ElementTriP4}
MM = 1e-3


class Mapping(MappingIsoparametric):
    """Tells when a point is found in a triangle of a millionth of the tank: rounding leaves more than
    the library's own tolerance there."""

    def invF(self, x, tind=None, newton_max_iters=50, newton_tol=1e-6):
        return super().invF(x, tind, newton_max_iters, newton_tol)


def breadth(layout, basis):
    """Breadth of the section at the quadrature points: 1 in the plane, 2 pi r (m) around an axis."""
    x = np.asarray(basis.global_coordinates())[0]
    return 2 * np.pi * x if layout.get("symmetry") == "axial" else np.ones_like(x)


class Wall:
    """Wetted outline of one body: its facets, seen at the points where table.py asks."""

    def __init__(self, layout, mesh, element, bath, facets):
        self.basis = FacetBasis(mesh, element, facets=facets, intorder=2 * element.maxdeg + 2)
        self.breadth = breadth(layout, self.basis)
        self.surface = self.basis.dx * self.breadth
        self.length = float(self.basis.dx.sum())
        self.area = float(self.surface.sum())
        self.dofs = bath.get_dofs(facets).all()
        inner, _, cuts = table.places()
        self.at = {key: FacetBasis(mesh, element, facets=facets, quadrature=(x[None, :], np.ones(len(x))))
                   for key, x in (("inner", inner), ("cuts", cuts))}


class Answer:
    """Potentials (V), currents (A/m, metal to bath) and densities for every metal body."""


@BilinearForm
def conduction(u, v, w):
    return w.kappa * dot(grad(u), grad(v))


@BilinearForm
def on_wall(u, v, w):
    return w.slope * u * v


@LinearForm
def load(v, w):
    return w.density * v


def curved(m):
    """The mesh of tests/reference/mesh.py (six-node triangles, mm) as scikit-fem's own, m."""
    vertices = np.unique(m.tris[:, :3])
    new = np.full(len(m.nodes), -1)
    new[vertices] = np.arange(len(vertices))
    out = MeshTri2.from_mesh(MeshTri(m.nodes[vertices].T * MM, new[m.tris[:, :3]].T))
    middle = {}
    for tri in m.tris:
        for a, b, c in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
            i, j = new[tri[a]], new[tri[b]]
            middle[min(i, j), max(i, j)] = tri[c]
    nodes = [middle[tuple(sorted(f))] for f in out.facets.T]
    places = out.doflocs.copy()
    places[:, out.dofs.facet_dofs[0]] = m.nodes[nodes].T * MM
    facet_of = {tuple(sorted(f)): n for n, f in enumerate(out.facets.T)}
    walls = {k: np.array([facet_of[tuple(sorted((new[a], new[b])))] for a, b in e[:, :2]])
             for k, e in m.edges.items()}
    mesh = MeshTri2(places, out.t)
    mesh._cached_mapping = Mapping(mesh, mesh.elem(), mesh.bndelem)
    return mesh, walls, m.kappa


def solve(layout, m, degree):
    mesh, facets, kappa = curved(m)
    element = DEGREES[degree]()
    bodies = layout["bodies"]
    bath = Basis(mesh, element, intorder=2 * degree + (layout.get("symmetry") == "axial"))
    stiff = conduction.assemble(bath, kappa=kappa[:, None] * breadth(layout, bath)).tocsr()
    walls = {k: Wall(layout, mesh, element, bath, f) for k, f in facets.items()
             if bodies[k]["role"] not in ("shield", "screen")}
    net = Circuit(layout, walls)
    phi, y, steps = newton(layout, stiff, walls, net)

    ans = Answer()
    ans.dofs, ans.steps, ans.walls, ans.mesh = len(phi) + len(y), steps, walls, mesh
    ans.metal_v = {k: net.volts(k, y) for k in walls}
    ans.anode_v = next(ans.metal_v[k] for k in walls if bodies[k]["role"] == "anode")
    ans.current, ans.density = {}, {}
    for k, w in walls.items():
        if k in net.law:
            def found(basis, k=k):
                return net.law[k](net.volts(k, y) - net.rest(k) - np.asarray(basis.interpolate(phi)))[0]
            ans.current[k] = float((found(w.basis) * w.surface).sum())
        else:
            mass = on_wall.assemble(w.basis, slope=w.breadth).tocsr()[w.dofs][:, w.dofs]
            residual = stiff @ phi
            flux = np.zeros(len(phi))
            flux[w.dofs] = spl.spsolve(mass.tocsc(), residual[w.dofs])
            ans.current[k] = float(residual[w.dofs].sum())

            def found(basis, flux=flux):
                return np.asarray(basis.interpolate(flux))
        ans.density[k] = {key: found(basis) for key, basis in w.at.items()}
    return ans


class Circuit:
    """Which metal potentials are unknown, and which currents must come out."""

    def __init__(self, layout, walls):
        self.bodies = layout["bodies"]
        role = {k: self.bodies[k]["role"] for k in walls}
        depth = layout["depth"] * MM
        kind, value = layout["supply"]
        parts = [k for k in walls if role[k] == "part"]
        anodes = [k for k in walls if role[k] == "anode"]
        self.groups, self.targets = [], []
        if kind == "current":
            self.groups, self.targets = [anodes], [value / depth]
        elif kind == "mean":
            self.groups, self.targets = [parts], [-value * sum(walls[k].area for k in parts)]
        self.guess = abs(self.targets[0]) if self.targets else None
        # (given part, number of the unknown or None)
        self.metal = {}
        for k in walls:
            if role[k] == "anode":
                self.metal[k] = (value, None) if kind == "voltage" else (0.0, 0)
            elif role[k] == "floating":
                self.metal[k] = (0.0, len(self.groups))
                self.groups.append([k])
                self.targets.append(0.0)
            else:
                self.metal[k] = (self.bodies[k].get("offset", 0.0), None)
        self.law = {k: laws.law_function(self.bodies[k]["law"], role[k], layout["temperature"])
                    for k in walls if self.bodies[k]["law"]["law"] != "none"}

    def rest(self, k):
        return self.bodies[k]["law"].get("rest", 0.0)

    def volts(self, k, y):
        given, number = self.metal[k]
        return given + (0.0 if number is None else y[number])


def newton(layout, stiff, walls, net):
    """Potentials of bath and free metal. Steps in overpotential are shortened as in diode circuits,
    so that exponential laws cannot explode; the end is where nothing moves any more."""
    n, ny = stiff.shape[0], len(net.groups)
    # metal without polarization: its nodes are the metal's potential
    held, lift, given = np.zeros(n, bool), sp.lil_matrix((n, ny)), np.zeros(n)
    for k, w in walls.items():
        if k not in net.law:
            held[w.dofs] = True
            volts, number = net.metal[k]
            given[w.dofs] = volts - net.rest(k)
            if number is not None:
                lift[w.dofs, number] = 1.0
    free = np.flatnonzero(~held)
    keep = sp.csr_matrix((np.ones(len(free)), (free, np.arange(len(free)))), shape=(n, len(free)))
    extend = sp.hstack([keep, lift.tocsr()]).tocsr()
    eta = {k: np.full_like(walls[k].basis.dx, start(layout, net, walls, k)) for k in net.law}
    for step in range(1, 200):
        mat, rhs = stiff.copy(), np.zeros(n)
        border = np.zeros((n, ny))
        currents = {}
        for k, law in net.law.items():
            b = walls[k].basis
            i, di = law(eta[k])
            volts, number = net.metal[k]
            # i + di (V - rest - phi - eta), phi and V unknown
            constant = i + di * (volts - net.rest(k) - eta[k])
            around = walls[k].breadth
            mat = mat + on_wall.assemble(b, slope=di * around)
            rhs += load.assemble(b, density=constant * around)
            row = -load.assemble(b, density=di * around)
            if number is not None:
                border[:, number] += row
            currents[k] = ((constant * walls[k].surface).sum(), row, (di * walls[k].surface).sum())
        for k, w in walls.items():
            if k not in net.law:
                on = np.zeros(n)
                on[w.dofs] = 1.0
                currents[k] = (0.0, stiff @ on, 0.0)
        top = (mat @ extend + sp.hstack([sp.csr_matrix((n, len(free))), sp.csr_matrix(border)])).tocsr()[free]
        values = [(rhs - mat @ given)[free]]
        rows = [top]
        for group, target in zip(net.groups, net.targets):
            row = sum(currents[k][1] for k in group)
            own = np.zeros(len(free) + ny)
            for k in group:
                if net.metal[k][1] is not None:
                    own[len(free) + net.metal[k][1]] += currents[k][2]
            rows.append(sp.csr_matrix(row) @ extend + sp.csr_matrix(own))
            values.append([target - sum(currents[k][0] for k in group) - row @ given])
        full, b = sp.vstack(rows).tocsc(), np.concatenate(values)
        lu = spl.splu(full)
        x = lu.solve(b)
        x += lu.solve(b - full @ x)
        phi, y = extend @ x + given, x[len(free):]
        change = 0.0
        for k in net.law:
            new = net.volts(k, y) - net.rest(k) - np.asarray(walls[k].basis.interpolate(phi))
            change = max(change, np.abs(new - eta[k]).max())
            eta[k] = shortened(net.bodies[k], layout["temperature"], eta[k], new)
        if change < 1e-11 * max(1.0, np.abs(phi).max()):
            return phi, y, step
    raise RuntimeError(f"no convergence, last change {change} V")


def start(layout, net, walls, k):
    """Overpotential at an even share of the current."""
    role = net.bodies[k]["role"]
    side = {"anode": 1.0, "floating": 0.0}.get(role, -1.0)
    same = [j for j in walls if (net.bodies[j]["role"] == "anode") == (role == "anode")]
    density = side * (net.guess / sum(walls[j].area for j in same) if net.guess else 100.0)
    limit = net.bodies[k]["law"].get("limiting")
    if limit:
        density = float(np.clip(density, -0.8 * limit, 0.8 * limit))
    return laws.overpotential(net.bodies[k]["law"], role, layout["temperature"], density)


def shortened(body, temperature, old, new):
    scale = laws.steepness(body["law"], temperature)
    if scale is None:
        return new
    d = new - old
    far = np.abs(d) > scale
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(far, old + np.sign(d) * scale * (1 + np.log(np.abs(d) / scale)), new)


def runs(layout, ans, k):
    """What table.runs gives, from scikit-fem's facet bases."""
    loops, _ = table.outline.loops_of(layout["bodies"][k]["shape"])
    _, weights, _ = table.places()
    w = ans.walls[k]
    cuts = np.moveaxis(np.asarray(w.at["cuts"].global_coordinates()), 0, -1) / MM
    # with weights of one, dx is the speed
    speed = w.at["inner"].dx / MM
    through = {key: -ans.density[k][key] * breadth(layout, w.at[key]) for key in ("inner", "cuts")}
    return table.chain(loops, cuts, speed, weights, through["inner"], through["cuts"])


def answer(layout, scale, degree=4):
    # sizes at corners, mm: without polarization the density has no bound there
    tip = (3e-6 if any(b.get("law") == {"law": "none"} for b in layout["bodies"]) else 1e-3) * scale
    m = meshes.build(layout, scale, tip, order=2)
    a = solve(layout, m, degree)
    return m, a, {k: runs(layout, a, k) for k in a.walls}
