//! YAML text to a plain tree: the one place that knows the YAML library.

use crate::error::Fault;
use serde::de::{DeserializeSeed, Deserializer, EnumAccess, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};
use std::cell::Cell;
use std::fmt;

/// No scenario needs more; a larger file is a mistake or an attack.
pub const MAX_BYTES: usize = 1 << 20;

/// Brackets of a scenario: a hundred are many. The library takes time with the square of their nesting,
/// before it refuses it.
const MAX_BRACKETS: usize = 10_000;

/// Aliases (`*name`) may unfold a file to this many bytes of words and values; the library bounds
/// how often they unfold, and not how long the text is that they repeat.
const MAX_UNFOLDED: usize = 8 << 20;

/// The document as a tree; keys keep their order. `file` is the name for messages.
pub fn parse(file: &str, text: &[u8]) -> Result<Value, Fault> {
    if text.len() > MAX_BYTES {
        return Err(Fault::new(
            file,
            "the file is larger than 1 MiB",
            "a scenario is at most 1 MiB; split it",
        ));
    }
    // Some editors put a byte order mark in front.
    let text = text.strip_prefix(b"\xef\xbb\xbf").unwrap_or(text);
    let text = std::str::from_utf8(text).map_err(|e| {
        Fault::new(
            format!("{file}: byte {}", e.valid_up_to()),
            "the file is not UTF-8 text",
            "save it as UTF-8",
        )
    })?;
    let brackets = text.bytes().filter(|b| matches!(b, b'[' | b'{')).count();
    if brackets > MAX_BRACKETS {
        return Err(Fault::new(
            file,
            format!("the file opens {brackets} brackets"),
            format!("a scenario has at most {MAX_BRACKETS}; split it"),
        ));
    }
    let room = Cell::new(MAX_UNFOLDED);
    let node = Node { room: &room };
    node.deserialize(serde_yaml::Deserializer::from_str(text))
        .map_err(|e| {
            let place = match e.location() {
                Some(at) => format!("{file}: line {}", at.line()),
                None => file.to_string(),
            };
            let problem = match e.to_string() {
                words if words.starts_with("repetition limit") => UNFOLDS.into(),
                words => words,
            };
            let remedy = match problem.contains(UNFOLDS) {
                true => "write the values out, without aliases",
                false => "mend the YAML; an editor with the schema helps",
            };
            Fault::new(place, problem, remedy)
        })
}

const UNFOLDS: &str = "the aliases (`*name`) unfold to too much";

/// One value of the document, while it is read.
#[derive(Clone, Copy)]
struct Node<'r> {
    /// Bytes that may still be read.
    room: &'r Cell<usize>,
}

impl Node<'_> {
    fn spend<E: Error>(self, bytes: usize) -> Result<(), E> {
        let left = self.room.get().checked_sub(bytes + size_of::<Value>());
        self.room.set(left.ok_or_else(|| E::custom(UNFOLDS))?);
        Ok(())
    }

    fn number<E: Error>(self, number: impl Into<Number>) -> Result<Value, E> {
        self.spend(0)?;
        Ok(Value::Number(number.into()))
    }
}

impl<'de> DeserializeSeed<'de> for Node<'_> {
    type Value = Value;

    fn deserialize<D: Deserializer<'de>>(self, input: D) -> Result<Value, D::Error> {
        input.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Node<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        self.spend(0)?;
        Ok(Value::Null)
    }

    fn visit_none<E: Error>(self) -> Result<Value, E> {
        self.visit_unit()
    }

    fn visit_bool<E: Error>(self, flag: bool) -> Result<Value, E> {
        self.spend(0)?;
        Ok(Value::Bool(flag))
    }

    fn visit_u64<E: Error>(self, number: u64) -> Result<Value, E> {
        self.number(number)
    }

    fn visit_i64<E: Error>(self, number: i64) -> Result<Value, E> {
        self.number(number)
    }

    fn visit_u128<E: Error>(self, number: u128) -> Result<Value, E> {
        self.visit_f64(number as f64)
    }

    fn visit_i128<E: Error>(self, number: i128) -> Result<Value, E> {
        self.visit_f64(number as f64)
    }

    /// What is not finite stays as its text, which no field takes for a number: the fault is then
    /// told at its field, beside all others.
    fn visit_f64<E: Error>(self, number: f64) -> Result<Value, E> {
        match Number::from_f64(number) {
            Some(number) => self.number(number),
            None if number.is_nan() => self.visit_str(".nan"),
            None if number > 0.0 => self.visit_str(".inf"),
            None => self.visit_str("-.inf"),
        }
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Value, E> {
        self.spend(text.len())?;
        Ok(Value::String(text.into()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        self.spend(0)?;
        let mut list = Vec::new();
        while let Some(item) = items.next_element_seed(self)? {
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        self.spend(0)?;
        let mut map = Map::new();
        while let Some(key) = entries.next_key_seed(Key {
            of: self,
            map: &map,
        })? {
            map.insert(key, entries.next_value_seed(self)?);
        }
        Ok(Value::Object(map))
    }

    fn visit_enum<A: EnumAccess<'de>>(self, _: A) -> Result<Value, A::Error> {
        Err(A::Error::custom("a tag (`!name`) means nothing here"))
    }
}

/// A key of `map`, which has none of its name yet.
struct Key<'r> {
    of: Node<'r>,
    map: &'r Map<String, Value>,
}

impl<'de> DeserializeSeed<'de> for Key<'_> {
    type Value = String;

    fn deserialize<D: Deserializer<'de>>(self, input: D) -> Result<String, D::Error> {
        input.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Key<'_> {
    type Value = String;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a plain word as a key")
    }

    fn visit_str<E: Error>(self, key: &str) -> Result<String, E> {
        self.of.spend(key.len())?;
        match self.map.contains_key(key) {
            true => Err(E::custom(format!("the key `{key}` stands here twice"))),
            false => Ok(key.into()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_have_a_line() {
        let fault = |text: &str| parse("f.yaml", text.as_bytes()).unwrap_err();
        let at = |text: &str| fault(text).place;
        assert_eq!(at("a: 1\nb: [1, 2\n"), "f.yaml: line 3");
        assert_eq!(at("b: 0\na: 1\nc: 2\na: 2\n"), "f.yaml: line 4");
        assert_eq!(at("b:\n  a: 1\n  c: 2\n  a: 2\n"), "f.yaml: line 4");
        assert_eq!(at("a: 1\n1: 2"), "f.yaml: line 2");
        assert_eq!(at("b: 1\na: !x 1"), "f.yaml: line 2");
        assert!(
            fault("a: 1\na: 2")
                .problem
                .contains("`a` stands here twice")
        );
    }

    #[test]
    fn numbers_that_are_none_stay_words() {
        let tree = parse("f", b"\xef\xbb\xbfa: {b: [0, .nan, .inf, -.inf, 1.5]}").unwrap();
        assert_eq!(
            tree,
            serde_json::json!({"a": {"b": [0, ".nan", ".inf", "-.inf", 1.5]}})
        );
        let tree = parse("f", b"a: 36893488147419103232").unwrap();
        assert_eq!(tree["a"].as_f64(), Some(36893488147419103232.0));
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
        let long = format!(
            "a: &a {}\nb: [{}]\n",
            "x".repeat(500_000),
            "*a, ".repeat(20_000)
        );
        for text in [bomb, long] {
            let fault = parse("f", text.as_bytes()).unwrap_err();
            assert!(fault.problem.contains(UNFOLDS), "{fault}");
        }
        assert!(parse("f", &[0xff, 0xfe]).is_err());
        assert!(parse("f", &vec![b' '; MAX_BYTES + 1]).is_err());
    }
}
