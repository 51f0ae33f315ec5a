//! Distributions: what may stand wherever a number may.
//!
//! `{uniform: [A, B]}`, `{log_uniform: [A, B]}`, `{normal: {mean: M, sd: S}}` for quantities and
//! `{choose: [..]}` for anything. A normal is truncated to the range of its field.

use super::units::{Dimension, Quantity};
use crate::error::{Fault, Kind, nearest};
use crate::math;
use crate::random::Stream;
use serde_json::{Map, Value};

/// The words that name a distribution.
pub const NAMES: [&str; 4] = ["uniform", "log_uniform", "normal", "choose"];

/// The shapes of a distribution.
const SHAPES: &str = "write `{uniform: [A, B]}`, `{log_uniform: [A, B]}`, `{normal: {mean: M, sd: S}}` or `{choose: [..]}`";
/// Those of a whole number.
const WHOLE_SHAPES: &str = "write `{uniform: [A, B]}` or `{choose: [..]}`";

fn wrong(problem: impl std::fmt::Display, remedy: impl std::fmt::Display) -> Fault {
    Fault::of(Kind::Value, problem, remedy)
}

/// A distribution of a quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Distribution {
    /// Every value between the two equally likely.
    Uniform(Quantity, Quantity),
    /// Every ratio between the two equally likely.
    LogUniform(Quantity, Quantity),
    /// Normal with mean and standard deviation, the latter in the unit of the mean.
    Normal(Quantity, f64),
}

/// The alternatives of `{choose: [..]}`, if `value` is one.
pub fn alternatives(value: &Value) -> Option<Result<&Vec<Value>, Fault>> {
    let map = value.as_object()?;
    let list = map.get("choose")?;
    Some(match list.as_array() {
        Some(items) if !items.is_empty() && map.len() == 1 => Ok(items),
        _ => Err(wrong(
            "`choose` needs a list with at least one value",
            "write `{choose: [A, B]}`",
        )),
    })
}

impl Distribution {
    /// Reads a mapping as a distribution whose values must lie within `range` (SI).
    pub fn parse(
        value: &Value,
        dimension: Dimension,
        range: (Quantity, Quantity),
    ) -> Result<Self, Fault> {
        let map = value
            .as_object()
            .ok_or_else(|| wrong("not a distribution", SHAPES))?;
        let (name, body) = one_word(map, SHAPES)?;
        let quantity = |v: Option<&Value>| -> Result<Quantity, Fault> {
            let v = v.ok_or_else(|| wrong(format!("`{name}` lacks a value"), SHAPES))?;
            read_plain(v, dimension)
        };
        let inside = |q: Quantity| in_range(q, range).map(|()| q);
        match name {
            "uniform" | "log_uniform" => {
                let [low, high] = two(name, body, SHAPES)?;
                let (low, high) = (
                    inside(quantity(Some(low))?)?,
                    inside(quantity(Some(high))?)?,
                );
                ascending(&format!("`{name}`"), low.si() < high.si(), low, high)?;
                if name == "uniform" {
                    return Ok(Self::Uniform(low, high));
                }
                if low.number <= 0.0 || low.number_of(high.si()) <= 0.0 {
                    return Err(wrong(
                        format!("`log_uniform` from {low}"),
                        "start above zero",
                    ));
                }
                Ok(Self::LogUniform(low, high))
            }
            "normal" => {
                let keys = body.as_object().into_iter().flat_map(|b| b.keys());
                if let Some(key) = keys.clone().find(|k| *k != "mean" && *k != "sd") {
                    return Err(wrong(format!("`normal` knows no `{key}`"), SHAPES));
                }
                let mean = inside(quantity(body.get("mean"))?)?;
                let sd = quantity(body.get("sd"))?.span_in(mean);
                let width = mean.number_of(range.1.si()) - mean.number_of(range.0.si());
                if !(sd > 0.0 && sd <= width) {
                    let most = mean.with_number(width);
                    return Err(wrong(
                        format!("a standard deviation of {}", mean.with_number(sd)),
                        format!("use one above zero and at most {most}"),
                    ));
                }
                Ok(Self::Normal(mean, sd))
            }
            other => Err(wrong(
                format!("unknown distribution `{other}`"),
                meant(other, &NAMES, SHAPES),
            )),
        }
    }

    /// Draws a value; it lies within `range`.
    pub fn draw(self, stream: &mut Stream, range: (Quantity, Quantity)) -> Quantity {
        match self {
            Self::Uniform(low, high) => {
                let (a, b) = (low.number, low.number_of(high.si()));
                low.with_number(a + (b - a) * stream.uniform())
            }
            Self::LogUniform(low, high) => {
                let (a, b) = (math::ln(low.number), math::ln(low.number_of(high.si())));
                low.with_number(math::exp(a + (b - a) * stream.uniform()))
            }
            // The mean lies in the range and the deviation is no wider than it, so that more than a
            // third of all draws fit; a thousand misses do not happen.
            Self::Normal(mean, sd) => (0..1000)
                .map(|_| mean.with_number(mean.number + sd * stream.normal()))
                .find(|q| in_range(*q, range).is_ok())
                .unwrap_or(mean),
        }
    }
}

/// The ends of `{uniform: [A, B]}`, the one distribution of whole numbers besides `choose`, from
/// what stands in braces.
pub fn whole_ends(map: &Map<String, Value>) -> Result<[&Value; 2], Fault> {
    match one_word(map, WHOLE_SHAPES)? {
        ("uniform", body) => two("uniform", body, WHOLE_SHAPES),
        (name, _) => Err(wrong(
            format!("whole numbers have no distribution `{name}`"),
            meant(name, &["uniform", "choose"], WHOLE_SHAPES),
        )),
    }
}

/// Refuses two ends of which the first is not the smaller.
pub fn ascending<T: std::fmt::Display>(
    what: &str,
    holds: bool,
    low: T,
    high: T,
) -> Result<(), Fault> {
    if holds {
        return Ok(());
    }
    let problem = format!("{what} runs from {low} to {high}");
    Err(wrong(problem, "put the smaller value first"))
}

/// The word of a distribution and what stands behind it.
fn one_word<'v>(map: &'v Map<String, Value>, shapes: &str) -> Result<(&'v str, &'v Value), Fault> {
    match map.iter().collect::<Vec<_>>()[..] {
        [(name, body)] => Ok((name, body)),
        _ => {
            let problem = format!("a distribution has one word, this has {}", map.len());
            Err(wrong(problem, shapes))
        }
    }
}

fn two<'v>(name: &str, body: &'v Value, shapes: &str) -> Result<[&'v Value; 2], Fault> {
    match body.as_array().map(Vec::as_slice) {
        Some([low, high]) => Ok([low, high]),
        _ => Err(wrong(format!("`{name}` needs two values"), shapes)),
    }
}

fn meant(word: &str, known: &[&str], shapes: &str) -> String {
    match nearest(word, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => shapes.into(),
    }
}

/// A quantity without randomness.
pub fn read_plain(value: &Value, dimension: Dimension) -> Result<Quantity, Fault> {
    match value {
        Value::String(text) => Quantity::parse(text, dimension),
        Value::Number(n) if dimension.takes_bare_numbers() => {
            Ok(Quantity::bare(n.as_f64().unwrap_or(f64::MAX)))
        }
        Value::Number(n) => Err(wrong(
            format!("the bare number {n} needs a unit"),
            format!("units that fit: {}", dimension.unit_list()),
        )),
        other => Err(wrong(
            format!("{} where a quantity belongs", describe(other)),
            dimension.forms(),
        )),
    }
}

/// Whether a quantity lies in a range; the complaint repeats both.
pub fn in_range(q: Quantity, (low, high): (Quantity, Quantity)) -> Result<(), Fault> {
    if q.si() >= low.si() && q.si() <= high.si() {
        return Ok(());
    }
    let own = match [low, high]
        .iter()
        .any(|end| end.unit_name() == q.unit_name())
    {
        true => String::new(),
        false => {
            let [low, high] = q.range_of(low, high);
            format!(" ({low} to {high})")
        }
    };
    Err(Fault::of(
        Kind::Range,
        format!("`{q}` is out of range"),
        format!("use {low} to {high}{own}"),
    ))
}

/// What a value is, for a message: its text if short, else its kind.
pub fn describe(value: &Value) -> String {
    match value {
        Value::Null => "nothing".into(),
        Value::Array(_) => "a list".into(),
        Value::Object(_) => "a section".into(),
        other => {
            let mut text = other.to_string();
            if text.chars().count() > 60 {
                text = text.chars().take(57).collect::<String>() + "...";
            }
            format!("`{}`", text.trim_matches('"'))
        }
    }
}
