//! What a YAML file of ours is, told by its sections.

use serde_json::Value;

/// A kind of file that people write.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    /// One vehicle, its faults, the test and the channels.
    Scenario,
    /// A hidden vehicle with a work order.
    Job,
    /// What a quiz pack shall hold.
    Quiz,
    /// What a corpus is drawn from.
    Plan,
}

impl FileKind {
    /// The kind that a document means to be: a job has a section `job`, quizzes and plans name `scenarios`, and a
    /// quiz says how many captures of each. All else is a scenario.
    pub(super) fn of(tree: &Value) -> FileKind {
        let has = |key| tree.get(key).is_some();
        let Some(scenarios) = tree.get("scenarios") else {
            return match has("job") {
                true => FileKind::Job,
                false => FileKind::Scenario,
            };
        };
        let counted = |entries: &Vec<Value>| entries.iter().any(|e| e.get("captures").is_some());
        let of_a_quiz = has("difficulty") || has("untold");
        match of_a_quiz || scenarios.as_array().is_some_and(counted) {
            true => FileKind::Quiz,
            false => FileKind::Plan,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn sections_tell_the_kind() {
        let cases = [
            (json!({"vehicle": {}}), FileKind::Scenario),
            (json!(null), FileKind::Scenario),
            (json!({"vehicle": {}, "job": {}}), FileKind::Job),
            (json!({"scenarios": [{"captures": 2}]}), FileKind::Quiz),
            (json!({"scenarios": [], "untold": 0}), FileKind::Quiz),
            (json!({"scenarios": [{"weight": 2}]}), FileKind::Plan),
        ];
        for (tree, kind) in cases {
            assert_eq!(FileKind::of(&tree), kind, "{tree}");
        }
    }
}
