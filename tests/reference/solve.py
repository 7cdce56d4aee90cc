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


def solve(layout, mesh):
    metal = [k for k, b in enumerate(layout["bodies"])
             if b["role"] not in ("shield", "screen") and k in mesh.edges]
    bodies = layout["bodies"]
    temp = layout["temperature"]
    depth = layout["depth"] * 1e-3
    stiff = stiffness(mesh)
    n = len(mesh.nodes)
    walls = {k: Wall(mesh, k) for k in metal}
    kind, value = layout["supply"]

    # metal potential of body k = base[k] + y[which[k]]
    unknown, base, which = [], {}, {}
    if kind != "voltage":
        unknown.append("anodes")
    for k in metal:
        role = bodies[k]["role"]
        base[k], which[k] = 0.0, None
        if role == "anode":
            if kind == "voltage":
                base[k] = value
            else:
                which[k] = 0
        elif role == "thief":
            base[k] = bodies[k].get("offset", 0.0)
        elif role == "floating":
            which[k] = len(unknown)
            unknown.append(k)
    ny = len(unknown)

    fixed = [k for k in metal if bodies[k]["law"]["law"] == "none"]
    owner = np.full(n, -1)
    for k in fixed:
        owner[walls[k].dofs] = k
    free = np.flatnonzero(owner < 0)
    shift = np.zeros(n)
    rows, cols = [free], [np.arange(len(free))]
    for k in fixed:
        d = walls[k].dofs
        shift[d] = base[k] - bodies[k]["law"].get("rest", 0.0)
        if which[k] is not None:
            rows.append(d)
            cols.append(np.full(len(d), len(free) + which[k]))
    rows, cols = np.concatenate(rows), np.concatenate(cols)
    lift = sp.csr_matrix((np.ones(len(rows)), (rows, cols)), shape=(n, len(free) + ny))

    # what the unknown metal potentials must bring about, A per m of depth
    groups, target = [], []
    for u in unknown:
        if u != "anodes":
            groups.append([u])
            target.append(0.0)
        elif kind == "current":
            groups.append([k for k in metal if bodies[k]["role"] == "anode"])
            target.append(value / depth)
        else:
            groups.append([k for k in metal if bodies[k]["role"] == "part"])
            target.append(-value * sum(walls[k].length for k in groups[-1]))

    total = {"current": value / depth, "mean": None, "voltage": None}[kind]
    if kind == "mean":
        total = value * sum(walls[k].length for k in metal if bodies[k]["role"] == "part")
    polar = [k for k in metal if k not in fixed]
    law, eta = {}, {}
    for k in polar:
        b = bodies[k]
        law[k] = laws.law_function(b["law"], b["role"], temp)
        side = {"anode": 1.0, "floating": 0.0}.get(b["role"], -1.0)
        same = [j for j in metal if (bodies[j]["role"] == "anode") == (b["role"] == "anode")
                and bodies[j]["role"] != "floating"]
        guess = total if total else 100.0 * sum(walls[j].length for j in same)
        d = side * guess / max(sum(walls[j].length for j in same), 1e-9)
        if b["law"].get("limiting"):
            d = np.clip(d, -0.8 * b["law"]["limiting"], 0.8 * b["law"]["limiting"])
        eta[k] = np.full(len(walls[k].w), laws.overpotential(b["law"], b["role"], temp, d))

    steps = 0
    for steps in range(1, 200):
        mat = stiff
        rhs = np.zeros(n)
        bord = sp.lil_matrix((n, ny))     # d(nodal equations)/dy
        current, dcur = {}, {}            # current_k = const + row . phi + slope * y
        for k in polar:
            w, rest = walls[k], bodies[k]["law"].get("rest", 0.0)
            i, di = law[k](eta[k])
            const = i + di * (base[k] - rest - eta[k])
            weighted = w.interp.T @ sp.diags(w.w * di)
            mat = mat + weighted @ w.interp
            rhs += w.interp.T @ (w.w * const)
            row = -np.asarray(weighted.sum(axis=1)).ravel()
            if which[k] is not None:
                bord[:, which[k]] += row.reshape(-1, 1)
            current[k] = (w.w @ const, row, w.w @ di)
        for k in fixed:
            ind = np.zeros(n)
            ind[walls[k].dofs] = 1.0
            current[k] = (0.0, stiff @ ind, 0.0)
        # rows of the free nodes, then of the unknown metal potentials
        pad = sp.hstack([sp.csr_matrix((n, len(free))), bord.tocsr()])
        top = (mat @ lift + pad)[free]
        top_rhs = (rhs - mat @ shift)[free]
        low, low_rhs = [], []
        for g, t in zip(groups, target):
            r = sum(current[k][1] for k in g)
            line = sp.csr_matrix(r.reshape(1, -1)) @ lift
            extra = np.zeros(len(free) + ny)
            for k in g:
                if which[k] is not None and k in polar:
                    extra[len(free) + which[k]] += current[k][2]
            low.append(line + sp.csr_matrix(extra))
            low_rhs.append(t - sum(current[k][0] for k in g) - r @ shift)
        full = sp.vstack([top] + low).tocsc()
        b = np.concatenate([top_rhs, low_rhs])
        lu = spl.splu(full)
        x = lu.solve(b)
        x += lu.solve(b - full @ x)
        phi = lift @ x + shift
        y = x[len(free):]
        change = 0.0
        for k in polar:
            v = base[k] + (y[which[k]] if which[k] is not None else 0.0)
            new = v - bodies[k]["law"].get("rest", 0.0) - walls[k].interp @ phi
            change = max(change, np.abs(new - eta[k]).max())
            eta[k] = limit_step(bodies[k], temp, eta[k], new)
        if change < 1e-12 * max(1.0, np.abs(phi).max()):
            break
    else:
        raise RuntimeError(f"no convergence, last change {change} V")
    if not polar and steps > 2:
        raise RuntimeError("a linear problem took more than two steps")

    ans = Answer()
    ans.phi, ans.steps, ans.dofs = phi, steps, len(x)
    ans.metal_v = {k: base[k] + (y[which[k]] if which[k] is not None else 0.0) for k in metal}
    ans.current = {k: (current[k][0] + current[k][1] @ phi
                       + (current[k][2] * y[which[k]] if which[k] is not None else 0.0)) for k in metal}
    ans.walls, ans.law, ans.flux = walls, law, {}
    ans.rest = {k: bodies[k]["law"].get("rest", 0.0) for k in metal}
    for k in fixed:
        w = walls[k]
        mass = (w.interp.T @ sp.diags(w.w) @ w.interp).tocsr()[w.dofs][:, w.dofs]
        ans.flux[k] = np.zeros(n)
        ans.flux[k][w.dofs] = spl.spsolve(mass.tocsc(), (stiff @ phi)[w.dofs])
    ans.anode_v = next(ans.metal_v[k] for k in metal if bodies[k]["role"] == "anode")
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
