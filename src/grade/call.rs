//! A call: what a reader of one capture says about the engine, and how sure of it.

use crate::error::{Fault, nearest};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

/// How a call may be written, for remedies.
const FORMS: &str =
    "write a cylinder such as 3, 2+5 if both leak, 2|5 if it is one of them, none or unsure";

/// The cylinders of a call.
///
/// It is written and read as in a call sheet: `3`, `2+5`, `2|5`, `none`, `unsure`; spaces, capitals
/// and the order of the cylinders do not matter.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub enum Cylinders {
    /// `3` or `2+5`: each of these leaks.
    All(BTreeSet<u32>),
    /// `2|5`: one of these leaks; two or more.
    OneOf(BTreeSet<u32>),
    /// `none`: no cylinder leaks.
    NoLeak,
    /// `unsure`: the capture does not settle it.
    Unsure,
}

impl Cylinders {
    /// The cylinders that are named; none for `none` and `unsure`.
    pub fn named(&self) -> BTreeSet<u32> {
        match self {
            Cylinders::All(set) | Cylinders::OneOf(set) => set.clone(),
            Cylinders::NoLeak | Cylinders::Unsure => BTreeSet::new(),
        }
    }
}

impl FromStr for Cylinders {
    type Err = Fault;

    /// Reads a call as it stands in a call sheet; the fault's place is the column, `cylinders`.
    fn from_str(text: &str) -> Result<Self, Fault> {
        let wrong = |problem: String| Fault::new("cylinders", problem, FORMS);
        let text = text.trim();
        match text.to_lowercase().as_str() {
            "" => return Err(wrong("the cell is empty".into())),
            "none" => return Ok(Cylinders::NoLeak),
            "unsure" => return Ok(Cylinders::Unsure),
            _ => {}
        }
        let separator = match (text.contains('+'), text.contains('|')) {
            (true, true) => {
                return Err(wrong(format!("{} mixes + and |", shown(text))));
            }
            (false, true) => '|',
            _ => '+',
        };
        let mut cylinders = BTreeSet::new();
        for part in text.split(separator).map(str::trim) {
            let number =
                part.parse::<u32>()
                    .map_err(|_| match nearest(text, ["none", "unsure"]) {
                        Some(word) => Fault::new(
                            "cylinders",
                            format!("{} is not a call", shown(text)),
                            format!("write {word} if that is meant"),
                        ),
                        None => wrong(format!("{} is not a call", shown(text))),
                    })?;
            if !cylinders.insert(number) {
                return Err(wrong(format!(
                    "{} names cylinder {number} twice",
                    shown(text)
                )));
            }
        }
        Ok(match separator {
            '|' => Cylinders::OneOf(cylinders),
            _ => Cylinders::All(cylinders),
        })
    }
}

impl fmt::Display for Cylinders {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let joined = |set: &BTreeSet<u32>, by: &str| {
            set.iter().map(u32::to_string).collect::<Vec<_>>().join(by)
        };
        f.pad(&match self {
            Cylinders::All(set) => joined(set, "+"),
            Cylinders::OneOf(set) => joined(set, "|"),
            Cylinders::NoLeak => "none".into(),
            Cylinders::Unsure => "unsure".into(),
        })
    }
}

impl From<Cylinders> for String {
    fn from(cylinders: Cylinders) -> String {
        cylinders.to_string()
    }
}

impl TryFrom<String> for Cylinders {
    type Error = Fault;

    fn try_from(text: String) -> Result<Self, Fault> {
        text.parse()
    }
}

/// What a reader says about one capture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Call {
    /// The capture's name.
    pub capture: String,
    /// The cylinders called.
    pub cylinders: Cylinders,
    /// Probability, 0 to 1, that the call is right; `None` if not stated.
    pub confidence: Option<f64>,
    /// The reader's own remark; it is not graded.
    pub note: String,
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

/// A value for a fault: in quotation marks, escaped, and cut to a readable length.
pub(super) fn shown(value: &str) -> String {
    const LONGEST: usize = 40;
    match value.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{:?}...", &value[..end]),
        None => format!("{value:?}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn set(cylinders: &[u32]) -> BTreeSet<u32> {
        cylinders.iter().copied().collect()
    }

    #[test]
    fn every_form_is_read() {
        for (text, cylinders) in [
            ("3", Cylinders::All(set(&[3]))),
            (" 5 + 2 ", Cylinders::All(set(&[2, 5]))),
            ("2|5", Cylinders::OneOf(set(&[2, 5]))),
            ("5 | 2", Cylinders::OneOf(set(&[2, 5]))),
            ("NONE", Cylinders::NoLeak),
            (" Unsure", Cylinders::Unsure),
        ] {
            assert_eq!(text.parse::<Cylinders>().as_ref(), Ok(&cylinders), "{text}");
        }
    }

    #[test]
    fn what_is_not_a_call_is_a_fault_with_a_remedy() {
        for (text, problem, remedy) in [
            ("", "the cell is empty", "2|5 if it is one of them"),
            ("2+5|3", "\"2+5|3\" mixes + and |", "2+5 if both leak"),
            ("2+2", "\"2+2\" names cylinder 2 twice", "2+5 if both leak"),
            ("unshure", "\"unshure\" is not a call", "write unsure if"),
            ("+3", "\"+3\" is not a call", "a cylinder such as 3"),
            ("2/5", "\"2/5\" is not a call", "a cylinder such as 3"),
            ("-1", "\"-1\" is not a call", "a cylinder such as 3"),
            ("99999999999", "is not a call", "a cylinder such as 3"),
        ] {
            let fault = text.parse::<Cylinders>().unwrap_err();
            assert!(fault.problem.contains(problem), "{fault}");
            assert!(fault.remedy.contains(remedy), "{fault}");
        }
    }

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

    #[test]
    fn a_long_value_is_cut() {
        assert_eq!(shown("ab\0"), "\"ab\\0\"");
        assert!(shown(&"ü".repeat(5000)).chars().count() < 50);
    }

    fn any_cylinders() -> impl Strategy<Value = Cylinders> {
        use proptest::collection::btree_set;
        prop_oneof![
            btree_set(any::<u32>(), 1..9).prop_map(Cylinders::All),
            btree_set(any::<u32>(), 2..9).prop_map(Cylinders::OneOf),
            Just(Cylinders::NoLeak),
            Just(Cylinders::Unsure),
        ]
    }

    proptest! {
        #[test]
        fn a_call_survives_writing_and_reading(cylinders in any_cylinders()) {
            prop_assert_eq!(cylinders.to_string().parse::<Cylinders>(), Ok(cylinders.clone()));
            let json = serde_json::to_string(&cylinders).unwrap();
            prop_assert_eq!(serde_json::from_str::<Cylinders>(&json).unwrap(), cylinders);
        }

        #[test]
        fn any_text_is_a_call_or_a_fault(text in any::<String>()) {
            let _ = text.parse::<Cylinders>();
            if let Ok(Some(confidence)) = parse_confidence(&text) {
                prop_assert!((0.0..=1.0).contains(&confidence));
            }
        }
    }
}
