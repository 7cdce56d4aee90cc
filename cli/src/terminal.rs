//! Where words go: streams, and whether they may have colour and motion.

use std::io::{IsTerminal, Write};

use clap::ValueEnum;

/// What the terminal can show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Terminal {
    /// Colour in messages.
    pub colour: bool,
    /// A progress line.
    pub progress: bool,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Colour {
    /// On a terminal, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

impl Terminal {
    /// Neither colour nor motion.
    pub const fn plain() -> Self {
        Self { colour: false, progress: false }
    }

    /// What the standard error of this process can show; honours NO_COLOR, CLICOLOR_FORCE and
    /// TERM=dumb.
    pub fn detect() -> Self {
        let stderr = std::io::stderr();
        let colour = anstream::AutoStream::choice(&stderr) != anstream::ColorChoice::Never;
        Self { colour, progress: stderr.is_terminal() }
    }

    /// The same with the user's wish about colour.
    #[must_use]
    pub const fn with_colour(self, wish: Colour) -> Self {
        match wish {
            Colour::Auto => self,
            Colour::Always => Self { colour: true, ..self },
            Colour::Never => Self { colour: false, ..self },
        }
    }
}

/// The streams of one command.
pub struct Streams<'a> {
    /// Results.
    pub out: &'a mut dyn Write,
    /// Words for people.
    pub err: &'a mut dyn Write,
    /// What `err` can show.
    pub terminal: Terminal,
}
