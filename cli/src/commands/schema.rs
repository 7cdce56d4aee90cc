//! `throwmap schema`: the JSON Schema of job files, or of `summary.json`. Doc comments of the tables
//! are hover texts.

use std::io;

use schemars::Schema;
use schemars::generate::SchemaSettings;

use crate::args::SchemaOptions;
use crate::exit::ExitStatus;
use crate::job::JobTable;
use crate::output::summary_schema;
use crate::terminal::Streams;

/// The schema; draft-07 is what editors' TOML plugins read best.
pub fn schema() -> Schema {
    SchemaSettings::draft07().into_generator().into_root_schema_for::<JobTable>()
}

/// Prints it, or that of summaries.
pub fn run(options: &SchemaOptions, streams: &mut Streams<'_>) -> io::Result<ExitStatus> {
    let wanted = if options.summary { summary_schema() } else { schema() };
    let text = serde_json::to_string_pretty(&wanted).map_err(io::Error::other)?;
    writeln!(streams.out, "{text}")?;
    Ok(ExitStatus::Done)
}
