"""Regenerates every reference fixture: `python3 tests/reference/make.py [--only NAME]`.

Each layout is solved on two meshes; the finer answer is stored together with the largest relative
change of local current density means between the two (figure `self_convergence`).
"""
import argparse
import os
import pathlib
import sys
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")
sys.path.insert(0, str(pathlib.Path(__file__).parent))

import fixture
import layouts

OUT = pathlib.Path(__file__).parent.parent / "fixtures"


def main():
    args = argparse.ArgumentParser(description=__doc__)
    args.add_argument("--only", nargs="*", help="names of layouts (default: all)")
    args.add_argument("--coarse", type=float, default=1.1, help="size factor of the first mesh")
    args.add_argument("--fine", type=float, default=0.75, help="size factor of the second mesh")
    opts = args.parse_args()
    OUT.mkdir(exist_ok=True)
    for name in opts.only or layouts.ALL:
        start = time.time()
        report = fixture.make(name, layouts.ALL[name], OUT, opts.coarse, opts.fine)
        print(f"{name:18s} {report}  {time.time() - start:.0f} s", flush=True)


if __name__ == "__main__":
    main()
