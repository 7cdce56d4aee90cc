"""Writes a reference layout as a job file, so that the whole tool can be run on it."""


def number(v):
    return f"{v:.10g}"


def law(l):
    keys = [f'law = "{l["law"]}"']
    units = {"resistance": "ohm m2", "exchange": "A/m2", "limiting": "A/m2", "slope": "V", "rest": "V"}
    for k, v in l.items():
        if k == "law":
            continue
        if k == "points":
            rows = ", ".join(f'["{number(e)} V", "{number(i)} A/m2"]' for e, i in v)
            keys.append(f"points = [{rows}]")
            continue
        keys.append(f'{k} = "{number(v)} {units[k]}"' if k in units else f"{k} = {number(v)}")
    return "{ " + ", ".join(keys) + " }"


def points(ps):
    return "[" + ", ".join(f"[{number(x)}, {number(y)}]" for x, y in ps) + "]"


def shape(s):
    out = []
    for k, v in s.items():
        if k == "polygon":
            out.append(f"polygon = {points(v)}")
        elif isinstance(v, dict):
            inner = ", ".join(
                f"{a} = [{number(b[0])}, {number(b[1])}]" if isinstance(b, list) else f"{a} = {number(b)}"
                for a, b in v.items())
            out.append(f"{k} = {{ {inner} }}")
        else:
            out.append(f"{k} = {number(v)}")
    return out


def write(layout):
    kind, value = layout["supply"]
    word = {"mean": f'current_density = "{number(value)} A/m2"', "current": f'current = "{number(value)} A"',
            "voltage": f'voltage = "{number(value)} V"'}[kind]
    lines = [f'title = "{layout["title"]}"', 'unit = "mm"', "", "[tank]",
             f"outline = {{ polygon = {points(layout['tank'])} }}",
             'symmetry = "axial"' if layout.get("symmetry") == "axial" else f"depth = {number(layout['depth'])}", "",
             "[bath]", f'temperature = "{number(layout["temperature"] - 273.15)} degC"',
             f'conductivity = "{number(layout["kappa"])} S/m"', 'metal = "Ni"', "efficiency = 1.0", ""]
    for b in layout["bodies"]:
        lines += [f"[[{b['role']}]]", f'name = "{b["name"]}"', *shape(b["shape"])]
        if "offset" in b:
            lines.append(f'offset = "{number(b["offset"])} V"')
        if "kappa" in b:
            lines.append(f'conductivity = "{number(b["kappa"])} S/m"')
        if "law" in b:
            lines.append(f"polarization = {law(b['law'])}")
        lines.append("")
    lines += ["[supply]", word, "", "[run]", 'time = "25 min"', ""]
    return "\n".join(lines)
