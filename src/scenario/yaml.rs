//! YAML text to a plain tree: the one place that knows the YAML library.

use crate::error::Fault;
use serde_json::{Map, Number, Value};
use serde_yaml::Value as Yaml;

/// No scenario needs more; a larger file is a mistake or an attack.
const MAX_BYTES: usize = 1 << 20;

/// The document as a tree; keys keep their order. `file` is the name for messages.
pub fn parse(file: &str, text: &[u8]) -> Result<Value, Fault> {
    if text.len() > MAX_BYTES {
        return Err(Fault::new(
            file,
            format!("the file has {} bytes", text.len()),
            "a scenario is at most 1 MiB; split it",
        ));
    }
    let text = std::str::from_utf8(text).map_err(|e| {
        Fault::new(
            format!("{file}: byte {}", e.valid_up_to()),
            "the file is not UTF-8 text",
            "save it as UTF-8",
        )
    })?;
    let yaml: Yaml = serde_yaml::from_str(text).map_err(|e| {
        let place = match e.location() {
            Some(at) => format!("{file}: line {}", at.line()),
            None => file.to_string(),
        };
        Fault::new(place, e, "mend the YAML; an editor with the schema helps")
    })?;
    tree(file, "", yaml)
}

fn tree(file: &str, path: &str, yaml: Yaml) -> Result<Value, Fault> {
    let fault = |problem: String, remedy: &str| {
        let place = if path.is_empty() {
            file.to_string()
        } else {
            format!("{file}: {path}")
        };
        Fault::new(place, problem, remedy)
    };
    Ok(match yaml {
        Yaml::Null => Value::Null,
        Yaml::Bool(b) => Value::Bool(b),
        Yaml::String(s) => Value::String(s),
        Yaml::Number(n) => {
            let number = match (n.as_u64(), n.as_i64(), n.as_f64()) {
                (Some(u), _, _) => Some(Number::from(u)),
                (_, Some(i), _) => Some(Number::from(i)),
                (_, _, Some(f)) => Number::from_f64(f),
                _ => None,
            };
            Value::Number(number.ok_or_else(|| {
                fault(
                    format!("`{n}` is not a finite number"),
                    "write a finite number",
                )
            })?)
        }
        Yaml::Sequence(items) => Value::Array(
            items
                .into_iter()
                .enumerate()
                .map(|(i, item)| tree(file, &format!("{path}[{i}]"), item))
                .collect::<Result<_, _>>()?,
        ),
        Yaml::Mapping(entries) => {
            let mut map = Map::new();
            for (key, value) in entries {
                let Yaml::String(key) = key else {
                    return Err(fault(
                        format!("the key {key:?} is not a word"),
                        "write keys as plain words",
                    ));
                };
                let below = if path.is_empty() {
                    key.clone()
                } else {
                    format!("{path}.{key}")
                };
                map.insert(key, tree(file, &below, value)?);
            }
            Value::Object(map)
        }
        Yaml::Tagged(tagged) => {
            return Err(fault(
                format!("the tag `{}` means nothing here", tagged.tag),
                "leave the tag out",
            ));
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_have_a_line_or_a_path() {
        let at = |text: &str| parse("f.yaml", text.as_bytes()).unwrap_err().place;
        assert_eq!(at("a: 1\nb: [1, 2\n"), "f.yaml: line 3");
        assert_eq!(at("a: {b: [0, .nan]}"), "f.yaml: a.b[1]");
        assert_eq!(at("b: 0\nc:\n  a: 1\n  a: 2\n"), "f.yaml: line 3");
        assert_eq!(at("{1: 2}"), "f.yaml");
        assert_eq!(at("a: !x 1"), "f.yaml: a");
    }

    #[test]
    fn hostile_documents_are_refused_quickly() {
        let deep = "[".repeat(100_000);
        assert!(parse("f", deep.as_bytes()).is_err());
        let mut bomb = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
        for i in 1..30 {
            let of = format!("*a{}", i - 1);
            bomb += &format!("a{i}: &a{i} [{}]\n", vec![of; 10].join(", "));
        }
        assert!(parse("f", bomb.as_bytes()).is_err());
        assert!(parse("f", &[0xff, 0xfe]).is_err());
        assert!(parse("f", &vec![b' '; MAX_BYTES + 1]).is_err());
    }
}
