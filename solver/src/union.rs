//! Disjoint sets (union by index with path halving): Tarjan & van Leeuwen, J. ACM 31 (1984) 245.

/// Disjoint sets over `0..n`; the representative of a set is its smallest member.
#[derive(Debug, Clone)]
pub(crate) struct Sets(Vec<u32>);

impl Sets {
    pub(crate) fn new(n: usize) -> Self {
        Self((0..n as u32).collect())
    }

    pub(crate) fn find(&mut self, i: usize) -> usize {
        let mut i = i as u32;
        while self.0[i as usize] != i {
            let up = self.0[self.0[i as usize] as usize];
            self.0[i as usize] = up;
            i = up;
        }
        i as usize
    }

    pub(crate) fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        let (low, high) = (a.min(b), a.max(b));
        self.0[high] = low as u32;
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]
        #[test]
        fn sets_are_what_relabelling_says(pairs in prop::collection::vec((0..40usize, 0..40usize), 0..60)) {
            let mut sets = Sets::new(40);
            // the slow way: everyone in a set carries its smallest member
            let mut label: Vec<usize> = (0..40).collect();
            for (a, b) in pairs {
                sets.join(a, b);
                let (low, high) = (label[a].min(label[b]), label[a].max(label[b]));
                for l in label.iter_mut().filter(|l| **l == high) {
                    *l = low;
                }
            }
            for (i, l) in label.into_iter().enumerate() {
                prop_assert_eq!(sets.find(i), l);
            }
        }
    }
}
