//! What is kept of a sweep: rows as they are solved (the journal, which begins with the record of what
//! the sweep is), and at the end the table (`sweep.csv`) and its record (`sweep.json`). An older table
//! stays until the new one is whole.

use std::collections::BTreeMap;
use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

/// Cells of each row by the number of its combination, from 1.
pub type Rows = BTreeMap<usize, Vec<String>>;

/// What a sweep is: rows of two sweeps belong together only if these are the same.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Record {
    /// Version of the program.
    pub throwmap: String,
    /// Text of the job file.
    pub job: String,
    /// What is varied.
    pub vary: Vec<String>,
    /// How many combinations are spread over the ranges; all of them without.
    pub sample: Option<usize>,
    /// How many combinations there are in all.
    pub points: usize,
    /// Checksum of what the job means, with the files that it names.
    pub inputs: String,
    /// Which part of how many this is.
    pub part: Option<[usize; 2]>,
}

impl Record {
    /// Why rows of the other do not belong to this one; `None` if they do. Parts do not count.
    pub fn differs(&self, other: &Self) -> Option<&'static str> {
        if self.job != other.job {
            Some("the job file has another text")
        } else if self.vary != other.vary {
            Some("other values are varied")
        } else if self.sample != other.sample || self.points != other.points {
            Some("other combinations are solved")
        } else if self.throwmap != other.throwmap {
            Some("it was solved by another version of throwmap")
        } else if self.inputs != other.inputs {
            Some("a drawing or bath file that the job names has changed")
        } else {
            None
        }
    }

    /// As it is written.
    pub fn bytes(&self) -> Vec<u8> {
        // plain text and numbers: this cannot fail
        let mut bytes = serde_json::to_vec_pretty(self).unwrap_or_default();
        bytes.push(b'\n');
        bytes
    }

    /// Reads one; `None` if the file is not there.
    ///
    /// # Errors
    /// If it is there and cannot be read.
    pub fn read(path: &Path) -> io::Result<Option<Self>> {
        let bytes = bytes_of(path)?;
        bytes.map(|bytes| serde_json::from_slice(&bytes).map_err(io::Error::other)).transpose()
    }
}

/// The record of a table: `sweep.3of16.json` of `sweep.3of16.csv`.
pub fn record_path(table: &Path) -> PathBuf {
    table.with_extension("json")
}

/// The rows of a table; none if the file is not there.
///
/// # Errors
/// If it is there and cannot be read.
pub fn read_rows(path: &Path, columns: usize) -> io::Result<Rows> {
    Ok(rows_of(&bytes_of(path)?.unwrap_or_default(), columns))
}

/// What a sweep that was stopped has kept; `None` if there is no journal.
///
/// # Errors
/// If it is there and cannot be read, or does not begin with a record.
pub fn read_journal(path: &Path, columns: usize) -> io::Result<Option<(Record, Rows)>> {
    let Some(bytes) = bytes_of(path)? else { return Ok(None) };
    let first = reader(&bytes).into_records().next().and_then(Result::ok);
    let record = first.filter(|cells| cells.get(0) == Some(RECORD)).and_then(|cells| {
        let text = cells.get(1)?;
        serde_json::from_str(text).ok()
    });
    let unknown =
        || io::Error::new(io::ErrorKind::InvalidData, "it does not say of which sweep it is");
    Ok(Some((record.ok_or_else(unknown)?, rows_of(&bytes, columns))))
}

fn bytes_of(path: &Path) -> io::Result<Option<Vec<u8>>> {
    match std::fs::read(path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

fn reader(bytes: &[u8]) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes)
}

/// A line that was cut off in the middle, or has not `columns` cells, is left out.
fn rows_of(bytes: &[u8], columns: usize) -> Rows {
    let whole = bytes.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
    let mut rows = Rows::new();
    for record in reader(&bytes[..whole]).records().flatten() {
        let cells: Vec<String> = record.iter().map(str::to_owned).collect();
        // the first cell of a header or record is no number
        let number = cells.first().and_then(|cell| cell.parse::<usize>().ok());
        if let Some(number) = number.filter(|_| cells.len() == columns) {
            rows.insert(number, cells);
        }
    }
    rows
}

/// The table.
///
/// # Errors
/// None in practice: it is written to memory.
pub fn table_bytes(header: &[String], rows: &Rows) -> io::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(header).map_err(io::Error::other)?;
    for cells in rows.values() {
        writer.write_record(cells).map_err(io::Error::other)?;
    }
    writer.into_inner().map_err(|error| io::Error::other(error.to_string()))
}

/// First cell of a journal's first line.
const RECORD: &str = "record";

/// Rows as they are solved: a killed sweep loses what it was at, not what it had.
#[derive(Debug)]
pub struct Journal {
    file: File,
    failed: Option<io::Error>,
}

impl Journal {
    /// Begins that of the sweep `record` with the rows that are there already, in place of an older one.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn begin(path: &Path, record: &Record, rows: &Rows) -> io::Result<Self> {
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        std::fs::create_dir_all(folder)?;
        let mut new = tempfile::Builder::new().prefix(".throwmap-").tempfile_in(folder)?;
        new.write_all(&line(&[RECORD.to_owned(), serde_json::to_string(record)?])?)?;
        for cells in rows.values() {
            new.write_all(&line(cells)?)?;
        }
        new.as_file().sync_all()?;
        new.persist(path).map_err(|error| error.error)?;
        Ok(Self { file: OpenOptions::new().append(true).open(path)?, failed: None })
    }

    /// One more row; false after a failure, which [`Self::end`] tells.
    pub fn add(&mut self, cells: &[String]) -> bool {
        if self.failed.is_none() {
            // in one piece, so that a kill cuts off at most this line
            self.failed = line(cells).and_then(|line| self.file.write_all(&line)).err();
        }
        self.failed.is_none()
    }

    /// Whether all rows were written.
    ///
    /// # Errors
    /// The first failure.
    pub fn end(self) -> io::Result<()> {
        self.failed.map_or(Ok(()), Err)
    }
}

fn line(cells: &[String]) -> io::Result<Vec<u8>> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(cells).map_err(io::Error::other)?;
    writer.into_inner().map_err(|error| io::Error::other(error.to_string()))
}
