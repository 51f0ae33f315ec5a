//! What the questions of a section tell of its fields, for the schema and for the page of defaults.

use super::units::Dimension;
use serde_json::{Value, json};

/// One field that was asked for.
#[derive(Clone, Debug)]
pub struct Field {
    /// Its key.
    pub key: &'static str,
    /// What it means.
    pub doc: &'static str,
    /// What stands in if it is not given.
    pub preset: Preset,
    /// What may stand there.
    pub kind: Kind,
}

/// What may stand in a field.
#[derive(Clone, Debug)]
#[allow(missing_docs)]
pub enum Kind {
    Quantity {
        dimension: Dimension,
        range: [&'static str; 2],
    },
    Integer {
        range: [u64; 2],
    },
    /// Words and what they mean.
    Choice(Vec<(&'static str, &'static str)>),
    Flag,
    Text,
    List(Box<Kind>),
    Section(Vec<Field>),
    /// A choice that decides which other fields stand beside it.
    Variant(Vec<(&'static str, &'static str, Vec<Field>)>),
    Either(Vec<Kind>),
}

/// What stands in for a field that is not given.
#[derive(Clone, Debug)]
pub struct Preset {
    /// Its default as a person would write it.
    pub value: Value,
    /// Where that comes from.
    pub origin: &'static str,
    /// Why the schema does not show it, if it does not.
    pub hidden: Option<Hidden>,
}

/// Why a default is not shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hidden {
    /// The field must be given.
    Required,
    /// An absent field has none.
    Absent,
    /// It follows from other fields; the field's documentation says how.
    Derived,
}

impl Preset {
    fn none(hidden: Hidden) -> Preset {
        Preset {
            hidden: Some(hidden),
            ..json!(null).into()
        }
    }

    /// None; the field must be given.
    pub(crate) fn required() -> Preset {
        Preset::none(Hidden::Required)
    }

    /// None; an absent field has no value.
    pub(super) fn absent() -> Preset {
        Preset::none(Hidden::Absent)
    }

    pub(super) fn is_required(&self) -> bool {
        self.hidden == Some(Hidden::Required)
    }

    /// The default as the schema shows it.
    pub fn text(&self) -> String {
        match &self.value {
            Value::String(text) => text.clone(),
            other => other.to_string(),
        }
    }
}

impl<T: Into<Value>> From<T> for Preset {
    /// Nobody's but ours; an empty text is none.
    fn from(value: T) -> Preset {
        Preset {
            value: value.into(),
            origin: "chosen by us",
            hidden: None,
        }
    }
}

/// A default from elsewhere than us.
pub fn from(default: impl Into<Preset>, origin: &'static str) -> Preset {
    Preset {
        origin,
        ..default.into()
    }
}

/// A default of common practice.
pub fn common(default: impl Into<Preset>) -> Preset {
    from(default, "common practice")
}

/// A default of ours at which a first model of the same equations agreed with the trade's observations.
pub fn tried(default: impl Into<Preset>) -> Preset {
    from(default, "chosen by us; tried in the prototype")
}
