//! The JSON Schema (draft 2020-12) of our files, from the same questions that read them.

use super::field::{Field, Kind};
use super::section::{Section, fields};
use serde_json::{Map, Value, json};

/// The schema of files whose questions `visit` puts, for editors that complete and check YAML.
pub fn json_schema<T>(
    title: &str,
    description: &str,
    visit: impl FnOnce(&mut Section, Option<&T>) -> T,
) -> Value {
    let mut schema = section(&fields(visit));
    let head = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": title,
        "description": description,
    });
    let mut whole = head.as_object().cloned().unwrap_or_default();
    whole.append(schema.as_object_mut().unwrap_or(&mut Map::new()));
    whole.insert(
        "$defs".into(),
        json!({
            "random": {
                "description": "A distribution stands wherever a number may.",
                "oneOf": [
                    one("uniform", json!({"type": "array", "minItems": 2, "maxItems": 2})),
                    one("log_uniform", json!({"type": "array", "minItems": 2, "maxItems": 2})),
                    one("normal", json!({
                        "type": "object",
                        "required": ["mean", "sd"],
                        "properties": {"mean": {}, "sd": {}},
                        "additionalProperties": false
                    })),
                    one("choose", json!({"type": "array", "minItems": 1})),
                ]
            },
            "random_whole": {
                "description": "A distribution of whole numbers.",
                "oneOf": [
                    one("uniform", json!({"type": "array", "items": {"type": "integer"}, "minItems": 2, "maxItems": 2})),
                    one("choose", json!({"type": "array", "minItems": 1})),
                ]
            },
            "chosen": one("choose", json!({"type": "array", "minItems": 1})),
        }),
    );
    Value::Object(whole)
}

fn one(name: &str, body: Value) -> Value {
    json!({"type": "object", "properties": {name: body}, "required": [name], "additionalProperties": false})
}

fn section(fields: &[Field]) -> Value {
    let mut properties = Map::new();
    let mut required = Vec::new();
    let mut variants = Vec::new();
    for field in fields {
        if let Kind::Variant(kinds) = &field.kind {
            let shared: Vec<&Field> = fields.iter().filter(|f| f.key != field.key).collect();
            for (name, doc, own) in kinds {
                let mut all: Vec<Field> = own.clone();
                all.extend(shared.iter().map(|f| (*f).clone()));
                let mut variant = section(&all);
                variant["properties"][field.key] = json!({"const": name, "description": doc});
                variants.push(variant);
            }
        }
        properties.insert(field.key.into(), property(field));
        if field.preset.is_required() {
            required.push(field.key);
        }
    }
    if !variants.is_empty() {
        return json!({"type": "object", "required": required, "oneOf": variants});
    }
    let mut schema =
        json!({"type": "object", "properties": properties, "additionalProperties": false});
    if !required.is_empty() {
        schema["required"] = json!(required);
    }
    schema
}

fn property(field: &Field) -> Value {
    let mut schema = kind(&field.kind);
    let mut doc = field.doc.to_string();
    let mut scalar = &field.kind;
    if let Kind::List(item) = &field.kind {
        scalar = item;
    }
    if let Kind::Quantity {
        range: [low, high], ..
    } = scalar
    {
        doc += &format!(". From {low} to {high}");
    }
    if field.preset.hidden.is_none() {
        doc += &format!(". Default: {}", field.preset.text());
    }
    schema["description"] = json!(doc);
    schema
}

fn kind(kind: &Kind) -> Value {
    match kind {
        Kind::Quantity { dimension, .. } => {
            let units: Vec<&str> = dimension.units().iter().map(|u| u.0).collect();
            let pattern = format!(
                "^\\s*[-+]?[0-9.]+([eE][-+]?[0-9]+)?\\s*({})\\s*$",
                units.join("|")
            );
            let mut forms = vec![
                json!({"type": "string", "pattern": pattern, "examples": examples(dimension.units())}),
                json!({"$ref": "#/$defs/random"}),
            ];
            if dimension.takes_bare_numbers() {
                forms.insert(0, json!({"type": "number"}));
            }
            json!({"anyOf": forms})
        }
        Kind::Integer { range: [low, high] } => json!({"anyOf": [
            {"type": "integer", "minimum": low, "maximum": high},
            {"$ref": "#/$defs/random_whole"},
        ]}),
        Kind::Choice(words) => json!({"anyOf": [
            {"oneOf": words.iter().map(|(w, doc)| json!({"const": w, "description": doc})).collect::<Vec<_>>()},
            {"$ref": "#/$defs/chosen"},
        ]}),
        Kind::Flag => json!({"anyOf": [{"type": "boolean"}, {"$ref": "#/$defs/chosen"}]}),
        Kind::Text => json!({"anyOf": [{"type": "string"}, {"$ref": "#/$defs/chosen"}]}),
        Kind::List(item) => match &**item {
            Kind::Section(fields) => json!({"type": "array", "items": section(fields)}),
            plain => {
                json!({"anyOf": [{"type": "array", "items": self::kind(plain)}, {"$ref": "#/$defs/chosen"}]})
            }
        },
        Kind::Section(fields) => section(fields),
        Kind::Either(kinds) => json!({"anyOf": kinds.iter().map(self::kind).collect::<Vec<_>>()}),
        Kind::Variant(words) => json!({"enum": words.iter().map(|w| w.0).collect::<Vec<_>>()}),
    }
}

fn examples(units: &[(&str, f64)]) -> Vec<String> {
    units
        .iter()
        .filter(|u| !u.0.is_empty())
        .map(|u| format!("1 {}", u.0))
        .collect()
}
