//! Cuts the wetted outlines of a layout into stretches without solving anything, to check the
//! references themselves.
use shapes::Point;
use solver::{Layout, Role, Stretch, Symmetry};

/// Stretches of about `step` metres along the wetted outline of body `k`; densities are zero.
pub fn stretches(layout: &Layout, k: usize, step: f64) -> Vec<Stretch> {
    let outline = &layout.bodies[k].outline;
    let mut out = Vec::new();
    for (loop_index, curve) in outline.loops().iter().enumerate() {
        // ends of wetted runs cut a segment anywhere, so the pieces follow all joints and are small
        let mut joints = curve.joint_positions()[..curve.segments().len()].to_vec();
        let masks = layout.bodies[k].masked.iter().filter(|m| m.loop_index == loop_index);
        joints.extend(masks.flat_map(|m| [m.from_m, m.to_m]).map(|s| curve.wrapped(s)));
        joints.sort_by(f64::total_cmp);
        let ends = joints.iter().copied().skip(1).chain([curve.length()]);
        for (from, to) in joints.iter().copied().zip(ends).filter(|(a, b)| b > a) {
            let n = ((to - from) / step).ceil().max(1.0);
            for j in 0..n as usize {
                let length_m = (to - from) / n;
                let s_m = from + (j as f64 + 0.5) * length_m;
                let (at, normal) = (curve.point_at(s_m), curve.outward_at(s_m));
                let bare = !layout.bodies[k].is_masked(loop_index, s_m);
                if bare && wetted(layout, k, at + normal * 1e-7) {
                    out.push(Stretch {
                        loop_index,
                        s_m,
                        length_m,
                        area_m2: length_m * layout.depth_m() * breadth(layout, at),
                        at,
                        normal: [normal.x, normal.y],
                        potential_v: 0.0,
                        overpotential_v: 0.0,
                        current_density_a_m2: 0.0,
                        uncertainty_a_m2: 0.0,
                    });
                }
            }
        }
    }
    out
}

/// Breadth of the section at a place, against the depth that a planar one has.
fn breadth(layout: &Layout, at: Point) -> f64 {
    match layout.symmetry {
        Symmetry::Planar => 1.0,
        Symmetry::Axial => std::f64::consts::TAU * at.x,
    }
}

fn wetted(layout: &Layout, k: usize, p: Point) -> bool {
    let solid = |(j, b): (usize, &solver::Body)| {
        j != k && !matches!(b.role, Role::Screen { .. }) && b.outline.contains(p)
    };
    layout.tank.contains(p) && !layout.bodies.iter().enumerate().any(solid)
}
