//! The values of a variable as typed: `40..160mm/13`, `20..60A/5`, `1..100/7log`, `0,90,180`.
//!
//! ```text
//! values = range | list
//! range  = LOW ".." HIGH [unit] [ "/" COUNT ["log"] | ":" STEP ]
//! list   = value { "," value }          the unit stands behind the last, or behind each
//! ```
//! With `log` the values lie at equal ratios, with a step they are whole multiples of it.

use std::ops::Range;

use solver::plan::{Scale, Values};

use super::place::Leaf;
use crate::diagnostic::Diagnostic;
use crate::units::{self, Fault, Kind, UnitError};

/// More values of one variable than this are a slip of the pen.
const MOST_VALUES: usize = 100_000;

/// What was typed behind `=`.
#[derive(Debug, Clone, PartialEq)]
pub struct Typed {
    /// The values, in the unit that was typed.
    pub values: Values,
    /// The unit; empty for plain numbers and for text.
    pub unit: String,
    /// How many values of a range are wanted, where that is said.
    pub count: Option<usize>,
    /// The words that a choice stands for.
    pub words: Vec<String>,
}

/// Reads the values of a `leaf`; `text` begins at byte `start` of what was typed.
///
/// # Errors
/// What is wrong, where, and how it is written.
pub fn read(text: &str, start: usize, leaf: Leaf) -> Result<Typed, Diagnostic> {
    let reader = Reader { text, start, leaf };
    if matches!(leaf, Leaf::Text | Leaf::YesNo) {
        return reader.words();
    }
    match text.find("..") {
        Some(at) => reader.range(at),
        None => reader.list(),
    }
}

struct Reader<'t> {
    text: &'t str,
    start: usize,
    leaf: Leaf,
}

/// A number with the unit behind it, and where they stand.
struct Number<'t> {
    value: f64,
    unit: &'t str,
    span: Range<usize>,
}

impl<'t> Reader<'t> {
    fn range(&self, dots: usize) -> Result<Typed, Diagnostic> {
        let (rest, division) = self.division(dots)?;
        let low = self.number(0..dots)?;
        let high = self.number(dots + 2..rest)?;
        let unit = self.one_unit(&[&low, &high])?;
        let all = 0..self.text.len();
        if low.value >= high.value {
            let label = "expected a lower and an upper end";
            return Err(self.fault("the range does not rise", all, label));
        }
        let (scale, step, count) = match division {
            Division::None => (Scale::Linear, None, None),
            Division::Count(count, scale) => (scale, None, Some(count)),
            Division::Step(step) => (Scale::Linear, Some(step), None),
        };
        if scale == Scale::Logarithmic && low.value <= 0.0 {
            let label = "both ends must be above zero";
            return Err(self.fault("equal ratios cannot begin at zero or below", all, label));
        }
        let count = match step {
            Some(step) => Some(self.multiples(low.value, high.value, step)?),
            None => count,
        };
        let values = Values::Between { low: low.value, high: high.value, scale, step };
        Ok(Typed { values, unit: unit.to_owned(), count, words: Vec::new() })
    }

    /// How many multiples of a step lie between the ends.
    fn multiples(&self, low: f64, high: f64, step: f64) -> Result<usize, Diagnostic> {
        let count = (high / step + 1e-9).floor() - (low / step - 1e-9).ceil() + 1.0;
        if count < 1.0 {
            let label = "no multiple of it lies between the ends";
            return Err(self.fault("the step is too wide", 0..self.text.len(), label));
        }
        if count > MOST_VALUES as f64 {
            return Err(self.fault("too many values", 0..self.text.len(), "enlarge the step"));
        }
        // whole and small, so the conversion is exact
        Ok(count as usize)
    }

    /// What stands behind the range: `/13`, `/7log`, `:5`; and the byte where it begins.
    fn division(&self, dots: usize) -> Result<(usize, Division), Diagnostic> {
        if let Some(at) = self.text.rfind(':').filter(|at| *at > dots) {
            let step = self.text[at + 1..].trim();
            let step: f64 =
                step.parse().ok().filter(|s: &f64| s.is_finite() && *s > 0.0).ok_or_else(|| {
                    let label = "expected a number above zero, in the unit of the range";
                    self.fault("the step cannot be read", at + 1..self.text.len(), label)
                })?;
            return Ok((at, Division::Step(step)));
        }
        let whole = (self.text.len(), Division::None);
        let Some(at) = self.text.rfind('/').filter(|at| *at > dots) else { return Ok(whole) };
        let tail = self.text[at + 1..].trim();
        let (digits, scale) = match tail.strip_suffix("log") {
            Some(digits) => (digits.trim_end(), Scale::Logarithmic),
            None => (tail, Scale::Linear),
        };
        if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
            // the stroke belongs to a unit such as A/dm2
            return Ok(whole);
        }
        match digits.parse::<usize>() {
            Ok(count) if (2..=MOST_VALUES).contains(&count) => {
                Ok((at, Division::Count(count, scale)))
            }
            _ => {
                let label = "expected a whole number from 2 to 100000";
                Err(self.fault(
                    "the number of values is out of range",
                    at + 1..self.text.len(),
                    label,
                ))
            }
        }
    }

    fn list(&self) -> Result<Typed, Diagnostic> {
        let mut numbers = Vec::new();
        let mut at = 0;
        for item in self.text.split(',') {
            numbers.push(self.number(at..at + item.len())?);
            at += item.len() + 1;
        }
        let unit = self.one_unit(&numbers.iter().collect::<Vec<_>>())?;
        let mut values: Vec<f64> = numbers.iter().map(|n| n.value).collect();
        values.sort_by(f64::total_cmp);
        values.dedup();
        Ok(Typed {
            values: Values::Listed(values),
            unit: unit.to_owned(),
            count: None,
            words: Vec::new(),
        })
    }

    /// A number and what stands behind it.
    fn number(&self, span: Range<usize>) -> Result<Number<'t>, Diagnostic> {
        let text = &self.text[span.clone()];
        // any kind will do: only the number is of interest here
        match units::leading_number(text) {
            Some((value, end)) => Ok(Number { value: value + 0.0, unit: text[end..].trim(), span }),
            None => Err(self.fault("a number is missing", span, "expected a number")),
        }
    }

    /// The unit of all numbers: it stands behind the last, the others have the same or none.
    fn one_unit(&self, numbers: &[&Number<'t>]) -> Result<&'t str, Diagnostic> {
        let Some(last) = numbers.last() else { return Ok("") };
        for number in numbers {
            if !number.unit.is_empty() && number.unit != last.unit {
                let label = "expected one unit for all values, behind the last";
                return Err(self.fault(
                    "two units in one list of values",
                    number.span.clone(),
                    label,
                ));
            }
        }
        for number in numbers {
            self.check_unit(last.unit, number.value).map_err(|error| {
                let span =
                    if number.unit.is_empty() { last.span.clone() } else { number.span.clone() };
                self.unit_fault(&error, span)
            })?;
        }
        Ok(if self.leaf == Leaf::Angle { "" } else { last.unit })
    }

    fn check_unit(&self, unit: &str, value: f64) -> Result<(), Bad> {
        let quantity = |kind| units::parse_si(&format!("{value:e} {unit}"), kind).map(|_| ());
        match self.leaf {
            Leaf::Quantity(kind) => quantity(kind).map_err(Bad::Unit),
            Leaf::Coordinate | Leaf::Length if unit.is_empty() => Ok(()),
            Leaf::Coordinate | Leaf::Length => quantity(Kind::Length).map_err(Bad::Unit),
            Leaf::Share if unit.is_empty() => Ok(()),
            Leaf::Share => quantity(Kind::Fraction).map_err(Bad::Unit),
            Leaf::Angle if ["", "deg", "°"].contains(&unit) => Ok(()),
            Leaf::Angle => Err(Bad::Plain("degrees")),
            _ if unit.is_empty() => Ok(()),
            _ => Err(Bad::Plain("a plain number")),
        }
    }

    fn unit_fault(&self, bad: &Bad, span: Range<usize>) -> Diagnostic {
        match bad {
            Bad::Plain(what) => self.fault(
                &format!("{what} wanted, and something stands behind the number"),
                span,
                &format!("expected {what}, without a unit"),
            ),
            Bad::Unit(error) => {
                let label = match error.fault {
                    Fault::NoUnit => {
                        format!("expected a unit, like {}", self.example(error.wanted))
                    }
                    _ => error.label(),
                };
                let span = self.start + span.start..self.start + span.end;
                Diagnostic::error(error.code(), error.message()).at(span, label).help(error.help())
            }
        }
    }

    /// The same values with the commonest unit of what is wanted.
    fn example(&self, kind: Kind) -> String {
        let unit = kind.units().first().copied().unwrap_or_default();
        let text = self.text.trim();
        match (text.find(".."), text.rfind(['/', ':'])) {
            (Some(_), Some(at)) => format!("{}{unit}{}", &text[..at], &text[at..]),
            _ => format!("{text}{unit}"),
        }
    }

    /// A list of words, in quotes where they hold commas.
    fn words(&self) -> Result<Typed, Diagnostic> {
        let mut words: Vec<String> = Vec::new();
        let mut at = 0;
        loop {
            let rest = &self.text[at..];
            let begin = at + (rest.len() - rest.trim_start().len());
            let quote = self.text[begin..].chars().next().filter(|c| ['"', '\''].contains(c));
            let (word, end) = match quote {
                Some(quote) => {
                    let inside = begin + quote.len_utf8();
                    let Some(length) = self.text[inside..].find(quote) else {
                        let span = begin..self.text.len();
                        return Err(self.fault("a quote is not closed", span, "begins here"));
                    };
                    let close = inside + length;
                    let after = &self.text[close + 1..];
                    let end = close + 1 + after.find(',').unwrap_or(after.len());
                    (&self.text[inside..close], end)
                }
                None => {
                    let end = self.text[begin..].find(',').map_or(self.text.len(), |e| begin + e);
                    (self.text[begin..end].trim(), end)
                }
            };
            let span = begin..end.max(begin);
            if word.is_empty() {
                return Err(self.fault("a value is missing", span, "expected a word"));
            }
            if self.leaf == Leaf::YesNo && !["true", "false"].contains(&word) {
                return Err(self.fault("true or false wanted", span, "expected true or false"));
            }
            if words.iter().any(|known| known == word) {
                return Err(self.fault(&format!("`{word}` stands twice"), span, "again"));
            }
            words.push(word.to_owned());
            if end >= self.text.len() {
                break;
            }
            at = end + 1;
        }
        let values = Values::Choice(words.len());
        Ok(Typed { values, unit: String::new(), count: None, words })
    }

    fn fault(&self, message: &str, span: Range<usize>, label: &str) -> Diagnostic {
        let span = self.start + span.start..self.start + span.end;
        let how = match self.leaf {
            Leaf::Text | Leaf::YesNo => "a list like a,b,c; values with commas in quotes",
            _ => {
                "ranges: LOW..HIGHunit/COUNT, /COUNTlog for equal ratios, :STEP for multiples of a step; \
                 lists: 0,90,180"
            }
        };
        Diagnostic::error("E028", message).at(span, label).help(how)
    }
}

/// Why a unit does not fit.
enum Bad {
    Unit(UnitError),
    /// No unit belongs there.
    Plain(&'static str),
}

enum Division {
    None,
    Count(usize, Scale),
    Step(f64),
}
