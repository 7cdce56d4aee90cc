//! The proposals, one idea in each file.

mod bath;
mod conforming;
mod distance;
mod edges;
mod inside;
mod length;
mod less_current;
mod second;
mod shield;
mod thief;
mod turn;

use super::proposal::{Proposal, Scene};

/// Everything that may help here.
pub(super) fn all<'a>(scene: &'a Scene<'a>) -> Vec<Proposal<'a>> {
    [
        distance::propose(scene),
        length::propose(scene),
        second::propose(scene),
        inside::propose(scene),
        conforming::propose(scene),
        shield::propose(scene),
        thief::propose(scene),
        turn::propose(scene),
        less_current::propose(scene),
        bath::propose(scene),
    ]
    .into_iter()
    .flatten()
    .collect()
}
