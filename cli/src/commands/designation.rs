//! `throwmap designation`: what a coating designation asks for, in words.

use std::io;

use crate::args::DesignationOptions;
use crate::designation::{Coating, ServiceClass, explain, explain_class, parse};
use crate::diagnostic::{Diagnostic, Source};
use crate::exit::ExitStatus;
use crate::terminal::Streams;

/// Explains one designation, or lists the service classes.
pub fn run(options: &DesignationOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let Some(text) = &options.text else {
        for class in ServiceClass::ALL {
            for line in explain_class(class, None) {
                writeln!(streams.out, "{line}")?;
            }
            writeln!(streams.out)?;
        }
        return Ok(ExitStatus::Done);
    };
    match parse(text) {
        Ok(coating) => {
            let lines = match &coating {
                Coating::Layers(designation) => explain(designation),
                Coating::Class { basis, class } => explain_class(*class, *basis),
            };
            for line in lines {
                writeln!(streams.out, "{line}")?;
            }
            Ok(ExitStatus::Done)
        }
        Err(error) => {
            let source = Source { name: "designation".into(), text: text.clone() };
            let message = Diagnostic::error("E018", error.message).at(error.span, "here");
            let message = message.help(error.hint).render(&source, streams.terminal.colour);
            writeln!(streams.err, "{message}")?;
            Ok(ExitStatus::BadInput)
        }
    }
}
