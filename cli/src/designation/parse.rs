//! Reads a designation; spaces are free, everything else is strict.

use std::ops::Range;

use super::classes::{self, ServiceClass};
use super::model::{Basis, Coat, Coating, Designation, Finish, Kind, Metal};

/// Thicker coatings than this are a slip of the pen, µm.
const MOST_UM: f64 = 1000.0;
/// Longest text that is looked at.
const MAX_LENGTH: usize = 200;

/// Why a text is no designation.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct DesignationError {
    /// Bytes of the text at fault; empty at its end.
    pub span: Range<usize>,
    /// What is wrong.
    pub message: String,
    /// What to write instead.
    pub hint: String,
}

/// Reads `text`.
///
/// # Errors
/// [`DesignationError`] with the first place at fault.
pub fn parse(text: &str) -> Result<Coating, DesignationError> {
    let mut scan = Scan { text, at: 0 };
    if text.len() > MAX_LENGTH {
        return Err(scan.fault(0..text.len(), "a designation is one short line", FORMS));
    }
    scan.spaces();
    if let Some(class) = scan.class()? {
        scan.end()?;
        return Ok(Coating::Class { basis: None, class });
    }
    let basis = scan.basis()?;
    scan.spaces();
    if !scan.takes("/") {
        if let Some(class) = scan.class()? {
            scan.end()?;
            return Ok(Coating::Class { basis: Some(basis), class });
        }
        let what = format!("a stroke wanted after {}", basis.symbol());
        return Err(scan.here(what, FORMS));
    }
    let coats = scan.coats()?;
    let zinc = coats.iter().any(|(coat, _)| coat.metal == Metal::Zinc);
    let finishes = scan.finishes(zinc)?;
    scan.spaces();
    let class = scan.class()?;
    scan.end()?;
    order(&scan, basis, &coats)?;
    let coats = coats.into_iter().map(|(coat, _)| coat).collect();
    let designation = Designation { basis, coats, finishes, class };
    if let Some(fault) = classes::shortfall(&designation) {
        return Err(scan.fault(0..text.len(), fault, "take the class out, or more metal"));
    }
    Ok(Coating::Layers(designation))
}

const FORMS: &str = "like \"Fe/Cu20 Ni30b Cr r\", \"Zn/Cu5 Ni25d Cr mc\", \"Fe/Zn12\" or \"SC3\"";

/// What a designation may be made of: order and completeness.
fn order(
    scan: &Scan<'_>,
    basis: Basis,
    coats: &[(Coat, Range<usize>)],
) -> Result<(), DesignationError> {
    let mut before: Option<Metal> = None;
    for (coat, span) in coats {
        let symbol = coat.metal.symbol();
        let fault = |message: String, hint: &str| Err(scan.fault(span.clone(), message, hint));
        match (before, coat.metal) {
            (None, Metal::Copper | Metal::Nickel)
            | (Some(Metal::Copper), Metal::Nickel)
            | (Some(Metal::Nickel), Metal::Chromium) => {}
            (None, Metal::Zinc) if basis == Basis::Steel => {}
            (None, Metal::Zinc) => {
                return fault(
                    "zinc coatings of ISO 2081 and ASTM B633 are on iron or steel".into(),
                    "write Fe before the stroke",
                );
            }
            (_, Metal::Zinc) | (Some(Metal::Zinc), _) => {
                return fault(
                    "zinc stands alone".into(),
                    "a zinc coating has no other metal over or under it",
                );
            }
            _ => {
                return fault(
                    format!("{symbol} is out of place here"),
                    "from the basis outwards: copper (if any), nickel, chromium (if any), each once",
                );
            }
        }
        let kinds = coat.metal.kinds();
        if coat.kind.is_none() && matches!(coat.metal, Metal::Nickel | Metal::Chromium) {
            return fault(format!("{symbol} needs its letter"), &letters(kinds));
        }
        if coat.stated_um.is_none() && coat.metal != Metal::Chromium {
            return fault(
                format!("{symbol} needs its least thickness in µm"),
                &format!("like {symbol}{}", if coat.metal == Metal::Zinc { "12" } else { "20" }),
            );
        }
        before = Some(coat.metal);
    }
    match coats.last() {
        Some((Coat { metal: Metal::Copper, .. }, span)) => Err(scan.fault(
            span.clone(),
            "copper alone is no coating of these standards",
            "nickel follows, like Ni20b; for copper alone state [want] min_thickness",
        )),
        _ => Ok(()),
    }
}

/// The letters of a metal, for a hint.
fn letters(kinds: &[Kind]) -> String {
    let words: Vec<String> =
        kinds.iter().map(|kind| format!("{} ({})", kind.letters(), kind.words())).collect();
    format!("one of: {}", words.join("; "))
}

struct Scan<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Scan<'t> {
    fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn spaces(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
    }

    fn takes(&mut self, word: &str) -> bool {
        let found = self.rest().starts_with(word);
        if found {
            self.at += word.len();
        }
        found
    }

    /// Takes the characters at the front that are `wanted`.
    fn run(&mut self, wanted: impl Fn(char) -> bool) -> &'t str {
        let rest = self.rest();
        let end = rest.find(|c| !wanted(c)).unwrap_or(rest.len());
        self.at += end;
        &rest[..end]
    }

    fn fault(
        &self,
        span: Range<usize>,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) -> DesignationError {
        DesignationError { span, message: message.into(), hint: hint.into() }
    }

    /// A fault at the next word.
    fn here(&self, message: impl Into<String>, hint: impl Into<String>) -> DesignationError {
        let rest = self.rest();
        let stop = |c: char| c.is_whitespace() || c == '/';
        let first = rest.chars().next().map_or(0, char::len_utf8);
        let end = rest.find(stop).unwrap_or(rest.len()).max(first);
        self.fault(self.at..self.at + end, message, hint)
    }

    fn end(&mut self) -> Result<(), DesignationError> {
        self.spaces();
        if self.rest().is_empty() {
            return Ok(());
        }
        Err(self.here("nothing is wanted here any more", FORMS))
    }

    fn class(&mut self) -> Result<Option<ServiceClass>, DesignationError> {
        let start = self.at;
        if !self.takes("SC") {
            return Ok(None);
        }
        self.spaces();
        let number = self.run(|c| c.is_ascii_alphanumeric());
        match ServiceClass::of(number) {
            Some(class) => Ok(Some(class)),
            None => Err(self.fault(
                start..self.at,
                "no such service class",
                "SC1 (mild) to SC5 (extended very severe)",
            )),
        }
    }

    fn basis(&mut self) -> Result<Basis, DesignationError> {
        if self.rest().is_empty() {
            return Err(self.here("nothing is designated", FORMS));
        }
        let found = Basis::ALL.into_iter().find(|basis| self.rest().starts_with(basis.symbol()));
        if let Some(basis) = found {
            self.at += basis.symbol().len();
            return Ok(basis);
        }
        let known: Vec<String> = Basis::ALL
            .iter()
            .map(|basis| format!("{} ({})", basis.symbol(), basis.words()))
            .collect();
        let hint = format!("before the stroke stands what is plated: {}", known.join(", "));
        let start = self.at;
        let word = self.run(|c| c.is_alphanumeric());
        let same = Basis::ALL.iter().find(|b| b.symbol().eq_ignore_ascii_case(word));
        let hint = match same {
            Some(basis) => format!("write {}", basis.symbol()),
            None => hint,
        };
        self.at = start;
        Err(self.here("no basis metal of these standards", hint))
    }

    fn coats(&mut self) -> Result<Vec<(Coat, Range<usize>)>, DesignationError> {
        let mut coats = Vec::new();
        loop {
            self.spaces();
            let back = self.at;
            // some write strokes between the layers as well
            if !coats.is_empty() && self.takes("/") {
                self.spaces();
            }
            let start = self.at;
            let metal = Metal::ALL.into_iter().find(|m| self.rest().starts_with(m.symbol()));
            let Some(metal) = metal else {
                self.at = back;
                if coats.is_empty() {
                    return Err(self.here(
                        "a coating wanted: Cu, Ni, Cr or Zn",
                        format!("symbols begin with a capital letter; {FORMS}"),
                    ));
                }
                return Ok(coats);
            };
            self.at += metal.symbol().len();
            let stated_um = self.thickness()?;
            let kind = self.kind(metal)?;
            coats.push((Coat { metal, stated_um, kind }, start..self.at));
        }
    }

    fn thickness(&mut self) -> Result<Option<f64>, DesignationError> {
        let back = self.at;
        self.spaces();
        let start = self.at;
        let digits = self.run(|c| c.is_ascii_digit() || c == '.');
        if digits.is_empty() {
            self.at = back;
            return Ok(None);
        }
        let um: Option<f64> = digits.parse().ok().filter(|um| *um > 0.0 && *um <= MOST_UM);
        // 5 and 0.3, but not 5. or .3
        let plain = digits.starts_with(|c: char| c.is_ascii_digit())
            && digits.ends_with(|c: char| c.is_ascii_digit());
        match um.filter(|_| plain) {
            Some(um) => Ok(Some(um)),
            None => Err(self.fault(
                start..self.at,
                "no thickness in µm",
                "a plain number above 0 and at most 1000, like 20 or 0.3",
            )),
        }
    }

    fn kind(&mut self, metal: Metal) -> Result<Option<Kind>, DesignationError> {
        let back = self.at;
        self.spaces();
        let start = self.at;
        let word = self.run(|c| c.is_ascii_lowercase());
        // "type II" belongs to what follows
        if word.is_empty() || (word == "type" && metal == Metal::Zinc) {
            self.at = back;
            return Ok(None);
        }
        let kinds = metal.kinds();
        match kinds.iter().find(|kind| kind.letters() == word) {
            Some(kind) => Ok(Some(*kind)),
            None => {
                let message = format!("`{word}` is no kind of {}", metal.name());
                let hint = match kinds.is_empty() {
                    true => {
                        "zinc has no letter here; conversion coatings follow a stroke: /A".into()
                    }
                    false => letters(kinds),
                };
                Err(self.fault(start..self.at, message, hint))
            }
        }
    }

    fn finishes(&mut self, zinc: bool) -> Result<Vec<Finish>, DesignationError> {
        const TYPES: [(&str, u8); 6] =
            [("III", 3), ("II", 2), ("IV", 4), ("I", 1), ("VI", 6), ("V", 5)];
        let hint =
            "/A clear, /B bleached, /C iridescent, /D opaque, /F black; /T0 to /T5; type I to VI";
        let mut found = Vec::new();
        loop {
            self.spaces();
            let start = self.at;
            let finish = if self.takes("/") {
                self.spaces();
                let word = self.run(|c| c.is_ascii_alphanumeric());
                match word.as_bytes() {
                    [letter @ (b'A' | b'B' | b'C' | b'D' | b'F')] => {
                        Some(Finish::Conversion(char::from(*letter)))
                    }
                    [b'T', number @ b'0'..=b'5'] => Some(Finish::Treatment(number - b'0')),
                    _ => None,
                }
            } else if self.takes("type") || self.takes("Type") {
                self.spaces();
                let word = self.run(|c| c.is_ascii_alphanumeric());
                let number = TYPES.iter().find(|(roman, _)| *roman == word);
                number.map(|(_, number)| Finish::Type(*number))
            } else {
                return Ok(found);
            };
            match finish {
                Some(finish) if zinc => found.push(finish),
                Some(_) => {
                    let span = start..self.at;
                    let message = "conversion coatings belong to zinc";
                    return Err(self.fault(span, message, "take it out"));
                }
                None => {
                    let message = "no coating and no finish of these standards";
                    return Err(self.fault(start..self.at, message, hint));
                }
            }
        }
    }
}
