//! `throwmap init`: a starter that solves at once.

use std::io;
use std::path::Path;

use crate::args::InitOptions;
use crate::exit::ExitStatus;
use crate::files;
use crate::terminal::Streams;

/// The starter.
pub const STARTER: &str = include_str!("starter.toml");

/// Writes it to a new file.
pub fn run(options: &InitOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    if options.file == Path::new("-") {
        streams.out.write_all(STARTER.as_bytes())?;
        return Ok(ExitStatus::Done);
    }
    match files::write_new(&options.file, STARTER.as_bytes()) {
        Ok(()) => {
            let name = options.file.display();
            writeln!(streams.out, "wrote {name}; next: throwmap run {name}")?;
            Ok(ExitStatus::Done)
        }
        Err(files::FileError::Exists(path)) => {
            writeln!(
                streams.err,
                "error: `{}` exists and is left as it is; name another file",
                path.display()
            )?;
            Ok(ExitStatus::Io)
        }
        Err(error) => {
            writeln!(streams.err, "error: {error}")?;
            Ok(ExitStatus::Io)
        }
    }
}
