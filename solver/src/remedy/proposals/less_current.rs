//! Less current for longer: polarization evens out what the shape makes uneven, and nothing burns.
use crate::remedy::edit::Edit;
use crate::remedy::proposal::{Dim, Kind, Measure, Proposal, Scene};

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    let _ = scene;
    Dim::new("share of the current", Measure::Share, 0.1, 0.95, 0.05)
        .map(|share| Proposal {
            kind: Kind::LessCurrent,
            dims: vec![share],
            build: Box::new(|x| Some(vec![Edit::Drive { factor: *x.first()? }])),
            case: None,
        })
        .into_iter()
        .collect()
}
