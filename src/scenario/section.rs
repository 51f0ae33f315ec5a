//! Reading a file of ours: a section is declared once, and the declaration is its struct, its reader, its
//! writer and its schema.
//!
//! [`section!`] turns each field of a declaration into a question: key, default, range and meaning. Asked of a
//! file, the questions answer with typed values, collect faults, draw distributions, and write what they found
//! (or the default) into the resolved tree, which is a file of the same kind again. Asked of typed values,
//! they write the tree of those. Asked of nothing, they give the JSON Schema. A key that nobody asked for
//! is a fault.

use super::distribution::{self, describe};
use super::field::{Field, Hidden, Kind, Preset};
use super::forms::{Choice, Form, Limits, Old, Span, Text, Whole, Words, chosen};
use super::reading::Reading;
use super::slips;
use super::units::Dimension;
use crate::error::{self, Fault, nearest};
use crate::random::Stream;
use serde_json::{Map, Value};

/// A list in a scenario is at most this long.
const MAX_ITEMS: usize = 64;
/// Numbers that a cylinder may have.
const CYLINDERS: [u64; 2] = [1, 12];

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
            $($(#[doc = $doc])+ #[doc = concat!("\n\n`", $key, $(", ", stringify!($how),)* "`")]
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
    fn field(self, kind: Kind, preset: Preset) -> Field {
        let Ask { key, doc, .. } = self;
        Field {
            key,
            doc,
            preset,
            kind,
        }
    }
}

/// One mapping of the file while it is read.
pub struct Section<'a> {
    reading: &'a Reading,
    path: String,
    given: Map<String, Value>,
    resolved: Map<String, Value>,
    fields: Vec<Field>,
    /// Whether values are written over what the section holds.
    writing: bool,
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
        writing: own.is_some(),
    };
    if section.writing {
        // What is written over may have had other fields.
        let result = visit(&mut section, own);
        return (result, section.resolved.into(), section.fields);
    }
    section.mend_commas();
    let result = visit(&mut section, own);
    section.refuse_leftovers();
    (result, section.resolved.into(), section.fields)
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

    /// A quantity in SI units.
    pub fn quantity(
        &mut self,
        ask: Ask<f64>,
        dimension: Dimension,
        default: impl Into<Preset>,
        range: [&'static str; 2],
    ) -> f64 {
        self.value(ask, &Limits::new(dimension, range), default.into())
    }

    /// A quantity that must be given.
    pub fn required(
        &mut self,
        ask: Ask<f64>,
        dimension: Dimension,
        range: [&'static str; 2],
    ) -> f64 {
        self.quantity(ask, dimension, Preset::required(), range)
    }

    /// A quantity whose default follows from other fields; the documentation says how.
    pub fn derived(
        &mut self,
        ask: Ask<f64>,
        dimension: Dimension,
        default: impl Into<Preset>,
        range: [&'static str; 2],
    ) -> f64 {
        let default = Preset {
            hidden: Some(Hidden::Derived),
            ..default.into()
        };
        self.quantity(ask, dimension, default, range)
    }

    /// A value that may be absent.
    pub fn optional<F: Form>(&mut self, ask: Ask<Option<F::Value>>, form: F) -> Option<F::Value> {
        let present = match ask.own {
            Some(own) => own.is_some(),
            None => self.reading.describing || self.given.contains_key(ask.key),
        };
        let of = Ask {
            key: ask.key,
            doc: ask.doc,
            own: ask.own.and_then(Option::as_ref),
        };
        present.then(|| self.value(of, &form, Preset::absent()))
    }

    /// Two quantities in SI units, `[low, high]`, the first below the second.
    pub fn span(
        &mut self,
        ask: Ask<[f64; 2]>,
        dimension: Dimension,
        default: impl Into<Preset>,
        range: [&'static str; 2],
    ) -> [f64; 2] {
        let form = Span(Limits::new(dimension, range));
        self.value(ask, &form, default.into())
    }

    /// A whole number.
    pub fn integer<T>(&mut self, ask: Ask<T>, default: impl Into<Preset>, range: [u64; 2]) -> T
    where
        T: TryFrom<u64> + TryInto<u64> + Copy + Default,
    {
        self.value(ask, &Whole::new(range), default.into())
    }

    /// The number of a cylinder; it must be given.
    pub fn cylinder(&mut self, ask: Ask<u32>) -> u32 {
        self.integer(ask, Preset::required(), CYLINDERS)
    }

    /// A list of cylinders; absent means empty.
    pub fn cylinders(&mut self, ask: Ask<Vec<u32>>) -> Vec<u32> {
        self.values(ask, &Whole::new(CYLINDERS))
    }

    /// One of a few words; the first is the default.
    pub fn choice<T: Copy + PartialEq>(&mut self, ask: Ask<T>, choices: &[Choice<T>]) -> T {
        self.value(ask, &Words(choices), choices[0].0.into())
    }

    /// Free text.
    pub fn text(&mut self, ask: Ask<String>, default: &'static str) -> String {
        self.value(ask, &Text, default.into())
    }

    /// Free text that must be given.
    #[cfg(feature = "cli")]
    pub fn required_text(&mut self, ask: Ask<String>) -> String {
        self.value(ask, &Text, Preset::required())
    }

    /// A value of a form.
    pub fn value<F: Form>(&mut self, ask: Ask<F::Value>, form: &F, default: Preset) -> F::Value {
        let usual = default.value.clone();
        let given = self.take(ask.field(form.kind(), default));
        if let Some(own) = ask.own {
            let usual = [given.as_ref(), Some(&usual)];
            let texts = &self.reading.texts;
            let written = form.write(own, Old { usual, texts });
            return self.keep(ask.key, written, own.clone());
        }
        match given.unwrap_or(usual) {
            Value::Null => form.least(),
            value => self.answer(ask.key, &value, form).unwrap_or(form.least()),
        }
    }

    /// A list of values of a form; absent means empty.
    pub fn values<F: Form>(&mut self, ask: Ask<Vec<F::Value>>, form: &F) -> Vec<F::Value> {
        let kind = Kind::List(Box::new(form.kind()));
        let given = self.take(ask.field(kind, Preset::absent()));
        if let Some(own) = ask.own {
            let old = given.unwrap_or_default();
            let items = own.iter().enumerate();
            let texts = &self.reading.texts;
            let written = items.map(|(i, item)| {
                let usual = [old.get(i), None];
                form.write(item, Old { usual, texts })
            });
            return self.keep(ask.key, written.collect(), own.clone());
        }
        let given = given.map(|v| match distribution::alternatives(&v) {
            Some(Ok(items)) => items[self.stream(&self.path(ask.key)).below(items.len())].clone(),
            _ => v,
        });
        let (mut values, mut resolved) = (Vec::new(), Vec::new());
        for (i, item) in self.items(ask.key, given).iter().enumerate() {
            let place = format!("{}[{i}]", ask.key);
            values.extend(self.answer(&place, item, form));
            // `answer` files the item under its own place; the list takes it from there.
            resolved.extend(self.resolved.shift_remove(&place));
        }
        self.keep(ask.key, resolved.into(), values)
    }

    /// A section; absent means that all its fields have their defaults.
    pub fn section<T>(
        &mut self,
        ask: Ask<T>,
        visit: impl FnOnce(&mut Section, Option<&T>) -> T,
    ) -> T {
        let value = self.take(ask.field(Kind::Section(Vec::new()), Preset::absent()));
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
        let value = self.take(ask.field(Kind::Flag, Preset::absent()));
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

    /// A word that decides which fields stand beside it; it must be given.
    pub fn variant<T>(&mut self, ask: Ask<T>, variants: &[Variant<T>]) -> T {
        let value = self.take(ask.field(Kind::Flag, Preset::required()));
        if self.reading.describing {
            let described = variants.iter().map(|v| (v.word, v.doc, fields(v.visit)));
            self.describe_last(Kind::Variant(described.collect()));
            return defaults(variants[0].visit);
        }
        let places = variants.iter().enumerate();
        let words: Vec<Choice<usize>> = places.map(|(i, v)| (v.word, i, v.doc)).collect();
        let place = match ask.own {
            Some(own) => {
                let place = variants
                    .iter()
                    .position(|v| (v.is)(own))
                    .unwrap_or_default();
                self.keep(ask.key, words[place].0.into(), Some(place))
            }
            None => value.and_then(|value| self.answer(ask.key, &value, &Words(&words))),
        };
        // Which fields belong beside an unknown word is unknown, so that none can be called wrong.
        let Some(place) = place else {
            self.given.clear();
            return defaults(variants[0].visit);
        };
        (variants[place].visit)(self, ask.own)
    }

    /// Takes what is given for a key; records the question and refuses an absence.
    fn take(&mut self, field: Field) -> Option<Value> {
        let Field { key, doc, .. } = field;
        let given = self.given.shift_remove(key).filter(|v| !v.is_null());
        let lacks = given.is_none() && field.preset.is_required();
        if lacks && !self.writing && !self.reading.describing {
            let what = match &field.kind {
                Kind::Quantity { dimension, .. } if !dimension.unit_list().is_empty() => {
                    format!("with a number and a unit: {}", dimension.unit_list())
                }
                _ => format!("({doc})"),
            };
            let problem = format!("`{key}` is missing");
            self.fault(
                error::Kind::Missing,
                key,
                problem,
                format!("add `{key}: ` {what}"),
            );
        }
        self.fields.push(field);
        given
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

    /// Resolves `choose`, reads the value, keeps the resolved text; a complaint leaves nothing.
    fn answer<F: Form>(&mut self, key: &str, value: &Value, form: &F) -> Option<F::Value> {
        let path = self.path(key);
        let mut stream = self.stream(&path);
        let alone = |item: &Value| form.read(item, &mut self.stream(&path)).map(|_| ());
        let read = chosen(value, &mut stream, alone).and_then(|v| form.read(v, &mut stream));
        match read {
            Ok((resolved, result)) => Some(self.keep(key, resolved, result)),
            Err(complaint) => {
                self.reading.fault(&path, complaint);
                None
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

/// A word that decides which fields stand beside it.
pub struct Variant<T> {
    /// The word.
    pub word: &'static str,
    /// What it means.
    pub doc: &'static str,
    /// Whether a value is of this variant.
    pub is: fn(&T) -> bool,
    /// The questions of the fields it brings: a plain function, so that the schema can ask all of them.
    pub visit: fn(&mut Section, Option<&T>) -> T,
}
