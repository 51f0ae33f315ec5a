//! YAML text to a plain tree, and the places of its fields: the one place that knows the YAML libraries. One
//! reads values, the other, which keeps marks, is asked where they stood once something is wrong with them.

use super::slips;
use crate::error::{Fault, Kind, Mark};
use saphyr_parser::{Event, Marker, Parser};
use serde::de::{DeserializeSeed, Deserializer, EnumAccess, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};
use std::cell::Cell;
use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

/// No scenario needs more; a larger file is a mistake or an attack.
pub const MAX_BYTES: usize = 1 << 20;

/// Brackets of a scenario: a hundred are many. The library takes time with the square of their nesting,
/// before it refuses it.
const MAX_BRACKETS: usize = 10_000;

/// Aliases (`*name`) may unfold a file to this many bytes of words and values; the library bounds
/// how often they unfold, and not how long the text is that they repeat.
const MAX_UNFOLDED: usize = 8 << 20;

/// A document: its tree, whose keys keep their order, and the text that it was read from, if a person wrote it.
#[derive(Clone, Debug)]
pub struct Document {
    pub tree: Value,
    text: Option<Arc<str>>,
}

impl From<Value> for Document {
    fn from(tree: Value) -> Document {
        Document { tree, text: None }
    }
}

impl Document {
    /// Gives faults their lines and columns, by their paths: those of the field, or of the nearest section
    /// around it that the text has.
    pub fn locate(&self, faults: &mut [Fault]) {
        let Some(text) = &self.text else { return };
        let mut marks = Marks::default();
        let mut events = Parser::new_from_str(text);
        // What is in order for the one library and not for the other keeps the marks before it.
        while let Some(Ok((event, span))) = events.next_event() {
            marks.pass(event, span.start);
        }
        for fault in faults {
            let key_is_wrong = fault.kind == Kind::Key;
            let mut path = fault.path();
            while !path.is_empty() {
                if let Some(Spot { key, at, value }) = marks.found.get(path) {
                    let exact = path == fault.path();
                    let (mark, value) = match exact {
                        true if key_is_wrong => (*key, None),
                        true => (*at, value.clone()),
                        false => (*key, None),
                    };
                    *fault = std::mem::take(fault).marked(text, mark, value);
                    break;
                }
                path = &path[..path.rfind(['.', '[']).unwrap_or(0)];
            }
        }
    }
}

/// Where a field stands: its key, its value, and the value's words if it has any.
struct Spot {
    key: Mark,
    at: Mark,
    value: Option<String>,
}

/// The fields of a document, found event by event.
#[derive(Default)]
struct Marks {
    found: HashMap<String, Spot>,
    /// The lists and mappings around: path, and the items so far or the key whose value comes next.
    around: Vec<(String, Inside)>,
}

enum Inside {
    List(usize),
    Mapping(Option<(String, Mark)>),
}

impl Marks {
    fn pass(&mut self, event: Event, start: Marker) {
        let at = Mark {
            line: start.line(),
            column: start.col() + 1,
        };
        let (value, opens) = match event {
            Event::Scalar(text, ..) => (Some(text.into_owned()), None),
            Event::Alias(_) => (None, None),
            Event::SequenceStart(..) => (None, Some(Inside::List(0))),
            Event::MappingStart(..) => (None, Some(Inside::Mapping(None))),
            Event::SequenceEnd | Event::MappingEnd => {
                self.around.pop();
                return;
            }
            _ => return,
        };
        let (path, key) = match self.around.last_mut() {
            None => (String::new(), at),
            Some((path, Inside::List(items))) => {
                *items += 1;
                (format!("{path}[{}]", *items - 1), at)
            }
            Some((path, Inside::Mapping(key))) => match key.take() {
                None => {
                    *key = Some((value.unwrap_or_default(), at));
                    return;
                }
                Some((key, mark)) if path.is_empty() => (key, mark),
                Some((key, mark)) => (format!("{path}.{key}"), mark),
            },
        };
        self.around
            .extend(opens.map(|inside| (path.clone(), inside)));
        self.found.insert(path, Spot { key, at, value });
    }
}

/// Reads a text; `file` is the name for messages.
pub fn parse(file: &str, text: &[u8]) -> Result<Document, Fault> {
    let syntax = |problem: String, remedy: &str| Fault {
        kind: Kind::Syntax,
        ..Fault::new(file, problem, remedy)
    };
    if text.len() > MAX_BYTES {
        return Err(syntax(
            "the file is larger than 1 MiB".into(),
            "a scenario is at most 1 MiB; split it",
        ));
    }
    // Some editors put a byte order mark in front.
    let text = text.strip_prefix(b"\xef\xbb\xbf").unwrap_or(text);
    let text = std::str::from_utf8(text).map_err(|e| Fault {
        place: format!("{file}: byte {}", e.valid_up_to()),
        ..syntax("the file is not UTF-8 text".into(), "save it as UTF-8")
    })?;
    let brackets = text.bytes().filter(|b| matches!(b, b'[' | b'{')).count();
    if brackets > MAX_BRACKETS {
        return Err(syntax(
            format!("the file opens {brackets} brackets"),
            &format!("a scenario has at most {MAX_BRACKETS}; split it"),
        ));
    }
    let room = Cell::new(MAX_UNFOLDED);
    let node = Node { room: &room };
    let tree = node
        .deserialize(serde_yaml::Deserializer::from_str(text))
        .map_err(|e| {
            let at = e.location().map(|at| Mark {
                line: at.line(),
                column: at.column(),
            });
            let slip = slips::yaml(&e.to_string(), text, at);
            let fault = syntax(slip.problem, &slip.remedy);
            match slip.at {
                Some(mark) => fault.at_path(file, &slip.path).marked(text, mark, None),
                None => fault,
            }
        })?;
    Ok(Document {
        tree,
        text: Some(text.into()),
    })
}

/// What is said of aliases that unfold to too much.
pub(super) const UNFOLDS: &str = "the aliases (`*name`) unfold to too much";

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
        if self.map.contains_key(key) {
            return Err(E::custom(format!("the key `{key}` stands here twice")));
        }
        Ok(key.into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_have_line_and_column() {
        let at = |text: &str| {
            let fault = parse("f.yaml", text.as_bytes()).unwrap_err();
            let mark = fault.at.unwrap().mark.unwrap();
            (mark.line, mark.column)
        };
        assert_eq!(at("b: 0\na: 1\nc: 2\na: 2\n"), (4, 1));
        assert_eq!(at("b:\n  a: 1\n  c: 2\n  a: 2\n"), (4, 3));
        assert_eq!(at("a: 1\n1: 2"), (2, 1));
        assert_eq!(at("b: 1\na: !x 1"), (2, 4));
    }

    #[test]
    fn fields_are_found_by_their_paths() {
        let text = "a:\n  b: [1, {c: 'x'}]\n  d: &x {e: 2}\nf: *x\n";
        let at = |path: &str, kind| {
            let mut faults = [Fault::of(kind, "", "").at_path("f", path)];
            parse("f", text.as_bytes()).unwrap().locate(&mut faults);
            let [fault] = faults;
            let at = fault.at.unwrap();
            let mark = at.mark.map(|m| (m.line, m.column));
            (mark, at.value.unwrap_or_default())
        };
        let found = |line, column, value: &str| (Some((line, column)), value.to_string());
        assert_eq!(at("a.b[0]", Kind::Value), found(2, 7, "1"));
        assert_eq!(at("a.b[1].c", Kind::Value), found(2, 14, "x"));
        assert_eq!(at("a.b[1].c", Kind::Key), found(2, 11, ""));
        // What does not stand there: the section that lacks it.
        assert_eq!(at("a.d.g", Kind::Missing), found(3, 3, ""));
        assert_eq!(at("a.b[7].g", Kind::Missing), found(2, 3, ""));
        assert_eq!(at("f.e", Kind::Value), found(4, 1, ""));
        assert_eq!(at("g", Kind::Missing), (None, String::new()));
    }

    #[test]
    fn numbers_that_are_none_stay_words() {
        let tree = parse("f", b"\xef\xbb\xbfa: {b: [0, .nan, .inf, -.inf, 1.5]}")
            .unwrap()
            .tree;
        assert_eq!(
            tree,
            serde_json::json!({"a": {"b": [0, ".nan", ".inf", "-.inf", 1.5]}})
        );
        let tree = parse("f", b"a: 36893488147419103232").unwrap().tree;
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
