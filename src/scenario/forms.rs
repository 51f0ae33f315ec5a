//! The forms of single values: how each is read, written and described.

use super::distribution::{self, Distribution, ascending, describe, in_range, read_plain};
use super::field::Kind;
use super::reading::Texts;
use super::slips;
use super::units::{Dimension, Quantity};
use crate::error::{self, Fault, nearest};
use crate::random::Stream;
use serde_json::Value;
use std::marker::PhantomData;

/// What a changed value is written over.
#[derive(Clone, Copy)]
pub struct Old<'o> {
    /// What stood there, and the default.
    pub usual: [Option<&'o Value>; 2],
    /// What whoever changed it wrote.
    pub texts: &'o Texts,
}

/// A resolved and a typed value.
type Read<T> = Result<(Value, T), Fault>;

/// A form of values.
pub trait Form {
    /// What it is in typed values.
    type Value: Clone;

    /// What the schema says of it.
    fn kind(&self) -> Kind;

    /// Its part of the resolved tree and its typed value; `choose` is done before.
    fn read(&self, value: &Value, stream: &mut Stream) -> Read<Self::Value>;

    /// How a typed value is written, in place of what stood there or the default.
    fn write(&self, own: &Self::Value, old: Old) -> Value;

    /// What stands in for a value that is missing or faulty.
    fn least(&self) -> Self::Value;
}

fn wrong(problem: impl std::fmt::Display, remedy: impl std::fmt::Display) -> Fault {
    Fault::of(error::Kind::Value, problem, remedy)
}

/// Quantities of a dimension within a range.
#[derive(Clone, Copy)]
pub struct Limits {
    dimension: Dimension,
    range: [&'static str; 2],
    ends: (Quantity, Quantity),
}

impl Limits {
    pub fn new(dimension: Dimension, range: [&'static str; 2]) -> Limits {
        let [low, high] = range.map(|end| own_quantity(end, dimension));
        let ends = (low, high);
        Limits {
            dimension,
            range,
            ends,
        }
    }

    fn quantity(&self, value: &Value, stream: &mut Stream) -> Result<Quantity, Fault> {
        // The ends of a span have their choices here; all others are made before.
        let alone = |item: &Value| self.quantity(item, &mut Stream::new(0, 0, "check"));
        let value = chosen(value, stream, |item| alone(item).map(|_| ()))?;
        let q = match value {
            Value::Object(_) => {
                Distribution::parse(value, self.dimension, self.ends)?.draw(stream, self.ends)
            }
            plain => read_plain(plain, self.dimension)?,
        };
        in_range(q, self.ends)?;
        Ok(q)
    }
}

/// In SI units.
impl Form for Limits {
    type Value = f64;

    fn kind(&self) -> Kind {
        let Limits {
            dimension, range, ..
        } = *self;
        Kind::Quantity { dimension, range }
    }

    fn read(&self, value: &Value, stream: &mut Stream) -> Read<f64> {
        let q = self.quantity(value, stream)?;
        Ok((q.to_string().into(), q.si()))
    }

    /// As whoever changed it wrote it, else as usual if that is the same value, else in SI.
    fn write(&self, own: &f64, old: Old) -> Value {
        let usual = old.usual.into_iter().flatten();
        let same = usual
            .filter_map(|text| read_plain(text, self.dimension).ok())
            .find(|q| q.si() == *own);
        let text = old
            .texts
            .of(own)
            .or(same)
            .unwrap_or(self.dimension.in_si(*own));
        text.to_string().into()
    }

    fn least(&self) -> f64 {
        self.ends.0.si()
    }
}

/// A quantity as it is written; it becomes SI later.
pub struct Written(pub Limits);

impl Form for Written {
    type Value = Quantity;

    fn kind(&self) -> Kind {
        self.0.kind()
    }

    fn read(&self, value: &Value, stream: &mut Stream) -> Read<Quantity> {
        let q = self.0.quantity(value, stream)?;
        Ok((q.to_string().into(), q))
    }

    fn write(&self, own: &Quantity, _: Old) -> Value {
        own.to_string().into()
    }

    fn least(&self) -> Quantity {
        self.0.ends.0
    }
}

/// Two quantities in SI units, `[low, high]`, the first below the second.
pub struct Span(pub Limits);

impl Form for Span {
    type Value = [f64; 2];

    fn kind(&self) -> Kind {
        Kind::List(Box::new(self.0.kind()))
    }

    fn read(&self, value: &Value, stream: &mut Stream) -> Read<[f64; 2]> {
        let Some([low, high]) = value.as_array().map(Vec::as_slice) else {
            let problem = format!("{} where two values belong", describe(value));
            return Err(wrong(problem, "write `[low, high]`"));
        };
        let low = self.0.quantity(low, stream)?;
        let high = self.0.quantity(high, stream)?;
        ascending("the span", low.si() < high.si(), low, high)?;
        let written = vec![low.to_string(), high.to_string()];
        Ok((written.into(), [low.si(), high.si()]))
    }

    fn write(&self, own: &[f64; 2], old: Old) -> Value {
        let end = |i: usize| {
            let usual = old.usual.map(|both| both?.get(i));
            self.0.write(&own[i], Old { usual, ..old })
        };
        vec![end(0), end(1)].into()
    }

    fn least(&self) -> [f64; 2] {
        [self.0.ends.0.si(), self.0.ends.1.si()]
    }
}

/// Whole numbers within a range, all of which the type holds.
pub struct Whole<T> {
    range: [u64; 2],
    of: PhantomData<T>,
}

impl<T> Whole<T> {
    pub fn new(range: [u64; 2]) -> Self {
        let of = PhantomData;
        Whole { range, of }
    }
}

impl<T: TryFrom<u64> + TryInto<u64> + Copy + Default> Form for Whole<T> {
    type Value = T;

    fn kind(&self) -> Kind {
        Kind::Integer { range: self.range }
    }

    fn read(&self, value: &Value, stream: &mut Stream) -> Read<T> {
        let [low, high] = self.range;
        let plain = |v: &Value| {
            let fits = v.as_u64().filter(|n| (low..=high).contains(n));
            let problem = || format!("{} where a whole number belongs", describe(v));
            let remedy = format!("write a whole number from {low} to {high}");
            fits.ok_or_else(|| wrong(problem(), remedy))
        };
        let n = match value {
            Value::Object(map) => {
                let [a, b] = distribution::whole_ends(map)?;
                let (a, b) = (plain(a)?, plain(b)?);
                ascending("`uniform`", a < b, a, b)?;
                a + stream.below((b - a).saturating_add(1) as usize) as u64
            }
            other => plain(other)?,
        };
        Ok((n.into(), T::try_from(n).unwrap_or_default()))
    }

    fn write(&self, own: &T, _: Old) -> Value {
        (*own).try_into().unwrap_or_default().into()
    }

    fn least(&self) -> T {
        T::try_from(self.range[0]).unwrap_or_default()
    }
}

/// A word, its value, and what it means.
pub type Choice<T> = (&'static str, T, &'static str);

/// One of a few words; the first is the default.
pub struct Words<'c, T>(pub &'c [Choice<T>]);

impl<T: Copy + PartialEq> Form for Words<'_, T> {
    type Value = T;

    fn kind(&self) -> Kind {
        Kind::Choice(self.0.iter().map(|c| (c.0, c.2)).collect())
    }

    fn read(&self, value: &Value, _: &mut Stream) -> Read<T> {
        let names: Vec<&str> = self.0.iter().map(|c| c.0).collect();
        let choice = &self.0[place_of(value, &names)?];
        Ok((choice.0.into(), choice.1))
    }

    fn write(&self, own: &T, _: Old) -> Value {
        self.0.iter().find(|c| c.1 == *own).map(|c| c.0).into()
    }

    fn least(&self) -> T {
        self.0[0].1
    }
}

/// A word that stands for a span, or such a span.
#[cfg(feature = "cli")]
pub struct WordsOrSpan<'c>(pub Words<'c, [f64; 2]>, pub Span);

#[cfg(feature = "cli")]
impl Form for WordsOrSpan<'_> {
    type Value = [f64; 2];

    fn kind(&self) -> Kind {
        Kind::Either(vec![self.0.kind(), self.1.kind()])
    }

    fn read(&self, value: &Value, stream: &mut Stream) -> Read<[f64; 2]> {
        if value.is_array() {
            return self.1.read(value, stream);
        }
        self.0.read(value, stream)
    }

    fn write(&self, own: &[f64; 2], old: Old) -> Value {
        self.1.write(own, old)
    }

    fn least(&self) -> [f64; 2] {
        self.0.least()
    }
}

/// `true` or `false`.
pub struct Flag;

impl Form for Flag {
    type Value = bool;

    fn kind(&self) -> Kind {
        Kind::Flag
    }

    fn read(&self, value: &Value, _: &mut Stream) -> Read<bool> {
        let problem = || format!("{} where a yes or no belongs", describe(value));
        let flag = value.as_bool();
        let flag = flag.ok_or_else(|| wrong(problem(), "write `true` or `false`"))?;
        Ok((flag.into(), flag))
    }

    fn write(&self, own: &bool, _: Old) -> Value {
        (*own).into()
    }

    fn least(&self) -> bool {
        false
    }
}

/// Free text; the blanks around it count for nothing.
pub struct Text;

impl Form for Text {
    type Value = String;

    fn kind(&self) -> Kind {
        Kind::Text
    }

    fn read(&self, value: &Value, _: &mut Stream) -> Read<String> {
        let text = value
            .as_str()
            .filter(|s| s.len() <= 4000 && !s.contains('\0'));
        let problem = || format!("{} where text belongs", describe(value));
        let text = text.ok_or_else(|| wrong(problem(), "write at most 4000 characters"))?;
        Ok((text.into(), text.trim().into()))
    }

    fn write(&self, own: &String, old: Old) -> Value {
        let same = old.usual[0].filter(|old| old.as_str().is_some_and(|old| old.trim() == own));
        same.cloned().unwrap_or_else(|| own.as_str().into())
    }

    fn least(&self) -> String {
        String::new()
    }
}

/// What `{choose: [..]}` comes to, or the value itself. Every alternative must pass `check`, not only
/// the one that is drawn.
pub fn chosen<'v>(
    mut value: &'v Value,
    stream: &mut Stream,
    check: impl Fn(&Value) -> Result<(), Fault>,
) -> Result<&'v Value, Fault> {
    while let Some(alternatives) = distribution::alternatives(value) {
        let items = alternatives?;
        let plain = |item: &&Value| distribution::alternatives(item).is_none();
        items.iter().filter(plain).try_for_each(&check)?;
        value = &items[stream.below(items.len())];
    }
    Ok(value)
}

/// The place of a word among those that may stand there.
pub fn place_of(value: &Value, names: &[&'static str]) -> Result<usize, Fault> {
    let word = value.as_str().map_or_else(|| describe(value), String::from);
    let place = names.iter().position(|n| *n == word);
    place.ok_or_else(|| {
        let meant = slips::word(&word, names).or_else(|| nearest(&word, names.iter().copied()));
        let remedy = match meant {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("use one of: {}", names.join(", ")),
        };
        wrong(format!("unknown word `{}`", word.trim_matches('`')), remedy)
    })
}

/// A quantity written in this program; tests read every section, so that a slip shows at once.
pub(crate) fn own_quantity(text: &str, dimension: Dimension) -> Quantity {
    let parsed = match text.parse() {
        Ok(number) if dimension.takes_bare_numbers() => Ok(Quantity::bare(number)),
        _ => Quantity::parse(text, dimension),
    };
    parsed.unwrap_or_else(|fault| panic!("the program's own `{text}`{fault}"))
}
