//! The jobs of the lesson: one recess, and what is done to it. Each is a complete job file.

use std::fmt::Write;

/// The recess and its tank, mm, as far as the lesson changes them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recess {
    /// From the mouth to the bottom.
    pub depth_mm: f64,
    /// From the anode's face to the mouth.
    pub gap_mm: f64,
    /// Of the bath, S/m; `None` for what the library says.
    pub conductivity_s_m: Option<f64>,
    /// What is hung beside it.
    pub aid: Aid,
}

/// Something beside the part and its anode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Aid {
    /// Nothing.
    None,
    /// A rod in the recess, on a rectifier of its own that gives this share of the current.
    InsideAnode {
        /// Current of both rectifiers together, A.
        total_a: f64,
        /// Share of the rod.
        share: f64,
    },
    /// The anode itself is shaped after the recess, everywhere at the same gap.
    ConformingAnode,
    /// Two insulating sheets before the rim.
    Shield,
    /// Two rods beside the rim that take current away from it.
    Thief,
}

/// Where the mouth is.
pub const MOUTH_MM: f64 = 330.0;
/// Half the width of the recess.
pub const HALF_WIDTH_MM: f64 = 15.0;
/// The line in the middle of the recess.
pub const MIDDLE_MM: f64 = 100.0;
/// Gap of the conforming anode.
pub const EVEN_GAP_MM: f64 = 9.0;
/// Thickness of the walls around the recess.
const WALL_MM: f64 = 8.0;
const ANODE_MM: f64 = 12.0;

impl Recess {
    /// The recess that the others are compared with.
    pub const BASE: Self =
        Self { depth_mm: 40.0, gap_mm: 200.0, conductivity_s_m: None, aid: Aid::None };

    /// The job file.
    pub fn job(&self, title: &str) -> String {
        let (depth, aid) = (self.depth_mm, self.aid);
        let bottom = MOUTH_MM + depth;
        let (back, outside) = (bottom + WALL_MM, HALF_WIDTH_MM + WALL_MM);
        let (low, high) = (MIDDLE_MM - outside, MIDDLE_MM + outside);
        let (under, over) = (MIDDLE_MM - HALF_WIDTH_MM, MIDDLE_MM + HALF_WIDTH_MM);
        let mut job = format!(
            "# {title}: from `throwmap lesson`.\n\
             title = \"{title}\"\n\
             unit  = \"mm\"\n\
             tank  = {{ size = [460, 200], depth = 100 }}\n\n\
             [bath]\nuse = \"watts-nickel\"\n"
        );
        // writing to a string cannot fail, here and below
        if let Some(kappa) = self.conductivity_s_m {
            let _ = writeln!(job, "conductivity = \"{kappa} S/m\"");
        }
        let _ = write!(
            job,
            "\n[[part]]\nname = \"recess\"\npolygon = [[{MOUTH_MM}, {low}], [{back}, {low}], \
             [{back}, {high}], [{MOUTH_MM}, {high}],\n           [{MOUTH_MM}, {over}], \
             [{bottom}, {over}], [{bottom}, {under}], [{MOUTH_MM}, {under}]]\ncorner_radius = 2\n"
        );
        let face = MOUTH_MM - self.gap_mm;
        match aid {
            Aid::ConformingAnode => {
                let (plate, tip) = (MOUTH_MM - EVEN_GAP_MM, bottom - EVEN_GAP_MM);
                let half = HALF_WIDTH_MM - EVEN_GAP_MM;
                let _ = write!(
                    job,
                    "\n[[anode]]\nname = \"conforming\"\npolygon = [[{}, {low}], [{plate}, {low}], \
                     [{plate}, {}], [{tip}, {}],\n           [{tip}, {}], [{plate}, {}], \
                     [{plate}, {high}], [{}, {high}]]\ncorner_radius = 1\n",
                    plate - 6.0,
                    MIDDLE_MM - half,
                    MIDDLE_MM - half,
                    MIDDLE_MM + half,
                    MIDDLE_MM + half,
                    plate - 6.0,
                );
            }
            _ => {
                let _ = write!(
                    job,
                    "\n[[anode]]\nname = \"anode\"\nrect = {{ at = [{}, {MIDDLE_MM}], size = [{ANODE_MM}, 120] }}\n",
                    face - 0.5 * ANODE_MM
                );
            }
        }
        match aid {
            Aid::InsideAnode { .. } => {
                let _ = write!(
                    job,
                    "\n[[anode]]\nname = \"inside\"\ndisc = {{ at = [{}, {MIDDLE_MM}], radius = 4 }}\n",
                    MOUTH_MM + 0.6 * depth
                );
            }
            Aid::Shield => {
                for (name, side) in [("lower shield", -1.0), ("upper shield", 1.0)] {
                    let y = MIDDLE_MM + side * (HALF_WIDTH_MM + 15.0);
                    let _ = write!(
                        job,
                        "\n[[shield]]\nname = \"{name}\"\nrect = {{ at = [{}, {y}], size = [3, 40] }}\n",
                        MOUTH_MM - 10.0
                    );
                }
            }
            Aid::Thief => {
                for (name, side) in [("lower thief", -1.0), ("upper thief", 1.0)] {
                    let y = MIDDLE_MM + side * (outside + 6.0);
                    let _ = write!(
                        job,
                        "\n[[thief]]\nname = \"{name}\"\ndisc = {{ at = [{}, {y}], radius = 4 }}\n",
                        MOUTH_MM - 6.0
                    );
                }
            }
            _ => {}
        }
        match aid {
            Aid::InsideAnode { total_a, share } => {
                for (name, anode, part) in
                    [("main", "anode", 1.0 - share), ("second", "inside", share)]
                {
                    let _ = write!(
                        job,
                        "\n[[supply]]\nname = \"{name}\"\nanodes = [\"{anode}\"]\n\
                         cathodes = [\"recess\"]\ncurrent = \"{:.4} A\"\n",
                        part * total_a
                    );
                }
            }
            _ => job.push_str("\n[supply]\ncurrent_density = \"3 A/dm2\"\n"),
        }
        job.push_str("\n[run]\ntime = \"30 min\"\n");
        job
    }
}
