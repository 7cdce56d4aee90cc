//! A ball inside a hollow sphere, off its centre: image charges (Maxwell, *Treatise* I, ch. XI).
//!
//! A charge q at z on the axis of a hollow sphere of radius r has the image −q r/z at r²/z; one at
//! distance d from the ball's centre has −q a/d at a²/d from it. The series falls geometrically.

/// Ball of radius `a`, its centre `e` from the centre of a sphere of radius `r`, m.
#[derive(Debug, Clone, Copy)]
pub struct Spheres {
    /// Radius of the ball, m.
    pub a: f64,
    /// Radius of the hollow sphere, m.
    pub r: f64,
    /// Offset, m.
    pub e: f64,
}

impl Spheres {
    /// (place on the axis from the sphere's centre, charge) for one volt: pairs inside the ball
    /// and outside the sphere, with potentials q / distance.
    fn charges(&self) -> Vec<(f64, f64)> {
        let (mut z, mut q) = (self.e, self.a);
        let mut out = Vec::new();
        while q > 1e-17 * self.a {
            out.push((z, q));
            let (image, charge) = (self.r * self.r / z, -q * self.r / z);
            out.push((image, charge));
            let d = image - self.e;
            (z, q) = (self.e + self.a * self.a / d, -charge * self.a / d);
        }
        out
    }

    /// Current for one volt and one S/m, m: 4 π times the ball's charge.
    pub fn capacity(&self) -> f64 {
        let inside = |c: &&(f64, f64)| c.1 > 0.0;
        2.0 * std::f64::consts::TAU * self.charges().iter().filter(inside).map(|c| c.1).sum::<f64>()
    }

    /// Slope of the potential normal to the surface at (x, z), 1/m for one volt.
    pub fn slope(&self, x: f64, z: f64, on_ball: bool) -> f64 {
        let (centre, radius) = if on_ball { (self.e, self.a) } else { (0.0, self.r) };
        let n = [x / radius, (z - centre) / radius];
        self.charges()
            .iter()
            .map(|&(at, q)| {
                let d = [x, z - at];
                q * (d[0] * n[0] + d[1] * n[1]) / d[0].hypot(d[1]).powi(3)
            })
            .sum()
    }
}
