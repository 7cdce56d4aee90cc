//! Writes results so that nothing is ever half written and nothing is overwritten by accident.
//!
//! [`Destination::check`] refuses names that are taken before any work is done; [`Destination::write`]
//! writes every file under a temporary name in the same folder and renames all of them at the end.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

/// Where the results of one command go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Destination {
    folder: PathBuf,
    prefix: String,
    overwrite: bool,
    input: Option<PathBuf>,
}

/// Why results cannot be written.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// A result of that name is there.
    #[error("`{}` exists: use --force to write over it, or --out-dir for another folder", .0.display())]
    Exists(PathBuf),
    /// A result would replace the job file.
    #[error("`{}` is the job file: results never go over it", .0.display())]
    IsInput(PathBuf),
    /// Two results would get the same name.
    #[error("`{}` is asked for twice", .0.display())]
    Twice(PathBuf),
    /// A folder or another thing that is not a file has that name.
    #[error("`{}` is not a file", .0.display())]
    NotAFile(PathBuf),
    /// The system refuses.
    #[error("cannot write `{}`: {error}", path.display())]
    System {
        /// Which file or folder.
        path: PathBuf,
        /// Why.
        error: io::Error,
    },
}

impl Destination {
    /// Results of the job file `job`: `<stem>.<kind>` in this folder, or `<kind>` in `out_dir`.
    pub fn new(job: &str, out_dir: Option<&Path>, overwrite: bool) -> Self {
        let stem = if job == "-" { None } else { Path::new(job).file_stem() };
        let stem = stem.map_or("job".into(), |stem| stem.to_string_lossy());
        let (folder, prefix) = match out_dir {
            Some(folder) => (folder.to_owned(), String::new()),
            None => (PathBuf::new(), format!("{stem}.")),
        };
        let input = if job == "-" { None } else { Some(PathBuf::from(job)) };
        Self { folder, prefix, overwrite, input }
    }

    /// The path of a result of this kind, such as `map.png`.
    pub fn path(&self, kind: &str) -> PathBuf {
        self.folder.join(format!("{}{kind}", self.prefix))
    }

    /// Refuses, before any work, if a result could not be written to one of `paths`.
    ///
    /// # Errors
    /// [`FileError`] with the first name that is taken.
    pub fn check(&self, paths: &[PathBuf]) -> Result<(), FileError> {
        let input = self.input.as_ref().and_then(|path| fs::canonicalize(path).ok());
        for (k, path) in paths.iter().enumerate() {
            if paths[..k].contains(path) {
                return Err(FileError::Twice(path.clone()));
            }
            let folder = folder(path);
            if folder.exists() && !folder.is_dir() {
                return Err(FileError::NotAFile(folder.to_owned()));
            }
            // a dangling link has no target, but its name is taken
            let Ok(there) = fs::symlink_metadata(path) else {
                continue;
            };
            if input.is_some() && fs::canonicalize(path).ok() == input {
                return Err(FileError::IsInput(path.clone()));
            }
            if there.is_dir() {
                return Err(FileError::NotAFile(path.clone()));
            }
            if !self.overwrite {
                return Err(FileError::Exists(path.clone()));
            }
        }
        Ok(())
    }

    /// Writes all of `results` (path and content), or none: a failure leaves earlier files as they
    /// were. Returns the paths.
    ///
    /// # Errors
    /// [`FileError`] as [`Self::check`], or what the system says.
    pub fn write(&self, results: Vec<(PathBuf, Vec<u8>)>) -> Result<Vec<PathBuf>, FileError> {
        let paths: Vec<PathBuf> = results.iter().map(|(path, _)| path.clone()).collect();
        self.check(&paths)?;
        let mut ready = Vec::with_capacity(results.len());
        for (path, content) in results {
            let folder = folder(&path);
            fs::create_dir_all(folder)
                .map_err(|error| FileError::System { path: folder.to_owned(), error })?;
            let written = temporary(folder, &content);
            ready.push((
                written.map_err(|error| FileError::System { path: path.clone(), error })?,
                path,
            ));
        }
        let mut paths = Vec::with_capacity(ready.len());
        for (file, path) in ready {
            if let Err(error) = publish(file, &path, self.overwrite) {
                // what this call has put in place under new names is taken away again
                if !self.overwrite {
                    for done in &paths {
                        let _ = fs::remove_file(done);
                    }
                }
                return Err(FileError::System { path, error });
            }
            paths.push(path);
        }
        Ok(paths)
    }
}

/// The folder of a path.
fn folder(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Writes one new file under its final name in one step; never over another.
///
/// # Errors
/// [`FileError`] if the name is taken or the system refuses.
pub fn write_new(path: &Path, content: &[u8]) -> Result<(), FileError> {
    if fs::symlink_metadata(path).is_ok() {
        return Err(FileError::Exists(path.to_owned()));
    }
    let made = temporary(folder(path), content).and_then(|file| publish(file, path, false));
    made.map_err(|error| FileError::System { path: path.to_owned(), error })
}

fn temporary(folder: &Path, content: &[u8]) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".throwmap-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // results are for everyone, as any new file; the system's mask still applies
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(content)?;
    file.as_file().sync_all()?;
    Ok(file)
}

fn publish(file: NamedTempFile, path: &Path, overwrite: bool) -> io::Result<()> {
    let done = if overwrite { file.persist(path) } else { file.persist_noclobber(path) };
    done.map(|_| ()).map_err(|error| error.error)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_written_if_one_name_is_taken() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let results = Destination::new("cup.toml", Some(folder.path()), false);
        fs::write(results.path("b.csv"), "old").expect("writable");
        let both = || ["a.csv", "b.csv"].map(|kind| (results.path(kind), b"new".to_vec())).to_vec();
        assert!(matches!(results.write(both()), Err(FileError::Exists(_))));
        assert!(!results.path("a.csv").exists());
        assert_eq!(fs::read(results.path("b.csv")).expect("still there"), b"old");
        let forced = Destination::new("cup.toml", Some(folder.path()), true);
        forced.write(both()).expect("forced");
        let twice = vec![(results.path("a.csv"), Vec::new()); 2];
        assert!(matches!(forced.write(twice), Err(FileError::Twice(_))));
        assert_eq!(fs::read(results.path("b.csv")).expect("replaced"), b"new");
        assert_eq!(fs::read_dir(folder.path()).expect("readable").count(), 2, "no leftovers");
    }

    #[test]
    fn the_job_file_is_never_replaced() {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let job = folder.path().join("map.png");
        fs::write(&job, "job").expect("writable");
        let results = Destination::new(&job.to_string_lossy(), Some(folder.path()), true);
        assert!(matches!(results.check(&[results.path("map.png")]), Err(FileError::IsInput(_))));
    }

    #[test]
    fn names_come_from_the_job_without_a_folder() {
        let results = Destination::new("jobs/cup.toml", None, false);
        assert_eq!(results.path("map.png"), Path::new("cup.map.png"));
        assert_eq!(Destination::new("-", None, false).path("map.png"), Path::new("job.map.png"));
    }
}
