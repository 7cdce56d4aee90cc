"""The reference layouts. All numbers are irregular on purpose: nothing lines up with a grid.

Lengths mm, conductivity S/m, currents A, densities A/m2, potentials V. The bath and its laws are
invented, with magnitudes as in common nickel and copper baths.
"""
import math

NONE = {"law": "none"}


def linear(resistance, **more):
    return {"law": "linear", "resistance": resistance, **more}


def tafel(exchange, slope, **more):
    return {"law": "tafel", "exchange": exchange, "slope": slope, **more}


def butler(exchange, aa, ac, **more):
    return {"law": "butler-volmer", "exchange": exchange, "alpha_anodic": aa, "alpha_cathodic": ac, **more}


def box(w, h):
    return [[0, 0], [w, 0], [w, h], [0, h]]


def body(role, name, law=None, offset=None, kappa=None, **shape):
    b = {"name": name, "role": role, "shape": shape}
    if law:
        b["law"] = law
    if offset is not None:
        b["offset"] = offset
    if kappa is not None:
        b["kappa"] = kappa
    return b


def turned(points, degrees, about):
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [[round(about[0] + c * (x - about[0]) - s * (y - about[1]), 6),
             round(about[1] + s * (x - about[0]) + c * (y - about[1]), 6)] for x, y in points]


def layout(title, tank, kappa, supply, bodies, depth=300.0, temperature=328.15):
    return {"title": title, "tank": tank, "kappa": kappa, "depth": depth,
            "temperature": temperature, "bodies": bodies, "supply": supply}


NICKEL = tafel(0.012, 0.120)
ANODE = linear(2.1e-5)

CUP = [[113.7, 71.3], [171.2, 71.3], [171.2, 83.8], [126.4, 83.8], [126.4, 117.9],
       [171.2, 117.9], [171.2, 130.4], [113.7, 130.4]]

L_PART = [[87.3, 61.9], [141.8, 61.9], [141.8, 74.2], [99.6, 74.2], [99.6, 128.7], [87.3, 128.7]]

ALL = {
    "cup": layout(
        "Rectangular recess, 1 mm corner radius, facing one anode plate",
        box(311.0, 207.0), 8.3, ("mean", 412.0),
        [body("part", "cup", NICKEL, polygon=CUP, corner_radius=1.0),
         body("anode", "plate", ANODE, rect={"at": [277.6, 96.3], "size": [11.4, 122.8]})]),
    "cup-sharp": layout(
        "The same recess with sharp corners, at a given voltage",
        box(311.0, 207.0), 8.3, ("voltage", 2.37),
        [body("part", "cup", NICKEL, polygon=CUP),
         body("anode", "plate", ANODE, rect={"at": [277.6, 96.3], "size": [11.4, 122.8]})]),
    "cup-inside-anode": layout(
        "Recess with a rod anode inside and a plate outside",
        box(311.0, 207.0), 8.3, ("current", 9.4),
        [body("part", "cup", NICKEL, polygon=CUP, corner_radius=1.0),
         body("anode", "plate", ANODE, rect={"at": [277.6, 96.3], "size": [11.4, 122.8]}),
         body("anode", "rod", ANODE, disc={"at": [147.3, 102.2], "radius": 4.15})]),
    "bars": layout(
        "Five round bars between two anodes",
        box(407.0, 293.0), 11.2, ("mean", 365.0),
        [body("part", f"bar {k + 1}", NICKEL, disc={"at": [x, y], "radius": r}) for k, (x, y, r) in
         enumerate([(121.3, 148.9, 11.7), (163.8, 143.2, 11.7), (204.1, 151.6, 9.3),
                    (246.9, 147.4, 11.7), (287.2, 145.1, 13.1)])]
        + [body("anode", "front", ANODE, rect={"at": [203.9, 27.2], "size": [286.4, 12.6]}),
           body("anode", "back", ANODE, rect={"at": [217.3, 262.7], "size": [251.8, 12.6]})]),
    "l-part": layout(
        "L-shaped part, sharp corners, steep Tafel law near its limiting current",
        box(251.0, 193.0), 14.6, ("mean", 287.0),
        [body("part", "bracket", tafel(0.51, 0.030, limiting=397.0), polygon=L_PART),
         body("anode", "plate", ANODE, rect={"at": [217.8, 101.3], "size": [9.7, 143.2]})]),
    "bracket": layout(
        "Bracket, turned, between two anodes, linear laws",
        box(263.0, 187.0), 9.4, ("current", 7.3),
        [body("part", "bracket", linear(9.3e-4, rest=-0.26), polygon=turned(L_PART, 17.3, (110.0, 92.0))),
         body("anode", "left", ANODE, rect={"at": [21.4, 91.7], "size": [8.6, 131.9]}),
         body("anode", "right", ANODE, rect={"at": [236.9, 83.1], "size": [8.6, 101.3]})]),
    "shield": layout(
        "Plate with a shield at its edge",
        box(247.0, 171.0), 10.7, ("mean", 391.0),
        [body("part", "plate", NICKEL, rect={"at": [67.3, 84.9], "size": [7.4, 93.8]}),
         body("shield", "baffle", rect={"at": [91.6, 137.2], "size": [3.3, 31.7]}),
         body("anode", "anode", ANODE, rect={"at": [212.7, 81.4], "size": [10.9, 127.6]})]),
    "thief": layout(
        "Plate with a thief bar beside each end, one of them 30 mV below the cathode bus",
        box(247.0, 187.0), 10.7, ("mean", 391.0),
        [body("part", "plate", NICKEL, rect={"at": [67.3, 92.9], "size": [7.4, 83.8]}),
         body("thief", "upper", NICKEL, rect={"at": [67.3, 143.9], "size": [7.4, 6.7]}),
         body("thief", "lower", NICKEL, offset=-0.030, rect={"at": [69.8, 42.3], "size": [5.2, 5.2]}),
         body("anode", "anode", ANODE, rect={"at": [212.7, 89.4], "size": [10.9, 137.6]})]),
    "floating": layout(
        "Unwired bar between plate and anode, Butler-Volmer laws",
        box(233.0, 147.0), 12.9, ("mean", 433.0),
        [body("part", "plate", butler(12.4, 0.5, 0.5), rect={"at": [31.7, 71.8], "size": [6.1, 97.4]}),
         body("floating", "bar", butler(6.7, 0.5, 0.5),
              polygon=turned([[113.1, 62.9], [147.8, 62.9], [147.8, 77.6], [113.1, 77.6]], 23.7, (130.0, 70.0))),
         body("anode", "anode", butler(31.0, 0.6, 0.4), rect={"at": [203.9, 74.3], "size": [7.7, 103.1]})]),
    "large-tank": layout(
        "Tank of 2 m with a toothed part whose teeth are 1 mm wide",
        box(2003.0, 893.0), 9.1, ("mean", 318.0),
        [body("part", "comb", NICKEL, polygon=[
            [871.3, 421.7], [931.9, 421.7], [931.9, 433.2], [915.6, 433.2], [915.6, 436.1],
            [914.6, 436.1], [914.6, 433.2], [913.1, 433.2], [913.1, 435.3], [911.9, 435.3],
            [911.9, 433.2], [897.2, 433.2], [897.2, 432.2], [893.8, 432.2], [893.8, 433.2], [871.3, 433.2]]),
         body("anode", "front", ANODE, rect={"at": [963.7, 47.9], "size": [1413.6, 21.8]}),
         body("anode", "back", ANODE, rect={"at": [1031.8, 851.3], "size": [1291.4, 21.8]})]),
    "wall": layout(
        "Part hanging through the wall, anode as a stretch of the wall, thief touching the floor",
        box(213.0, 141.0), 10.3, ("current", 5.7),
        [body("part", "bar", NICKEL, polygon=turned(
            [[88.4, 71.9], [101.3, 71.9], [101.3, 163.0], [88.4, 163.0]], 5.3, (95.0, 120.0))),
         body("thief", "foot", NICKEL, rect={"at": [47.6, 4.3], "size": [13.2, 8.6]}),
         body("anode", "wall plate", ANODE, rect={"at": [218.0, 66.7], "size": [10.0, 81.8]})]),
    "screen": layout(
        "Plate behind a screen that conducts 0.3 times as well as the bath",
        box(237.0, 163.0), 9.7, ("mean", 377.0),
        [body("part", "plate", NICKEL, rect={"at": [57.8, 79.6], "size": [6.9, 81.3]}),
         body("screen", "screen", kappa=2.91, rect={"at": [103.7, 96.8], "size": [4.3, 97.1]}),
         body("anode", "anode", ANODE, rect={"at": [203.1, 77.3], "size": [9.4, 113.9]})]),
    "primary-bar": layout(
        "Square bar between plates, no polarization, sharp corners",
        box(223.0, 151.0), 10.0, ("voltage", 1.0),
        [body("part", "bar", NONE, polygon=turned(
            [[97.3, 61.7], [124.9, 61.7], [124.9, 89.3], [97.3, 89.3]], 11.9, (111.0, 75.5))),
         body("anode", "left", NONE, rect={"at": [18.3, 73.9], "size": [7.3, 107.7]}),
         body("anode", "right", NONE, rect={"at": [203.7, 79.1], "size": [7.3, 97.7]})]),
    "primary-strips": layout(
        "Strips flush with the walls of a channel, no polarization",
        box(197.0, 37.3), 10.0, ("current", 3.0),
        [body("part", "strip", NONE, rect={"at": [91.7, -2.5], "size": [41.9, 5.0]}),
         body("anode", "counter strip", NONE, rect={"at": [97.9, 39.8], "size": [47.3, 5.0]})]),
    "frame": layout(
        "Two parts set flush in a shield frame, touching it",
        box(241.0, 167.0), 10.9, ("mean", 401.0),
        [body("part", "lower", NICKEL, rect={"at": [56.65, 58.35], "size": [8.3, 37.3]}),
         body("part", "upper", tafel(0.02, 0.090, limiting=1900.0), rect={"at": [56.65, 102.8], "size": [8.3, 29.2]}),
         body("shield", "bottom", rect={"at": [56.65, 34.2], "size": [8.3, 11.0]}),
         body("shield", "middle", rect={"at": [56.65, 82.6], "size": [8.3, 11.2]}),
         body("shield", "top", rect={"at": [56.65, 124.35], "size": [8.3, 13.9]}),
         body("anode", "anode", ANODE, rect={"at": [207.3, 79.7], "size": [9.1, 119.3]})]),
    "tube": layout(
        "Tube with a rod anode inside and a plate outside, the bore near the primary limit",
        box(193.0, 157.0), 8.8, ("current", 6.1),
        [body("part", "tube", linear(3.7e-5), ring={"at": [81.7, 77.9], "outer": 34.6, "inner": 27.3}),
         body("anode", "rod", ANODE, disc={"at": [84.9, 73.6], "radius": 6.2}),
         body("anode", "plate", ANODE, rect={"at": [168.3, 73.4], "size": [7.9, 103.6]})]),
    "aligned": layout(
        "Angle whose edges lie on round numbers, to meet grid lines exactly",
        box(256.0, 128.0), 10.0, ("mean", 400.0),
        [body("part", "angle", NICKEL, polygon=[[64, 32], [128, 32], [128, 40], [72, 40], [72, 96], [64, 96]]),
         body("shield", "baffle", rect={"at": [160, 96], "size": [4, 32]}),
         body("anode", "anode", ANODE, rect={"at": [236, 64], "size": [8, 96]})]),
    "thin": layout(
        "Sheet 0.6 mm thick with a shield 0.7 mm from its end and a shield 0.5 mm thick before it",
        box(229.0, 151.0), 10.1, ("mean", 353.0),
        [body("part", "sheet", NICKEL, polygon=turned(
            [[81.3, 37.9], [81.9, 37.9], [81.9, 112.6], [81.3, 112.6]], 7.7, (81.6, 75.0))),
         body("shield", "edge", polygon=turned(
             [[79.7, 113.3], [83.5, 113.3], [83.5, 121.1], [79.7, 121.1]], 7.7, (81.6, 75.0))),
         body("shield", "leaf", rect={"at": [118.3, 61.7], "size": [0.5, 43.3]}),
         body("anode", "anode", ANODE, rect={"at": [201.7, 73.9], "size": [8.9, 117.1]})]),
}
