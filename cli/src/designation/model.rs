//! What a designation says, as values; writing it out gives the usual form back.

use std::fmt;

use super::classes::ServiceClass;

/// What a text designates.
#[derive(Debug, Clone, PartialEq)]
pub enum Coating {
    /// Coatings one over the other.
    Layers(Designation),
    /// A service class alone, with or without the metal under the coating.
    Class {
        /// The metal under the coating, if stated.
        basis: Option<Basis>,
        /// The class.
        class: ServiceClass,
    },
}

/// A full designation.
#[derive(Debug, Clone, PartialEq)]
pub struct Designation {
    /// What is plated.
    pub basis: Basis,
    /// The coatings, from the basis outwards; never empty.
    pub coats: Vec<Coat>,
    /// What follows on zinc: conversion coating, sealing.
    pub finishes: Vec<Finish>,
    /// The service class, if the text names it.
    pub class: Option<ServiceClass>,
}

/// The metal (or plastic) under the coating.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Iron or steel.
    Steel,
    /// Zinc die casting.
    ZincAlloy,
    /// Copper or its alloys.
    Copper,
    /// Aluminium or its alloys.
    Aluminium,
    /// Plastic made conductive.
    Plastic,
}

impl Basis {
    /// All, in the order of the standards.
    pub const ALL: [Self; 5] =
        [Self::Steel, Self::ZincAlloy, Self::Copper, Self::Aluminium, Self::Plastic];

    /// Its letters before the stroke.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Steel => "Fe",
            Self::ZincAlloy => "Zn",
            Self::Copper => "Cu",
            Self::Aluminium => "Al",
            Self::Plastic => "PL",
        }
    }

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Steel => "iron or steel",
            Self::ZincAlloy => "zinc or its alloys",
            Self::Copper => "copper or its alloys",
            Self::Aluminium => "aluminium or its alloys",
            Self::Plastic => "plastic",
        }
    }
}

/// A plated metal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Metal {
    /// Copper.
    Copper,
    /// Nickel.
    Nickel,
    /// Chromium.
    Chromium,
    /// Zinc.
    Zinc,
}

impl Metal {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Copper, Self::Nickel, Self::Chromium, Self::Zinc];

    /// Chemical symbol.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Copper => "Cu",
            Self::Nickel => "Ni",
            Self::Chromium => "Cr",
            Self::Zinc => "Zn",
        }
    }

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Copper => "copper",
            Self::Nickel => "nickel",
            Self::Chromium => "chromium",
            Self::Zinc => "zinc",
        }
    }

    /// The kinds it comes in.
    pub const fn kinds(self) -> &'static [Kind] {
        match self {
            Self::Copper => &[Kind::Levelled],
            Self::Nickel => &[Kind::Bright, Kind::Multilayer, Kind::Dull, Kind::Polished],
            Self::Chromium => &[Kind::Regular, Kind::Microcracked, Kind::Microporous],
            Self::Zinc => &[],
        }
    }
}

/// The letter after a metal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// `a`: ductile, levelling copper from an acid bath.
    Levelled,
    /// `b`: fully bright nickel.
    Bright,
    /// `d`: double or triple nickel.
    Multilayer,
    /// `p`: dull, satin or semi-bright nickel left unpolished.
    Dull,
    /// `s`: dull or semi-bright nickel that is then polished.
    Polished,
    /// `r`: regular chromium.
    Regular,
    /// `mc`: microcracked chromium.
    Microcracked,
    /// `mp`: microporous chromium.
    Microporous,
}

impl Kind {
    /// Its letters.
    pub const fn letters(self) -> &'static str {
        match self {
            Self::Levelled => "a",
            Self::Bright => "b",
            Self::Multilayer => "d",
            Self::Dull => "p",
            Self::Polished => "s",
            Self::Regular => "r",
            Self::Microcracked => "mc",
            Self::Microporous => "mp",
        }
    }

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Levelled => "ductile, levelling, from an acid bath",
            Self::Bright => "fully bright",
            Self::Multilayer => "double or triple layer, semi-bright below bright",
            Self::Dull => "dull, satin or semi-bright, not polished",
            Self::Polished => "dull or semi-bright, then polished",
            Self::Regular => "regular (conventional)",
            Self::Microcracked => "microcracked",
            Self::Microporous => "microporous",
        }
    }
}

/// One coating of a designation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coat {
    /// The metal.
    pub metal: Metal,
    /// Least local thickness as written, µm; only chromium may leave it out.
    pub stated_um: Option<f64>,
    /// Its letter.
    pub kind: Option<Kind>,
}

/// What is done to zinc after plating.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finish {
    /// Conversion coating of ISO 2081: A clear, B bleached, C iridescent, D opaque, F black.
    Conversion(char),
    /// Supplementary treatment of ISO 2081, T1 to T5; T0 for none.
    Treatment(u8),
    /// Type of ASTM B633, 1 to 6.
    Type(u8),
}

impl Finish {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Conversion('A') => "clear conversion coating",
            Self::Conversion('B') => "bleached conversion coating",
            Self::Conversion('C') => "iridescent conversion coating",
            Self::Conversion('D') => "opaque conversion coating",
            Self::Conversion(_) => "black conversion coating",
            Self::Treatment(0) => "no sealing",
            Self::Treatment(1) => "paint, varnish or powder over it",
            Self::Treatment(2) => "organic or inorganic sealant",
            Self::Treatment(3) => "dyed",
            Self::Treatment(4) => "grease, oil or another lubricant",
            Self::Treatment(_) => "wax",
            Self::Type(1) => "as plated, no supplementary treatment",
            Self::Type(2) => "coloured chromate conversion coating",
            Self::Type(3) => "colourless chromate conversion coating",
            Self::Type(4) => "phosphate conversion coating",
            Self::Type(5) => "colourless passivate",
            Self::Type(_) => "coloured passivate",
        }
    }
}

/// Where a required thickness comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stated {
    /// The designation states it.
    Here,
    /// It is implied, for this reason and with this source.
    Implied(&'static str),
}

/// What one coating needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// The metal.
    pub metal: Metal,
    /// Least local thickness on the significant surface, µm.
    pub least_um: f64,
    /// Its letter.
    pub kind: Option<Kind>,
    /// Where `least_um` comes from.
    pub stated: Stated,
}

/// Chromium without a number.
const CHROMIUM_UM: f64 = 0.3;

impl Designation {
    /// What each coating needs, from the basis outwards.
    pub fn layers(&self) -> Vec<Layer> {
        let layer = |coat: &Coat| {
            let Coat { metal, stated_um, kind } = *coat;
            let (least_um, stated) = match stated_um {
                Some(um) => (um, Stated::Here),
                None => (
                    CHROMIUM_UM,
                    Stated::Implied(
                        "chromium without a number means 0.3 µm (nickel chapters of a finishing guidebook, 2011 to 2013, after ASTM B456)",
                    ),
                ),
            };
            Layer { metal, least_um, kind, stated }
        };
        self.coats.iter().map(layer).collect()
    }

    /// True for zinc on steel, the coating of ISO 2081 and ASTM B633.
    pub fn is_zinc(&self) -> bool {
        self.coats.iter().any(|coat| coat.metal == Metal::Zinc)
    }
}

impl fmt::Display for Coat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.metal.symbol())?;
        if let Some(um) = self.stated_um {
            write!(f, "{um}")?;
        }
        match (self.kind, self.metal) {
            (Some(kind), Metal::Chromium) => write!(f, " {}", kind.letters()),
            (Some(kind), _) => f.write_str(kind.letters()),
            (None, _) => Ok(()),
        }
    }
}

impl fmt::Display for Finish {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const ROMAN: [&str; 7] = ["", "I", "II", "III", "IV", "V", "VI"];
        match self {
            Self::Conversion(letter) => write!(f, "/{letter}"),
            Self::Treatment(number) => write!(f, "/T{number}"),
            Self::Type(number) => {
                write!(f, " type {}", ROMAN.get(usize::from(*number)).unwrap_or(&""))
            }
        }
    }
}

impl fmt::Display for Designation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/", self.basis.symbol())?;
        for (k, coat) in self.coats.iter().enumerate() {
            write!(f, "{}{coat}", if k == 0 { "" } else { " " })?;
        }
        for finish in &self.finishes {
            write!(f, "{finish}")?;
        }
        match self.class {
            Some(class) => write!(f, " {class}"),
            None => Ok(()),
        }
    }
}

impl fmt::Display for Coating {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Layers(designation) => designation.fmt(f),
            Self::Class { basis: Some(basis), class } => write!(f, "{} {class}", basis.symbol()),
            Self::Class { basis: None, class } => class.fmt(f),
        }
    }
}
