//! An entry of a call sheet: a call of one capture, and how sure the reader is of it.

use super::call::Call;
use crate::error::{Fault, shown};
use serde::Serialize;

/// What a reader says about one capture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Entry {
    /// The capture's name.
    pub capture: String,
    /// The cylinders called.
    pub cylinders: Call,
    /// Probability, 0 to 1, that the call is right; `None` if not stated.
    pub confidence: Option<f64>,
    /// From compression TDC of the called cylinder to the steepest rise, ms; `None` if not stated.
    #[serde(skip)]
    pub lag_ms: Option<f64>,
    /// The reader's own remark; it is not graded.
    pub note: String,
}

impl Entry {
    /// A bare call.
    pub fn new(capture: impl Into<String>, cylinders: Call) -> Self {
        Entry {
            capture: capture.into(),
            cylinders,
            confidence: None,
            lag_ms: None,
            note: String::new(),
        }
    }
}
/// Reads a confidence, `0.8` or `80%`, with a point or a comma; an empty text is `None`.
///
/// The fault's place is the column, `confidence`.
pub fn parse_confidence(text: &str) -> Result<Option<f64>, Fault> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(None);
    }
    let (number, whole) = match text.strip_suffix('%') {
        Some(number) => (number.trim_end(), 100.0),
        None => (text, 1.0),
    };
    let wrong = |problem: &str, remedy: String| {
        Fault::new("confidence", format!("{} {problem}", shown(text)), remedy)
    };
    let forms = || "write a number from 0 to 1 or a percentage, such as 0.8 or 80%".to_string();
    match number.replace(',', ".").parse::<f64>() {
        Ok(value) if (0.0..=whole).contains(&value) => Ok(Some(value / whole)),
        Ok(value) if whole == 1.0 && value > 1.0 && value <= 100.0 => Err(wrong(
            "is more than 1",
            format!("write {value}% or {} if that is meant", value / 100.0),
        )),
        Ok(value) if value.is_finite() => Err(wrong("is out of range", forms())),
        _ => Err(wrong("is not a number", forms())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn confidence_is_a_fraction_or_a_percentage() {
        for (text, value) in [
            ("", None),
            ("0.8", Some(0.8)),
            ("80%", Some(0.8)),
            ("80 %", Some(0.8)),
            ("0,8", Some(0.8)),
            ("1", Some(1.0)),
            ("0", Some(0.0)),
            ("100%", Some(1.0)),
        ] {
            assert_eq!(parse_confidence(text), Ok(value), "{text}");
        }
        for (text, part) in [
            ("80", "write 80% or 0.8"),
            ("101%", "out of range"),
            ("-0.1", "out of range"),
            ("nan", "not a number"),
            ("inf", "not a number"),
            ("high", "\"high\" is not a number"),
        ] {
            let fault = parse_confidence(text).unwrap_err();
            assert!(fault.to_string().contains(part), "{fault}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_a_confidence_or_a_fault(text in any::<String>()) {
            if let Ok(Some(confidence)) = parse_confidence(&text) {
                prop_assert!((0.0..=1.0).contains(&confidence));
            }
        }
    }
}
