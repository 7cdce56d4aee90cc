//! The number at the front of a quantity.

use std::ops::Range;

/// Why a text does not begin with a usable number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NumberError {
    /// No digits.
    Missing,
    /// A decimal comma.
    Comma,
    /// `nan`, `inf`, or beyond the largest number.
    NotFinite,
}

/// The number at the front of `text` and the byte where it ends.
pub fn leading(text: &str) -> Result<(f64, usize), (NumberError, Range<usize>)> {
    let start = text.len() - text.trim_start().len();
    let bytes = text.as_bytes();
    let mut at = start;
    let minus = text[start..].starts_with('\u{2212}');
    if minus {
        at += '\u{2212}'.len_utf8();
    } else if matches!(bytes.get(at), Some(b'+' | b'-')) {
        at += 1;
    }
    let unsigned = at;
    at = digits(bytes, at);
    if bytes.get(at) == Some(&b'.') {
        at = digits(bytes, at + 1);
    }
    if !bytes[unsigned..at].iter().any(u8::is_ascii_digit) {
        let word = text[unsigned..].to_ascii_lowercase();
        let endless = ["inf", "nan"].iter().any(|w| word.starts_with(w));
        let why = if endless { NumberError::NotFinite } else { NumberError::Missing };
        return Err((why, start..text.len()));
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        let end = digits(bytes, at + 1 + sign);
        if end > at + 1 + sign {
            at = end;
        }
    }
    if bytes.get(at) == Some(&b',') {
        return Err((NumberError::Comma, start..digits(bytes, at + 1)));
    }
    let magnitude: f64 =
        text[unsigned..at].parse().map_err(|_| (NumberError::Missing, start..at))?;
    if !magnitude.is_finite() {
        return Err((NumberError::NotFinite, start..at));
    }
    let negative = minus || bytes.get(start) == Some(&b'-');
    Ok((if negative { -magnitude } else { magnitude }, at))
}

fn digits(bytes: &[u8], mut at: usize) -> usize {
    while bytes.get(at).is_some_and(u8::is_ascii_digit) {
        at += 1;
    }
    at
}
