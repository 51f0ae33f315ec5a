#![doc = include_str!("description.md")]

#[cfg(test)]
mod tests {
    use crate::domain::{Measures, Sync, Truth, example};
    use crate::formats::{call_lines, call_sheet, calls};
    use crate::formats::{json, key};
    use crate::grade::results;
    use serde::Serialize;
    use serde_json::Value;
    use std::collections::BTreeSet;

    const PAGE: &str = include_str!("description.md");

    /// The first cells of the tables below the heading that begins with `heading`, a set for each table.
    fn described(heading: &str) -> Vec<BTreeSet<String>> {
        let from = PAGE.find(&format!("\n# {heading}")).expect("the heading") + 1;
        let section = &PAGE[from..];
        let section = section.split("\n# ").next().unwrap();
        let mut tables: Vec<BTreeSet<String>> = Vec::new();
        for line in section.lines() {
            if line.starts_with("|---") {
                tables.push(BTreeSet::new());
            } else if let Some(field) = line.strip_prefix("| `") {
                let field = field.split('`').next().unwrap().to_string();
                let table = tables.last_mut().unwrap();
                assert!(table.insert(field), "twice: {line}");
            }
        }
        tables
    }

    /// The paths of all fields of a document, with `[]` for the items of a list; below `open` none is followed.
    fn fields(document: &impl Serialize, open: &[&str]) -> BTreeSet<String> {
        fn walk(value: &Value, path: &str, open: &[&str], found: &mut BTreeSet<String>) {
            match value {
                Value::Object(inner) if !open.contains(&path) => {
                    for (key, value) in inner {
                        let dot = if path.is_empty() { "" } else { "." };
                        walk(value, &format!("{path}{dot}{key}"), open, found);
                    }
                }
                Value::Array(items) if items.iter().any(Value::is_object) => {
                    for item in items {
                        walk(item, &format!("{path}[]"), open, found);
                    }
                }
                _ => drop(found.insert(path.into())),
            }
        }
        let mut found = BTreeSet::new();
        walk(
            &serde_json::to_value(document).unwrap(),
            "",
            open,
            &mut found,
        );
        found
    }

    fn words(words: &[&str]) -> BTreeSet<String> {
        words.iter().map(|word| word.to_string()).collect()
    }

    #[test]
    fn every_field_of_card_and_truth_is_described_and_no_other() {
        let [card] = &described("The card")[..] else {
            panic!("one table");
        };
        assert_eq!(*card, fields(&example::card(), &[]));
        let [truth] = &described("The truth")[..] else {
            panic!("one table");
        };
        let example = example::truth();
        assert!(!example.events.is_empty() && !example.tdcs.is_empty());
        assert_eq!(*truth, fields(&example, &["engine", "scenario"]));
    }

    #[test]
    fn what_an_outline_leaves_out_is_what_the_page_says() {
        let outline: Value = serde_json::from_str(&key::line(&example::truth())).unwrap();
        let whole: Value = serde_json::to_value(example::truth()).unwrap();
        let differs = |name: &&String| outline[name.as_str()] != whole[name.as_str()];
        let changed: Vec<&String> = whole.as_object().unwrap().keys().filter(differs).collect();
        assert_eq!(changed, ["events", "tdcs", "scenario"]);
        assert!(outline["scenario"].is_null());
    }

    #[test]
    fn every_column_of_calls_and_results_is_described_and_no_other() {
        let [student, analyzer] = &described("Calls")[..] else {
            panic!("two tables");
        };
        let sheet = [&call_sheet::COLUMNS[..], &[call_sheet::PACK]].concat();
        assert_eq!(*student, words(&sheet));
        assert_eq!(*analyzer, words(&calls::FIELDS));
        let [results] = &described("Results")[..] else {
            panic!("one table");
        };
        let header = results::header();
        let header: Vec<&str> = header.trim_end().split(',').collect();
        assert_eq!(*results, words(&header));
    }

    #[test]
    fn every_word_of_a_closed_set_is_named() {
        use Measures::*;
        let measures = [
            NeckPressure,
            NeckPulse,
            CoilTrigger,
            CylinderPressure,
            StarterCurrent,
            BatteryVoltage,
            Probe,
        ];
        let syncs = [Sync::Full, Sync::Pair, Sync::None];
        let all = measures.iter().map(|m| serde_json::to_value(m).unwrap());
        for word in all.chain(syncs.iter().map(|s| serde_json::to_value(s).unwrap())) {
            let word = word.as_str().unwrap().to_string();
            assert!(PAGE.contains(&format!("`{word}`")), "{word}");
        }
        for format in [crate::domain::CARD_FORMAT, crate::domain::TRUTH_FORMAT] {
            assert!(PAGE.contains(&format!("`{format}`")), "{format}");
        }
    }

    /// A reader of one version passes over fields that a later program of the same version adds.
    #[test]
    fn unknown_fields_are_passed_over_and_unknown_versions_refused() {
        let mut text: Value = serde_json::from_str(&json::text(&example::truth())).unwrap();
        text["added_later"] = "x".into();
        let read = json::parse::<Truth>("x", text.to_string().as_bytes()).unwrap();
        assert_eq!(read, example::truth());
        text["format"] = "waterjacket truth 2".into();
        assert!(json::parse::<Truth>("x", text.to_string().as_bytes()).is_err());
    }

    #[test]
    fn the_calls_that_are_shown_can_be_read() {
        let shown = PAGE
            .split("```text\n")
            .nth(1)
            .unwrap()
            .split("```")
            .next()
            .unwrap();
        let mut reader = call_lines::Reader::new("x.jsonl");
        for line in shown.lines() {
            let read = reader.read(1, line.as_bytes(), |fault| panic!("{line}: {fault}"));
            assert!(read.unwrap().is_some(), "{line}");
        }
    }
}
