"""Answers of scikit-fem on body-fitted curved triangles: `python3 tests/peer/make.py [--only NAME ..]`.

Each layout is solved on two meshes; the finer answer is stored together with the largest relative
change of local current density means between the two. `--smallest` solves one layout anew and
compares it with the stored answer instead of keeping it.
"""
import argparse
import functools
import json
import os
import pathlib
import sys
import tempfile
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")
HERE = pathlib.Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "reference")]

import numpy as np

import fixture
import held_out
import library
import table

OUT = HERE.parent / "fixtures" / "held_out"
USUAL = (1.3, 0.9)
SAME = 1e-5  # two versions of a mesh generator may place nodes differently


def write(name, out, opts):
    start = time.time()
    answer = functools.partial(library.answer, degree=opts.degree)
    coarse, fine = opts.sizes or held_out.SIZES.get(name, USUAL)
    report = fixture.make(name, held_out.ALL[name], out, coarse, fine, answer)
    print(f"{name:18s} {report}  {time.time() - start:.0f} s", flush=True)


def difference(stored, made, layout):
    """Largest relative difference of currents, voltage and window means of two fixtures."""
    scale = abs(stored["current_a"])
    worst = max(abs(stored["voltage_v"] / made["voltage_v"] - 1), abs(stored["current_a"] - made["current_a"]) / scale)
    corners = np.array(stored["corners"])
    for k, (a, b) in enumerate(zip(stored["bodies"], made["bodies"])):
        if "runs" not in a:
            continue
        worst = max(worst, abs(a["current_a"] - b["current_a"]) / scale)
        runs = [[(r["loop"], r["rows"]) for r in x["runs"]] for x in (a, b)]
        means = [table.windows(layout, k, r, corners) for r in runs]
        whole = np.average([abs(w[3]) for w in means[0]])
        worst = max([worst] + [abs(x[3] - y[3]) / max(abs(x[3]), 0.05 * whole) for x, y in zip(*means)])
    return worst


def smallest(opts):
    name = held_out.SMALLEST
    with tempfile.TemporaryDirectory() as folder:
        write(name, pathlib.Path(folder), opts)
        stored, made = (json.loads((p / f"{name}.json").read_text()) for p in (OUT, pathlib.Path(folder)))
    worst = difference(stored, made, held_out.ALL[name])
    print(f"{name}: differs from the stored answer by {worst:.1e}, {SAME:.0e} allowed")
    sys.exit(0 if worst <= SAME else 1)


def main():
    args = argparse.ArgumentParser(description=__doc__)
    args.add_argument("--only", nargs="*", help="names of layouts (default: all)")
    args.add_argument("--smallest", action="store_true", help="compare one layout with what is stored")
    args.add_argument("--degree", type=int, default=4, help="degree of the elements, 2 to 4")
    args.add_argument("--sizes", type=float, nargs=2, help="size factors of the coarser and the finer mesh")
    opts = args.parse_args()
    if opts.smallest:
        smallest(opts)
    OUT.mkdir(parents=True, exist_ok=True)
    for name in opts.only or held_out.ALL:
        write(name, OUT, opts)


if __name__ == "__main__":
    main()
