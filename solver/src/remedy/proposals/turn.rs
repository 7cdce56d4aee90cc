//! The part turned: every part about its own middle by the same angle. Parts that take several
//! positions anyway are left alone.
use crate::remedy::edit::Edit;
use crate::remedy::proposal::{Dim, Kind, Measure, Proposal, Scene};

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    if scene.subject.case.positions.len() > 1 || scene.layout.symmetry == crate::Symmetry::Axial {
        return Vec::new();
    }
    let parts: Vec<usize> = scene.parts().collect();
    let about = |b: usize| scene.layout.bodies[b].outline.bounds().center();
    let middles: Vec<_> = parts.iter().map(|&b| (b, about(b))).collect();
    let build = move |x: &[f64]| {
        let degrees = *x.first()?;
        let turn = |(body, about): &(usize, shapes::Point)| Edit::Turn {
            body: *body,
            degrees,
            about: *about,
        };
        (degrees != 0.0).then(|| middles.iter().map(turn).collect())
    };
    Dim::new("turned by", Measure::Angle, -175.0, 180.0, 5.0)
        .map(|angle| Proposal {
            kind: Kind::Turn,
            dims: vec![angle],
            build: Box::new(build),
            case: None,
        })
        .into_iter()
        .collect()
}
