//! The quiz file, read by the same sections as a scenario.

use crate::digest::sha256_hex;
use crate::error::{Fault, Faults, Kind};
use crate::scenario::Dimension::Ratio;
use crate::scenario::forms::{Limits, Span, Words, WordsOrSpan};
use crate::scenario::section::section;
use crate::scenario::{Preset, Reading, Recording, Source, json_schema, read_seeded};
use std::path::Path;

/// Most captures of one pack: more than a class reads, and what fits in memory.
const MAX_CAPTURES: usize = 400;
/// Draws by which a scenario of the quiz is checked before the first is rendered.
const CHECKED_DRAWS: u64 = 16;
/// Difficulty up to which a capture is easy, and from which it is hard (chosen by us: a lag of a little
/// over half a firing interval, where the nearest TDC turns wrong, is where hard begins).
const BANDS: [f64; 2] = [0.25, 0.5];

/// What a pack shall hold, and where that was written.
#[derive(Clone, Debug, PartialEq)]
pub struct Quiz {
    /// The quiz file, as messages name it.
    pub file: String,
    /// SHA-256 of its text.
    pub sha256: String,
    /// What it says.
    pub content: QuizFile,
}

section! {
    /// A quiz file.
    pub struct QuizFile {
        /// stands on the printable sheet
        title: String = text("title", "Quiz");
        /// seed of all draws
        seed: u64 = integer("seed", 1, [0, u64::MAX]);
        /// of the captures with a leak to name: a word, or least and greatest total difficulty
        difficulty: [f64; 2] = value("difficulty", &WordsOrSpan(Words(&[
            ("any", [0.0, 1.0], "whatever is drawn"),
            ("easy", [0.0, BANDS[0]], "little leads the count astray"),
            ("medium", BANDS, "something does"),
            ("hard", [BANDS[1], 1.0], "the plain count is often wrong"),
        ]), Span(Limits::new(Ratio, ["0", "1"]))), "any".into());
        /// share of healthy cars
        healthy: f64 = quantity("healthy", Ratio, "15 %", SHARE);
        /// share of leaks that the capture does not settle
        untold: f64 = quantity("untold", Ratio, "10 %", SHARE);
        /// how every capture is recorded
        recording: Recording = section("recording", Recording::visit);
        /// what captures are drawn from
        scenarios: Vec<Entry> = list("scenarios", |s, own| Entry::visit(s, own, healthy, untold));
    }
}

section! {
    /// One scenario of a quiz.
    pub struct Entry(healthy: f64, untold: f64) {
        /// path of the scenario, from this file
        scenario: String = required_text("scenario");
        /// captures of this scenario
        captures: usize = integer("captures", Preset::required(), [1, 200]);
        /// share of healthy cars among them (default: that of the quiz)
        healthy: f64 = derived("healthy", Ratio, healthy.to_string(), SHARE);
        /// share of leaks that the capture does not settle among them (default: that of the quiz)
        untold: f64 = derived("untold", Ratio, untold.to_string(), SHARE);
    }
}

const SHARE: [&str; 2] = ["0 %", "100 %"];

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
        let mut faults = Faults::default();
        for entry in &quiz.content.scenarios {
            match quiz.source(&folder.join(&entry.scenario)) {
                Ok(source) => sources.push(source),
                Err(new) => faults.extend_once(new),
            }
        }
        faults.or((quiz, sources))
    }

    /// Reads the text of a quiz file; `file` names it in messages.
    ///
    /// # Errors
    /// All faults, each with its line, column and path.
    pub fn parse(file: &str, text: &[u8]) -> Result<Quiz, Faults> {
        let sha256 =
            sha256_hex(text).map_err(|e| Fault::new(file, e, "check the file and try again"))?;
        Ok(Quiz {
            file: file.into(),
            sha256,
            content: read_seeded(file, text, QuizFile::visit, QuizFile::check)?,
        })
    }

    /// A scenario, recorded as all others of the pack.
    fn source(&self, path: &Path) -> Result<Source, Faults> {
        let text = crate::files::read_all(path, "read the scenario")?;
        let source = Source::parse(&path.display().to_string(), &text)?;
        let source = source.recorded(self.content.recording);
        source.check(CHECKED_DRAWS)?;
        Ok(source)
    }
}

impl QuizFile {
    /// The JSON Schema of a quiz file.
    pub fn schema() -> serde_json::Value {
        let about = "What a quiz pack shall hold: captures of which scenarios, how many, how hard.";
        json_schema("waterjacket quiz", about, QuizFile::visit)
    }

    fn check(&self, reading: &Reading) {
        let fault = |path: &str, problem, remedy| {
            reading.fault(path, Fault::of(Kind::Conflict, problem, remedy));
        };
        for (i, entry) in self.scenarios.iter().enumerate() {
            if entry.healthy + entry.untold > 1.0 + 1e-9 {
                let (healthy, untold) = (entry.healthy * 100.0, entry.untold * 100.0);
                let problem =
                    format!("{healthy:.0} % healthy and {untold:.0} % untold are more than all");
                let remedy = "let the two shares add up to 100 % at most".into();
                fault(&format!("scenarios[{i}].healthy"), problem, remedy);
            }
        }
        if self.scenarios.is_empty() {
            let remedy = "add a list of `{scenario: FILE, captures: N}`";
            fault(
                "scenarios",
                "the quiz names no scenario".into(),
                remedy.into(),
            );
        }
        let total: usize = self.scenarios.iter().map(|e| e.captures).sum();
        if total > MAX_CAPTURES {
            let remedy = format!("use at most {MAX_CAPTURES}, or make two packs");
            fault("scenarios", format!("{total} captures in one pack"), remedy);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quiz_is_read_with_its_defaults() {
        let text = "healthy: 20 %\nscenarios: [{scenario: a.yaml, captures: 3}, {scenario: b.yaml, captures: 2, healthy: 0}]";
        let quiz = Quiz::parse("q.yaml", text.as_bytes()).unwrap().content;
        assert_eq!((quiz.seed, quiz.difficulty), (1, [0.0, 1.0]));
        assert_eq!(quiz.recording.sample_rate_hz, 20_000.0);
        assert_eq!(quiz.scenarios[0].healthy, 0.2);
        assert_eq!(
            (quiz.scenarios[1].healthy, quiz.scenarios[1].untold),
            (0.0, 0.1)
        );
    }

    #[test]
    fn difficulty_is_a_word_or_a_span() {
        let of = |words: &str| {
            let text = format!("difficulty: {words}\nscenarios: [{{scenario: a, captures: 1}}]");
            Quiz::parse("q", text.as_bytes()).map(|q| q.content.difficulty)
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
        let faults: Vec<String> = faults.iter().map(Fault::to_string).collect();
        for place in [
            "q.yaml: line 2, column 13: healty: ",
            "q.yaml: line 3, column 21: untold: ",
            "q.yaml: line 4, column 35: recording.duration: ",
            "q.yaml: line 6, column 17: scenarios[0].scenario: ",
            "q.yaml: line 7, column 46: scenarios[1].captures: ",
            "q.yaml: line 8, column 58: scenarios[2].healthy: ",
        ] {
            assert!(
                faults.iter().any(|f| f.starts_with(place)),
                "{place} in {faults:#?}"
            );
        }
        let Faults(faults) = Quiz::parse("q.yaml", b"title: x").unwrap_err();
        assert_eq!(faults[0].path(), "scenarios");
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
        assert!(
            faults.contains("bad.yaml: line 1, column 21: channels[0].sensor"),
            "{faults}"
        );
    }
}
