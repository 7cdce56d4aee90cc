//! The unit names that a job file may use, each with its size in SI.

use super::dimension::Dimension;

/// One named unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Atom {
    /// Its spellings; the first is the usual one.
    pub names: &'static [&'static str],
    /// What it measures.
    pub dimension: Dimension,
    /// SI value of one unit.
    pub factor: f64,
    /// SI value of zero units (temperatures only).
    pub offset: f64,
}

const fn atom(names: &'static [&'static str], dimension: Dimension, factor: f64) -> Atom {
    Atom { names, dimension, factor, offset: 0.0 }
}

const CURRENT: Dimension = Dimension::electrical(1, 0, 0);
const POTENTIAL: Dimension = Dimension::electrical(0, 1, 0);
const RESISTANCE: Dimension = Dimension::electrical(-1, 1, 0);
const CONDUCTANCE: Dimension = Dimension::electrical(1, -1, 0);
const LENGTH: Dimension = Dimension::electrical(0, 0, 1);
const AREA: Dimension = Dimension::electrical(0, 0, 2);
const DENSITY: Dimension = Dimension::electrical(1, 0, -2);
const TIME: Dimension = Dimension([0, 0, 0, 1, 0, 0, 0]);
const TEMPERATURE: Dimension = Dimension([0, 0, 0, 0, 1, 0, 0]);
const CHARGE: Dimension = Dimension([1, 0, 0, 1, 0, 0, 0]);
const MASS: Dimension = Dimension([0, 0, 0, 0, 0, 1, 0]);
const AMOUNT: Dimension = Dimension([0, 0, 0, 0, 0, 0, 1]);

/// One international inch, exactly.
const INCH: f64 = 0.0254;
/// One international foot, exactly.
const FOOT: f64 = 0.3048;

/// Every unit. Spellings with the micro sign and the ohm sign are brought to `u` and `ohm` first.
pub const ATOMS: &[Atom] = &[
    atom(&["A"], CURRENT, 1.0),
    atom(&["mA"], CURRENT, 1e-3),
    atom(&["uA"], CURRENT, 1e-6),
    atom(&["kA"], CURRENT, 1e3),
    atom(&["V"], POTENTIAL, 1.0),
    atom(&["mV"], POTENTIAL, 1e-3),
    atom(&["uV"], POTENTIAL, 1e-6),
    atom(&["kV"], POTENTIAL, 1e3),
    atom(&["ohm", "Ohm", "ohms"], RESISTANCE, 1.0),
    atom(&["mohm", "mOhm"], RESISTANCE, 1e-3),
    atom(&["uohm", "uOhm"], RESISTANCE, 1e-6),
    atom(&["kohm", "kOhm"], RESISTANCE, 1e3),
    atom(&["S"], CONDUCTANCE, 1.0),
    atom(&["mS"], CONDUCTANCE, 1e-3),
    atom(&["uS"], CONDUCTANCE, 1e-6),
    atom(&["m", "metre", "meter"], LENGTH, 1.0),
    atom(&["dm"], LENGTH, 0.1),
    atom(&["cm"], LENGTH, 1e-2),
    atom(&["mm"], LENGTH, 1e-3),
    atom(&["um", "micron", "microns"], LENGTH, 1e-6),
    atom(&["nm"], LENGTH, 1e-9),
    atom(&["in", "inch", "inches"], LENGTH, INCH),
    atom(&["mil", "mils", "thou"], LENGTH, INCH * 1e-3),
    atom(&["ft", "foot", "feet"], LENGTH, FOOT),
    atom(&["sqft"], AREA, FOOT * FOOT),
    atom(&["sqin"], AREA, INCH * INCH),
    atom(&["ASD"], DENSITY, 100.0),
    atom(&["ASF"], DENSITY, 1.0 / (FOOT * FOOT)),
    atom(&["ASI"], DENSITY, 1.0 / (INCH * INCH)),
    atom(&["s", "sec", "second", "seconds"], TIME, 1.0),
    atom(&["ms"], TIME, 1e-3),
    atom(&["min", "minute", "minutes"], TIME, 60.0),
    atom(&["h", "hr", "hour", "hours"], TIME, 3600.0),
    atom(&["Ah"], CHARGE, 3600.0),
    atom(&["mAh"], CHARGE, 3.6),
    atom(&["kg"], MASS, 1.0),
    atom(&["g"], MASS, 1e-3),
    atom(&["mol"], AMOUNT, 1.0),
    atom(&["%", "percent"], Dimension::NONE, 1e-2),
    atom(&["K"], TEMPERATURE, 1.0),
    Atom { names: &["degC"], dimension: TEMPERATURE, factor: 1.0, offset: 273.15 },
    Atom {
        names: &["degF"],
        dimension: TEMPERATURE,
        factor: 5.0 / 9.0,
        offset: 459.67 * 5.0 / 9.0,
    },
];

/// The unit of this name.
pub fn find(name: &str) -> Option<&'static Atom> {
    ATOMS.iter().find(|atom| atom.names.contains(&name))
}
