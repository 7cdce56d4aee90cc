//! Reads a unit such as `mV/(A/dm²)` into its size in SI and what it measures.
//!
//! Grammar: `product = power { ("/" | "·" | "*" | blank) power }`,
//! `power = ("1" | name | "(" product ")") [["^"] whole number]`. As on paper, `/` binds the one
//! factor behind it: `A/dm2 h` is (A/dm2)·h. `sq` before a unit squares it.

use super::atom;
use super::dimension::Dimension;

/// Size and dimension of a unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnitValue {
    /// What it measures.
    pub dimension: Dimension,
    /// SI value of one unit.
    pub factor: f64,
    /// SI value of zero units; other than 0 only for a temperature that stands alone.
    pub offset: f64,
}

/// Why a unit cannot be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ExpressionError {
    /// No such unit.
    #[error("unknown unit `{0}`")]
    Unknown(String),
    /// The text does not follow the grammar.
    #[error("{0}")]
    Malformed(&'static str),
}

/// Deepest nesting of brackets; real units need one.
const MAX_DEPTH: usize = 8;

/// Reads one unit; blanks around it are allowed.
pub fn parse(text: &str) -> Result<UnitValue, ExpressionError> {
    let mut tokens = tokens(&plain(text))?;
    if tokens.first() == Some(&Token::Per) {
        // `12 /(ohm m)`
        tokens.insert(0, Token::Whole(1));
    }
    if let [Token::Name(name)] = tokens.as_slice() {
        let atom = atom::find(name).ok_or_else(|| ExpressionError::Unknown(name.clone()))?;
        return Ok(UnitValue {
            dimension: atom.dimension,
            factor: atom.factor,
            offset: atom.offset,
        });
    }
    let mut reader = Reader { tokens: &tokens, at: 0 };
    let value = reader.product(0)?;
    if reader.at < tokens.len() {
        return Err(ExpressionError::Malformed("a closing bracket without its opening one"));
    }
    Ok(value)
}

/// Brings the other spellings of the same sign to one.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{b5}' | '\u{3bc}' => out.push('u'),
            '\u{3a9}' | '\u{2126}' => out.push_str("ohm"),
            '°' => out.push_str("deg"),
            '℃' => out.push_str("degC"),
            '℉' => out.push_str("degF"),
            '²' => out.push('2'),
            '³' => out.push('3'),
            '¹' => out.push('1'),
            '⁻' | '−' => out.push('-'),
            '·' | '⋅' | '×' => out.push('*'),
            other => out.push(other),
        }
    }
    out
}

#[derive(Debug, Clone, PartialEq)]
enum Token {
    Name(String),
    Whole(i8),
    Times,
    Per,
    Caret,
    Open,
    Close,
}

fn tokens(text: &str) -> Result<Vec<Token>, ExpressionError> {
    let mut out = Vec::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            c if c.is_whitespace() => {}
            '/' => out.push(Token::Per),
            '*' | '.' => out.push(Token::Times),
            '^' => out.push(Token::Caret),
            '(' => out.push(Token::Open),
            ')' => out.push(Token::Close),
            '-' | '0'..='9' => {
                let mut digits = String::from(c);
                while let Some(d) = chars.next_if(char::is_ascii_digit) {
                    digits.push(d);
                }
                let whole = digits.parse();
                out.push(Token::Whole(whole.map_err(|_| {
                    ExpressionError::Malformed("the power of a unit must be a small whole number")
                })?));
            }
            c => {
                let mut name = String::from(c);
                if c != '%' {
                    while let Some(d) =
                        chars.next_if(|d| !" \t\n\r/*.^()-%".contains(*d) && !d.is_ascii_digit())
                    {
                        name.push(d);
                    }
                }
                out.push(Token::Name(name));
            }
        }
    }
    Ok(out)
}

struct Reader<'a> {
    tokens: &'a [Token],
    at: usize,
}

impl Reader<'_> {
    fn peek(&self) -> Option<&Token> {
        self.tokens.get(self.at)
    }

    fn product(&mut self, depth: usize) -> Result<UnitValue, ExpressionError> {
        let mut value = self.power(depth)?;
        loop {
            match self.peek() {
                Some(Token::Per) => {
                    self.at += 1;
                    let below = self.power(depth)?;
                    value.factor /= below.factor;
                    value.dimension = value.dimension - below.dimension;
                }
                Some(Token::Times) => {
                    self.at += 1;
                    value = times(value, self.power(depth)?);
                }
                Some(Token::Name(_) | Token::Open | Token::Whole(_)) => {
                    value = times(value, self.power(depth)?);
                }
                Some(Token::Caret) => {
                    return Err(ExpressionError::Malformed("a `^` without its power"));
                }
                Some(Token::Close) | None => return Ok(value),
            }
        }
    }

    fn power(&mut self, depth: usize) -> Result<UnitValue, ExpressionError> {
        let token = self.peek().cloned();
        self.at += 1;
        let base = match token {
            Some(Token::Whole(1)) => {
                return Ok(UnitValue { dimension: Dimension::NONE, factor: 1.0, offset: 0.0 });
            }
            Some(Token::Name(name)) if name == "sq" => {
                let unit = self.power(depth)?;
                return Ok(raise(unit, 2));
            }
            Some(Token::Name(name)) => {
                let atom = atom::find(&name).ok_or(ExpressionError::Unknown(name))?;
                UnitValue { dimension: atom.dimension, factor: atom.factor, offset: 0.0 }
            }
            Some(Token::Open) if depth < MAX_DEPTH => {
                let inner = self.product(depth + 1)?;
                if self.peek() != Some(&Token::Close) {
                    return Err(ExpressionError::Malformed(
                        "an opening bracket without its closing one",
                    ));
                }
                self.at += 1;
                inner
            }
            Some(Token::Open) => {
                return Err(ExpressionError::Malformed("too many brackets in the unit"));
            }
            Some(Token::Whole(_)) => {
                return Err(ExpressionError::Malformed("a number where a unit should stand"));
            }
            _ => return Err(ExpressionError::Malformed("the unit is not complete")),
        };
        let caret = self.peek() == Some(&Token::Caret);
        if caret {
            self.at += 1;
        }
        match self.peek() {
            Some(&Token::Whole(power)) if (-9..=9).contains(&power) => {
                self.at += 1;
                Ok(raise(base, power))
            }
            Some(Token::Whole(_)) => {
                Err(ExpressionError::Malformed("the power of a unit must be a small whole number"))
            }
            _ if caret => Err(ExpressionError::Malformed("a `^` without its power")),
            _ => Ok(base),
        }
    }
}

fn times(a: UnitValue, b: UnitValue) -> UnitValue {
    UnitValue { dimension: a.dimension * b.dimension, factor: a.factor * b.factor, offset: 0.0 }
}

fn raise(base: UnitValue, power: i8) -> UnitValue {
    // Repeated products are the same on every platform; `powi` need not be.
    let mut factor = 1.0;
    for _ in 0..power.unsigned_abs() {
        factor *= base.factor;
    }
    if power < 0 {
        factor = 1.0 / factor;
    }
    UnitValue { dimension: base.dimension.powi(power), factor, offset: 0.0 }
}
