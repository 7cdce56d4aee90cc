"""Layouts for the general-purpose library. None of them was used in choosing a number of the solver.

Units and words as in tests/reference/layouts.py.
"""
import math
import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "reference"))

from layouts import ANODE, NICKEL, NONE, body, box, butler, layout, linear, tafel, turned


def star(at, radii, n, degrees=0.0):
    """Corners at the given radii in turn, n times round."""
    m = n * len(radii)
    angle = [math.radians(degrees) + 2 * math.pi * k / m for k in range(m)]
    return [[round(at[0] + radii[k % len(radii)] * math.cos(a), 6),
             round(at[1] + radii[k % len(radii)] * math.sin(a), 6)] for k, a in enumerate(angle)]


def around(title, tank, *rest):
    """A layout all around the axis x = 0: bodies on it are drawn whole, the tank with the half that
    counts. Its currents are whole ones, so its depth is 1 m."""
    return {**layout(title, box(*tank), *rest, depth=1000.0), "symmetry": "axial"}


def mirrored(half):
    """A closed outline from its right half, given upwards from the axis to the axis."""
    return half + [[-x, y] for x, y in reversed(half)]


MEASURED = {"law": "table", "points": [
    [0.0, 0.0], [0.061, 21.0], [0.118, 74.0], [0.163, 171.0], [0.214, 322.0], [0.292, 617.0], [0.371, 1043.0]]}

# Hull's cell of 267 ml: long wall 127, short wall 47.6, anode wall 63.5 (DIN 50957)
HULL = [[0, 0], [127.0, 0], [47.6, 63.5], [0, 63.5]]

ALL = {
    "hull": layout(
        "Hull cell with linear polarization, Wa 0.1 on the slanted cathode",
        HULL, 10.0, ("current", 1.0),
        [body("part", "panel", linear(1.0166e-3), polygon=[[127.0, 0], [139.7, 15.88], [60.3, 79.38], [47.6, 63.5]]),
         body("anode", "anode", NONE, polygon=[[-10.0, 0], [0, 0], [0, 63.5], [-10.0, 63.5]])], depth=48.2),
    "gear": layout(
        "Gear of nine teeth between two anodes",
        box(283.0, 197.0), 10.3, ("mean", 371.0),
        [body("part", "gear", NICKEL, corner_radius=0.7,
              polygon=star((131.3, 94.7), [33.1, 33.1, 24.9, 24.9], 9, 7.3)),
         body("anode", "left", ANODE, rect={"at": [19.7, 101.9], "size": [9.1, 121.3]}),
         body("anode", "right", ANODE, rect={"at": [261.1, 88.3], "size": [9.1, 97.9]})]),
    "shading": layout(
        "Disc and plate behind it, shading each other, one anode",
        box(259.0, 181.0), 9.2, ("mean", 343.0),
        [body("part", "disc", NICKEL, disc={"at": [121.7, 96.3], "radius": 21.4}),
         body("part", "plate", tafel(0.03, 0.085), rect={"at": [66.9, 88.1], "size": [7.7, 103.7], "corner": 2.1}),
         body("anode", "anode", ANODE, rect={"at": [231.3, 81.7], "size": [8.3, 131.1]})]),
    "slotted": layout(
        "Plate with two slots, linear law",
        box(221.0, 157.0), 12.1, ("current", 6.3),
        [body("part", "plate", linear(4.1e-4), polygon=[
            [61.3, 31.7], [87.9, 31.7], [87.9, 61.4], [73.6, 61.4], [73.6, 68.7], [87.9, 68.7], [87.9, 89.9],
            [67.2, 89.9], [67.2, 102.6], [87.9, 102.6], [87.9, 122.3], [61.3, 122.3]]),
         body("anode", "anode", ANODE, rect={"at": [196.7, 79.3], "size": [7.9, 113.3]})]),
    "pipe": layout(
        "Pipe with a rod anode far off its axis, Tafel law, a second anode outside",
        box(211.0, 173.0), 13.7, ("current", 11.9),
        [body("part", "pipe", tafel(0.021, 0.095), ring={"at": [91.3, 86.1], "outer": 41.7, "inner": 34.9}),
         body("anode", "rod", ANODE, disc={"at": [107.9, 94.2], "radius": 5.3}),
         body("anode", "plate", ANODE, rect={"at": [187.1, 79.9], "size": [8.7, 121.7]})]),
    "guarded": layout(
        "Rounded bracket with a shield and a thief at its outer corner",
        box(241.0, 187.0), 9.9, ("mean", 397.0),
        [body("part", "bracket", NICKEL, corner_radius=1.9, polygon=turned(
            [[81.9, 53.7], [139.1, 53.7], [139.1, 66.9], [95.1, 66.9], [95.1, 127.3], [81.9, 127.3]], -13.9,
            (100.0, 90.0))),
         body("shield", "baffle", rect={"at": [171.7, 53.3], "size": [4.1, 47.9]}),
         body("thief", "wire", NICKEL, offset=-0.017, disc={"at": [117.3, 143.9], "radius": 2.3}),
         body("anode", "anode", ANODE, rect={"at": [217.3, 91.1], "size": [9.3, 137.9]})]),
    "hexagon": layout(
        "Hexagonal bar in a pentagonal tank, two rod anodes, linear law",
        star((103.1, 97.9), [93.7], 5, 11.3), 8.1, ("voltage", 2.9),
        [body("part", "bar", linear(7.7e-4), polygon=star((97.3, 101.7), [23.9], 6, 19.1)),
         body("anode", "east", ANODE, disc={"at": [157.9, 96.7], "radius": 7.1}),
         body("anode", "west", ANODE, disc={"at": [47.3, 83.1], "radius": 5.9})]),
    "floating-ring": layout(
        "Unwired ring between plate and anode, Butler-Volmer laws",
        box(247.0, 163.0), 12.3, ("mean", 407.0),
        [body("part", "plate", butler(9.7, 0.5, 0.5), rect={"at": [37.9, 79.1], "size": [6.7, 101.9]}),
         body("floating", "ring", butler(5.3, 0.5, 0.5), ring={"at": [121.3, 84.9], "outer": 23.3, "inner": 17.9}),
         body("anode", "anode", butler(27.0, 0.6, 0.4), rect={"at": [219.7, 77.3], "size": [7.3, 117.1]})]),
    "channel": layout(
        "U channel with its mouth turned aside, Butler-Volmer law, rest potentials",
        box(253.0, 179.0), 10.7, ("voltage", 3.1),
        [body("part", "channel", butler(3.9, 0.5, 0.5, rest=-0.26), corner_radius=0.8, polygon=turned(
            [[81.3, 51.7], [137.1, 51.7], [137.1, 61.9], [91.5, 61.9], [91.5, 98.7], [137.1, 98.7],
             [137.1, 108.9], [81.3, 108.9]], 71.3, (105.0, 85.0))),
         body("anode", "anode", butler(29.0, 0.6, 0.4, rest=0.11), rect={"at": [227.9, 86.3], "size": [9.1, 133.7]})]),
    "table": layout(
        "Cross-shaped part with a measured polarization curve",
        box(239.0, 167.0), 11.9, ("mean", 283.0),
        [body("part", "cross", MEASURED, polygon=[
            [91.9, 73.1], [109.3, 73.1], [109.3, 51.7], [121.1, 51.7], [121.1, 73.1], [141.7, 73.1], [141.7, 84.3],
            [121.1, 84.3], [121.1, 113.9], [109.3, 113.9], [109.3, 84.3], [91.9, 84.3]]),
         body("anode", "anode", ANODE, rect={"at": [213.7, 91.7], "size": [8.9, 109.1]}),
         body("anode", "rod", ANODE, disc={"at": [39.1, 71.3], "radius": 6.7})]),
    "starved": layout(
        "Wedge close to its limiting current on the side of the anode",
        box(231.0, 153.0), 15.1, ("mean", 311.0),
        [body("part", "wedge", butler(2.9, 0.5, 0.5, limiting=433.0),
              polygon=[[93.7, 46.9], [131.9, 77.7], [93.7, 103.3]]),
         body("anode", "anode", ANODE, rect={"at": [203.9, 79.3], "size": [8.7, 117.9]})]),
    "primary-triangle": layout(
        "Triangular bar between rods, no polarization, sharp corners",
        box(203.0, 173.0), 10.0, ("voltage", 1.0),
        [body("part", "bar", NONE, polygon=star((97.1, 84.3), [21.7], 3, 23.9)),
         body("anode", "east", NONE, disc={"at": [169.3, 79.9], "radius": 11.3}),
         body("anode", "west", NONE, disc={"at": [29.1, 97.1], "radius": 8.9})]),
    "primary-rounded": layout(
        "Rounded plate facing a short anode, no polarization",
        box(217.0, 161.0), 9.4, ("current", 5.1),
        [body("part", "plate", NONE, rect={"at": [61.9, 83.7], "size": [11.3, 87.1], "corner": 2.7}),
         body("anode", "rod", NONE, disc={"at": [171.7, 71.9], "radius": 12.9})]),
    "tilted-screen": layout(
        "Two rounded bars behind a tilted screen",
        box(263.0, 171.0), 9.5, ("mean", 361.0),
        [body("part", "lower", NICKEL, rect={"at": [71.3, 57.1], "size": [19.7, 31.3], "corner": 3.1}),
         body("part", "upper", NICKEL, disc={"at": [69.1, 117.3], "radius": 13.1}),
         body("screen", "screen", kappa=3.3, polygon=turned(
             [[117.1, 39.3], [121.7, 39.3], [121.7, 127.9], [117.1, 127.9]], 15.7, (119.0, 85.0))),
         body("anode", "anode", ANODE, rect={"at": [231.7, 84.1], "size": [9.7, 121.9]})]),
    "slit": layout(
        "Plate behind a wall with a slit of 3 mm",
        box(227.0, 149.0), 10.9, ("current", 2.7),
        [body("part", "plate", NICKEL, rect={"at": [47.1, 71.3], "size": [6.9, 93.1], "corner": 1.3}),
         body("shield", "below", rect={"at": [113.3, 28.1], "size": [4.7, 80.2]}),
         body("shield", "above", rect={"at": [113.3, 120.2], "size": [4.7, 98.0]}),
         body("anode", "anode", ANODE, rect={"at": [201.1, 77.9], "size": [8.1, 109.7]})]),
    "turned-cup": around(
        "Turned cup, rounded, mouth up to a disc anode, rod anode inside",
        (83.7, 171.3), 9.7, ("mean", 353.0),
        [body("part", "cup", NICKEL, corner_radius=1.3, polygon=mirrored(
            [[37.3, 41.7], [37.3, 103.9], [32.9, 103.9], [32.9, 46.3]])),
         body("anode", "disc", ANODE, rect={"at": [0, 141.9], "size": [94.6, 7.1]}),
         body("anode", "rod", ANODE, rect={"at": [0, 85.3], "size": [10.6, 51.1], "corner": 1.7})]),
    "stepped-shaft": around(
        "Stepped shaft, sharp, in a ring anode, a ring of plastic above",
        (79.3, 167.9), 11.3, ("current", 7.9),
        [body("part", "shaft", butler(4.3, 0.5, 0.5), polygon=mirrored(
            [[9.7, 38.1], [9.7, 71.9], [17.3, 71.9], [17.3, 104.3], [12.1, 104.3], [12.1, 133.7]])),
         body("shield", "washer", rect={"at": [39.7, 119.9], "size": [17.1, 3.3]}),
         body("anode", "ring", ANODE, rect={"at": [62.9, 83.7], "size": [9.3, 71.3], "corner": 2.1})]),
    "primary-collar": around(
        "Rounded collar under a ball, no polarization",
        (71.7, 153.1), 8.7, ("voltage", 1.9),
        [body("part", "collar", NONE, rect={"at": [27.1, 51.3], "size": [13.9, 21.7], "corner": 4.9}),
         body("anode", "ball", NONE, disc={"at": [0, 109.7], "radius": 15.1})]),
}

# what one test run can afford to compute anew
SMALLEST = "hull"

# size factors of both meshes where the usual ones are too coarse: metal without polarization feels
# every joint of curved elements, and the measured curve bends sharply at its points
SIZES = {"table": (1.0, 0.7), "primary-triangle": (0.95, 0.65), "primary-rounded": (0.5, 0.36),
         "primary-collar": (0.5, 0.36)}
