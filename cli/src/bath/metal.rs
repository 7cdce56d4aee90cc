//! Metals that can be deposited, with what Faraday's law needs.

use solver::quantity::{Density, MolarMass};

/// A deposited metal.
#[derive(Debug, Clone, PartialEq)]
pub struct Metal {
    /// Its symbol, with the oxidation state in the bath where it matters: `Ni`, `Cu(I)`.
    pub symbol: String,
    /// Molar mass.
    pub molar_mass: MolarMass,
    /// Density of the deposit.
    pub density: Density,
    /// Electrons for each atom deposited.
    pub valence: f64,
}

/// Symbol, g/mol, g/cm3, electrons. Atomic masses: IUPAC abridged standard values; densities:
/// bulk metal near 20 degC; both from memory of the CRC Handbook. A deposit may be 3 % less dense.
const METALS: &[(&str, f64, f64, f64)] = &[
    ("Ni", 58.693, 8.908, 2.0),
    ("Cu", 63.546, 8.96, 2.0),
    ("Cu(I)", 63.546, 8.96, 1.0),
    ("Cu(II)", 63.546, 8.96, 2.0),
    ("Cr(III)", 51.996, 7.19, 3.0),
    ("Cr(VI)", 51.996, 7.19, 6.0),
    ("Zn", 65.38, 7.14, 2.0),
    ("Cd", 112.41, 8.65, 2.0),
    ("Sn(II)", 118.71, 7.31, 2.0),
    ("Sn(IV)", 118.71, 7.31, 4.0),
    ("Ag", 107.87, 10.49, 1.0),
    ("Au(I)", 196.97, 19.3, 1.0),
    ("Au(III)", 196.97, 19.3, 3.0),
    ("Fe", 55.845, 7.874, 2.0),
    ("Pb", 207.2, 11.34, 2.0),
    ("Co", 58.933, 8.90, 2.0),
    ("In", 114.82, 7.31, 3.0),
    ("Pd", 106.42, 12.02, 2.0),
    ("Rh", 102.91, 12.41, 3.0),
    ("Pt", 195.08, 21.45, 4.0),
];

/// The metal of this symbol.
pub fn metal(symbol: &str) -> Option<Metal> {
    METALS.iter().find(|(name, ..)| *name == symbol).map(|&(name, mass, density, valence)| Metal {
        symbol: name.to_owned(),
        molar_mass: MolarMass::g_mol(mass),
        density: Density::g_cm3(density),
        valence,
    })
}

/// All known symbols.
pub fn symbols() -> impl Iterator<Item = &'static str> {
    METALS.iter().map(|(name, ..)| *name)
}
