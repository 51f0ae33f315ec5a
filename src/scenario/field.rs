//! What the questions of a section tell of its fields, for the schema and for the page of defaults.

use super::units::Dimension;

/// One field that was asked for.
#[derive(Clone, Debug)]
pub struct Field {
    /// Its key.
    pub key: &'static str,
    /// What it means.
    pub doc: &'static str,
    /// Its default; `None` if it must be given or may be absent.
    pub default: Option<Preset>,
    /// Whether it must be given.
    pub required: bool,
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

/// A default, and where it comes from.
#[derive(Clone, Debug)]
pub struct Preset {
    /// As a person would write it.
    pub text: String,
    /// Where it comes from.
    pub origin: &'static str,
    /// Whether it follows from other fields; the field's documentation says how.
    pub derived: bool,
}

impl From<&'static str> for Preset {
    /// Nobody's but ours.
    fn from(text: &'static str) -> Preset {
        String::from(text).into()
    }
}

impl From<[&'static str; 2]> for Preset {
    fn from(ends: [&'static str; 2]) -> Preset {
        serde_json::json!(ends).to_string().into()
    }
}

impl From<String> for Preset {
    fn from(text: String) -> Preset {
        Preset {
            text,
            origin: "chosen by us",
            derived: false,
        }
    }
}

/// A default from elsewhere than us.
pub fn from(text: impl Into<Preset>, origin: &'static str) -> Preset {
    Preset {
        origin,
        ..text.into()
    }
}

/// A default of common practice.
pub fn common(text: impl Into<Preset>) -> Preset {
    from(text, "common practice")
}

/// A default of ours at which a first model of the same equations agreed with the trade's observations.
pub fn tried(text: impl Into<Preset>) -> Preset {
    from(text, "chosen by us; tried in the prototype")
}
