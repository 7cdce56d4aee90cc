//! A bath that throws better: those that the caller has, as they stand.
use crate::remedy::proposal::{Kind, Proposal, Scene};

pub(super) fn propose<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    let baths = scene.subject.baths.iter();
    baths
        .map(|(_, case, _)| Proposal {
            kind: Kind::Bath,
            dims: Vec::new(),
            build: Box::new(|_| Some(Vec::new())),
            case: Some(case),
        })
        .collect()
}
