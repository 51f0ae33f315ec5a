//! The model's page tells the truth: its table of defaults is the schema's, its pictures are the tool's.

use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;
use waterjacket::scenario::json_schema;

/// Default of every quantity of the schema by its path; sensors' fields as `channels.FIELD (SENSOR)`.
fn defaults() -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    walk(&json_schema(), "", "", &mut found);
    found
}

fn walk(node: &Value, path: &str, sensor: &str, found: &mut BTreeMap<String, String>) {
    for variant in node["oneOf"].as_array().into_iter().flatten() {
        walk(
            variant,
            path,
            variant["properties"]["sensor"]["const"]
                .as_str()
                .unwrap_or(""),
            found,
        );
    }
    for (key, property) in node["properties"].as_object().into_iter().flatten() {
        let below = if path.is_empty() {
            key.clone()
        } else {
            format!("{path}.{key}")
        };
        if property["type"] == "object" {
            walk(property, &below, sensor, found);
        } else if property["type"] == "array" {
            walk(&property["items"], &below, sensor, found);
        } else if property.to_string().contains("\"pattern\"") {
            let doc = property["description"].as_str().unwrap_or("");
            let own = doc.split("Default: ").nth(1);
            let derived = doc
                .split("(default: ")
                .nth(1)
                .and_then(|d| d.split(')').next());
            if let Some(default) = own.or(derived) {
                let plain = default
                    .replace("[\"", "")
                    .replace("\"]", "")
                    .replace("\",\"", " to ");
                let name = if sensor.is_empty() {
                    below
                } else {
                    format!("{below} ({sensor})")
                };
                found.insert(name, plain);
            }
        }
    }
}

/// The page's rows: field (a sensor each), default, origin.
fn rows() -> Vec<(String, String, String)> {
    const SENSORS: [&str; 7] = [
        "neck_pressure",
        "neck_pulse",
        "coil_trigger",
        "cylinder_pressure",
        "starter_current",
        "battery_voltage",
        "probe",
    ];
    let page = include_str!("../src/model/defaults.md");
    let mut rows = Vec::new();
    for line in page.lines().filter(|l| l.starts_with("| `")) {
        let cells: Vec<&str> = line.trim_matches('|').split(" | ").map(str::trim).collect();
        let [field, default, origin] = cells[..] else {
            panic!("{line}")
        };
        let (field, sensors) = field.trim_start_matches('`').split_once('`').unwrap();
        let sensors = sensors.trim().trim_matches(['(', ')']);
        let names: Vec<String> = match sensors {
            "" => vec![field.into()],
            "all sensors" => SENSORS.iter().map(|s| format!("{field} ({s})")).collect(),
            some => some.split(", ").map(|s| format!("{field} ({s})")).collect(),
        };
        rows.extend(
            names
                .into_iter()
                .map(|n| (n, default.to_string(), origin.to_string())),
        );
    }
    rows
}

#[test]
fn the_table_of_defaults_is_the_schemas() {
    let mut left = defaults();
    assert!(left.len() > 100, "{}", left.len());
    for (field, default, origin) in rows() {
        assert_eq!(left.remove(&field).as_ref(), Some(&default), "{field}");
        let known = [
            "published",
            "common practice",
            "from memory",
            "chosen by us",
        ];
        assert!(
            known.iter().any(|k| origin.starts_with(k)),
            "{field}: {origin}"
        );
    }
    assert!(left.is_empty(), "defaults without a row: {left:?}");
}

#[test]
fn the_pictures_are_the_tools_own() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = tempfile::tempdir().unwrap();
    for (field, range, name) in [
        ("vehicle.cooling.air_pocket", "50 mL..1500 mL", "air-pocket"),
        (
            "vehicle.cooling.jacket_compliance",
            "0.1 mL/kPa..5 mL/kPa",
            "hose-softness",
        ),
        ("vehicle.cooling.path", "0.3 m..4 m", "path-length"),
        ("faults.leaks[0].opens_at", "0 bar..14 bar", "lift-off"),
    ] {
        let drawn = folder.path().join(name);
        assert_cmd::Command::cargo_bin("waterjacket")
            .unwrap()
            .args([
                "sweep",
                "scenarios/01-plain-staircase.yaml",
                field,
                range,
                "--format",
                "svg",
                "--out",
            ])
            .arg(&drawn)
            .current_dir(root)
            .assert()
            .success();
        let kept = std::fs::read_to_string(root.join(format!("src/model/{name}.svg"))).unwrap();
        assert!(
            std::fs::read_to_string(&drawn).unwrap() == kept,
            "draw src/model/{name}.svg again with `waterjacket sweep`"
        );
    }
}
