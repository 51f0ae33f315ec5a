//! One field of a scenario, moved through a range.

use super::Source;
use super::units::{split_number, three_digits};
use crate::error::{Fault, Faults};
use crate::math;
use serde_json::Value;

/// From this ratio of the ends on, steps are equal ratios.
const GEOMETRIC_FROM: f64 = 8.0;

/// A field and the values it shall take.
#[derive(Clone, Debug, PartialEq)]
pub struct Sweep {
    /// Path of the field: `vehicle.cooling.air_pocket`, `faults.leaks[0].area`.
    pub field: String,
    /// Unit of the values, as it was written; may be empty.
    pub unit: String,
    /// The values, ascending.
    pub values: Vec<f64>,
    /// Whether they stand in equal ratios.
    pub geometric: bool,
}

impl Sweep {
    /// Reads `50 mL..1500 mL` or `50..1500 mL`; `steps` values from end to end. Where the ends are
    /// above zero and far apart, steps are equal ratios, otherwise equal differences.
    ///
    /// # Errors
    /// A range that is not two ascending numbers in one unit.
    pub fn parse(field: &str, range: &str, steps: usize) -> Result<Sweep, Faults> {
        let fault = |problem: String| {
            Faults::from(Fault::new(
                format!("range `{range}`"),
                problem,
                "write `50 mL..1500 mL`, the smaller value first",
            ))
        };
        let (low, high) = range
            .split_once("..")
            .ok_or_else(|| fault("it has no `..`".into()))?;
        let part = |text: &str| {
            let text = text.trim();
            let split = split_number(text);
            let number: Option<f64> = text[..split].parse().ok().filter(|n: &f64| n.is_finite());
            number.map(|n| (n, text[split..].trim().to_string()))
        };
        let (Some((low, low_unit)), Some((high, unit))) = (part(low), part(high)) else {
            return Err(fault("an end is not a number".into()));
        };
        if !low_unit.is_empty() && low_unit != unit {
            return Err(fault(format!("its ends are in `{low_unit}` and `{unit}`")));
        }
        if low >= high {
            return Err(fault(format!("it runs from {low} to {high}")));
        }
        let geometric = low > 0.0 && high / low >= GEOMETRIC_FROM;
        let at = |i: usize| {
            let share = i as f64 / (steps - 1) as f64;
            match (i, geometric) {
                (0, _) => low,
                (i, _) if i == steps - 1 => high,
                (_, true) => three_digits(low * math::exp(share * math::ln(high / low))),
                (_, false) => without_rounding(low + share * (high - low)),
            }
        };
        Ok(Sweep {
            field: field.into(),
            unit,
            values: (0..steps).map(at).collect(),
            geometric,
        })
    }

    /// The scenario with the field at one value.
    ///
    /// # Errors
    /// A path that leads nowhere. Whether the field exists and takes the value shows on drawing.
    pub fn at(&self, source: &Source, value: f64) -> Result<Source, Faults> {
        let written = match self.unit.as_str() {
            // A whole number may be a cylinder's.
            "" if value.fract() == 0.0 && value >= 0.0 => serde_json::json!(value as u64),
            "" => serde_json::json!(value),
            unit => Value::String(format!("{value} {unit}")),
        };
        let mut tree = source.document.tree.clone();
        let Some(place) = find(&mut tree, &self.field) else {
            let problem = format!("no field `{}`", self.field);
            let remedy = "write it like `vehicle.cooling.air_pocket` or `faults.leaks[0].area`, as in the schema";
            return Err(Fault::new(&source.file, problem, remedy).into());
        };
        *place = written;
        // No line of the file holds what is swept.
        Ok(Source::of(&source.file, tree.into()))
    }
}

/// The place of a field in the tree; sections on the way are made.
fn find<'a>(tree: &'a mut Value, path: &str) -> Option<&'a mut Value> {
    let mut at = tree;
    for word in path.split('.') {
        let (key, indices) = word
            .split_once('[')
            .map_or((word, None), |(key, rest)| (key, Some(rest)));
        if key.is_empty() {
            return None;
        }
        if at.is_null() {
            *at = Value::Object(serde_json::Map::new());
        }
        at = at.as_object_mut()?.entry(key).or_insert(Value::Null);
        for index in indices.into_iter().flat_map(|i| i.split('[')) {
            let index: usize = index.strip_suffix(']')?.parse().ok()?;
            at = at.as_array_mut()?.get_mut(index)?;
        }
    }
    Some(at)
}

/// The value without the last digits, which only say how it was computed.
fn without_rounding(value: f64) -> f64 {
    format!("{value:.11e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_read() {
        let sweep = Sweep::parse("x", "50 mL..1600 mL", 6).unwrap();
        assert_eq!((sweep.unit.as_str(), sweep.geometric), ("mL", true));
        assert_eq!(sweep.values, [50.0, 100.0, 200.0, 400.0, 800.0, 1600.0]);
        assert_eq!(
            Sweep::parse("x", "1..2 bar", 3).unwrap().values,
            [1.0, 1.5, 2.0]
        );
        for bad in [
            "5",
            "a..b",
            "2..1 bar",
            "1 mL..2 bar",
            "1..inf",
            "..",
            "nan..2",
        ] {
            assert!(Sweep::parse("x", bad, 3).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_field_is_set_by_its_path() {
        let text = "faults: {leaks: [{cylinder: 1, area: 1 mm2}]}";
        let source = Source::parse("f", text.as_bytes()).unwrap();
        let set = |field: &str| {
            Sweep::parse(field, "2 mm2..3 mm2", 2)
                .unwrap()
                .at(&source, 2.0)
        };
        assert_eq!(
            set("faults.leaks[0].area").unwrap().document.tree["faults"]["leaks"][0]["area"],
            "2 mm2"
        );
        assert_eq!(
            set("vehicle.cooling.path").unwrap().document.tree["vehicle"]["cooling"]["path"],
            "2 mm2"
        );
        for lost in [
            "faults.leaks[1].area",
            "faults.leaks.area",
            "",
            ".",
            "faults.leaks[x]",
            "faults[0]",
        ] {
            assert!(set(lost).is_err(), "{lost}");
        }
    }
}
