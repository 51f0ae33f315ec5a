//! The model's page tells the truth: its table of defaults is the fields' own, its pictures are the tool's.

use std::path::Path;
use waterjacket::scenario::{Field, Kind, Scenario};

/// A row of the page for a sensor each: field, default, origin, sensor.
type Row = ([String; 3], &'static str);

fn walk(fields: &[Field], path: &str, sensor: &'static str, rows: &mut Vec<Row>) {
    let variants = fields.iter().find_map(|field| match &field.kind {
        Kind::Variant(variants) => Some((field.key, variants)),
        _ => None,
    });
    if let Some((key, variants)) = variants.filter(|_| sensor.is_empty()) {
        for (sensor, _, own) in variants {
            let shared = fields.iter().filter(|f| f.key != key);
            let all: Vec<Field> = own.iter().chain(shared).cloned().collect();
            walk(&all, path, sensor, rows);
        }
        return;
    }
    for field in fields {
        let path = format!("{path}{}", field.key);
        let (kind, below) = match &field.kind {
            Kind::List(item) => (&**item, format!("{path}.")),
            kind => (kind, format!("{path}.")),
        };
        let derived = field.doc.split("(default: ").nth(1);
        let default = match derived {
            Some(words) => words.trim_end_matches(')').to_string(),
            None => field.preset.text(),
        };
        match kind {
            Kind::Section(fields) => walk(fields, &below, sensor, rows),
            Kind::Quantity { .. } if derived.is_some() || field.preset.hidden.is_none() => {
                let plain = default.replace("\",\"", " to ");
                let plain = plain.trim_matches(['[', ']', '"']).to_string();
                rows.push(([path, plain, field.preset.origin.into()], sensor));
            }
            _ => {}
        }
    }
}

/// The table of defaults: sensors that agree on a field share a row.
fn table() -> Vec<String> {
    let mut rows = Vec::new();
    walk(&Scenario::fields(), "", "", &mut rows);
    let mut grouped: Vec<([String; 3], Vec<&str>)> = Vec::new();
    for (row, sensor) in rows {
        match grouped.iter_mut().find(|(known, _)| *known == row) {
            Some((_, sensors)) => sensors.push(sensor),
            None => grouped.push((row, vec![sensor])),
        }
    }
    let written = grouped.iter().map(|([field, default, origin], sensors)| {
        let of = match sensors[..] {
            [""] => String::new(),
            _ if sensors.len() == 7 => " (all sensors)".into(),
            _ => format!(" ({})", sensors.join(", ")),
        };
        format!("| `{field}`{of} | {default} | {origin} |")
    });
    written.collect()
}

#[test]
fn the_table_of_defaults_is_the_fields_own() {
    let table = table();
    assert!(table.len() > 90, "{}", table.len());
    let page = include_str!("../src/model/defaults.md");
    let shown: Vec<&str> = page.lines().filter(|l| l.starts_with("| `")).collect();
    assert!(
        shown == table,
        "put these rows into src/model/defaults.md:\n{}",
        table.join("\n")
    );
    let known = [
        "published",
        "common practice",
        "from memory",
        "chosen by us",
    ];
    for row in table {
        let origin = row.trim_matches('|').split(" | ").nth(2).unwrap();
        assert!(known.iter().any(|k| origin.starts_with(k)), "{row}");
    }
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
