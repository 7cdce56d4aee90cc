//! Gets the text of a job file, or says why there is none.

use std::fs;
use std::io::{ErrorKind, Read};

use crate::diagnostic::{Diagnostic, Source};

/// Largest job file that is read: a thousand times the size of an example.
const MAX_BYTES: u64 = 8 << 20;

/// Reads the job file `name`; `-` is the standard input.
///
/// # Errors
/// A message that names the file, if it is missing, a folder, too large, or not text.
pub fn load(name: &str) -> Result<Source, Box<Diagnostic>> {
    let fail =
        |message: String, help: &str| Err(Box::new(Diagnostic::error("E001", message).help(help)));
    let mut bytes = Vec::new();
    let read = if name == "-" {
        std::io::stdin().take(MAX_BYTES + 1).read_to_end(&mut bytes)
    } else if fs::metadata(name).is_ok_and(|meta| meta.is_dir()) {
        return fail(format!("`{name}` is a folder, not a job file"), "name the .toml file in it");
    } else {
        fs::File::open(name).and_then(|file| file.take(MAX_BYTES + 1).read_to_end(&mut bytes))
    };
    if let Err(error) = read {
        let help = match error.kind() {
            ErrorKind::NotFound => "`throwmap init FILE` writes a starter",
            _ => "check its name and permissions",
        };
        return fail(format!("cannot read `{name}`: {error}"), help);
    }
    if bytes.len() as u64 > MAX_BYTES {
        return fail(format!("`{name}` is larger than 8 MB"), "a job file is a few pages of text");
    }
    if bytes.contains(&0) {
        return fail(format!("`{name}` is a binary file"), "a job file is TOML text");
    }
    match String::from_utf8(bytes) {
        Ok(text) if text.trim().is_empty() => {
            fail(format!("`{name}` is empty"), "`throwmap init FILE` writes a starter")
        }
        Ok(text) => Ok(Source { name: name.to_owned(), text }),
        Err(error) => {
            let good = error.utf8_error().valid_up_to();
            let line = error.as_bytes()[..good].iter().filter(|b| **b == b'\n').count() + 1;
            fail(format!("`{name}` is not UTF-8 text (line {line})"), "save it as UTF-8")
        }
    }
}
