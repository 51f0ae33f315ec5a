//! A call: what a reader of one capture says about the engine.

use super::cylinders::CylinderSet;
use crate::error::{Fault, nearest, shown};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// How a call may be written, for remedies.
const FORMS: &str =
    "write a cylinder such as 3, 2+5 if both leak, 2|5 if it is one of them, none or unsure";

/// What a reader says leaks.
///
/// It is written and read as in a call sheet: `3`, `2+5`, `2|5`, `none`, `unsure`; spaces, capitals
/// and the order of the cylinders do not matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub enum Call {
    /// `3` or `2+5`: each of these leaks.
    All(CylinderSet),
    /// `2|5`: one of these leaks; two or more.
    OneOf(CylinderSet),
    /// `none`: no cylinder leaks.
    NoLeak,
    /// `unsure`: the capture does not settle it.
    Unsure,
}

impl Call {
    /// The cylinders that are named; none for `none` and `unsure`.
    pub fn named(self) -> CylinderSet {
        match self {
            Call::All(set) | Call::OneOf(set) => set,
            Call::NoLeak | Call::Unsure => CylinderSet::default(),
        }
    }
}

impl FromStr for Call {
    type Err = Fault;

    /// Reads a call as it stands in a call sheet; the fault's place is the column, `cylinders`.
    fn from_str(text: &str) -> Result<Self, Fault> {
        let wrong = |problem: String| Fault::new("cylinders", problem, FORMS);
        let text = text.trim();
        match text.to_lowercase().as_str() {
            "" => return Err(wrong("the cell is empty".into())),
            "none" => return Ok(Call::NoLeak),
            "unsure" => return Ok(Call::Unsure),
            _ => {}
        }
        let separator = match (text.contains('+'), text.contains('|')) {
            (true, true) => {
                return Err(wrong(format!("{} mixes + and |", shown(text))));
            }
            (false, true) => '|',
            _ => '+',
        };
        let mut cylinders = CylinderSet::default();
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
            if !CylinderSet::holds_number(number) {
                let problem = format!("no engine has a cylinder {number}");
                let remedy = "call among the cylinders of the card's firing order";
                return Err(Fault::new("cylinders", problem, remedy));
            }
            if !cylinders.insert(number) {
                return Err(wrong(format!(
                    "{} names cylinder {number} twice",
                    shown(text)
                )));
            }
        }
        Ok(match separator {
            '|' => Call::OneOf(cylinders),
            _ => Call::All(cylinders),
        })
    }
}

impl fmt::Display for Call {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&match self {
            Call::All(set) => set.join("+"),
            Call::OneOf(set) => set.join("|"),
            Call::NoLeak => "none".into(),
            Call::Unsure => "unsure".into(),
        })
    }
}

impl From<Call> for String {
    fn from(call: Call) -> String {
        call.to_string()
    }
}

impl TryFrom<String> for Call {
    type Error = Fault;

    fn try_from(text: String) -> Result<Self, Fault> {
        text.parse()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn set(cylinders: &[u32]) -> CylinderSet {
        cylinders.iter().copied().collect()
    }

    #[test]
    fn every_form_is_read() {
        for (text, cylinders) in [
            ("3", Call::All(set(&[3]))),
            (" 5 + 2 ", Call::All(set(&[2, 5]))),
            ("2|5", Call::OneOf(set(&[2, 5]))),
            ("5 | 2", Call::OneOf(set(&[2, 5]))),
            ("NONE", Call::NoLeak),
            (" Unsure", Call::Unsure),
        ] {
            assert_eq!(text.parse::<Call>().as_ref(), Ok(&cylinders), "{text}");
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
            ("25", "no engine has a cylinder 25", "firing order"),
            ("3+0", "no engine has a cylinder 0", "firing order"),
        ] {
            let fault = text.parse::<Call>().unwrap_err();
            assert!(fault.problem.contains(problem), "{fault}");
            assert!(fault.remedy.contains(remedy), "{fault}");
        }
    }

    fn any_cylinders() -> impl Strategy<Value = Call> {
        let set = |least| {
            let cylinders = proptest::collection::btree_set(1..=24_u32, least..9);
            cylinders.prop_map(CylinderSet::from_iter)
        };
        prop_oneof![
            set(1).prop_map(Call::All),
            set(2).prop_map(Call::OneOf),
            Just(Call::NoLeak),
            Just(Call::Unsure),
        ]
    }

    proptest! {
        #[test]
        fn a_call_survives_writing_and_reading(cylinders in any_cylinders()) {
            prop_assert_eq!(cylinders.to_string().parse::<Call>(), Ok(cylinders));
            let json = serde_json::to_string(&cylinders).unwrap();
            prop_assert_eq!(serde_json::from_str::<Call>(&json).unwrap(), cylinders);
        }

        #[test]
        fn any_text_is_a_call_or_a_fault(text in any::<String>()) {
            let _ = text.parse::<Call>();
        }
    }
}
