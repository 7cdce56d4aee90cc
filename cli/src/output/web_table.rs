//! A table of words on a page; `templates/table.html` draws it.

/// A table of words.
#[derive(Debug, Default)]
pub struct Table {
    /// What it says.
    pub caption: String,
    /// For the style.
    pub class: &'static str,
    /// Names of the columns.
    pub head: Vec<String>,
    /// The first cell of a row names it.
    pub rows: Vec<Vec<String>>,
}

/// The same words with spaces that do not break, where they are one number or a few.
fn unbroken(cell: &str) -> String {
    let (head, tail) = cell.split_at(cell.find(", ").unwrap_or(cell.len()));
    if head.chars().count() > 24 { cell.to_owned() } else { head.replace(' ', "\u{a0}") + tail }
}

impl Table {
    /// One more row.
    pub fn push(&mut self, row: Vec<String>) {
        self.rows.push(row.iter().map(|cell| unbroken(cell)).collect());
    }

    /// A table without rows.
    pub fn new(caption: impl Into<String>, head: &[&str]) -> Self {
        let head = head.iter().map(|word| (*word).to_owned()).collect();
        Self { caption: caption.into(), class: "", head, rows: Vec::new() }
    }

    /// For the style: `long` and `values` print six rows, `screen` none.
    pub fn of_class(mut self, class: &'static str) -> Self {
        self.class = class;
        self
    }
}
