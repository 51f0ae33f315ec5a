//! Reading a scenario: a section is read by one function, and what that function asks for is the
//! schema.
//!
//! Each question names a key, its default, its range and its meaning. Asked of a file, it answers
//! with a typed value, collects faults, draws distributions, and writes what it found (or the
//! default) into the resolved tree, which is a scenario again. Asked of nothing, the same questions
//! give the JSON Schema. A key that nobody asked for is a fault.

use super::distribution::{self, Complaint, Distribution, describe, in_range, read_plain};
use super::scalar::{chosen, integer_of, own_quantity, word_of};
use super::units::{Dimension, Quantity};
use crate::error::nearest;
use crate::random::Stream;
use serde_json::{Map, Value};

pub use super::reading::{Field, Kind, Reading, read_seeded};

/// A list in a scenario is at most this long.
const MAX_ITEMS: usize = 64;

/// One mapping of the file while it is read.
pub struct Section<'a> {
    reading: &'a Reading,
    path: String,
    given: Map<String, Value>,
    resolved: Map<String, Value>,
    fields: Vec<Field>,
}

/// Reads the whole document with `read`; gives its value, the resolved tree and the fields.
pub fn read_document<T>(
    reading: &Reading,
    document: Value,
    read: impl FnOnce(&mut Section) -> T,
) -> (T, Value, Vec<Field>) {
    read_value(reading, String::new(), document, read)
}

fn read_value<T>(
    reading: &Reading,
    path: String,
    value: Value,
    read: impl FnOnce(&mut Section) -> T,
) -> (T, Value, Vec<Field>) {
    let given = match value {
        Value::Object(map) => map,
        Value::Null => Map::new(),
        other => {
            let complaint = (
                format!("{} where a section belongs", describe(&other)),
                "write its fields as `key: value` lines".to_string(),
            );
            reading.fault(&path, complaint);
            Map::new()
        }
    };
    let mut section = Section {
        reading,
        path,
        given,
        resolved: Map::new(),
        fields: Vec::new(),
    };
    let result = read(&mut section);
    section.refuse_leftovers();
    (result, Value::Object(section.resolved), section.fields)
}

impl Section<'_> {
    /// The path of a field below this section.
    pub fn path(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.into()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// Whether a key that has no fixed default is given.
    pub fn given(&mut self, key: &str) -> bool {
        self.given.contains_key(key) || self.reading.describing
    }

    /// Whether a list is given for a key that may also be a word.
    pub fn is_list(&self, key: &str) -> bool {
        self.given.get(key).is_some_and(Value::is_array)
    }

    /// Adds a fault of a field of this section.
    pub fn fault(&self, key: &str, problem: impl Into<String>, remedy: impl Into<String>) {
        self.reading
            .fault(&self.path(key), (problem.into(), remedy.into()));
    }

    /// A quantity in SI units; an empty default means that it must be given.
    pub fn quantity(
        &mut self,
        key: &str,
        dimension: Dimension,
        default: &str,
        range: [&str; 2],
        doc: &str,
    ) -> f64 {
        let kind = Kind::Quantity {
            dimension,
            range: range.map(String::from),
        };
        let range = range.map(|end| own_quantity(end, dimension));
        let default = (!default.is_empty()).then_some(default);
        let value = self.take(key, kind, default.map(String::from), default.is_none(), doc);
        self.answer(key, value, range[0].si(), |section, value, stream| {
            let q = section.quantity_of(value, dimension, range.into(), stream)?;
            Ok((Value::String(q.to_string()), q.si()))
        })
    }

    /// A quantity whose default follows from other fields; `doc` says how.
    pub fn derived(
        &mut self,
        key: &str,
        dimension: Dimension,
        default: &str,
        range: [&str; 2],
        doc: &str,
    ) -> f64 {
        let value = self.quantity(key, dimension, default, range, doc);
        if let Some(field) = self.fields.last_mut() {
            field.default = None;
        }
        value
    }

    /// Two quantities in SI units, `[low, high]`, the first below the second.
    pub fn span(
        &mut self,
        key: &str,
        dimension: Dimension,
        default: [&str; 2],
        range: [&str; 2],
        doc: &str,
    ) -> [f64; 2] {
        let kind = Kind::List(Box::new(Kind::Quantity {
            dimension,
            range: range.map(String::from),
        }));
        let range = range.map(|end| own_quantity(end, dimension));
        let written = default.map(|d| Value::String(d.into()));
        let default = default.map(|d| own_quantity(d, dimension).si());
        let value = self.take(
            key,
            kind,
            Some(Value::from(written.to_vec()).to_string()),
            false,
            doc,
        );
        let value = value.or_else(|| Some(Value::from(written.to_vec())));
        self.answer(key, value, default, |section, value, stream| {
            let two = value.as_array().filter(|a| a.len() == 2).ok_or_else(|| {
                (
                    format!("{} where two values belong", describe(value)),
                    "write `[low, high]`".to_string(),
                )
            })?;
            let low = section.quantity_of(&two[0], dimension, range.into(), stream)?;
            let high = section.quantity_of(&two[1], dimension, range.into(), stream)?;
            if low.si() >= high.si() {
                return Err((
                    format!("the span runs from {low} to {high}"),
                    "put the smaller value first".into(),
                ));
            }
            let written = vec![
                Value::String(low.to_string()),
                Value::String(high.to_string()),
            ];
            Ok((Value::Array(written), [low.si(), high.si()]))
        })
    }

    /// A list of quantities in SI units; absent means empty.
    pub fn quantities(
        &mut self,
        key: &str,
        dimension: Dimension,
        range: [&str; 2],
        doc: &str,
    ) -> Vec<f64> {
        let kind = Kind::List(Box::new(Kind::Quantity {
            dimension,
            range: range.map(String::from),
        }));
        let range = range.map(|end| own_quantity(end, dimension));
        let value = self.take(key, kind, None, false, doc);
        self.list_of(key, value, |section, item, stream| {
            let q = section.quantity_of(item, dimension, range.into(), stream)?;
            Ok((Value::String(q.to_string()), q.si()))
        })
    }

    /// A whole number; no default means that it must be given.
    pub fn integer(&mut self, key: &str, default: Option<u64>, range: [u64; 2], doc: &str) -> u64 {
        let value = self.take(
            key,
            Kind::Integer { range },
            default.map(|d| d.to_string()),
            default.is_none(),
            doc,
        );
        self.answer(key, value, range[0], |_, value, stream| {
            integer_of(value, range, stream)
        })
    }

    /// A list of whole numbers; absent means empty.
    pub fn integers(&mut self, key: &str, range: [u64; 2], doc: &str) -> Vec<u64> {
        let kind = Kind::List(Box::new(Kind::Integer { range }));
        let value = self.take(key, kind, None, false, doc);
        self.list_of(key, value, |_, item, stream| {
            integer_of(item, range, stream)
        })
    }

    /// One of a few words; the first is the default.
    pub fn choice<T: Copy>(&mut self, key: &str, choices: &[(&str, T, &str)], doc: &str) -> T {
        let listed = choices
            .iter()
            .map(|c| (c.0.to_string(), c.2.to_string()))
            .collect();
        let value = self.take(
            key,
            Kind::Choice(listed),
            Some(choices[0].0.into()),
            false,
            doc,
        );
        let names: Vec<&str> = choices.iter().map(|c| c.0).collect();
        self.answer(key, value, choices[0].1, |_, value, _| {
            let place = word_of(value, &names)?;
            Ok((Value::String(names[place].into()), choices[place].1))
        })
    }

    /// `true` or `false`.
    pub fn flag(&mut self, key: &str, default: bool, doc: &str) -> bool {
        let value = self.take(key, Kind::Flag, Some(default.to_string()), false, doc);
        let value = value.map(|v| {
            if v == Value::String(default.to_string()) {
                Value::Bool(default)
            } else {
                v
            }
        });
        self.answer(key, value, default, |_, value, _| match value {
            Value::Bool(b) => Ok((Value::Bool(*b), *b)),
            other => Err((
                format!("{} where a yes or no belongs", describe(other)),
                "write `true` or `false`".into(),
            )),
        })
    }

    /// Free text.
    pub fn text(&mut self, key: &str, default: &str, doc: &str) -> String {
        let value = self.take(key, Kind::Text, Some(default.into()), false, doc);
        self.answer(key, value, String::new(), |_, value, _| match value {
            Value::String(s) if s.len() <= 4000 && !s.contains('\0') => {
                Ok((value.clone(), s.trim().to_string()))
            }
            other => Err((
                format!("{} where text belongs", describe(other)),
                "write at most 4000 characters".into(),
            )),
        })
    }

    /// A section; absent means that all its fields have their defaults.
    pub fn section<T>(&mut self, key: &str, doc: &str, read: impl FnOnce(&mut Section) -> T) -> T {
        let value = self
            .take(key, Kind::Section(Vec::new()), None, false, doc)
            .unwrap_or(Value::Null);
        let (result, resolved, fields) = read_value(self.reading, self.path(key), value, read);
        self.resolved.insert(key.into(), resolved);
        self.describe_last(Kind::Section(fields));
        result
    }

    /// A list of sections; absent means empty.
    pub fn list<T>(&mut self, key: &str, doc: &str, read: impl Fn(&mut Section) -> T) -> Vec<T> {
        let value = self.take(
            key,
            Kind::List(Box::new(Kind::Section(Vec::new()))),
            None,
            false,
            doc,
        );
        if self.reading.describing {
            let (_, _, fields) = read_value(self.reading, String::new(), Value::Null, &read);
            self.describe_last(Kind::List(Box::new(Kind::Section(fields))));
            return Vec::new();
        }
        let items = self.items(key, value);
        let path = self.path(key);
        let (results, resolved): (Vec<T>, Vec<Value>) = items
            .into_iter()
            .enumerate()
            .map(|(i, item)| {
                let (result, resolved, _) =
                    read_value(self.reading, format!("{path}[{i}]"), item, &read);
                (result, resolved)
            })
            .unzip();
        self.resolved.insert(key.into(), Value::Array(resolved));
        results
    }

    /// A word that decides which fields stand beside it; it must be given. A reader is a plain
    /// function, so that the schema can ask all of them.
    pub fn variant<T>(&mut self, key: &str, doc: &str, variants: &[Variant<T>]) -> Option<T> {
        let value = self.take(key, Kind::Variant(Vec::new()), None, true, doc);
        if self.reading.describing {
            let described = variants.iter().map(|(name, doc, read)| {
                let (_, _, fields) = read_value(self.reading, String::new(), Value::Null, read);
                (name.to_string(), doc.to_string(), fields)
            });
            self.describe_last(Kind::Variant(described.collect()));
            return None;
        }
        let names: Vec<&str> = variants.iter().map(|v| v.0).collect();
        let place = self.answer(key, value, None, |_, value, _| {
            let place = word_of(value, &names)?;
            Ok((Value::String(names[place].into()), Some(place)))
        });
        match place {
            Some(place) => Some((variants[place].2)(self)),
            None => {
                // Which fields belong here is unknown, so that none can be called wrong.
                self.given.clear();
                None
            }
        }
    }

    /// Takes what is given for a key, or its default; records the question and refuses an absence.
    fn take(
        &mut self,
        key: &str,
        kind: Kind,
        default: Option<String>,
        required: bool,
        doc: &str,
    ) -> Option<Value> {
        let value = self.given.shift_remove(key).filter(|v| !v.is_null());
        if value.is_none() && required && !self.reading.describing {
            let remedy = match &kind {
                Kind::Quantity { dimension, .. } if !dimension.unit_list().is_empty() => {
                    format!(
                        "add `{key}: ` with a number and a unit: {}",
                        dimension.unit_list()
                    )
                }
                _ => format!("add `{key}: ` ({doc})"),
            };
            self.fault(key, format!("`{key}` is missing"), remedy);
        }
        let answer = value.or_else(|| match kind {
            Kind::List(_) | Kind::Section(_) => None,
            Kind::Integer { .. } => default
                .as_ref()
                .and_then(|d| d.parse::<u64>().ok())
                .map(Value::from),
            _ => default.clone().map(Value::String),
        });
        self.fields.push(Field {
            key: key.into(),
            doc: doc.into(),
            default,
            required,
            kind,
        });
        answer
    }

    fn describe_last(&mut self, kind: Kind) {
        if let Some(field) = self.fields.last_mut() {
            field.kind = kind;
        }
    }

    /// Resolves `choose`, reads the value, keeps the resolved text; a complaint gives the fallback.
    fn answer<T>(
        &mut self,
        key: &str,
        value: Option<Value>,
        fallback: T,
        read: impl Fn(&Self, &Value, &mut Stream) -> Result<(Value, T), Complaint>,
    ) -> T {
        let Some(value) = value else {
            return fallback;
        };
        let path = self.path(key);
        let mut stream = self.stream(&path);
        let alone = |item: &Value| read(self, item, &mut self.stream(&path)).map(|_| ());
        let answer =
            chosen(&value, &mut stream, alone).and_then(|value| read(self, value, &mut stream));
        match answer {
            Ok((resolved, result)) => {
                self.resolved.insert(key.into(), resolved);
                result
            }
            Err(complaint) => {
                self.reading.fault(&path, complaint);
                fallback
            }
        }
    }

    fn stream(&self, path: &str) -> Stream {
        Stream::new(
            self.reading.seed,
            self.reading.number,
            &format!("draw {path}"),
        )
    }

    fn list_of<T>(
        &mut self,
        key: &str,
        value: Option<Value>,
        read: impl Fn(&Self, &Value, &mut Stream) -> Result<(Value, T), Complaint>,
    ) -> Vec<T> {
        let value = value.map(|v| match distribution::alternatives(&v) {
            Some(Ok(items)) => items[self.stream(&self.path(key)).below(items.len())].clone(),
            _ => v,
        });
        let items = self.items(key, value);
        let mut results = Vec::new();
        let mut resolved = Vec::new();
        for (i, item) in items.into_iter().enumerate() {
            let place = format!("{key}[{i}]");
            let result = self.answer(&place, Some(item), None, |s, v, stream| {
                read(s, v, stream).map(|(r, t)| (r, Some((v.clone(), t))))
            });
            // `answer` files the item under its own place; the list takes it from there.
            if let (Some((_, t)), Some(r)) = (result, self.resolved.shift_remove(&place)) {
                results.push(t);
                resolved.push(r);
            }
        }
        self.resolved.insert(key.into(), Value::Array(resolved));
        results
    }

    fn items(&self, key: &str, value: Option<Value>) -> Vec<Value> {
        match value {
            None => Vec::new(),
            Some(Value::Array(items)) if items.len() <= MAX_ITEMS => items,
            Some(Value::Array(items)) => {
                self.fault(
                    key,
                    format!("a list of {} items", items.len()),
                    format!("use at most {MAX_ITEMS}"),
                );
                Vec::new()
            }
            Some(other) => {
                self.fault(
                    key,
                    format!("{} where a list belongs", describe(&other)),
                    "write `[A, B]`",
                );
                Vec::new()
            }
        }
    }

    fn quantity_of(
        &self,
        value: &Value,
        dimension: Dimension,
        range: (Quantity, Quantity),
        stream: &mut Stream,
    ) -> Result<Quantity, Complaint> {
        // The ends of a span have their choices here; all others are made before.
        let alone = |item: &Value| {
            let mut stream = Stream::new(0, 0, "check");
            self.quantity_of(item, dimension, range, &mut stream)
                .map(|_| ())
        };
        let value = chosen(value, stream, alone)?;
        let q = match value {
            Value::Object(_) => Distribution::parse(value, dimension, range)?.draw(stream, range),
            plain => read_plain(plain, dimension)?,
        };
        in_range(q, range)?;
        Ok(q)
    }

    fn refuse_leftovers(&mut self) {
        let known: Vec<&str> = self.fields.iter().map(|f| f.key.as_str()).collect();
        for key in self.given.keys() {
            let remedy = match nearest(key, known.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("known here: {}", known.join(", ")),
            };
            self.fault(key, format!("unknown key `{key}`"), remedy);
        }
    }
}

/// A word, what it means, and the reader of the fields it brings.
pub type Variant<'a, T> = (&'a str, &'a str, fn(&mut Section) -> T);
