//! A pack's tables: the record that ties sheets to a key, the blank call sheet, and the answers.

use super::draw::{Item, Kind};
use super::file::Quiz;
use crate::digest::sha256_hex;
use crate::domain::Difficulty;
use crate::error::{Fault, Faults};
use serde::{Deserialize, Serialize};
use std::path::Path;

/// What the format line of a key's `pack.json` says.
pub const PACK_FORMAT: &str = "waterjacket pack 1";
/// Hexadecimal digits of a pack's id: enough that no two packs of a school share one.
const ID_DIGITS: usize = 12;

/// What ties call sheets to a key, and where the pack came from; `pack.json` of the key.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pack {
    /// Name and version of this format, [`PACK_FORMAT`].
    pub format: String,
    /// The pack's id, made of the captures themselves: it helps nobody to guess the seed.
    #[serde(rename = "pack")]
    pub id: String,
    /// The quiz's title.
    pub title: String,
    /// Number of captures.
    pub captures: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// The quiz file's name.
    pub quiz: String,
    /// SHA-256 of the quiz file.
    pub quiz_sha256: String,
    /// Version of the program that built the pack.
    pub version: String,
}

impl Pack {
    /// The pack of a quiz whose WAVs have these digests, in the order of their names.
    pub(super) fn of(quiz: &Quiz, seed: u64, wav_sha256: &[&str]) -> Result<Pack, Faults> {
        let mut id = sha256_hex(wav_sha256.concat().as_bytes())
            .map_err(|e| Fault::new("pack", e, "run the command again"))?;
        id.truncate(ID_DIGITS);
        Ok(Pack {
            format: PACK_FORMAT.into(),
            id,
            title: quiz.content.title.clone(),
            captures: wav_sha256.len(),
            seed,
            quiz: Path::new(&quiz.file)
                .file_name()
                .map(|n| n.to_string_lossy().into_owned())
                .unwrap_or_default(),
            quiz_sha256: quiz.sha256.clone(),
            version: env!("CARGO_PKG_VERSION").into(),
        })
    }

    /// The record as indented JSON.
    pub(super) fn to_json(&self) -> Result<String, Faults> {
        match serde_json::to_string_pretty(self) {
            Ok(text) => Ok(text + "\n"),
            Err(e) => Err(Fault::new("pack.json", e, "run the command again").into()),
        }
    }

    /// A call sheet with a row for each capture and no call yet.
    pub(super) fn blank_calls(&self, items: &[Item]) -> String {
        let rows = items
            .iter()
            .map(|i| format!("{},,,,{}\n", i.rendered.capture.card.capture, self.id));
        format!(
            "capture,cylinders,confidence,note,pack\n{}",
            rows.collect::<String>()
        )
    }
}

/// One row of the answers.
#[derive(Serialize)]
struct Answer<'a> {
    capture: &'a str,
    kind: Kind,
    leaking: String,
    supported: String,
    difficulty: String,
    lag: String,
    noise: String,
    sync: String,
    second_leak: String,
    decoy: String,
    clipping: String,
    scenario: &'a str,
    title: &'a str,
    evidence: String,
}

/// The answer of every capture as CSV: who leaks, what the evidence supports, how hard it is and why.
pub(super) fn answers(quiz: &Quiz, items: &[Item]) -> Result<Vec<u8>, Faults> {
    let fault = |e: &dyn std::fmt::Display| {
        Faults::from(Fault::new("answers.csv", e, "run the command again"))
    };
    let mut writer = csv::Writer::from_writer(Vec::new());
    for item in items {
        let truth = &item.rendered.truth;
        let Difficulty {
            total,
            lag,
            noise,
            sync,
            second_leak,
            decoy,
            clipping,
        } = truth.difficulty;
        let share = |part: f64| format!("{part:.2}");
        let leaking: Vec<String> = truth.leaks.iter().map(|l| l.cylinder.to_string()).collect();
        let row = Answer {
            capture: &truth.capture,
            kind: item.kind,
            leaking: leaking.join("+"),
            supported: truth.evidence.expected(),
            difficulty: share(total),
            lag: share(lag),
            noise: share(noise),
            sync: share(sync),
            second_leak: share(second_leak),
            decoy: share(decoy),
            clipping: share(clipping),
            scenario: &quiz.content.scenarios[item.entry].scenario,
            title: &truth.title,
            evidence: truth.evidence.reasons.join(" "),
        };
        writer.serialize(row).map_err(|e| fault(&e))?;
    }
    writer.into_inner().map_err(|e| fault(&e))
}
