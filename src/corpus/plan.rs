//! The plan file, read by the same sections as a scenario, and the draw of one capture.

use crate::digest::sha256;
use crate::error::{Fault, Faults, Kind};
use crate::files::{directory, read_at_most};
use crate::random::Stream;
use crate::scenario::Dimension::Ratio;
use crate::scenario::section::section;
use crate::scenario::{Drawn, Reading, Recording, Source, json_schema, read_seeded};
use std::path::Path;

/// Draws by which a scenario is checked before anything is rendered; a run draws all of its captures
/// first, this is for a quick answer.
const CHECKED_DRAWS: u64 = 16;
/// Most scenarios of one plan.
const MAX_SCENARIOS: usize = 10_000;

/// What a corpus is drawn from.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The plan file, as messages name it.
    pub file: String,
    /// SHA-256 of the plan and of all scenarios it names.
    pub sha256: String,
    /// What it says.
    pub content: PlanFile,
    /// Every scenario, with its weight and its share of healthy cars.
    scenarios: Vec<(Source, f64, f64)>,
}

section! {
    /// A plan file.
    pub struct PlanFile {
        /// what the corpus is for
        title: String = text("title", "Corpus");
        /// seed of all draws
        seed: u64 = integer("seed", 1, [0, u64::MAX]);
        /// share of healthy cars
        healthy: f64 = quantity("healthy", Ratio, "0 %", SHARE);
        /// how every capture is recorded
        recording: Recording = section("recording", Recording::visit);
        /// what captures are drawn from
        scenarios: Vec<Entry> = list("scenarios", |s, own| Entry::visit(s, own, healthy));
    }
}

section! {
    /// One entry of a plan; its scenarios share its weight evenly.
    pub struct Entry(healthy: f64) {
        /// path of a scenario, of a folder of them, or a pattern, from this file
        scenario: String = required_text("scenario");
        /// how often it is drawn, beside the others
        weight: f64 = quantity("weight", Ratio, "1", ["0.001", "1000"]);
        /// share of healthy cars among them (default: that of the plan)
        healthy: f64 = derived("healthy", Ratio, healthy.to_string(), SHARE);
    }
}

const SHARE: [&str; 2] = ["0 %", "100 %"];

impl PlanFile {
    /// The JSON Schema of a plan file.
    pub fn schema() -> serde_json::Value {
        let about =
            "What a corpus is drawn from: scenarios, how often each, how many healthy cars.";
        json_schema("waterjacket plan", about, PlanFile::visit)
    }

    fn check(&self, reading: &Reading) {
        if self.scenarios.is_empty() {
            let remedy = "add a list of `{scenario: FILE, weight: N}`";
            let fault = Fault::of(Kind::Conflict, "the plan names no scenario", remedy);
            reading.fault("scenarios", fault);
        }
    }
}

impl Plan {
    /// Reads a plan file and its scenarios.
    ///
    /// # Errors
    /// All faults of the plan and of every scenario it names, each with its place.
    pub fn open(path: &Path) -> Result<Plan, Faults> {
        let text = read_at_most(path, Source::MAX_BYTES)?;
        let mut plan = Plan::parse(&path.display().to_string(), &text)?;
        let folder = path.parent().unwrap_or(Path::new(""));
        let mut faults = Faults::default();
        let mut digests = format!("{}\n", plan.sha256);
        for (i, entry) in plan.content.scenarios.iter().enumerate() {
            let place = format!("{}: scenarios[{i}].scenario", plan.file);
            let files = match scenarios_of(folder, &entry.scenario, &place) {
                Ok(files) => files,
                Err(new) => {
                    faults.extend_once(new);
                    continue;
                }
            };
            let weight = entry.weight / files.len() as f64;
            for file in files {
                match plan.source(&folder.join(&file)) {
                    Ok((source, digest)) => {
                        digests += &format!("{digest}  {file}\n");
                        plan.scenarios.push((source, weight, entry.healthy));
                    }
                    Err(new) => faults.extend_once(new),
                }
            }
        }
        if plan.scenarios.len() > MAX_SCENARIOS {
            let problem = format!("it names {} scenarios", plan.scenarios.len());
            let remedy = format!("use at most {MAX_SCENARIOS}, and distributions in them");
            faults.extend_once(Fault::new(&plan.file, problem, remedy).into());
        }
        plan.sha256 = sha256(digests);
        faults.or(plan)
    }

    /// Reads the text of a plan file, without its scenarios; `file` names it in messages.
    fn parse(file: &str, text: &[u8]) -> Result<Plan, Faults> {
        Ok(Plan {
            file: file.into(),
            sha256: sha256(text),
            content: read_seeded(file, text, PlanFile::visit, PlanFile::check)?,
            scenarios: Vec::new(),
        })
    }

    /// A scenario, recorded as all others, and the digest of its text.
    fn source(&self, path: &Path) -> Result<(Source, String), Faults> {
        let text = read_at_most(path, Source::MAX_BYTES)?;
        let file = path.display().to_string();
        let source = Source::parse(&file, &text)?.recorded(self.content.recording);
        source.check(CHECKED_DRAWS)?;
        Ok((source, sha256(text)))
    }

    /// Draws capture `index` of the corpus seeded with `seed`: nothing else goes into it.
    ///
    /// # Errors
    /// A draw that a scenario does not allow, with its place.
    pub fn draw(&self, seed: u64, index: u64) -> Result<Drawn, Faults> {
        let stream = |purpose| Stream::new(seed, index, purpose).uniform();
        let weights = self.scenarios.iter().map(|(_, weight, _)| weight);
        let mut at = stream("corpus scenario") * weights.clone().sum::<f64>();
        let place = weights
            .take_while(|weight| {
                let beyond = at >= **weight;
                at -= **weight;
                beyond
            })
            .count();
        // Rounding may lead past the last one.
        let (source, _, healthy) = &self.scenarios[place.min(self.scenarios.len() - 1)];
        let drawn = source.draw(Some(seed), index)?;
        if stream("corpus health") < *healthy {
            return drawn.edit(|s, _| s.faults.leaks.clear());
        }
        Ok(drawn)
    }
}

/// The scenarios that an entry names, from the plan's folder, in the order of their paths.
fn scenarios_of(folder: &Path, named: &str, place: &str) -> Result<Vec<String>, Faults> {
    let is_scenario = |name: &str| {
        let last = name.rsplit('/').next().unwrap_or_default();
        !last.starts_with('.') && (last.ends_with(".yaml") || last.ends_with(".yml"))
    };
    let remedy = "name a scenario, a folder of them, or a pattern such as `cars/*.yaml`";
    let mut found = if folder.join(named).is_dir() {
        directory::names(&folder.join(named))?
            .into_iter()
            .map(|name| format!("{}/{name}", named.trim_end_matches('/')))
            .collect()
    } else if named.contains(['*', '?', '[']) {
        let base = glob::Pattern::escape(&folder.join("x").display().to_string());
        let base = base.trim_end_matches('x');
        let paths = glob::glob(&format!("{base}{named}")).map_err(|e| {
            Fault::new(
                place,
                format!("the pattern `{named}` has a fault: {e}"),
                remedy,
            )
        })?;
        let mut found = Vec::new();
        for path in paths {
            let path = path.map_err(|e| Fault::new(place, e, remedy))?;
            let inner = path.strip_prefix(folder).unwrap_or(&path);
            found.push(inner.to_string_lossy().replace('\\', "/"));
        }
        found
    } else {
        return Ok(vec![named.into()]);
    };
    found.retain(|name| is_scenario(name) && folder.join(name).is_file());
    found.sort();
    if found.is_empty() {
        let problem = format!("`{named}` leads to no scenarios (.yaml, .yml)");
        return Err(Fault::new(place, problem, remedy).into());
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CAR: &str = "
vehicle: {engine: {cylinders: 4, firing_order: [1, 3, 4, 2]}}
faults: {leaks: [{cylinder: {choose: [1, 2, 3, 4]}, area: 0.1 mm2}]}
channels: [{sensor: neck_pressure}, {sensor: coil_trigger, cylinder: 1}]
";

    /// A plan over cars whose titles are their file names.
    fn plan(files: &[&str], scenarios: &str) -> Result<Plan, Faults> {
        let folder = tempfile::tempdir().unwrap();
        for file in files {
            let path = folder.path().join(file);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, format!("title: {file}{CAR}")).unwrap();
        }
        let path = folder.path().join("plan.yaml");
        std::fs::write(&path, format!("scenarios: {scenarios}")).unwrap();
        Plan::open(&path)
    }

    fn titles(plan: &Plan, seed: u64) -> Vec<(String, bool)> {
        (0..2000)
            .map(|i| plan.draw(seed, i).unwrap().scenario)
            .map(|s| (s.title, s.faults.leaks.is_empty()))
            .collect()
    }

    #[test]
    fn captures_are_drawn_by_weight_and_by_health() {
        let plan = plan(
            &["a.yaml", "cars/b.yaml", "cars/c.yml", "cars/readme.txt"],
            "[{scenario: a.yaml, healthy: 25 %}, {scenario: cars, weight: 3}]",
        );
        let plan = plan.unwrap();
        let all = titles(&plan, 4);
        let share =
            |title: &str| all.iter().filter(|t| t.0 == title).count() as f64 / all.len() as f64;
        // Four standard errors of a share of 2000.
        for (title, expected) in [
            ("a.yaml", 0.25),
            ("cars/b.yaml", 0.375),
            ("cars/c.yml", 0.375),
        ] {
            assert!(
                (share(title) - expected).abs() < 0.043,
                "{title}: {}",
                share(title)
            );
        }
        let healthy = all.iter().filter(|t| t.1).count() as f64 / all.len() as f64;
        assert!((healthy - 0.0625).abs() < 0.022, "{healthy}");
        assert!(all.iter().all(|t| t.0 == "a.yaml" || !t.1));
        assert_eq!(all, titles(&plan, 4));
        assert_ne!(all, titles(&plan, 5));
    }

    #[test]
    fn patterns_and_folders_name_the_same() {
        let files = [
            "cars/b.yaml",
            "cars/a.yaml",
            "cars/.hidden.yaml",
            "cars/x/c.yaml",
        ];
        let by = |named: &str| plan(&files, &format!("[{{scenario: \"{named}\"}}]")).unwrap();
        assert_eq!(titles(&by("cars"), 1), titles(&by("cars/*.yaml"), 1));
        assert_eq!(by("cars/*.yaml").scenarios.len(), 2);
        assert_eq!(by("cars/**/*.yaml").scenarios.len(), 3);
    }

    #[test]
    fn the_digest_knows_plan_and_scenarios() {
        let digest = |files: &[&str], scenarios: &str| plan(files, scenarios).unwrap().sha256;
        let one = digest(&["a.yaml"], "[{scenario: a.yaml}]");
        assert_eq!(one, digest(&["a.yaml"], "[{scenario: a.yaml}]"));
        assert_ne!(one, digest(&["a.yaml"], "[{scenario: a.yaml, weight: 2}]"));
        let all = digest(&["cars/a.yaml"], "[{scenario: cars}]");
        let more = digest(&["cars/a.yaml", "cars/b.yaml"], "[{scenario: cars}]");
        assert_ne!(all, more);
    }

    #[test]
    fn all_faults_come_at_once_with_their_places() {
        let faults = plan(
            &["a.yaml"],
            "[{scenario: b.yaml}, {scenario: \"*.yml\"}, {scenario: \"[\"}, {scenario: a.yaml}]",
        );
        let faults = faults.unwrap_err().to_string();
        for part in [
            "b.yaml: cannot read",
            "plan.yaml: scenarios[1].scenario: `*.yml` leads to no scenarios",
            "plan.yaml: scenarios[2].scenario: the pattern `[` has a fault",
        ] {
            assert!(faults.contains(part), "{part} in {faults}");
        }
        let text = b"healthy: 120 %\nscenarios: [{weigth: 2}, {scenario: a, weight: 0}]";
        let Faults(faults) = Plan::parse("p", text).unwrap_err();
        let faults: Vec<String> = faults.iter().map(Fault::to_string).collect();
        for place in [
            "p: line 1, column 10: healthy: ",
            "p: line 2, column 14: scenarios[0].weigth: ",
            "p: line 2, column 13: scenarios[0].scenario: ",
            "p: line 2, column 48: scenarios[1].weight: ",
        ] {
            assert!(
                faults.iter().any(|f| f.starts_with(place)),
                "{place} in {faults:#?}"
            );
        }
        let Faults(faults) = Plan::parse("p", b"title: x").unwrap_err();
        assert_eq!(faults[0].path(), "scenarios");
    }
}
