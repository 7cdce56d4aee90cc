//! The significant surface: where the specification holds, and what is measured there.
//!
//! Thickness is wanted where the article is seen or worn, not in the depth of a bore. A body says
//! which stretches of its outline that is; the surface plan puts breaks at their ends, so that no
//! row of the results is half significant.

use shapes::Point;

use crate::layout::{Body, Layout, Span};
use crate::solution::{BodyResult, Solution, Spread};

/// The stretches of a body's outline that its specification is about. Masked ones never are.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Significance {
    /// These; `None` for the whole outline.
    pub only: Option<Vec<Span>>,
    /// Without these.
    pub except: Vec<Span>,
}

impl Body {
    /// True where the specification holds at arc length `s_m` of a loop.
    pub fn is_significant(&self, loop_index: usize, s_m: f64) -> bool {
        let Some(curve) = self.outline.loops().get(loop_index) else { return false };
        let total = curve.length();
        let on = |spans: &[Span]| spans.iter().any(|span| span.holds(loop_index, s_m, total));
        let Significance { only, except } = &self.significant;
        only.as_ref().is_none_or(|only| on(only)) && !on(except) && !on(&self.masked)
    }

    /// True where arc length `s_m` of a loop is stopped off.
    pub fn is_masked(&self, loop_index: usize, s_m: f64) -> bool {
        let Some(curve) = self.outline.loops().get(loop_index) else { return false };
        self.masked.iter().any(|span| span.holds(loop_index, s_m, curve.length()))
    }

    /// True if every marked stretch runs forward along a loop that there is, once round at most.
    pub(crate) fn has_sound_spans(&self) -> bool {
        let Significance { only, except } = &self.significant;
        let mut spans = self.masked.iter().chain(only.iter().flatten()).chain(except);
        spans.all(|span| {
            let total = self.outline.loops().get(span.loop_index).map_or(0.0, |l| l.length());
            let length = span.to_m - span.from_m;
            // a whole turn may be rounded up
            span.from_m.is_finite() && length > 0.0 && length <= total * (1.0 + 1e-9)
        })
    }

    /// True if no metal is left bare to the bath.
    pub(crate) fn is_masked_all_over(&self) -> bool {
        (0..self.outline.loops().len()).all(|l| {
            let total = self.outline.loops()[l].length();
            let mut ends: Vec<f64> = self.mask_ends(l).map(|s| s.rem_euclid(total)).collect();
            ends.sort_by(f64::total_cmp);
            let Some(&first) = ends.first() else { return false };
            ends.push(first + total);
            // gaps of no width are none
            let bare = |pair: &[f64]| {
                pair[1] - pair[0] > 1e-9 * total && !self.is_masked(l, 0.5 * (pair[0] + pair[1]))
            };
            !ends.windows(2).any(bare)
        })
    }

    /// Arc lengths on a loop where a mask begins or ends.
    pub(crate) fn mask_ends(&self, loop_index: usize) -> impl Iterator<Item = f64> + '_ {
        ends(&self.masked, loop_index)
    }

    /// Arc lengths on a loop where significance begins or ends.
    pub(crate) fn significant_ends(&self, loop_index: usize) -> impl Iterator<Item = f64> + '_ {
        let Significance { only, except } = &self.significant;
        let only = only.as_deref().unwrap_or_default();
        ends(only, loop_index).chain(ends(except, loop_index))
    }
}

fn ends(spans: &[Span], loop_index: usize) -> impl Iterator<Item = f64> + '_ {
    let own = spans.iter().filter(move |span| span.loop_index == loop_index);
    own.flat_map(|span| [span.from_m, span.to_m])
}

impl Layout {
    /// For each body, for each of its result rows, whether the specification holds there.
    pub fn significant_rows(&self, solution: &Solution) -> Vec<Vec<bool>> {
        let rows = |(body, result): (&Body, &BodyResult)| {
            let on = result.stretches.iter().map(|s| body.is_significant(s.loop_index, s.s_m));
            on.collect()
        };
        self.bodies.iter().zip(&solution.bodies).map(rows).collect()
    }
}

impl Spread {
    /// As [`Spread::of`] over the rows of `body` for which `on` is true (missing: false).
    pub fn of_rows(
        body: &BodyResult,
        on: &[bool],
        values: &[f64],
        uncertainties: &[f64],
    ) -> Option<Self> {
        let rows = body.stretches.iter().zip(on).filter(|(_, on)| **on).map(|(row, _)| row);
        let (areas, places): (Vec<f64>, Vec<Point>) = rows.map(|r| (r.area_m2, r.at)).unzip();
        let kept = |column: &[f64]| -> Vec<f64> {
            column.iter().zip(on).filter(|(_, on)| **on).map(|(v, _)| *v).collect()
        };
        Self::of(&kept(values), &areas, &places, &kept(uncertainties))
    }
}

#[cfg(test)]
mod tests;
