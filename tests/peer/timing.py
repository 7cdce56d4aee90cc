"""Times gmsh + scikit-fem (second degree) + SciPy's sparse LU beside this solver, to one measured error.

    cargo build --release -p throwmap-tests --bin timing
    venv/bin/python tests/peer/timing.py target/release/timing [error ..]     # default 0.01 0.003

For three layouts both are driven to the error given at 95 % of the points of the parts, measured against
the stored answers of `tests/reference` (self-converged to 1e-4 or better). The solver is asked for coarser
and coarser accuracies while its measured error stays within; the library gets the coarsest mesh that
does. Times are processor time, medians of several runs, one thread each, both in this run. The library's
time is given with and without making the mesh: sizes are asked from Python there, which a mesh generator
used otherwise need not do.
"""
import json
import os
import pathlib
import subprocess
import sys
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "RAYON_NUM_THREADS"):
    os.environ[name] = "1"
ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests" / "peer"), str(ROOT / "tests" / "reference")]

import numpy as np

import layouts
import library
import mesh as meshes
import table

NAMES = ["cup", "bars", "shield"]
ROUNDS = 3
TIP = 0.1  # mm: nothing nearer to a corner is compared than 0.3 mm
ASKED = [0.2, 0.1, 0.06, 0.04, 0.03, 0.02, 0.015, 0.01, 0.007, 0.005, 0.003, 0.002, 0.001]


def ours(program, name, wanted):
    """(accuracy asked, processor s, error, unknowns) of the coarsest request that is good enough, and
    so are all finer ones: a coarse grid may be good by luck."""
    found = None
    for accuracy in sorted(a for a in ASKED if a >= 0.3 * wanted):
        run = subprocess.run([program, name, str(accuracy), "5"], cwd=ROOT, capture_output=True, text=True, check=True)
        wall, processor, error, unknowns = map(float, run.stdout.split())
        if error > wanted:
            break
        if found is None or processor < found[1]:
            found = accuracy, processor, error, int(unknowns)
    if found is None:
        raise RuntimeError(f"{name}: the solver does not reach {wanted}")
    return found


def error_of(stored, lay, answer):
    """95th percentile of the error of window means on the parts."""
    corners, out = np.array(stored["corners"]), []
    for k, b in enumerate(stored["bodies"]):
        if b["role"] != "part":
            continue
        truth = table.windows(lay, k, [(r["loop"], r["rows"]) for r in b["runs"]], corners)
        mean = np.average([abs(w[3]) for w in truth])
        got = table.windows(lay, k, library.runs(lay, answer, k), corners)
        out += [abs(x[3] - y[3]) / max(abs(x[3]), 0.05 * mean) for x, y in zip(truth, got)]
    return float(np.quantile(out, 0.95))


def once(lay, scale):
    start = time.process_time()
    m = meshes.build(lay, scale, TIP, order=2)
    meshed = time.process_time()
    a = library.solve(lay, m, 2)
    return a, time.process_time() - start, time.process_time() - meshed


def theirs(name, wanted):
    """(processor s with the mesh, without, error, unknowns) on the coarsest mesh that is good enough."""
    lay = layouts.ALL[name]
    stored = json.loads((ROOT / "tests" / "fixtures" / f"{name}.json").read_text())
    scale = 8.0
    while scale > 0.3:
        a, *first = once(lay, scale)
        error = error_of(stored, lay, a)
        if error <= wanted:
            times = [first] + [once(lay, scale)[1:] for _ in range(ROUNDS - 1)]
            whole, solve = np.median(np.array(times), axis=0)
            return whole, solve, error, a.dofs
        scale /= 1.25
    raise RuntimeError(f"{name}: no mesh reaches {wanted}")


def main():
    program = sys.argv[1]
    print("| layout | error allowed | solver: asked, error, unknowns, time | library: error, unknowns, time with and "
          "without mesh | ratio | without mesh |")
    print("| --- | --- | --- | --- | --- | --- |")
    for wanted in map(float, sys.argv[2:] or ["0.01", "0.003"]):
        for name in NAMES:
            asked, seconds, error, unknowns = ours(program, name, wanted)
            whole, solve, got, dofs = theirs(name, wanted)
            print(f"| {name} | {100 * wanted:g} % | {100 * asked:g} %, {100 * error:.2f} %, {unknowns}, {1e3 * seconds:.0f} ms "
                  f"| {100 * got:.2f} %, {dofs}, {1e3 * whole:.0f} and {1e3 * solve:.0f} ms "
                  f"| {whole / seconds:.0f} | {solve / seconds:.1f} |", flush=True)


if __name__ == "__main__":
    main()
