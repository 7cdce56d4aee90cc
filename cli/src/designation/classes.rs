//! Service classes: how hard the life of a coating is, and what each asks for.

use std::fmt;

use super::model::{Basis, Coating, Designation, Kind, Metal};

/// How severe the service is; greater is harder.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct ServiceClass(u8);

impl ServiceClass {
    /// All, mild first.
    pub const ALL: [Self; 5] = [Self(1), Self(2), Self(3), Self(4), Self(5)];

    /// The class of a number as text.
    pub fn of(number: &str) -> Option<Self> {
        let number: u8 = number.parse().ok()?;
        Self::ALL.into_iter().find(|class| class.0 == number)
    }

    /// In words (scope of ASTM B456).
    pub const fn words(self) -> &'static str {
        match self.0 {
            1 => "mild",
            2 => "moderate",
            3 => "severe",
            4 => "very severe",
            _ => "extended very severe",
        }
    }
}

impl fmt::Display for ServiceClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "SC{}", self.0)
    }
}

/// One line of a table of classes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry {
    /// The class.
    pub class: ServiceClass,
    /// What is plated.
    pub basis: Basis,
    /// What the class asks for.
    pub designation: &'static str,
    /// The publication, or "from memory of ...".
    pub source: &'static str,
}

const GUIDE: &str =
    "ASTM B456 as reproduced in nickel chapters of a finishing guidebook, 2011 to 2013";
const MEMORY: &str = "from memory of ASTM B456 and ISO 1456: check the edition you work to";
const ZINC: &str = "ASTM B633 as quoted in a plater's data sheet";

type Row = (u8, Basis, &'static str, &'static str);

const fn row(class: u8, basis: Basis, designation: &'static str, source: &'static str) -> Row {
    (class, basis, designation, source)
}

const TABLE: &[Row] = &[
    row(1, Basis::Steel, "Fe/Ni10b Cr r", MEMORY),
    row(2, Basis::Steel, "Fe/Ni20b Cr r", MEMORY),
    row(2, Basis::Steel, "Fe/Ni15b Cr mc", MEMORY),
    row(2, Basis::Steel, "Fe/Ni15b Cr mp", MEMORY),
    row(3, Basis::Steel, "Fe/Ni30d Cr r", GUIDE),
    row(3, Basis::Steel, "Fe/Ni25d Cr mc", GUIDE),
    row(3, Basis::Steel, "Fe/Ni25d Cr mp", GUIDE),
    row(4, Basis::Steel, "Fe/Ni40d Cr r", GUIDE),
    row(4, Basis::Steel, "Fe/Ni30d Cr mc", GUIDE),
    row(4, Basis::Steel, "Fe/Ni30d Cr mp", GUIDE),
    row(5, Basis::Steel, "Fe/Ni35d Cr mc", GUIDE),
    row(5, Basis::Steel, "Fe/Ni35d Cr mp", GUIDE),
    row(1, Basis::ZincAlloy, "Zn/Cu5 Ni10b Cr r", MEMORY),
    row(2, Basis::ZincAlloy, "Zn/Cu5 Ni20b Cr r", MEMORY),
    row(2, Basis::ZincAlloy, "Zn/Cu5 Ni15b Cr mc", MEMORY),
    row(2, Basis::ZincAlloy, "Zn/Cu5 Ni15b Cr mp", MEMORY),
    row(3, Basis::ZincAlloy, "Zn/Cu5 Ni25d Cr r", MEMORY),
    row(3, Basis::ZincAlloy, "Zn/Cu5 Ni20d Cr mc", MEMORY),
    row(3, Basis::ZincAlloy, "Zn/Cu5 Ni20d Cr mp", MEMORY),
    row(4, Basis::ZincAlloy, "Zn/Cu5 Ni35d Cr r", MEMORY),
    row(4, Basis::ZincAlloy, "Zn/Cu5 Ni30d Cr mc", MEMORY),
    row(4, Basis::ZincAlloy, "Zn/Cu5 Ni30d Cr mp", MEMORY),
    row(5, Basis::ZincAlloy, "Zn/Cu5 Ni35d Cr mc", MEMORY),
    row(5, Basis::ZincAlloy, "Zn/Cu5 Ni35d Cr mp", MEMORY),
    row(1, Basis::Copper, "Cu/Ni5b Cr r", MEMORY),
    row(2, Basis::Copper, "Cu/Ni15b Cr r", MEMORY),
    row(2, Basis::Copper, "Cu/Ni10b Cr mc", MEMORY),
    row(2, Basis::Copper, "Cu/Ni10b Cr mp", MEMORY),
    row(3, Basis::Copper, "Cu/Ni25d Cr r", MEMORY),
    row(3, Basis::Copper, "Cu/Ni20d Cr mc", MEMORY),
    row(3, Basis::Copper, "Cu/Ni20d Cr mp", MEMORY),
    row(4, Basis::Copper, "Cu/Ni30d Cr r", MEMORY),
    row(4, Basis::Copper, "Cu/Ni25d Cr mc", MEMORY),
    row(4, Basis::Copper, "Cu/Ni25d Cr mp", MEMORY),
    row(1, Basis::Steel, "Fe/Zn5", ZINC),
    row(2, Basis::Steel, "Fe/Zn8", ZINC),
    row(3, Basis::Steel, "Fe/Zn12", ZINC),
    row(4, Basis::Steel, "Fe/Zn25", ZINC),
];

/// Every line of the tables, mild classes first within a basis; nickel and chromium before zinc.
pub fn entries() -> impl Iterator<Item = Entry> {
    TABLE.iter().map(|&(class, basis, designation, source)| Entry {
        class: ServiceClass(class),
        basis,
        designation,
        source,
    })
}

/// The hardest class whose line of the tables a designation reaches. Only lines of the same
/// metals count: what copper under nickel on steel allows is not in them.
pub(super) fn reached(designation: &Designation) -> Option<ServiceClass> {
    entries()
        .filter(|entry| entry.basis == designation.basis)
        .filter(|entry| match super::parse(entry.designation) {
            Ok(Coating::Layers(line)) => fulfils(designation, &line),
            Ok(Coating::Class { .. }) | Err(_) => false,
        })
        .map(|entry| entry.class)
        .max()
}

fn fulfils(designation: &Designation, line: &Designation) -> bool {
    let (own, asked) = (designation.layers(), line.layers());
    own.len() == asked.len()
        && own.iter().zip(&asked).all(|(own, asked)| {
            let kind = match asked.metal {
                Metal::Nickel => rank(own.kind) >= rank(asked.kind),
                Metal::Chromium => own.kind == asked.kind,
                Metal::Copper | Metal::Zinc => true,
            };
            own.metal == asked.metal && kind && own.least_um >= asked.least_um
        })
}

/// Double nickel protects better than any single one.
fn rank(kind: Option<Kind>) -> u8 {
    u8::from(kind == Some(Kind::Multilayer))
}

/// What is wrong if the text names a class that its zinc is too thin for.
pub(super) fn shortfall(designation: &Designation) -> Option<String> {
    let class = designation.class?;
    let line = entries().find(|entry| {
        designation.is_zinc() && entry.class == class && entry.designation.starts_with("Fe/Zn")
    });
    let enough = match line {
        Some(_) => reached(designation).is_some_and(|reached| reached >= class),
        // no zinc line: SC5; nickel may meet a class in ways that the tables here do not hold
        None => !designation.is_zinc(),
    };
    if enough {
        return None;
    }
    Some(match line {
        Some(line) => format!("{class} asks for {}, which is more than this", line.designation),
        None => format!("zinc has no class {class}"),
    })
}
