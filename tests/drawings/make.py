"""Draws the files that tests/drawings.rs reads, with general-purpose libraries and programs.

    apt-get install graphviz potrace      # 2.43.0 and 1.16
    pip install ezdxf==1.4.5 svgwrite==1.4.3 && python make.py

ezdxf writes R12 (with its usual tables), R2000 and binary R2018 files; svgwrite a turned group. The
areas expected of them are elementary geometry; that of the spline is printed here: a closed uniform
cubic B-spline by its basis polynomials (C. de Boor, A Practical Guide to Splines).
"""

import subprocess

import ezdxf
import svgwrite

for version in ("R12", "R2000", "R2018"):
    doc = ezdxf.new(version, setup=version == "R12")
    space = doc.modelspace()
    cut = {"layer": "CUT"}
    space.add_line((0, 0), (70, 0), dxfattribs=cut)
    space.add_line((80, 50), (80, 10), dxfattribs=cut)
    space.add_arc((70, 10), 10, 270, 360, dxfattribs=cut)
    space.add_line((80, 50), (0, 50), dxfattribs=cut)
    space.add_line((0, 0), (0, 50), dxfattribs=cut)
    space.add_circle((20, 25), 8, dxfattribs=cut)
    slot = [(40, 20, 0), (55, 20, 1), (55, 30, 0), (40, 30, 1)]
    if version == "R12":
        space.add_polyline2d(slot, format="xyb", close=True, dxfattribs=cut)
    else:
        doc.header["$INSUNITS"] = 4
        space.add_lwpolyline(slot, format="xyb", close=True, dxfattribs=cut)
        space.add_ellipse((200, 0), major_axis=(30, 10), ratio=0.4, dxfattribs={"layer": "OVAL"})
        spline = space.add_spline(dxfattribs={"layer": "SPLINE"})
        points = [(300, 0, 0), (340, 0, 0), (350, 30, 0), (320, 50, 0), (290, 30, 0)]
        spline.set_closed(points, degree=3)
        tooth = doc.blocks.new("TOOTH")
        tooth.add_lwpolyline([(0, 0), (4, 0), (3, 5), (1, 5)], close=True)
        place = {"layer": "TEETH", "xscale": 2, "yscale": 3, "rotation": 30}
        space.add_blockref("TOOTH", (400, 0), dxfattribs=place)
    space.add_text("PLATE", dxfattribs={"layer": "NOTES"})
    doc.saveas(f"{version}.dxf", fmt="bin" if version == "R2018" else "asc")

drawing = svgwrite.Drawing("turned.svg", size=("100mm", "80mm"), viewBox="0 0 100 80")
group = drawing.g(id="part", transform="rotate(10 50 40)")
group.add(drawing.rect((20, 20), (40, 30), rx=5, ry=5))
group.add(drawing.circle((40, 35), 6))
drawing.add(group)
drawing.save(pretty=True)

corners = [(300, 0), (340, 0), (350, 30), (320, 50), (290, 30)]
line = []
for k in range(5):
    for step in range(2000):
        t = step / 2000
        weights = [(1 - t) ** 3, 3 * t**3 - 6 * t**2 + 4, -3 * t**3 + 3 * t**2 + 3 * t + 1, t**3]
        four = [corners[(k + j) % 5] for j in range(4)]
        line.append([sum(w * p[c] for w, p in zip(weights, four)) / 6 for c in (0, 1)])
area = 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(line, line[1:] + line[:1]))
print(f"area of the spline: {area:.4f}")

# graphviz: a circle of 2 in and a hexagon of 3 by 1.5 in, in points, in a turned group
GRAPH = """graph {
    disc [shape=circle, width=2, fixedsize=true, id="disc"]
    tile [shape=hexagon, width=3, height=1.5, fixedsize=true, id="tile"]
    disc -- tile
}"""
subprocess.run(["dot", "-Tsvg", "-o", "graphviz.svg"], input=GRAPH, text=True, check=True)

# potrace: a bitmap of a plate of 160 by 120 with a hole of radius 40, traced by Béziers
wide, high = 200, 160
inside = lambda x, y: 20 <= x < 180 and 20 <= y < 140 and (x - 99.5) ** 2 + (y - 79.5) ** 2 > 1600
rows = [" ".join("01"[inside(x, y)] for x in range(wide)) for y in range(high)]
bitmap = f"P1\n{wide} {high}\n" + "\n".join(rows) + "\n"
subprocess.run(["potrace", "-b", "svg", "-o", "potrace.svg"], input=bitmap, text=True, check=True)
