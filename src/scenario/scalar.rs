//! Single values of a scenario: chosen ones, whole numbers, words.

use super::distribution::{self, Complaint, describe};
use super::units::{Dimension, Quantity};
use crate::error::nearest;
use crate::random::Stream;
use serde_json::Value;

/// What `{choose: [..]}` comes to, or the value itself. Every alternative must pass `check`, not only
/// the one that is drawn.
pub(super) fn chosen<'v>(
    mut value: &'v Value,
    stream: &mut Stream,
    check: impl Fn(&Value) -> Result<(), Complaint>,
) -> Result<&'v Value, Complaint> {
    while let Some(alternatives) = distribution::alternatives(value) {
        let items = alternatives?;
        let plain = |item: &&Value| distribution::alternatives(item).is_none();
        items.iter().filter(plain).try_for_each(&check)?;
        value = &items[stream.below(items.len())];
    }
    Ok(value)
}

/// A whole number within a range, with what it resolves to.
pub(super) fn integer_of(
    value: &Value,
    [low, high]: [u64; 2],
    stream: &mut Stream,
) -> Result<(Value, u64), Complaint> {
    let plain = |v: &Value| {
        let fits = v.as_u64().filter(|n| (low..=high).contains(n));
        fits.ok_or_else(|| {
            (
                format!("{} where a whole number belongs", describe(v)),
                format!("write a whole number from {low} to {high}"),
            )
        })
    };
    let n = match value {
        Value::Object(map) => {
            let (a, b) = distribution::whole_ends(map)?;
            let (a, b) = (plain(a)?, plain(b)?);
            if a >= b {
                return Err((
                    format!("`uniform` runs from {a} to {b}"),
                    "put the smaller value first".into(),
                ));
            }
            a + stream.below((b - a).saturating_add(1) as usize) as u64
        }
        other => plain(other)?,
    };
    Ok((Value::from(n), n))
}

/// The place of a word among those that may stand there.
pub(super) fn word_of(value: &Value, names: &[&str]) -> Result<usize, Complaint> {
    let word = value
        .as_str()
        .map(str::to_string)
        .unwrap_or_else(|| describe(value));
    names.iter().position(|n| *n == word).ok_or_else(|| {
        let remedy = match nearest(&word, names.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("use one of: {}", names.join(", ")),
        };
        (format!("unknown word `{}`", word.trim_matches('`')), remedy)
    })
}

/// A quantity written in this program; tests read every section, so that a slip shows at once.
pub(super) fn own_quantity(text: &str, dimension: Dimension) -> Quantity {
    let parsed = match text.parse() {
        Ok(number) if dimension.takes_bare_numbers() => Ok(Quantity::bare(number)),
        _ => Quantity::parse(text, dimension),
    };
    parsed.unwrap_or_else(|(problem, _)| panic!("the program's own `{text}`: {problem}"))
}
