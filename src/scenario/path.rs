//! One field of a scenario, put in place by its path.

use super::{Drawn, Source};
use crate::error::{Fault, Faults};
use serde_json::Value;

impl Source {
    /// The scenario with `value` at the field `path`: `vehicle.cooling.air_pocket`,
    /// `faults.leaks[0].cylinder`.
    ///
    /// # Errors
    /// A path that leads nowhere. Whether the field exists and takes the value shows on drawing.
    pub fn with(&self, path: &str, value: Value) -> Result<Source, Faults> {
        let mut tree = self.tree.clone();
        let Some(place) = find(&mut tree, path) else {
            let remedy = "write it like `vehicle.cooling.air_pocket` or `faults.leaks[0].area`, as in the schema";
            return Err(Fault::new(&self.file, format!("no field `{path}`"), remedy).into());
        };
        *place = value;
        Ok(Source {
            file: self.file.clone(),
            tree,
        })
    }
}

impl Drawn {
    /// The same capture, every draw kept, with `value` at the field `path`.
    ///
    /// # Errors
    /// A path that leads nowhere, or a value that the field does not take.
    pub fn with(&self, path: &str, value: Value) -> Result<Drawn, Faults> {
        Source::from_tree(path, self.resolved.clone())
            .with(path, value)?
            .draw(Some(self.seed), self.number)
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

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_drawn_capture_keeps_its_draws_when_a_field_changes() {
        let text = "
            vehicle: {engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}, cooling: {air_pocket: {uniform: [50 mL, 500 mL]}}}
            faults: {leaks: [{cylinder: 1, area: 0.05 mm2}]}
            channels: [{sensor: neck_pressure}]";
        let drawn = Source::parse("f", text.as_bytes())
            .unwrap()
            .draw(Some(5), 3)
            .unwrap();
        let moved = drawn.with("faults.leaks[0].cylinder", json!(4)).unwrap();
        assert_eq!(moved.scenario.faults.leaks[0].cylinder, 4);
        assert_eq!((moved.seed, moved.number), (5, 3));
        assert_eq!(moved.scenario.cooling, drawn.scenario.cooling);
        let sound = drawn.with("faults.leaks", json!([])).unwrap();
        assert!(sound.scenario.faults.leaks.is_empty());
        assert!(drawn.with("faults.leaks[0].cylinder", json!(5)).is_err());
        assert!(drawn.with("faults.leaks[1].cylinder", json!(1)).is_err());
    }
}
