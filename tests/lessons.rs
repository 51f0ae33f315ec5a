//! Every shipped lesson supports the answer that its head promises, and keeps it to itself.

use std::path::PathBuf;
use waterjacket::domain::{Measures, Mode};
use waterjacket::render::{Rendered, render};
use waterjacket::scenario::Source;

struct Lesson {
    name: String,
    text: String,
    rendered: Rendered,
}

fn lessons() -> Vec<Lesson> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    files.sort();
    files
        .into_iter()
        .map(|file| {
            let name = file.file_stem().unwrap().to_string_lossy().into_owned();
            let text = std::fs::read_to_string(&file).unwrap();
            let source = Source::parse(&name, text.as_bytes()).unwrap_or_else(|f| panic!("{f}"));
            let drawn = source.draw(None, 0).unwrap_or_else(|f| panic!("{f}"));
            let rendered = render(&drawn, &name);
            Lesson {
                name,
                text,
                rendered,
            }
        })
        .collect()
}

#[test]
fn lessons_keep_what_their_heads_promise() {
    let lessons = lessons();
    assert!(lessons.len() >= 16, "{}", lessons.len());
    for lesson in &lessons {
        let Lesson {
            name,
            text,
            rendered,
        } = lesson;
        let head: Vec<&str> = text.lines().take_while(|l| l.starts_with('#')).collect();
        assert!(
            head.first().is_some_and(|l| l.starts_with("# Teaches: ")),
            "{name}"
        );
        assert!(
            head.iter().any(|l| l.contains("invented")),
            "{name} says that it is invented"
        );
        let promised = head
            .iter()
            .find_map(|l| l.strip_prefix("# Supports: "))
            .unwrap_or_else(|| panic!("{name}"));
        let promised = promised.split(" (").next().unwrap_or(promised);
        assert_eq!(rendered.truth.evidence.joined(", "), promised, "{name}");
        assert!(
            !rendered.truth.teaches.is_empty() && !rendered.capture.card.brief.is_empty(),
            "{name}"
        );
        let probed = rendered
            .capture
            .card
            .channels
            .iter()
            .any(|c| c.measures == Measures::Probe);
        assert!(!probed, "{name}: a truth probe gives the answer away");
        let clipped: u64 = rendered
            .truth
            .channels
            .iter()
            .map(|c| c.clipped_samples)
            .sum();
        assert_eq!(clipped, 0, "{name} clips");
    }
    let engines: std::collections::BTreeSet<String> = lessons
        .iter()
        .map(|l| {
            let plate = &l.rendered.capture.card.engine;
            let even = plate
                .firing_intervals_deg
                .iter()
                .all(|i| *i == plate.firing_intervals_deg[0]);
            format!(
                "{} {} {}",
                plate.layout,
                plate.cylinders,
                if even { "even" } else { "odd" }
            )
        })
        .collect();
    for engine in [
        "inline 3 even",
        "inline 4 even",
        "inline 5 even",
        "inline 6 even",
        "vee 6 even",
        "vee 6 odd",
        "vee 8 even",
        "flat 4 even",
    ] {
        assert!(
            engines.contains(engine),
            "no lesson on {engine}: {engines:?}"
        );
    }
}

/// Gas is accounted for: out of the cylinders = in the jacket + in the neck + relieved + pulled back.
#[test]
fn gas_is_accounted_for_in_every_lesson() {
    for Lesson { name, rendered, .. } in lessons() {
        let gas = &rendered.truth.gas;
        let parts = gas.in_jacket_mg + gas.in_neck_mg + gas.relieved_mg + gas.pulled_back_mg;
        assert!(
            (gas.passed_mg - parts).abs() <= 1e-9 * gas.passed_mg.max(1.0),
            "{name}: {gas:?}"
        );
    }
}

/// Common practice: cranking compression of a sound engine stands between 10 and 16 bar absolute at
/// these ratios, and the starter turns it at 130 to 280 rpm; the wasted-spark companion stands 360
/// degrees away in every even engine with an even number of cylinders.
#[test]
fn lessons_turn_as_cars_do() {
    for Lesson { name, rendered, .. } in lessons() {
        let truth = &rendered.truth;
        let plate = &truth.engine;
        let first = plate.firing_order[0];
        let tdcs: Vec<f64> = truth
            .tdcs
            .iter()
            .filter(|t| t.cylinder == first && t.time_s > 1.0)
            .map(|t| t.time_s)
            .collect();
        let cycles = (tdcs.len() - 1) as f64;
        let rpm = 120.0 * cycles / (tdcs[tdcs.len() - 1] - tdcs[0]);
        let usual = if truth.mode == Mode::Idle {
            600.0..1000.0
        } else {
            130.0..280.0
        };
        assert!(usual.contains(&rpm), "{name}: {rpm} rpm");
        let even = plate
            .firing_intervals_deg
            .iter()
            .all(|i| *i == plate.firing_intervals_deg[0]);
        if even && plate.cylinders % 2 == 0 {
            for c in &plate.firing_order {
                let companion = plate
                    .companion(*c)
                    .unwrap_or_else(|| panic!("{name}: {c} has no companion"));
                let apart = (plate.tdc_deg(companion).unwrap() - plate.tdc_deg(*c).unwrap()).abs();
                assert!(
                    (apart - 360.0).abs() < 1e-6,
                    "{name}: {c} and {companion} are {apart} apart"
                );
            }
        }
    }
}
