//! Everything a solution reports, as one list of values with uncertainties.
use solver::Solution;

/// A reported value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Value {
    /// What it is: 's' a stretch's density, 'b' a body's current, 'i' the supply's current, 'v' its
    /// voltage.
    pub kind: char,
    /// Body it belongs to.
    pub body: usize,
    /// The value, SI.
    pub value: f64,
    /// Its stated uncertainty.
    pub uncertainty: f64,
}

/// All reported values of a solution, in a fixed order.
pub fn values(s: &Solution) -> Vec<Value> {
    let mut out = Vec::new();
    for (body, b) in s.bodies.iter().enumerate() {
        for r in &b.stretches {
            let (value, uncertainty) = (r.current_density_a_m2, r.uncertainty_a_m2);
            out.push(Value { kind: 's', body, value, uncertainty });
        }
        let (value, uncertainty) = (b.current_a, b.current_uncertainty_a);
        out.push(Value { kind: 'b', body, value, uncertainty });
    }
    let w = &s.supplies[0];
    let (value, uncertainty) = (w.current_a, w.current_uncertainty_a);
    out.push(Value { kind: 'i', body: 0, value, uncertainty });
    let (value, uncertainty) = (w.voltage_v, w.voltage_uncertainty_v);
    out.push(Value { kind: 'v', body: 0, value, uncertainty });
    out
}
