//! scratch
use checks::load_fixtures;
use solver::{SolveSettings, solve};
fn main() {
    let name = std::env::args().nth(1).unwrap();
    for r in load_fixtures().into_iter().chain(checks::cases::all()).filter(|r| r.name == name) {
        let s = solve(&r.layout, &SolveSettings::default(), &mut |p| eprintln!("{p:?}")).unwrap();
        for (k, b) in s.bodies.iter().enumerate() {
            for st in &b.stretches {
                if let Some(i) = (r.density)(k, st) {
                    let e = st.current_density_a_m2 - i;
                    let near = r.corners.iter().map(|c| c.distance(st.at)).fold(1e9, f64::min);
                    println!(
                        "{} ({:.2},{:.2}) corner {:.2} i {:.1} err% {:.3} unc% {:.3} {}",
                        b.name,
                        st.at.x * 1e3,
                        st.at.y * 1e3,
                        near * 1e3,
                        i,
                        100.0 * e / i,
                        100.0 * st.uncertainty_a_m2 / i.abs(),
                        if e.abs() > st.uncertainty_a_m2 { "*" } else { "" }
                    );
                }
            }
        }
    }
}
