//! Single values of a scenario: chosen ones, whole numbers, words.

use super::distribution::{self, ascending, describe};
use super::slips;
use super::units::{Dimension, Quantity};
use crate::error::{Fault, Kind, nearest};
use crate::random::Stream;
use serde_json::Value;

/// What `{choose: [..]}` comes to, or the value itself. Every alternative must pass `check`, not only
/// the one that is drawn.
pub(super) fn chosen<'v>(
    mut value: &'v Value,
    stream: &mut Stream,
    check: impl Fn(&Value) -> Result<(), Fault>,
) -> Result<&'v Value, Fault> {
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
) -> Result<(Value, u64), Fault> {
    let plain = |v: &Value| {
        let fits = v.as_u64().filter(|n| (low..=high).contains(n));
        fits.ok_or_else(|| {
            let problem = format!("{} where a whole number belongs", describe(v));
            let remedy = format!("write a whole number from {low} to {high}");
            Fault::of(Kind::Value, problem, remedy)
        })
    };
    let n = match value {
        Value::Object(map) => {
            let [a, b] = distribution::whole_ends(map)?;
            let (a, b) = (plain(a)?, plain(b)?);
            ascending("`uniform`", a < b, a, b)?;
            a + stream.below((b - a).saturating_add(1) as usize) as u64
        }
        other => plain(other)?,
    };
    Ok((Value::from(n), n))
}

/// The place of a word among those that may stand there.
pub(super) fn word_of(value: &Value, names: &[&'static str]) -> Result<usize, Fault> {
    let word = value
        .as_str()
        .map(str::to_string)
        .unwrap_or_else(|| describe(value));
    names.iter().position(|n| *n == word).ok_or_else(|| {
        let meant = slips::word(&word, names).or_else(|| nearest(&word, names.iter().copied()));
        let remedy = match meant {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("use one of: {}", names.join(", ")),
        };
        let problem = format!("unknown word `{}`", word.trim_matches('`'));
        Fault::of(Kind::Value, problem, remedy)
    })
}

/// A quantity written in this program; tests read every section, so that a slip shows at once.
pub(crate) fn own_quantity(text: &str, dimension: Dimension) -> Quantity {
    let parsed = match text.parse() {
        Ok(number) if dimension.takes_bare_numbers() => Ok(Quantity::bare(number)),
        _ => Quantity::parse(text, dimension),
    };
    parsed.unwrap_or_else(|fault| panic!("the program's own `{text}`{fault}"))
}
