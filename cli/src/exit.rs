//! The exit status: part of the interface, so scripts can rely on its numbers.

use std::process::ExitCode;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExitStatus {
    /// Done, and within what the job wants.
    Done = 0,
    /// Done, but what `[want]` states is missed.
    WantMissed = 1,
    /// Wrong usage, or a job file that cannot be used.
    BadInput = 2,
    /// The solver did not reach an answer.
    NotSolved = 3,
    /// A result cannot be written.
    Io = 4,
    /// Stopped by Ctrl-C; what is done is kept.
    Interrupted = 130,
}

impl From<ExitStatus> for ExitCode {
    fn from(status: ExitStatus) -> Self {
        Self::from(status as u8)
    }
}
