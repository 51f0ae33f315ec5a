//! Reading a file of ours: a section is declared once, and the declaration is its struct, its reader, its
//! writer and its schema.
//!
//! [`section!`] turns each field of a declaration into a question: key, default, range and meaning. Asked of a
//! file, the questions answer with typed values, collect faults, draw distributions, and write what they found
//! (or the default) into the resolved tree, which is a file of the same kind again. Asked of typed values,
//! they write the tree of those. Asked of nothing, they give the JSON Schema. A key that nobody asked for
//! is a fault.

use super::distribution::{self, Distribution, ascending, describe, in_range, read_plain};
use super::field::{Field, Kind, Preset};
use super::reading::Reading;
use super::scalar::{chosen, integer_of, own_quantity, word_of};
use super::slips;
use super::units::{Dimension, Quantity};
use crate::error::{self, Fault, nearest};
use crate::random::Stream;
use serde_json::{Map, Value};

/// A list in a scenario is at most this long.
const MAX_ITEMS: usize = 64;

/// Declares a section: `field: Type = question(key, ...);`, the field's documentation being what the schema
/// says of it. The questions are the methods of [`Section`] but for their first argument; a question may use
/// the fields before it by their names, and values that the struct's name brings in parentheses.
///
/// It writes the struct, and `visit`, which puts the questions in order: `own` is `None` for values that the
/// section holds, and the values that shall be written otherwise.
macro_rules! section {
    ($(#[$about:meta])* $vis:vis struct $name:ident $(($($given:ident: $of:ty),+))? {
        $($(#[doc = $doc:literal])+ $field:ident: $type:ty = $ask:ident($key:literal $(, $how:expr)* $(,)?);)*
    }) => {
        $(#[$about])*
        #[derive(Clone, Debug, PartialEq)]
        $vis struct $name {
            $($(#[doc = $doc])+ #[doc = concat!("\n\n`", $key, "`", $(", ", stringify!($how)),*)]
            pub $field: $type,)*
        }

        impl $name {
            /// The section with all its defaults; what must be given has its least value.
            pub fn defaults($($($given: $of),+)?) -> Self {
                $crate::scenario::section::defaults(|s, own| Self::visit(s, own, $($($given),+)?))
            }

            /// Asks for every field of the section.
            pub(crate) fn visit(
                s: &mut $crate::scenario::section::Section,
                own: Option<&Self>,
                $($($given: $of),+)?
            ) -> Self {
                $(let $field = s.$ask(
                    $crate::scenario::section::Ask {
                        key: $key,
                        doc: concat!($($doc),+).trim_ascii(),
                        own: own.map(|own| &own.$field),
                    },
                    $($how),*
                );)*
                $name { $($field),* }
            }
        }
    };
}
pub(crate) use section;

/// What is asked for: a key, its meaning, and its value if that is to be written.
#[derive(Debug)]
#[allow(missing_docs)]
pub struct Ask<'o, T> {
    pub key: &'static str,
    pub doc: &'static str,
    pub own: Option<&'o T>,
}

impl<T> Clone for Ask<'_, T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Ask<'_, T> {}

impl<T> Ask<'_, T> {
    fn field(self, kind: Kind) -> Field {
        Field {
            key: self.key,
            doc: self.doc,
            default: None,
            required: false,
            kind,
        }
    }
}

/// The quantities that a field takes.
#[derive(Clone, Copy)]
struct Limits {
    dimension: Dimension,
    range: (Quantity, Quantity),
}

/// One mapping of the file while it is read.
pub struct Section<'a> {
    reading: &'a Reading,
    path: String,
    given: Map<String, Value>,
    resolved: Map<String, Value>,
    fields: Vec<Field>,
}

/// Asks a whole document; gives its values, the resolved tree and the fields.
pub fn visit_document<T>(
    reading: &Reading,
    document: Value,
    own: Option<&T>,
    visit: impl FnOnce(&mut Section, Option<&T>) -> T,
) -> (T, Value, Vec<Field>) {
    visit_value(reading, String::new(), document, own, visit)
}

/// The fields that `visit` asks for.
pub fn fields<T>(visit: impl FnOnce(&mut Section, Option<&T>) -> T) -> Vec<Field> {
    visit_document(&Reading::describing(), Value::Null, None, visit).2
}

/// The values of a document that says nothing; what must be given has its least value.
pub fn defaults<T>(visit: impl FnOnce(&mut Section, Option<&T>) -> T) -> T {
    visit_document(&Reading::describing(), Value::Null, None, visit).0
}

fn visit_value<T>(
    reading: &Reading,
    path: String,
    value: Value,
    own: Option<&T>,
    visit: impl FnOnce(&mut Section, Option<&T>) -> T,
) -> (T, Value, Vec<Field>) {
    let given = match value {
        Value::Object(map) => map,
        Value::Null => Map::new(),
        other => {
            let problem = format!("{} where a section belongs", describe(&other));
            let mended = other.as_str().and_then(slips::lost_colon);
            let remedy = mended.unwrap_or("write its fields as `key: value` lines".into());
            reading.fault(&path, Fault::of(error::Kind::Value, problem, remedy));
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
    if own.is_none() {
        section.mend_commas();
    }
    let result = visit(&mut section, own);
    // What is written over may have had other fields.
    if own.is_none() {
        section.refuse_leftovers();
    }
    (result, Value::Object(section.resolved), section.fields)
}

impl Section<'_> {
    /// The path of a field below this section.
    fn path(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.into()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// Adds a fault of a field of this section.
    pub fn fault(
        &self,
        kind: error::Kind,
        key: &str,
        problem: impl std::fmt::Display,
        remedy: impl std::fmt::Display,
    ) {
        self.reading
            .fault(&self.path(key), Fault::of(kind, problem, remedy));
    }

    /// A quantity in SI units; an empty default means that it must be given.
    pub fn quantity(
        &mut self,
        ask: Ask<f64>,
        dimension: Dimension,
        default: impl Into<Preset>,
        range: [&'static str; 2],
    ) -> f64 {
        let default = default.into();
        let kind = Kind::Quantity { dimension, range };
        let field = Field {
            required: default.text.is_empty(),
            default: (!default.text.is_empty()).then(|| default.clone()),
            ..ask.field(kind)
        };
        let limits = Limits::new(dimension, range);
        let value = self.take(field);
        if let Some(own) = ask.own {
            let default = Value::String(default.text);
            let text = self.text_of(own, dimension, [value.as_ref(), Some(&default)]);
            return self.keep(ask.key, text, *own);
        }
        self.answer(
            ask.key,
            value,
            limits.range.0.si(),
            |section, value, stream| {
                let q = section.quantity_of(value, limits, stream)?;
                Ok((Value::String(q.to_string()), q.si()))
            },
        )
    }

    /// A quantity as it is written; it becomes SI later.
    pub fn written(
        &mut self,
        ask: Ask<Quantity>,
        dimension: Dimension,
        default: impl Into<Preset>,
        range: [&'static str; 2],
    ) -> Quantity {
        let limits = Limits::new(dimension, range);
        let value = self.take(Field {
            default: Some(default.into()),
            ..ask.field(Kind::Quantity { dimension, range })
        });
        if let Some(own) = ask.own {
            return self.keep(ask.key, Value::String(own.to_string()), *own);
        }
        self.answer(ask.key, value, limits.range.0, |section, value, stream| {
            let q = section.quantity_of(value, limits, stream)?;
            Ok((Value::String(q.to_string()), q))
        })
    }

    /// A quantity whose default follows from other fields; the documentation says how.
    pub fn derived(
        &mut self,
        ask: Ask<f64>,
        dimension: Dimension,
        default: impl Into<Preset>,
        range: [&'static str; 2],
    ) -> f64 {
        let value = self.quantity(ask, dimension, default, range);
        if let Some(Field {
            default: Some(default),
            ..
        }) = self.fields.last_mut()
        {
            default.derived = true;
        }
        value
    }

    /// A quantity that may be absent, and then has no value.
    pub fn optional(
        &mut self,
        ask: Ask<Option<f64>>,
        dimension: Dimension,
        default: impl Into<Preset>,
        range: [&'static str; 2],
    ) -> Option<f64> {
        let present = match ask.own {
            Some(own) => own.is_some(),
            None => self.reading.describing || self.given.contains_key(ask.key),
        };
        let of = Ask {
            key: ask.key,
            doc: ask.doc,
            own: ask.own.and_then(Option::as_ref),
        };
        present.then(|| self.derived(of, dimension, default, range))
    }

    /// Two quantities in SI units, `[low, high]`, the first below the second.
    pub fn span(
        &mut self,
        ask: Ask<[f64; 2]>,
        dimension: Dimension,
        default: impl Into<Preset>,
        range: [&'static str; 2],
    ) -> [f64; 2] {
        let default = default.into();
        let written: Value = serde_json::from_str(&default.text).unwrap_or_default();
        let field = Field {
            default: Some(default),
            ..ask.field(Kind::List(Box::new(Kind::Quantity { dimension, range })))
        };
        let limits = Limits::new(dimension, range);
        let value = self.take(field).unwrap_or(written.clone());
        if let Some(own) = ask.own {
            let end = |i: usize| self.text_of(&own[i], dimension, [value.get(i), written.get(i)]);
            let both = Value::Array(vec![end(0), end(1)]);
            return self.keep(ask.key, both, *own);
        }
        let fallback = [limits.range.0.si(), limits.range.1.si()];
        self.answer(ask.key, Some(value), fallback, |section, value, stream| {
            let two = value.as_array().filter(|a| a.len() == 2).ok_or_else(|| {
                let problem = format!("{} where two values belong", describe(value));
                Fault::of(error::Kind::Value, problem, "write `[low, high]`")
            })?;
            let low = section.quantity_of(&two[0], limits, stream)?;
            let high = section.quantity_of(&two[1], limits, stream)?;
            ascending("the span", low.si() < high.si(), low, high)?;
            let texts = [low, high].map(|q| q.to_string());
            Ok((Value::from(texts.to_vec()), [low.si(), high.si()]))
        })
    }

    /// A list of quantities in SI units; absent means empty.
    pub fn quantities(
        &mut self,
        ask: Ask<Vec<f64>>,
        dimension: Dimension,
        range: [&'static str; 2],
    ) -> Vec<f64> {
        let kind = Kind::List(Box::new(Kind::Quantity { dimension, range }));
        let limits = Limits::new(dimension, range);
        let value = self.take(ask.field(kind));
        if let Some(own) = ask.own {
            let old = value.unwrap_or_default();
            let texts = own.iter().enumerate();
            let texts = texts.map(|(i, q)| self.text_of(q, dimension, [old.get(i), None]));
            return self.keep(ask.key, texts.collect(), own.clone());
        }
        self.list_of(ask.key, value, |section, item, stream| {
            let q = section.quantity_of(item, limits, stream)?;
            Ok((Value::String(q.to_string()), q.si()))
        })
    }

    /// A whole number; no default means that it must be given.
    pub fn integer<T>(&mut self, ask: Ask<T>, default: Option<u64>, range: [u64; 2]) -> T
    where
        T: TryFrom<u64> + TryInto<u64> + Copy + Default,
    {
        let value = self.take(Field {
            required: default.is_none(),
            default: default.map(|d| d.to_string().into()),
            ..ask.field(Kind::Integer { range })
        });
        if let Some(own) = ask.own {
            let number = (*own).try_into().unwrap_or_default();
            return self.keep(ask.key, Value::from(number), *own);
        }
        let number = self.answer(ask.key, value, range[0], |_, value, stream| {
            integer_of(value, range, stream)
        });
        // Ranges are those that the type holds.
        T::try_from(number).unwrap_or_default()
    }

    /// A list of whole numbers; absent means empty.
    pub fn integers(&mut self, ask: Ask<Vec<u32>>, range: [u64; 2]) -> Vec<u32> {
        let kind = Kind::List(Box::new(Kind::Integer { range }));
        let value = self.take(ask.field(kind));
        if let Some(own) = ask.own {
            return self.keep(ask.key, Value::from(own.clone()), own.clone());
        }
        self.list_of(ask.key, value, |_, item, stream| {
            let (written, number) = integer_of(item, range, stream)?;
            Ok((written, number as u32))
        })
    }

    /// One of a few words, each with its value and its meaning; the first is the default.
    pub fn choice<T: Copy + PartialEq>(&mut self, ask: Ask<T>, choices: &[Choice<T>]) -> T {
        let listed = choices.iter().map(|c| (c.0, c.2)).collect();
        let value = self.take(Field {
            default: Some(choices[0].0.into()),
            ..ask.field(Kind::Choice(listed))
        });
        if let Some(own) = ask.own {
            let word = choices.iter().find(|c| c.1 == *own).map(|c| c.0);
            return self.keep(ask.key, Value::from(word), *own);
        }
        let names: Vec<&str> = choices.iter().map(|c| c.0).collect();
        self.answer(ask.key, value, choices[0].1, |_, value, _| {
            let place = word_of(value, &names)?;
            Ok((Value::String(names[place].into()), choices[place].1))
        })
    }

    /// A word that stands for a span of ratios from 0 to 1, or such a span.
    pub fn choice_or_span(&mut self, ask: Ask<[f64; 2]>, choices: &[Choice<[f64; 2]>]) -> [f64; 2] {
        let whole = ["0", "1"];
        if self.reading.describing {
            self.choice(ask, choices);
            let word = self.fields.pop();
            self.span(ask, Dimension::Ratio, whole, whole);
            if let (Some(span), Some(word)) = (self.fields.last_mut(), word) {
                let kinds = [word.kind, span.kind.clone()];
                *span = Field {
                    kind: Kind::Either(kinds.into()),
                    ..word
                };
            }
        } else if !self.given.get(ask.key).is_some_and(Value::is_array) {
            return self.choice(ask, choices);
        }
        self.span(ask, Dimension::Ratio, whole, whole)
    }

    /// `true` or `false`.
    pub fn flag(&mut self, ask: Ask<bool>, default: bool) -> bool {
        let value = self.take(Field {
            default: Some(default.to_string().into()),
            ..ask.field(Kind::Flag)
        });
        if let Some(own) = ask.own {
            return self.keep(ask.key, Value::Bool(*own), *own);
        }
        self.answer(ask.key, value, default, |_, value, _| match value {
            Value::Bool(b) => Ok((Value::Bool(*b), *b)),
            other => Err(Fault::of(
                error::Kind::Value,
                format!("{} where a yes or no belongs", describe(other)),
                "write `true` or `false`",
            )),
        })
    }

    /// Free text.
    pub fn text(&mut self, ask: Ask<String>, default: &'static str) -> String {
        let value = self.take(Field {
            default: Some(default.into()),
            ..ask.field(Kind::Text)
        });
        if let Some(own) = ask.own {
            let old = value.filter(|v| v.as_str().is_some_and(|old| old.trim() == own));
            return self.keep(
                ask.key,
                old.unwrap_or_else(|| own.as_str().into()),
                own.clone(),
            );
        }
        self.answer(ask.key, value, String::new(), |_, value, _| match value {
            Value::String(s) if s.len() <= 4000 && !s.contains('\0') => {
                Ok((value.clone(), s.trim().to_string()))
            }
            other => Err(Fault::of(
                error::Kind::Value,
                format!("{} where text belongs", describe(other)),
                "write at most 4000 characters",
            )),
        })
    }

    /// Free text that must be given.
    pub fn required_text(&mut self, ask: Ask<String>) -> String {
        let given = self.given.get(ask.key).is_some_and(|v| *v != "");
        let text = self.text(ask, "");
        if let Some(field) = self.fields.last_mut() {
            *field = Field {
                required: true,
                default: None,
                ..field.clone()
            };
            self.refuse_absence(given);
        }
        text
    }

    /// A section; absent means that all its fields have their defaults.
    pub fn section<T>(
        &mut self,
        ask: Ask<T>,
        visit: impl FnOnce(&mut Section, Option<&T>) -> T,
    ) -> T {
        let value = self.take(ask.field(Kind::Section(Vec::new())));
        let value = value.unwrap_or_default();
        let path = self.path(ask.key);
        let (result, resolved, fields) = visit_value(self.reading, path, value, ask.own, visit);
        self.describe_last(Kind::Section(fields));
        self.keep(ask.key, resolved, result)
    }

    /// Fields that stand in this very section, and belong together.
    pub fn beside<T>(
        &mut self,
        ask: Ask<T>,
        visit: impl FnOnce(&mut Section, Option<&T>) -> T,
    ) -> T {
        visit(self, ask.own)
    }

    /// A list of sections; absent means empty.
    pub fn list<T>(
        &mut self,
        ask: Ask<Vec<T>>,
        visit: impl Fn(&mut Section, Option<&T>) -> T,
    ) -> Vec<T> {
        let value = self.take(ask.field(Kind::List(Box::new(Kind::Section(Vec::new())))));
        if self.reading.describing {
            let item = Kind::Section(fields(&visit));
            self.describe_last(Kind::List(Box::new(item)));
            return Vec::new();
        }
        let mut items = self.items(ask.key, value);
        if let Some(own) = ask.own {
            items.resize(own.len(), Value::Null);
        }
        let path = self.path(ask.key);
        let (results, resolved) = items
            .into_iter()
            .enumerate()
            .map(|(i, item)| {
                let own = ask.own.map(|own| &own[i]);
                let path = format!("{path}[{i}]");
                let (result, resolved, _) = visit_value(self.reading, path, item, own, &visit);
                (result, resolved)
            })
            .unzip();
        self.keep(ask.key, Value::Array(resolved), results)
    }

    /// A word that decides which fields stand beside it; it must be given. A value that is to be written is of
    /// the variant at `place`.
    pub fn variant<T>(
        &mut self,
        ask: Ask<T>,
        place: impl Fn(&T) -> usize,
        variants: &[Variant<T>],
    ) -> T {
        let value = self.take(Field {
            required: ask.own.is_none(),
            ..ask.field(Kind::Variant(Vec::new()))
        });
        if self.reading.describing {
            let described = variants
                .iter()
                .map(|(name, doc, visit)| (*name, *doc, fields(*visit)));
            let kind = Kind::Variant(described.collect());
            self.describe_last(kind);
            return defaults(variants[0].2);
        }
        let names: Vec<&str> = variants.iter().map(|v| v.0).collect();
        let place = match ask.own {
            Some(own) => {
                let place = place(own);
                self.keep(ask.key, names[place].into(), Some(place))
            }
            None => self.answer(ask.key, value, None, |_, value, _| {
                let place = word_of(value, &names)?;
                Ok((Value::String(names[place].into()), Some(place)))
            }),
        };
        // Which fields belong beside an unknown word is unknown, so that none can be called wrong.
        if place.is_none() {
            self.given.clear();
            return defaults(variants[0].2);
        }
        (variants[place.unwrap_or_default()].2)(self, ask.own)
    }

    /// Takes what is given for a key, or its default; records the question and refuses an absence.
    fn take(&mut self, field: Field) -> Option<Value> {
        let value = self.given.shift_remove(field.key).filter(|v| !v.is_null());
        let default = field.default.as_ref().map(|d| d.text.to_string());
        self.fields.push(field);
        self.refuse_absence(value.is_some());
        value.or_else(|| match self.fields.last()?.kind {
            Kind::List(_) | Kind::Section(_) => None,
            Kind::Integer { .. } => default?.parse::<u64>().ok().map(Value::from),
            Kind::Flag => default.map(|d| Value::Bool(d == "true")),
            _ => default.map(Value::String),
        })
    }

    /// Refuses that the field asked for last is absent, if it must be given.
    fn refuse_absence(&self, given: bool) {
        let missing = self.fields.last().filter(|f| f.required && !given);
        let Some(Field { key, doc, kind, .. }) = missing.filter(|_| !self.reading.describing)
        else {
            return;
        };
        let what = match kind {
            Kind::Quantity { dimension, .. } if !dimension.unit_list().is_empty() => {
                format!("with a number and a unit: {}", dimension.unit_list())
            }
            _ => format!("({doc})"),
        };
        let remedy = format!("add `{key}: ` {what}");
        self.fault(
            error::Kind::Missing,
            key,
            format!("`{key}` is missing"),
            remedy,
        );
    }

    fn describe_last(&mut self, kind: Kind) {
        if let Some(field) = self.fields.last_mut() {
            field.kind = kind;
        }
    }

    /// Puts a value into the resolved tree.
    fn keep<T>(&mut self, key: &str, written: Value, value: T) -> T {
        self.resolved.insert(key.into(), written);
        value
    }

    /// How a quantity that changed is written: as whoever changed it wrote it, else as one of `usual` if that is
    /// the same value, else in SI.
    fn text_of(&self, own: &f64, dimension: Dimension, usual: [Option<&Value>; 2]) -> Value {
        let written = self.reading.texts.of(own);
        let usual = usual.into_iter().flatten();
        let same = usual
            .filter_map(|text| read_plain(text, dimension).ok())
            .find(|q| q.si() == *own);
        let text = written.or(same).unwrap_or(dimension.in_si(*own));
        Value::String(text.to_string())
    }

    /// Resolves `choose`, reads the value, keeps the resolved text; a complaint gives the fallback.
    fn answer<T>(
        &mut self,
        key: &str,
        value: Option<Value>,
        fallback: T,
        read: impl Fn(&Self, &Value, &mut Stream) -> Result<(Value, T), Fault>,
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
            Ok((resolved, result)) => self.keep(key, resolved, result),
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
        read: impl Fn(&Self, &Value, &mut Stream) -> Result<(Value, T), Fault>,
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
                read(s, v, stream).map(|(written, t)| (written, Some(t)))
            });
            // `answer` files the item under its own place; the list takes it from there.
            results.extend(result);
            resolved.extend(self.resolved.shift_remove(&place));
        }
        self.keep(key, Value::Array(resolved), results)
    }

    fn items(&self, key: &str, value: Option<Value>) -> Vec<Value> {
        let (problem, remedy) = match value {
            None => return Vec::new(),
            Some(Value::Array(items)) if items.len() <= MAX_ITEMS => return items,
            Some(Value::Array(items)) => (
                format!("a list of {} items", items.len()),
                format!("use at most {MAX_ITEMS}"),
            ),
            Some(other) => (
                format!("{} where a list belongs", describe(&other)),
                "write `[A, B]`".into(),
            ),
        };
        self.fault(error::Kind::Value, key, problem, remedy);
        Vec::new()
    }

    fn quantity_of(
        &self,
        value: &Value,
        limits: Limits,
        stream: &mut Stream,
    ) -> Result<Quantity, Fault> {
        let Limits { dimension, range } = limits;
        // The ends of a span have their choices here; all others are made before.
        let alone = |item: &Value| {
            let mut stream = Stream::new(0, 0, "check");
            self.quantity_of(item, limits, &mut stream).map(|_| ())
        };
        let value = chosen(value, stream, alone)?;
        let q = match value {
            Value::Object(_) => Distribution::parse(value, dimension, range)?.draw(stream, range),
            plain => read_plain(plain, dimension)?,
        };
        in_range(q, range)?;
        Ok(q)
    }

    /// In braces, `area: 0,2 mm2` is an area of 0 and a key `2 mm2`: told as what was meant.
    fn mend_commas(&mut self) {
        for (key, remedy) in slips::decimal_commas(&mut self.given) {
            let problem = "a decimal comma begins another key in braces";
            self.fault(error::Kind::Value, &key, problem, remedy);
        }
    }

    fn refuse_leftovers(&mut self) {
        let known: Vec<&str> = self.fields.iter().map(|f| f.key).collect();
        for (key, value) in &self.given {
            let mended = slips::lost_colon(key).filter(|_| value.is_null());
            let remedy = mended.unwrap_or_else(|| match nearest(key, known.iter().copied()) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("known here: {}", known.join(", ")),
            });
            let problem = format!("unknown key `{key}`");
            self.fault(error::Kind::Key, key, problem, remedy);
        }
    }
}

impl Limits {
    fn new(dimension: Dimension, [low, high]: [&str; 2]) -> Limits {
        let end = |text| own_quantity(text, dimension);
        Limits {
            dimension,
            range: (end(low), end(high)),
        }
    }
}

/// A word, its value, and what it means.
pub type Choice<T> = (&'static str, T, &'static str);

/// A word, what it means, and the questions of the fields it brings: a plain function, so that the schema can
/// ask all of them.
pub type Variant<T> = (
    &'static str,
    &'static str,
    fn(&mut Section, Option<&T>) -> T,
);
