//! Distributions: what may stand wherever a number may.
//!
//! `{uniform: [A, B]}`, `{log_uniform: [A, B]}`, `{normal: {mean: M, sd: S}}` for quantities and
//! `{choose: [..]}` for anything. A normal is truncated to the range of its field.

use super::units::{Dimension, Quantity};
use crate::error::nearest;
use crate::math;
use crate::random::Stream;
use serde_json::{Map, Value};

/// The words that name a distribution.
pub const NAMES: [&str; 4] = ["uniform", "log_uniform", "normal", "choose"];

/// A problem and its remedy; the reader adds the place.
pub type Complaint = (String, String);

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
pub fn alternatives(value: &Value) -> Option<Result<&Vec<Value>, Complaint>> {
    let map = value.as_object()?;
    let list = map.get("choose")?;
    Some(match list.as_array() {
        Some(items) if !items.is_empty() && map.len() == 1 => Ok(items),
        _ => Err((
            "`choose` needs a list with at least one value".into(),
            "write `{choose: [A, B]}`".into(),
        )),
    })
}

impl Distribution {
    /// Reads a mapping as a distribution whose values must lie within `range` (SI).
    pub fn parse(
        value: &Value,
        dimension: Dimension,
        range: (Quantity, Quantity),
    ) -> Result<Self, Complaint> {
        let shape = || {
            "write `{uniform: [A, B]}`, `{log_uniform: [A, B]}`, `{normal: {mean: M, sd: S}}` or `{choose: [..]}`"
                .to_string()
        };
        let map = value
            .as_object()
            .ok_or_else(|| ("not a distribution".to_string(), shape()))?;
        let [(name, body)] = map.iter().collect::<Vec<_>>()[..] else {
            return Err((
                format!("a distribution has one word, this has {}", map.len()),
                shape(),
            ));
        };
        let quantity = |v: Option<&Value>| -> Result<Quantity, Complaint> {
            let v = v.ok_or_else(|| (format!("`{name}` lacks a value"), shape()))?;
            read_plain(v, dimension)
        };
        let inside = |q: Quantity| in_range(q, range).map(|()| q);
        match name.as_str() {
            "uniform" | "log_uniform" => {
                let ends = body.as_array().filter(|a| a.len() == 2);
                let ends = ends.ok_or_else(|| (format!("`{name}` needs two values"), shape()))?;
                let (low, high) = (
                    inside(quantity(ends.first())?)?,
                    inside(quantity(ends.last())?)?,
                );
                if low.si() >= high.si() {
                    return Err((
                        format!("`{name}` runs from {low} to {high}"),
                        "put the smaller value first".into(),
                    ));
                }
                if name == "uniform" {
                    return Ok(Self::Uniform(low, high));
                }
                if low.number <= 0.0 || low.number_of(high.si()) <= 0.0 {
                    return Err((
                        format!("`log_uniform` from {low}"),
                        "start above zero".into(),
                    ));
                }
                Ok(Self::LogUniform(low, high))
            }
            "normal" => {
                let keys = body.as_object().into_iter().flat_map(|b| b.keys());
                if let Some(key) = keys.clone().find(|k| *k != "mean" && *k != "sd") {
                    return Err((format!("`normal` knows no `{key}`"), shape()));
                }
                let mean = inside(quantity(body.get("mean"))?)?;
                let sd = quantity(body.get("sd"))?.span_in(mean);
                let width = mean.number_of(range.1.si()) - mean.number_of(range.0.si());
                if !(sd > 0.0 && sd <= width) {
                    return Err((
                        format!("a standard deviation of {}", mean.with_number(sd)),
                        format!("use one above zero and at most {}", mean.with_number(width)),
                    ));
                }
                Ok(Self::Normal(mean, sd))
            }
            other => Err((
                format!("unknown distribution `{other}`"),
                match nearest(other, NAMES) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => shape(),
                },
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
pub fn whole_ends(map: &Map<String, Value>) -> Result<(&Value, &Value), Complaint> {
    let shape = || "write `{uniform: [A, B]}` or `{choose: [..]}`".to_string();
    match map.iter().collect::<Vec<_>>()[..] {
        [(name, body)] if name == "uniform" => match body.as_array().map(Vec::as_slice) {
            Some([low, high]) => Ok((low, high)),
            _ => Err(("`uniform` needs two values".into(), shape())),
        },
        [(name, _)] => Err((
            format!("whole numbers have no distribution `{name}`"),
            match nearest(name, ["uniform", "choose"]) {
                Some(near) => format!("did you mean `{near}`?"),
                None => shape(),
            },
        )),
        _ => Err((
            format!("a distribution has one word, this has {}", map.len()),
            shape(),
        )),
    }
}

/// A quantity without randomness.
pub fn read_plain(value: &Value, dimension: Dimension) -> Result<Quantity, Complaint> {
    match value {
        Value::String(text) => Quantity::parse(text, dimension),
        Value::Number(n) if dimension.takes_bare_numbers() => {
            Ok(Quantity::bare(n.as_f64().unwrap_or(f64::MAX)))
        }
        Value::Number(n) => Err((
            format!("the bare number {n} needs a unit"),
            format!("units that fit: {}", dimension.unit_list()),
        )),
        other => Err((
            format!("{} where a quantity belongs", describe(other)),
            dimension.forms(),
        )),
    }
}

/// Whether a quantity lies in a range; the complaint repeats both.
pub fn in_range(q: Quantity, (low, high): (Quantity, Quantity)) -> Result<(), Complaint> {
    if q.si() >= low.si() && q.si() <= high.si() {
        return Ok(());
    }
    Err((
        format!("`{q}` is out of range"),
        format!("use {low} to {high}"),
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
