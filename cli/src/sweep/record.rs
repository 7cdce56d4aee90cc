//! What is kept of a sweep: the record of what it is (`sweep.json`), rows as they are solved (the
//! journal), and the table at the end (`sweep.csv`).

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
        match std::fs::read(path) {
            Ok(bytes) => serde_json::from_slice(&bytes).map(Some).map_err(io::Error::other),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }
}

/// The record of a table: `sweep.3of16.json` of `sweep.3of16.csv`.
pub fn record_path(table: &Path) -> PathBuf {
    table.with_extension("json")
}

/// The rows of a table or journal; a line that was cut off in the middle, or has not `columns`
/// cells, is left out. No rows if the file is not there.
///
/// # Errors
/// If it is there and cannot be read.
pub fn read_rows(path: &Path, columns: usize) -> io::Result<Rows> {
    let bytes = match std::fs::read(path) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Rows::new()),
        Err(error) => return Err(error),
    };
    let whole = bytes.iter().rposition(|b| *b == b'\n').map_or(0, |at| at + 1);
    let mut reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(&bytes[..whole]);
    let mut rows = Rows::new();
    for record in reader.records().flatten() {
        let cells: Vec<String> = record.iter().map(str::to_owned).collect();
        // the header's first cell is no number
        let number = cells.first().and_then(|cell| cell.parse::<usize>().ok());
        if let Some(number) = number.filter(|_| cells.len() == columns) {
            rows.insert(number, cells);
        }
    }
    Ok(rows)
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

/// Rows as they are solved: a killed sweep loses what it was at, not what it had.
#[derive(Debug)]
pub struct Journal {
    file: File,
    failed: Option<io::Error>,
}

impl Journal {
    /// Begins one with the rows that are there already, in place of an older one.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn begin(path: &Path, rows: &Rows) -> io::Result<Self> {
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        std::fs::create_dir_all(folder)?;
        let mut new = tempfile::Builder::new().prefix(".throwmap-").tempfile_in(folder)?;
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
