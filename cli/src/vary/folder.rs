//! A job file written into another folder: the files that it names are named from there.

use std::path::{Component, Path, PathBuf};

use toml_edit::{DocumentMut, Item, Value};

use crate::bath::path_beside;
use crate::document::{ROLES, set};

/// The file that is read where a job names no bath file.
const BATHS: &str = "baths.toml";

/// Makes the files that `doc` names, the text of the job file `job`, right for the folder `to`.
pub fn rebase(doc: &mut DocumentMut, job: &str, to: &Path) {
    let from =
        if job == "-" { Path::new("") } else { Path::new(job).parent().unwrap_or(Path::new("")) };
    let (from, to) = (absolute(from), absolute(to));
    if from == to {
        return;
    }
    let moved = |name: &str| match Path::new(name).is_absolute() {
        true => name.to_owned(),
        false => relative(&from.join(name), &to),
    };
    if let Some(bath) = doc.get_mut("bath").and_then(Item::as_table_like_mut) {
        let named = bath.get("file").and_then(Item::as_str).map(str::to_owned);
        let silent = || path_beside(job, BATHS).is_file().then(|| BATHS.to_owned());
        if let Some(name) = named.or_else(silent) {
            set(bath, "file", Value::from(moved(&name)));
        }
    }
    let rename = |shape: Option<&mut Item>| {
        let Some(file) = shape.and_then(|s| s.as_table_like_mut()?.get_mut("file")) else { return };
        let name = file.get("name").and_then(Item::as_str).map(&moved);
        if let (Some(name), Some(table)) = (name, file.as_table_like_mut()) {
            set(table, "name", Value::from(name));
        }
    };
    let tank = doc.get_mut("tank").and_then(Item::as_table_like_mut);
    rename(tank.and_then(|tank| tank.get_mut("outline")));
    for role in ROLES {
        let Some(item) = doc.get_mut(role) else { continue };
        let count = match &*item {
            Item::ArrayOfTables(list) => list.len(),
            item => item.as_array().map_or(0, toml_edit::Array::len),
        };
        if count == 0 {
            rename(Some(item));
        }
        for k in 0..count {
            rename(item.get_mut(k));
        }
    }
}

/// A path from the root, without `.` and `..` where that can be told without looking.
fn absolute(path: &Path) -> PathBuf {
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    if let Ok(real) = path.canonicalize() {
        return real;
    }
    // a folder that is not there yet: its nearest ancestor may be reached through a link
    match (path.parent(), path.file_name()) {
        (Some(parent), Some(name)) if !path.as_os_str().is_empty() => absolute(parent).join(name),
        _ => std::path::absolute(path).unwrap_or_else(|_| path.to_owned()),
    }
}

/// `file` as seen from the folder `from`, both from the root.
fn relative(file: &Path, from: &Path) -> String {
    let (a, b): (Vec<Component<'_>>, Vec<Component<'_>>) =
        (file.components().collect(), from.components().collect());
    let common = a.iter().zip(&b).take_while(|(a, b)| a == b).count();
    if common == 0 {
        return file.to_string_lossy().into_owned();
    }
    let up = std::iter::repeat_n(Component::ParentDir, b.len() - common);
    let path: PathBuf = up.chain(a[common..].iter().copied()).collect();
    path.to_string_lossy().replace('\\', "/")
}
