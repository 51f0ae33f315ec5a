//! The quiz file, read by the same sections as a scenario.

use crate::digest::sha256_hex;
use crate::error::{Fault, Faults};
use crate::scenario::Recording;
use crate::scenario::Source;
use crate::scenario::section::{Section, read_seeded};
use crate::scenario::units::Dimension::*;
use std::path::Path;

/// Most captures of one pack: more than a class reads, and what fits in memory.
const MAX_CAPTURES: usize = 400;
/// Draws by which a scenario of the quiz is checked before the first is rendered.
const CHECKED_DRAWS: u64 = 16;
/// Difficulty up to which a capture is easy, and from which it is hard (chosen by us: a lag of a little
/// over half a firing interval, where the nearest TDC turns wrong, is where hard begins).
const BANDS: [f64; 2] = [0.25, 0.5];

/// What a pack shall hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Quiz {
    /// The quiz file, as messages name it.
    pub file: String,
    /// SHA-256 of its text.
    pub sha256: String,
    /// Stands on the printable sheet.
    pub title: String,
    /// Seed of all draws, unless the run brings its own.
    pub seed: u64,
    /// Least and greatest total difficulty of a capture with a leak to name.
    pub difficulty: [f64; 2],
    /// How every capture is recorded.
    pub recording: Recording,
    /// The scenarios.
    pub entries: Vec<Entry>,
}

/// One scenario of a quiz.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Path of the scenario, from the quiz file.
    pub scenario: String,
    /// Captures of it.
    pub captures: usize,
    /// Share of them without a leak.
    pub healthy: f64,
    /// Share of them that leak, but do not show where.
    pub untold: f64,
}

impl Quiz {
    /// Reads a quiz file and its scenarios.
    ///
    /// # Errors
    /// All faults of the quiz file and of every scenario it names, each with its place.
    pub fn open(path: &Path) -> Result<(Quiz, Vec<Source>), Faults> {
        let text = crate::files::read_all(path, "read the quiz")?;
        let quiz = Quiz::parse(&path.display().to_string(), &text)?;
        let folder = path.parent().unwrap_or(Path::new(""));
        let mut sources = Vec::new();
        let mut faults: Vec<Fault> = Vec::new();
        for entry in &quiz.entries {
            match quiz.source(&folder.join(&entry.scenario)) {
                Ok(source) => sources.push(source),
                Err(Faults(new)) => {
                    let new: Vec<Fault> = new.into_iter().filter(|f| !faults.contains(f)).collect();
                    faults.extend(new);
                }
            }
        }
        if faults.is_empty() {
            Ok((quiz, sources))
        } else {
            Err(Faults(faults))
        }
    }

    /// Reads the text of a quiz file; `file` names it in messages.
    ///
    /// # Errors
    /// All faults, each with the path of its field.
    pub fn parse(file: &str, text: &[u8]) -> Result<Quiz, Faults> {
        let sha256 =
            sha256_hex(text).map_err(|e| Fault::new(file, e, "check the file and try again"))?;
        read_seeded(file, text, |s| Quiz::read(s, file, sha256))
    }

    fn read(s: &mut Section, file: &str, sha256: String) -> Quiz {
        let title = s.text("title", "Quiz", "stands on the printable sheet");
        let seed = s.integer("seed", Some(1), [0, u64::MAX], "seed of all draws");
        let difficulty = difficulty(s);
        let share = ["0 %", "100 %"];
        let healthy = s.quantity("healthy", Ratio, "15 %", share, "share of healthy cars");
        let untold = s.quantity(
            "untold",
            Ratio,
            "10 %",
            share,
            "share of leaks that the capture does not settle",
        );
        let recording = Recording::read(s);
        let entries = s.list("scenarios", "what captures are drawn from", |s| {
            let entry = Entry {
                scenario: s.text("scenario", "", "path of the scenario, from this file"),
                captures: s.integer("captures", None, [1, 200], "captures of this scenario")
                    as usize,
                healthy: s.quantity(
                    "healthy",
                    Ratio,
                    &healthy.to_string(),
                    share,
                    "share of healthy cars among them",
                ),
                untold: s.quantity(
                    "untold",
                    Ratio,
                    &untold.to_string(),
                    share,
                    "share of leaks that the capture does not settle among them",
                ),
            };
            if entry.scenario.is_empty() {
                s.fault(
                    "scenario",
                    "`scenario` is missing",
                    "add `scenario: ` with the path of one, from this file",
                );
            }
            if entry.healthy + entry.untold > 1.0 + 1e-9 {
                s.fault(
                    "healthy",
                    format!(
                        "{:.0} % healthy and {:.0} % untold are more than all",
                        entry.healthy * 100.0,
                        entry.untold * 100.0
                    ),
                    "let the two shares add up to 100 % at most",
                );
            }
            entry
        });
        let total: usize = entries.iter().map(|e| e.captures).sum();
        if entries.is_empty() {
            s.fault(
                "scenarios",
                "the quiz names no scenario",
                "add a list of `{scenario: FILE, captures: N}`",
            );
        }
        if total > MAX_CAPTURES {
            s.fault(
                "scenarios",
                format!("{total} captures in one pack"),
                format!("use at most {MAX_CAPTURES}, or make two packs"),
            );
        }
        Quiz {
            file: file.into(),
            sha256,
            title,
            seed,
            difficulty,
            recording,
            entries,
        }
    }

    /// A scenario, recorded as all others of the pack.
    fn source(&self, path: &Path) -> Result<Source, Faults> {
        let text = crate::files::read_all(path, "read the scenario")?;
        let source = Source::parse(&path.display().to_string(), &text)?;
        let source = self.recording.of(&source)?;
        source.check(CHECKED_DRAWS)?;
        Ok(source)
    }
}

/// `easy`, `medium`, `hard` or `any`, or a span of the total difficulty.
fn difficulty(s: &mut Section) -> [f64; 2] {
    let doc = "of the captures with a leak to name: a word, or least and greatest total difficulty";
    if s.is_list("difficulty") {
        return s.span("difficulty", Ratio, ["0", "1"], ["0", "1"], doc);
    }
    s.choice(
        "difficulty",
        &[
            ("any", [0.0, 1.0], "whatever is drawn"),
            ("easy", [0.0, BANDS[0]], "little leads the count astray"),
            ("medium", BANDS, "something does"),
            ("hard", [BANDS[1], 1.0], "the plain count is often wrong"),
        ],
        doc,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quiz_is_read_with_its_defaults() {
        let text = "healthy: 20 %\nscenarios: [{scenario: a.yaml, captures: 3}, {scenario: b.yaml, captures: 2, healthy: 0}]";
        let quiz = Quiz::parse("q.yaml", text.as_bytes()).unwrap();
        assert_eq!((quiz.seed, quiz.difficulty), (1, [0.0, 1.0]));
        assert_eq!(quiz.recording.sample_rate_hz, 20_000.0);
        assert_eq!(quiz.entries[0].healthy, 0.2);
        assert_eq!(
            (quiz.entries[1].healthy, quiz.entries[1].untold),
            (0.0, 0.1)
        );
    }

    #[test]
    fn difficulty_is_a_word_or_a_span() {
        let of = |words: &str| {
            let text = format!("difficulty: {words}\nscenarios: [{{scenario: a, captures: 1}}]");
            Quiz::parse("q", text.as_bytes()).map(|q| q.difficulty)
        };
        assert_eq!(of("hard"), Ok([0.5, 1.0]));
        assert_eq!(of("[0.2, 60 %]"), Ok([0.2, 0.6]));
        assert!(of("[0.6, 0.2]").is_err());
        let faults = of("esay").unwrap_err().to_string();
        assert!(faults.contains("did you mean `easy`?"), "{faults}");
    }

    #[test]
    fn all_faults_come_at_once_with_their_places() {
        let text = "
            healty: 10 %
            untold: 120 %
            recording: {duration: 4}
            scenarios:
              - {captures: 2}
              - {scenario: a.yaml, captures: 0}
              - {scenario: a.yaml, captures: 4, healthy: 80 %, untold: 30 %}";
        let Faults(faults) = Quiz::parse("q.yaml", text.as_bytes()).unwrap_err();
        let places: Vec<&str> = faults.iter().map(|f| f.place.as_str()).collect();
        for place in [
            "q.yaml: healty",
            "q.yaml: untold",
            "q.yaml: recording.duration",
            "q.yaml: scenarios[0].scenario",
            "q.yaml: scenarios[1].captures",
            "q.yaml: scenarios[2].healthy",
        ] {
            assert!(places.contains(&place), "{place} in {places:?}");
        }
        let Faults(faults) = Quiz::parse("q.yaml", b"title: x").unwrap_err();
        assert_eq!(faults[0].place, "q.yaml: scenarios");
    }

    #[test]
    fn faults_of_quiz_and_scenarios_name_their_files() {
        let folder = tempfile::tempdir().unwrap();
        let quiz = folder.path().join("q.yaml");
        let text =
            "scenarios: [{scenario: gone.yaml, captures: 1}, {scenario: bad.yaml, captures: 1}]";
        std::fs::write(&quiz, text).unwrap();
        std::fs::write(folder.path().join("bad.yaml"), "channels: [{sensor: neck}]").unwrap();
        let faults = Quiz::open(&quiz).unwrap_err().to_string();
        assert!(faults.contains("gone.yaml: cannot read"), "{faults}");
        assert!(faults.contains("bad.yaml: channels[0].sensor"), "{faults}");
    }
}
