//! The head of a pack: the id by which call sheets and key belong together.

use super::json::Document;
use crate::domain::checks::Checks;
use serde::{Deserialize, Serialize};

/// What the format line of a pack's head says.
pub const PACK_FORMAT: &str = "waterjacket pack 1";

/// What every reader of a pack needs of its `pack.json`; whatever else stands there is passed over.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PackHead {
    /// Name and version of this format, [`PACK_FORMAT`].
    pub format: String,
    /// The pack's id.
    pub pack: String,
}

impl Document for PackHead {
    const FORMAT: &'static str = PACK_FORMAT;

    fn check(&self, c: &mut Checks) {
        let id = self.pack.trim();
        c.need(
            !id.is_empty() && id == self.pack && !id.chars().any(char::is_control),
            "pack",
            format!("it is {:?}", self.pack),
            "give the pack's id in printable letters",
        );
    }
}
