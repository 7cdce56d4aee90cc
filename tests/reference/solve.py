"""Newton's method for div(kappa grad phi) = 0 with polarization laws on the electrodes.

Fourth-order Lagrange triangles; lengths in m. Unknowns are the free nodal potentials and the
unknown metal potentials (anode bus when the current is given, floating metal). Metal without
polarization shares one value; its flux is recovered from the residual of the discrete equations
through the mass matrix of the outline (consistent flux).
"""
import gmsh
import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as spl

import laws
from mesh import ORDER


def reference_element(name, rule):
    """Quadrature points, weights, basis values and gradients of a Lagrange element."""
    gmsh.initialize()
    kind = gmsh.model.mesh.getElementType(name, ORDER)
    pts, w = gmsh.model.mesh.getIntegrationPoints(kind, rule)
    n, val, _ = gmsh.model.mesh.getBasisFunctions(kind, pts, "Lagrange")
    _, grad, _ = gmsh.model.mesh.getBasisFunctions(kind, pts, "GradLagrange")
    gmsh.finalize()
    nq = len(w)
    return w, np.array(val).reshape(nq, -1), np.array(grad).reshape(nq, -1, 3)


def line_values(u):
    """Basis values and derivatives of the line element at local coordinates u in [-1, 1]."""
    gmsh.initialize()
    kind = gmsh.model.mesh.getElementType("Line", ORDER)
    pts = np.column_stack([u, 0 * u, 0 * u]).ravel()
    _, val, _ = gmsh.model.mesh.getBasisFunctions(kind, pts, "Lagrange")
    _, grad, _ = gmsh.model.mesh.getBasisFunctions(kind, pts, "GradLagrange")
    gmsh.finalize()
    return np.array(val).reshape(len(u), -1), np.array(grad).reshape(len(u), -1, 3)[:, :, 0]


def stiffness(mesh):
    w, _, grad = reference_element("Triangle", "Gauss8")
    x = mesh.nodes[mesh.tris] * 1e-3
    n = len(mesh.nodes)
    acc = np.zeros((len(mesh.tris), 15, 15))
    for q in range(len(w)):
        jac = np.einsum("ai,eaj->eij", grad[q, :, :2], x)
        det = jac[:, 0, 0] * jac[:, 1, 1] - jac[:, 0, 1] * jac[:, 1, 0]
        if det.max() > 0 > det.min():
            raise ValueError("a curved triangle is turned inside out")
        inv = np.linalg.inv(jac)
        g = np.einsum("eij,aj->eai", inv, grad[q, :, :2])
        acc += np.einsum("e,eai,ebi->eab", w[q] * np.abs(det) * mesh.kappa, g, g)
    rows = np.repeat(mesh.tris, 15, axis=1).ravel()
    cols = np.tile(mesh.tris, (1, 15)).ravel()
    return sp.csr_matrix((acc.ravel(), (rows, cols)), shape=(n, n))


class Wall:
    """Quadrature on the wetted outline of one body."""

    def __init__(self, mesh, k):
        w, val, grad = reference_element("Line", "Gauss12")
        self.conn = mesh.edges[k]
        x = mesh.nodes[self.conn] * 1e-3
        tang = np.einsum("qa,eaj->eqj", grad[:, :, 0], x)
        self.w = (np.linalg.norm(tang, axis=2) * w).ravel()
        m, nq = len(self.conn), len(w)
        rows = np.repeat(np.arange(m * nq), ORDER + 1)
        cols = np.repeat(self.conn, nq, axis=0).ravel()
        self.interp = sp.csr_matrix(
            (np.tile(val, (m, 1)).ravel(), (rows, cols)), shape=(m * nq, len(mesh.nodes))
        )
        self.length = self.w.sum()
        self.dofs = np.unique(self.conn)


class Answer:
    """Nodal potential (V), metal potentials (V), currents and wall values for every metal body."""


class Setup:
    """What is unknown: free nodes and metal potentials `base[k] + y[which[k]]`.

    `phi = lift @ x + shift` with x = (free nodal potentials, y); nodes on metal without
    polarization follow that metal. `groups` and `target`: bodies whose currents (A/m, metal to
    bath) must add up to a given value, one group for each y.
    """

    def __init__(self, layout, mesh, walls):
        self.bodies, self.walls, self.temp = layout["bodies"], walls, layout["temperature"]
        self.metal = list(walls)
        depth = layout["depth"] * 1e-3
        kind, value = layout["supply"]
        parts = [k for k in self.metal if self.role(k) == "part"]
        anodes = [k for k in self.metal if self.role(k) == "anode"]
        part_length = sum(walls[k].length for k in parts)
        self.total = {"current": value / depth, "mean": value * part_length, "voltage": None}[kind]
        self.base, self.which, self.groups, self.target = {}, {}, [], []
        if kind == "current":
            self.groups, self.target = [anodes], [self.total]
        elif kind == "mean":
            self.groups, self.target = [parts], [-self.total]
        for k in self.metal:
            self.base[k], self.which[k] = 0.0, None
            if self.role(k) == "anode":
                if kind == "voltage":
                    self.base[k] = value
                else:
                    self.which[k] = 0
            elif self.role(k) == "thief":
                self.base[k] = self.bodies[k].get("offset", 0.0)
            elif self.role(k) == "floating":
                self.which[k] = len(self.groups)
                self.groups.append([k])
                self.target.append(0.0)
        self.fixed = [k for k in self.metal if self.bodies[k]["law"]["law"] == "none"]
        self.polar = [k for k in self.metal if k not in self.fixed]
        self.law = {k: laws.law_function(self.bodies[k]["law"], self.role(k), self.temp) for k in self.polar}
        self.number_nodes(len(mesh.nodes))

    def role(self, k):
        return self.bodies[k]["role"]

    def rest(self, k):
        return self.bodies[k]["law"].get("rest", 0.0)

    def number_nodes(self, n):
        held = np.zeros(n, dtype=bool)
        for k in self.fixed:
            held[self.walls[k].dofs] = True
        self.free = np.flatnonzero(~held)
        self.n, self.ny = n, len(self.groups)
        self.shift = np.zeros(n)
        rows, cols = [self.free], [np.arange(len(self.free))]
        for k in self.fixed:
            d = self.walls[k].dofs
            self.shift[d] = self.base[k] - self.rest(k)
            if self.which[k] is not None:
                rows.append(d)
                cols.append(np.full(len(d), len(self.free) + self.which[k]))
        rows, cols = np.concatenate(rows), np.concatenate(cols)
        shape = (n, len(self.free) + self.ny)
        self.lift = sp.csr_matrix((np.ones(len(rows)), (rows, cols)), shape=shape)

    def metal_v(self, k, x):
        y = 0.0 if self.which[k] is None else x[len(self.free) + self.which[k]]
        return self.base[k] + y

    def first_guess(self):
        """Uniform overpotentials for the current expected on each side."""
        eta = {}
        for k in self.polar:
            b, anode = self.bodies[k], self.role(k) == "anode"
            side = {"anode": 1.0, "floating": 0.0}.get(self.role(k), -1.0)
            same = [j for j in self.metal
                    if (self.role(j) == "anode") == anode and self.role(j) != "floating"]
            length = sum(self.walls[j].length for j in same)
            density = side * (self.total / length if self.total else 100.0)
            if b["law"].get("limiting"):
                density = np.clip(density, -0.8 * b["law"]["limiting"], 0.8 * b["law"]["limiting"])
            value = laws.overpotential(b["law"], self.role(k), self.temp, density)
            eta[k] = np.full(len(self.walls[k].w), value)
        return eta


def tangent_system(setup, stiff, eta):
    """Matrix, right-hand side and current rows of the problem linearized at `eta`.

    current[k] = (constant, row over nodes, factor of the body's own y), A/m from metal to bath.
    """
    n, nf = setup.n, len(setup.free)
    mat, rhs = stiff, np.zeros(n)
    border = np.zeros((n, setup.ny))
    current = {}
    for k in setup.polar:
        w = setup.walls[k]
        i, di = setup.law[k](eta[k])
        const = i + di * (setup.base[k] - setup.rest(k) - eta[k])
        weighted = w.interp.T @ sp.diags(w.w * di)
        mat = mat + weighted @ w.interp
        rhs += w.interp.T @ (w.w * const)
        row = -np.asarray(weighted.sum(axis=1)).ravel()
        if setup.which[k] is not None:
            border[:, setup.which[k]] += row
        current[k] = (w.w @ const, row, w.w @ di)
    for k in setup.fixed:
        on = np.zeros(n)
        on[setup.walls[k].dofs] = 1.0
        current[k] = (0.0, stiff @ on, 0.0)
    top = mat @ setup.lift + sp.hstack([sp.csr_matrix((n, nf)), sp.csr_matrix(border)])
    rows, values = [top.tocsr()[setup.free]], [(rhs - mat @ setup.shift)[setup.free]]
    for group, target in zip(setup.groups, setup.target):
        r = sum(current[k][1] for k in group)
        own = np.zeros(nf + setup.ny)
        for k in group:
            if setup.which[k] is not None:
                own[nf + setup.which[k]] += current[k][2]
        rows.append(sp.csr_matrix(r.reshape(1, -1)) @ setup.lift + sp.csr_matrix(own))
        values.append([target - sum(current[k][0] for k in group) - r @ setup.shift])
    return sp.vstack(rows).tocsc(), np.concatenate(values), current


def solve(layout, mesh):
    walls = {k: Wall(mesh, k) for k, b in enumerate(layout["bodies"])
             if b["role"] not in ("shield", "screen") and k in mesh.edges}
    setup = Setup(layout, mesh, walls)
    stiff = stiffness(mesh)
    eta = setup.first_guess()
    for steps in range(1, 200):
        full, b, current = tangent_system(setup, stiff, eta)
        lu = spl.splu(full)
        x = lu.solve(b)
        x += lu.solve(b - full @ x)
        phi = setup.lift @ x + setup.shift
        change = 0.0
        for k in setup.polar:
            new = setup.metal_v(k, x) - setup.rest(k) - walls[k].interp @ phi
            change = max(change, np.abs(new - eta[k]).max())
            eta[k] = limit_step(setup.bodies[k], setup.temp, eta[k], new)
        if change < 1e-12 * max(1.0, np.abs(phi).max()):
            break
    else:
        raise RuntimeError(f"no convergence, last change {change} V")

    ans = Answer()
    ans.phi, ans.steps, ans.dofs = phi, steps, len(x)
    ans.metal_v = {k: setup.metal_v(k, x) for k in walls}
    ans.current = {k: c[0] + c[1] @ phi + c[2] * (setup.metal_v(k, x) - setup.base[k])
                   for k, c in current.items()}
    ans.walls, ans.law, ans.flux = walls, setup.law, {}
    ans.rest = {k: setup.rest(k) for k in walls}
    for k in setup.fixed:
        w = walls[k]
        mass = (w.interp.T @ sp.diags(w.w) @ w.interp).tocsr()[w.dofs][:, w.dofs]
        ans.flux[k] = np.zeros(setup.n)
        ans.flux[k][w.dofs] = spl.spsolve(mass.tocsc(), (stiff @ phi)[w.dofs])
    ans.anode_v = next(ans.metal_v[k] for k in walls if setup.role(k) == "anode")
    return ans


def limit_step(body, temp, old, new):
    """Shortens a step that would make an exponential law explode (as in diode circuits)."""
    scale = laws.steepness(body["law"], temp)
    if scale is None:
        return new
    d = new - old
    big = np.abs(d) > scale
    with np.errstate(divide="ignore", invalid="ignore"):
        short = np.sign(d) * scale * (1 + np.log(np.abs(d) / scale))
    return np.where(big, old + short, new)


def density(ans, body_index, basis, conn):
    """Current density metal to bath on wall elements `conn` at the given basis rows."""
    k = body_index
    if k in ans.flux:
        return ans.flux[k][conn] @ basis.T
    phi = ans.phi[conn] @ basis.T
    v = ans.metal_v[k] - ans.rest[k]
    return ans.law[k]((v - phi).ravel())[0].reshape(phi.shape)
