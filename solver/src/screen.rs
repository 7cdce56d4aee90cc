//! Screens: what a perforated sheet or an anode bag does to the current, as a reduced conductivity
//! of the region that it takes up.
//!
//! The solver sees a screen as bath of lower conductivity. Across the sheet that is right on the
//! whole; near single openings the current is not resolved, and along the sheet the region conducts
//! as well as across it, which matters little while it is thin.

use std::f64::consts::{FRAC_PI_2, PI};

use crate::quantity::{Conductivity, Length};

/// How a screen is open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Openings {
    /// Cloth, mesh, felt: fine against everything else.
    Cloth,
    /// Round holes of this diameter in a sheet of this thickness.
    Holes {
        /// Of one hole.
        diameter: Length,
        /// Of the sheet.
        thickness: Length,
    },
    /// Long slits of this width in a sheet of this thickness.
    Slits {
        /// Of one slit.
        width: Length,
        /// Of the sheet.
        thickness: Length,
    },
}

impl Openings {
    /// Name of the model with its sources.
    pub fn model(self) -> &'static str {
        match self {
            Self::Cloth => "cloth, open share to the power 1.5 (Bruggeman 1935)",
            Self::Holes { .. } => {
                "sheet with round holes: channel and mouths (Newman 1966), mouths side by side (Fok 1941)"
            }
            Self::Slits { .. } => {
                "sheet with slits: channel and mouths (conformal map of a diaphragm in a channel)"
            }
        }
    }

    /// Conductivity of the region of a screen with the open share `open`, above 0 and up to 1.
    ///
    /// With ε the open share and t the thickness of the sheet, κ times the resistance of a unit of
    /// its area is
    ///
    /// - cloth: t / ε^1.5 (Bruggeman, Ann. Phys. 416 (1935) 636, for porous media);
    /// - holes of radius a: (t + (π a / 2) F(√ε)) / ε. Each mouth of a lone hole has the resistance
    ///   1 / (4 κ a) of a disk (Newman, J. Electrochem. Soc. 113 (1966) 501); F is Fok's series for
    ///   the opening of a diaphragm in a tube (C. R. Acad. Sci. URSS 31 (1941), from memory), which
    ///   takes the mouths of neighbours into account and falls from 1 to 0;
    /// - slits of width w: (t + (2 w / π) ln 1/sin(π ε / 2)) / ε, the excess length of a thin
    ///   diaphragm in a channel between flat walls (conformal map; Smythe, *Static and Dynamic
    ///   Electricity*, from memory).
    pub fn conductivity(self, bath: Conductivity, open: f64) -> Conductivity {
        let (thickness, mouths) = match self {
            Self::Cloth => return Conductivity::new(bath.si() * open * open.sqrt()),
            Self::Holes { diameter, thickness } => {
                (thickness.si(), FRAC_PI_2 * 0.5 * diameter.si() * beside(open.sqrt()))
            }
            Self::Slits { width, thickness } => {
                let narrow = -libm::log((FRAC_PI_2 * open).sin());
                (thickness.si(), 2.0 * width.si() / PI * narrow.max(0.0))
            }
        };
        Conductivity::new(bath.si() * open * thickness / (thickness + mouths))
    }
}

/// Fok's series for an opening of ξ times the width of what it opens from; 1 at 0, 0 at 1.
fn beside(xi: f64) -> f64 {
    let powers = [1.0, -1.409_25, 0.0, 0.338_18, 0.0, 0.067_93, -0.022_87, 0.030_15, -0.016_41];
    powers.iter().rev().fold(0.0, |sum, c| sum * xi + c).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{Body, Role};
    use crate::sample::{KAPPA, PLATES_APART, body, ideal, plates, rect};
    use crate::solve::{SolveSettings, solve};

    fn kinds(thickness: f64) -> [Openings; 3] {
        let (diameter, width) = (Length::mm(3.0), Length::mm(3.0));
        let thickness = Length::new(thickness);
        [
            Openings::Cloth,
            Openings::Holes { diameter, thickness },
            Openings::Slits { width, thickness },
        ]
    }

    #[test]
    fn an_open_sheet_is_bath_and_a_thick_one_its_channels() {
        let bath = Conductivity::new(8.0);
        for kind in kinds(2e-3) {
            assert!((kind.conductivity(bath, 1.0).si() / 8.0 - 1.0).abs() < 1e-12, "{kind:?}");
        }
        for kind in &kinds(10.0)[1..] {
            let ratio = kind.conductivity(bath, 0.3).si() / (0.3 * 8.0);
            assert!(ratio < 1.0 && ratio > 0.999, "{kind:?}: {ratio}");
        }
    }

    #[test]
    fn more_open_lets_more_through() {
        let bath = Conductivity::new(8.0);
        for kind in kinds(1.5e-3) {
            let through: Vec<f64> =
                (1..=100).map(|k| kind.conductivity(bath, 0.01 * f64::from(k)).si()).collect();
            assert!(through.windows(2).all(|pair| pair[1] > pair[0]), "{kind:?}");
        }
    }

    #[test]
    fn a_lone_hole_has_the_resistance_of_its_channel_and_two_disks() {
        // Newman 1966: 1 / (4 κ a) for each mouth; the channel t / (κ π a²)
        let (kappa, a, t, open) = (7.0, 1.5e-3, 2e-3, 1e-8);
        let one_hole = t / (kappa * PI * a * a) + 2.0 / (4.0 * kappa * a);
        let (diameter, thickness) = (Length::new(2.0 * a), Length::new(t));
        let sheet = Openings::Holes { diameter, thickness };
        let through = sheet.conductivity(Conductivity::new(kappa), open).si();
        // as many holes for each square metre as make the open share
        let per_area = t / through * (open / (PI * a * a));
        assert!((per_area / one_hole - 1.0).abs() < 2e-4, "{per_area} {one_hole}");
    }

    /// The same sheet with its slits drawn one by one: the solver's own answer for the blocks
    /// between them is the reference (computed, not published).
    #[test]
    fn slits_as_a_screen_carry_what_slits_one_by_one_do() {
        let (x0, pitch, count) = (0.09, 0.02, 5);
        for (open, t) in [(0.15, 1e-3), (0.3, 2e-3), (0.5, 4e-3), (0.7, 1e-3)] {
            let width = open * pitch;
            // half a slit at either wall, whole blocks between: the walls are mirrors
            let blocks = (0..count).map(|k| {
                let low = pitch * f64::from(k) + 0.5 * width;
                let block = rect(x0, low, x0 + t, low + pitch - width);
                body(&format!("block {k}"), Role::Shield, block, ideal())
            });
            let amperes = |more: Vec<Body>| {
                let mut layout = plates(ideal(), ideal());
                layout.bodies.extend(more);
                let settings = SolveSettings { accuracy: 0.003, ..SolveSettings::default() };
                solve(&layout, &settings, &mut |_| {}).expect("it solves").supplies[0].current_a
            };
            let resolved = amperes(blocks.collect());
            let sheet = Openings::Slits { width: Length::new(width), thickness: Length::new(t) };
            let conductivity = sheet.conductivity(Conductivity::new(KAPPA), open);
            let screen = rect(x0, -0.01, x0 + t, 0.11);
            let role = Role::Screen { conductivity };
            let modelled = amperes(vec![body("screen", role, screen, ideal())]);
            // excess resistance over the open channel of 0.1 m × 1 m
            let open_channel = PLATES_APART / (KAPPA * 0.1);
            let excess = |amperes: f64| 1.0 / amperes - open_channel;
            let ratio = excess(modelled) / excess(resolved);
            // the channel's ends and the thin diaphragm's edge do not add up exactly
            assert!((ratio - 1.0).abs() < 0.1, "open {open}, {t} m: {ratio}");
            assert!((modelled / resolved - 1.0).abs() < 0.02, "{modelled} A, {resolved} A");
        }
    }
}
