//! The order in which unknowns are relaxed, and which of them together as well.

use super::interpolation::Interpolation;

/// First the unknowns that are only relaxed one at a time, then those that patches hold too.
#[derive(Debug, Clone, Default)]
pub(super) struct Order {
    /// The place of each unknown; empty if they stay where they are.
    place: Vec<u32>,
    /// How many are in no patch.
    pub(super) alone: usize,
    /// First member of each patch, and the end.
    start: Vec<u32>,
    /// Places of the unknowns of all patches.
    members: Vec<u32>,
}

/// Largest patch: a piece with a dozen that lean on it. What is larger is relaxed one at a time.
pub(super) const LARGEST: usize = 128;

impl Order {
    /// `count` unknowns, those of each set in a patch of their own; sets may overlap.
    pub(super) fn new(count: usize, sets: &[Vec<u32>]) -> Self {
        const OPEN: u32 = u32::MAX;
        let mut place = vec![OPEN; count];
        let (mut start, mut members) = (vec![0], Vec::new());
        let mut next = 0;
        for set in sets.iter().filter(|s| s.len() <= LARGEST) {
            for &i in set {
                let p = &mut place[i as usize];
                if *p == OPEN {
                    *p = next;
                    next += 1;
                }
                members.push(*p);
            }
            start.push(members.len() as u32);
        }
        let alone = count as u32 - next;
        let mut next = 0;
        for p in &mut place {
            if *p == OPEN {
                *p = next;
                next += 1;
            } else {
                *p += alone;
            }
        }
        members.iter_mut().for_each(|p| *p += alone);
        members.shrink_to_fit();
        Self { place, alone: alone as usize, start, members }
    }

    /// `count` unknowns, each relaxed alone.
    pub(super) fn plain(count: usize) -> Self {
        Self { alone: count, start: vec![0], ..Self::default() }
    }

    /// Where unknown `i` stands.
    pub(super) fn place(&self, i: usize) -> usize {
        self.place.get(i).map_or(i, |&p| p as usize)
    }

    /// The places of each patch's unknowns.
    pub(super) fn patches(&self) -> impl DoubleEndedIterator<Item = &[u32]> {
        self.start.windows(2).map(|w| &self.members[w[0] as usize..w[1] as usize])
    }

    /// Memory held, bytes.
    pub(super) fn bytes(&self) -> usize {
        4 * (self.place.len() + self.start.len() + self.members.len())
    }

    /// The rows of `step` in this order.
    pub(super) fn ordered(&self, step: &Interpolation) -> Interpolation {
        let mut unknown = vec![0u32; step.fine()];
        (0..step.fine()).for_each(|i| unknown[self.place(i)] = i as u32);
        step.taken(&unknown)
    }
}
