"""Solves a layout on two meshes and writes its fixture (JSON) and job file (TOML)."""
import json

import numpy as np

import jobfile
import mesh
import outline
import solve
import table


def tip_size(layout, scale):
    """Size at corners, mm: far smaller where a law of no polarization makes corners singular."""
    primary = any(b.get("law", {}).get("law") == "none" for b in layout["bodies"])
    return (1e-5 if primary else 3e-4) * scale**10


def answer(layout, scale):
    m = mesh.build(layout, scale, tip_size(layout, scale))
    a = solve.solve(layout, m)
    return m, a, {k: table.runs(layout, m, a, k) for k in a.walls}


def compare(layout, corners, coarse, fine):
    """Largest change of window means, relative to max(|i|, 5 % of the body's mean |i|)."""
    worst, plain = 0.0, 0.0
    for k in fine:
        a = table.windows(layout, k, coarse[k], corners)
        b = table.windows(layout, k, fine[k], corners)
        mean = np.average([abs(w[3]) for w in b], weights=[w[2] - w[1] for w in b])
        for (_, _, _, x), (_, _, _, y) in zip(a, b):
            worst = max(worst, abs(x - y) / max(abs(y), 0.05 * mean))
            plain = max(plain, abs(x - y) / max(abs(y), 1e-4 * mean))
    return worst, plain


def make(name, layout, out, coarse, fine, answer=answer):
    """Solves twice and writes both files; `answer(layout, scale)` is the solver that is asked."""
    m0, a0, r0 = answer(layout, coarse)
    m1, a1, r1 = answer(layout, fine)
    depth = layout["depth"] * 1e-3
    local, plain = compare(layout, m1.corners, r0, r1)
    total = max(abs(a0.current[k] - a1.current[k]) / max(map(abs, a1.current.values())) for k in a1.current)
    supply = -sum(a1.current[k] for k in a1.current if layout["bodies"][k]["role"] == "anode")
    bodies = []
    for k, b in enumerate(layout["bodies"]):
        loops, _ = outline.loops_of(b["shape"])
        entry = {**b, "loops": [[segment(s) for s in l] for l in loops]}
        if k in a1.current:
            entry["metal_potential_v"] = a1.metal_v[k]
            entry["current_a"] = -a1.current[k] * depth
            entry["wetted_mm"] = a1.walls[k].length * 1e3
            entry["runs"] = [
                {"loop": l, "rows": [[round(s, 7), float(f"{c:.10g}"), float(f"{j:.8g}")] for s, c, j in rows]}
                for l, rows in r1[k]
            ]
        bodies.append(entry)
    data = {
        "name": name, "title": layout["title"],
        **({"symmetry": layout["symmetry"]} if "symmetry" in layout else {}),
        "tank": layout["tank"], "kappa": layout["kappa"], "depth_mm": layout["depth"],
        "temperature_k": layout["temperature"],
        "supply": {layout["supply"][0]: layout["supply"][1]},
        "voltage_v": a1.anode_v, "current_a": -supply * depth,
        "corners": [[round(x, 7), round(y, 7)] for x, y in m1.corners],
        "self_convergence": {"local": local, "local_plain": plain, "current": total,
                             "voltage": abs(a0.anode_v - a1.anode_v) / abs(a1.anode_v)},
        "unknowns": a1.dofs, "bodies": bodies,
    }
    text = json.dumps(data, separators=(",", ":")).replace('{"name"', '\n{"name"')
    (out / f"{name}.json").write_text(text.lstrip() + "\n")
    (out / f"{name}.toml").write_text(jobfile.write(layout))
    return (f"unknowns {a0.dofs}/{a1.dofs} steps {a0.steps}/{a1.steps} local {local:.1e} "
            f"({plain:.1e}) current {total:.1e} U {a1.anode_v:.5f} V I {-supply * depth:.5f} A")


def segment(s):
    if "c" in s:
        return {"centre": list(s["c"]), "radius": s["r"], "start": s["a0"], "sweep": s["da"]}
    return {"from": list(s["p"]), "to": list(s["q"])}
