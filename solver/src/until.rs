//! How long a run is: stated as a time, as a charge, or as the thickness that it must reach.
//!
//! At a steady current every thickness and every charge grows in proportion to time, so one solve
//! gives the time for any of them exactly: `t = wanted / (growth in one second)`.
use crate::deposit::Deposit;
use crate::layout::Role;
use crate::quantity::{Charge, Length, Time};
use crate::solution::BodyResult;

/// How long a run is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RunLength {
    /// As long as this.
    Time(Time),
    /// Until the supply has delivered this.
    Charge(Charge),
    /// Until every significant place of every part has at least this.
    Thickness(Length),
}

/// Why a run never ends.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum RunError {
    /// A place that counts gets no metal.
    #[error("a place that must reach the thickness gets no metal: no time is long enough")]
    Bare,
    /// There is no current.
    #[error("the supply delivers no current: no time is long enough")]
    NoCurrent,
}

/// The least thickness on the parts, m, over the stretches that `significant` marks for each body
/// (all of them where it says nothing); `None` without a part.
pub fn least_on_parts(
    deposit: &Deposit,
    bodies: &[BodyResult],
    significant: Option<&[Vec<bool>]>,
) -> Option<f64> {
    on_parts(deposit, bodies, significant).reduce(f64::min)
}

/// The greatest, as [`least_on_parts`].
pub fn greatest_on_parts(
    deposit: &Deposit,
    bodies: &[BodyResult],
    significant: Option<&[Vec<bool>]>,
) -> Option<f64> {
    on_parts(deposit, bodies, significant).reduce(f64::max)
}

fn on_parts<'a>(
    deposit: &'a Deposit,
    bodies: &'a [BodyResult],
    significant: Option<&'a [Vec<bool>]>,
) -> impl Iterator<Item = f64> + 'a {
    let parts = deposit.bodies.iter().filter(|d| bodies[d.body].role == Role::Part);
    parts.flat_map(move |d| {
        let marks = significant.and_then(|all| all.get(d.body));
        let counts = move |row: usize| marks.is_none_or(|m| m.get(row).copied().unwrap_or(true));
        d.thickness_m.iter().enumerate().filter(move |(row, _)| counts(*row)).map(|(_, t)| *t)
    })
}

impl RunLength {
    /// The plating time, given what one second deposits and the mean current of the supply.
    ///
    /// # Errors
    /// [`RunError`] if that never happens.
    pub fn time(
        &self,
        one_second: &Deposit,
        bodies: &[BodyResult],
        significant: Option<&[Vec<bool>]>,
        current_a: f64,
    ) -> Result<Time, RunError> {
        match *self {
            Self::Time(time) => Ok(time),
            Self::Charge(_) if current_a <= 0.0 => Err(RunError::NoCurrent),
            Self::Charge(charge) => Ok(Time::new(charge.si() / current_a)),
            Self::Thickness(wanted) => match least_on_parts(one_second, bodies, significant) {
                Some(least) if least > 0.0 => Ok(Time::new(wanted.si() / least)),
                _ => Err(RunError::Bare),
            },
        }
    }
}
