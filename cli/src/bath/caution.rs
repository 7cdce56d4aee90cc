//! The cautions that baths call for: one text for each danger, in one place.
//!
//! They name the danger and defer to law and licensed practice; they authorise nothing.

/// One danger of a bath.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Caution {
    /// Its key in a bath's file.
    pub key: &'static str,
    /// What to look out for.
    pub text: &'static str,
}

/// Every caution there is. Limits: OSHA 2006 rule on chromium(VI) (29 CFR 1910.1026); the rest is
/// common practice, no source.
pub const CAUTIONS: [Caution; 10] = [
    Caution {
        key: "hexavalent-chromium",
        text: "Hexavalent chromium causes cancer and its mist corrodes: local exhaust, mist suppression, the exposure limit of your country (US: 5 ug/m3 over 8 hours, 29 CFR 1910.1026) and its permits.",
    },
    Caution {
        key: "cyanide",
        text: "Cyanide: never let acid and cyanide meet (hydrogen cyanide gas). Separate storage, drains, sumps and rinses; never work alone; antidote and emergency plan.",
    },
    Caution {
        key: "nickel",
        text: "Nickel salts sensitise skin and lungs, and their mist can cause cancer: extraction, gloves, no aerosols.",
    },
    Caution {
        key: "cadmium",
        text: "Cadmium is poisonous and can cause cancer: extraction, no dust, no food near it; restricted by law.",
    },
    Caution {
        key: "acid",
        text: "Acid: acid into water, goggles, gloves, apron, eyewash within reach.",
    },
    Caution {
        key: "caustic",
        text: "Caustic: goggles, gloves, apron, eyewash within reach; add caustic to water slowly, it boils.",
    },
    Caution {
        key: "hydrogen",
        text: "Hydrogen leaves the cathode (and oxygen an insoluble anode): ventilate, no sparks; the gas carries mist.",
    },
    Caution {
        key: "embrittlement",
        text: "Hydrogen embrittles high-strength steel: bake as the part's specification says, soon after plating.",
    },
    Caution {
        key: "high-current",
        text: "High direct current burns and draws arcs at low voltage: switch off before moving racks, lock out before work on bus bars; feeds and bonding are for a licensed electrician.",
    },
    Caution {
        key: "waste",
        text: "No discharge without treatment and permit: rinses and spent baths are regulated.",
    },
];

/// What every bath calls for.
const ALWAYS: [&str; 2] = ["high-current", "waste"];

/// The caution of this key.
pub fn caution(key: &str) -> Option<Caution> {
    CAUTIONS.into_iter().find(|caution| caution.key == key)
}

/// The cautions of a bath that names these keys, in the order of the list.
pub fn cautions(keys: &[String]) -> Vec<Caution> {
    let wanted = |caution: &Caution| {
        keys.iter().any(|key| key == caution.key) || ALWAYS.contains(&caution.key)
    };
    CAUTIONS.into_iter().filter(wanted).collect()
}
