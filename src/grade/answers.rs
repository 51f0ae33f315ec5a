//! Answers: what captures support against what was called, by the form of the call.

use crate::domain::Call;
use serde::Serialize;

/// What a call may come to, in the order of rows and columns.
pub const FORMS: [&str; 6] = [
    "one cylinder",
    "several",
    "one of a group",
    "none",
    "unsure",
    "no call",
];

/// How often captures that support each form were called in each form.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Answers {
    /// For each form that captures support, from the first of [`FORMS`] to `unsure`, how often it was called as each
    /// of [`FORMS`].
    pub rows: [[usize; FORMS.len()]; FORMS.len() - 1],
}

impl Answers {
    /// Counts a call, or none, of a capture that best supports another.
    pub fn add(&mut self, called: Option<Call>, supported: Call) {
        let called = called.map_or(FORMS.len() - 1, form);
        self.rows[form(supported)][called] += 1;
    }
}

fn form(call: Call) -> usize {
    match call {
        Call::All(set) if set.len() == 1 => 0,
        Call::All(_) => 1,
        Call::OneOf(_) => 2,
        Call::NoLeak => 3,
        Call::Unsure => 4,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forms_are_counted_against_forms() {
        let mut answers = Answers::default();
        let call = |text: &str| -> Call { text.parse().unwrap() };
        answers.add(Some(call("2|3")), call("2|3"));
        answers.add(Some(call("3")), call("2|3"));
        answers.add(None, call("2|3"));
        answers.add(Some(call("none")), Call::Unsure);
        assert_eq!(answers.rows[2], [1, 0, 1, 0, 0, 1]);
        assert_eq!(answers.rows[4], [0, 0, 0, 1, 0, 0]);
        assert_eq!(answers.rows.iter().flatten().sum::<usize>(), 4);
    }
}
