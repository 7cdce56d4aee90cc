//! How thick bars, leads and hooks must be.

/// A metal that racks and bars are made of, with what a section of it carries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductor {
    /// Its name.
    pub name: &'static str,
    /// Current that a bar of 1 in × 1 in carries, A.
    pub amperes_per_square_inch: f64,
}

/// Trade rule for a bar of 1 in × 1 in: Metal Finishing Guidebook, chapter on rack design, 2011–12
/// p. 655 and 2012–13 p. 762.
pub const CONDUCTORS: [Conductor; 7] = [
    Conductor { name: "copper", amperes_per_square_inch: 1000.0 },
    Conductor { name: "aluminium", amperes_per_square_inch: 600.0 },
    Conductor { name: "brass", amperes_per_square_inch: 250.0 },
    Conductor { name: "phosphor bronze", amperes_per_square_inch: 180.0 },
    Conductor { name: "steel", amperes_per_square_inch: 120.0 },
    Conductor { name: "titanium", amperes_per_square_inch: 31.0 },
    Conductor { name: "stainless steel", amperes_per_square_inch: 23.0 },
];

/// A square inch, m² (1 in = 0.0254 m exactly).
const SQUARE_INCH_M2: f64 = 0.0254 * 0.0254;

impl Conductor {
    /// Section needed for a current, m².
    pub fn section_m2(&self, current_a: f64) -> f64 {
        current_a.abs() / self.amperes_per_square_inch * SQUARE_INCH_M2
    }

    /// Current that a section carries, A.
    pub fn carries_a(&self, section_m2: f64) -> f64 {
        section_m2 / SQUARE_INCH_M2 * self.amperes_per_square_inch
    }
}
