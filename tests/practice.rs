//! Promise: every shipped job is solved by its shortest safe path and failed by a plausible slip, its
//! score says why, and its vehicle stays hidden until the call.

mod common;

use common::PageParts;
use std::collections::BTreeSet;
use std::path::Path;
use waterjacket::debrief::Units;
use waterjacket::domain::Call;
use waterjacket::grade::Kind;
use waterjacket::plot::Theme;
use waterjacket::practice::job::warmth;
use waterjacket::practice::{Answer, Change, Debrief, Folder, Job, Order, debrief, jobs, shortest};
use waterjacket::scenario::JobSource;

fn start(job: &str, folder: &Path, seed: Option<u64>) -> Folder {
    Folder::start(job, folder, seed).unwrap_or_else(|f| panic!("{job}: {f}"))
}

fn follow(folder: &mut Folder, orders: &[Order]) {
    for order in orders {
        match folder.order(&Change::from(order)) {
            Ok(Answer::Done(_)) => {}
            other => panic!("{order}: {other:?}"),
        }
    }
}

/// What the evidence of the job's own captures names together.
fn evidence(folder: &Folder) -> String {
    let orders: Vec<Order> = folder.log.orders.iter().map(|e| e.order.clone()).collect();
    let mut named = BTreeSet::new();
    for (number, (order, warm)) in (1..).zip(orders.iter().zip(warmth(&orders))) {
        let truth = folder.job.render(order, warm, number).unwrap().truth;
        let supported = truth.evidence.supported.into_iter();
        let sure = supported.filter(|call| matches!(call, Call::All(_)));
        named.extend(sure.flat_map(Call::named));
    }
    match named.is_empty() {
        true => "none".into(),
        false => named
            .iter()
            .map(u32::to_string)
            .collect::<Vec<_>>()
            .join("+"),
    }
}

fn debriefed(folder: &Folder) -> Debrief {
    debrief(folder, Units::Metric, Theme::Light).unwrap_or_else(|f| panic!("{f}"))
}

#[test]
fn every_job_is_solved_by_its_shortest_path() {
    assert!(jobs::names().count() >= 8);
    for name in jobs::names() {
        let place = tempfile::tempdir().unwrap();
        let mut folder = start(name, place.path(), None);
        let path = shortest(&folder.job).unwrap();
        follow(&mut folder, &path.orders);
        assert_eq!(folder.log.minutes, path.minutes, "{name}");
        let call = evidence(&folder);
        folder.call(&call, Some("95%")).unwrap();
        let told = debriefed(&folder);
        assert_eq!(told.total, 100, "{name}: {call}: {told:?}");
        assert_eq!(told.verdict.kind, Kind::Right, "{name}");
        assert_eq!(told.pictures.len(), path.orders.len());
        assert!(told.pictures.iter().all(|p| p.is_file()));
    }
}

/// Whatever vehicle a seed brings, there is a safe path to certainty.
#[test]
fn every_seed_leaves_a_path() {
    for name in jobs::names() {
        let job = Job::new(name, jobs::draw(name, Some(4711)).unwrap(), 4711).unwrap();
        let path = shortest(&job).unwrap_or_else(|f| panic!("{f}"));
        assert!(path.orders.len() > 1, "{name}");
    }
}

/// One test, and the call that a plausible slip makes of it.
#[test]
fn every_job_is_failed_by_a_plausible_slip() {
    for name in jobs::names() {
        let place = tempfile::tempdir().unwrap();
        let mut folder = start(name, place.path(), None);
        let job = &folder.job;
        let leaking: Vec<u32> = job.leaking().into_iter().collect();
        let plate = job
            .render(&Order::default(), false, 1)
            .unwrap()
            .capture
            .card
            .engine;
        let neighbour = |steps| plate.neighbour(leaking[0], steps).unwrap().to_string();
        // Without a coil in reach, the gap of plug 1 is the sync.
        let reached = job.spec.places[0].coil.is_some();
        let order = Order::default()
            .with(&change(|c| match reached {
                true => c.sync = some("coil:1"),
                false => {
                    c.sync = some("starter");
                    c.plugs_out = some("1");
                }
            }))
            .unwrap();
        let (call, kind) = match name {
            "market-van" => {
                let worn: Vec<u32> = job.worn().into_iter().collect();
                (worn[0].to_string(), Kind::WeakCylinder)
            }
            "shy-coupe" => {
                let companion = plate.companion(leaking[0]).unwrap();
                (companion.to_string(), Kind::CompanionCylinder)
            }
            "gurgling-heater" => ("2".into(), Kind::NoLeakThere),
            "only-uphill" => ("none".into(), Kind::MissedLeak),
            "twice-mended" => (evidence_of(&folder, &order), Kind::OneOfTwoLeaks),
            "hill-road" | "long-hoses" | "uneven-six" => (neighbour(1), Kind::NeighbourAfter),
            other => panic!("say which slip fails {other}"),
        };
        follow(&mut folder, &[order]);
        folder.call(&call, None).unwrap();
        let told = debriefed(&folder);
        assert_eq!(told.verdict.kind, kind, "{name}: {told:?}");
        assert!(told.total <= 55, "{name}: {told:?}");
        assert!(told.score.certainty <= 10, "{name}: {told:?}");
    }
}

fn evidence_of(folder: &Folder, order: &Order) -> String {
    let truth = folder.job.render(order, false, 1).unwrap().truth;
    truth.evidence.supported[0].to_string()
}

/// The lag of the long hoses covers more than half of a V8's firing interval of 90 degrees, whatever the
/// seed, so that the neighbour's TDC is the nearest.
#[test]
fn the_long_hoses_accuse_the_neighbour() {
    for seed in [None, Some(1), Some(2), Some(3)] {
        let place = tempfile::tempdir().unwrap();
        let folder = start("long-hoses", place.path(), seed);
        let truth = folder
            .job
            .render(&Order::default(), false, 1)
            .unwrap()
            .truth;
        let lag = truth.leaks[0].lag_deg.unwrap();
        assert!(lag > 45.0 && lag < 90.0, "{seed:?}: {lag}");
    }
}

#[test]
fn a_right_guess_is_not_certain() {
    let place = tempfile::tempdir().unwrap();
    let mut folder = start("hill-road", place.path(), None);
    let call = folder.job.leaking().first().unwrap().to_string();
    follow(&mut folder, &[Order::default()]);
    folder.call(&call, None).unwrap();
    let told = debriefed(&folder);
    assert_eq!(told.score.correctness, 50);
    assert_eq!(
        told.score.certainty, 0,
        "no sync, no confirmation: {told:?}"
    );
}

/// A healthy engine is not cleared by a sensor too coarse to show a small leak.
#[test]
fn a_blind_sensor_clears_nothing() {
    let place = tempfile::tempdir().unwrap();
    let mut folder = start("gurgling-heater", place.path(), None);
    let coarse = Change {
        range: Some("90 bar".into()),
        ..Change::default()
    };
    folder.order(&coarse).unwrap();
    folder
        .order(&Change {
            test: Some("idle".into()),
            ..Change::default()
        })
        .unwrap();
    folder.call("none", None).unwrap();
    let told = debriefed(&folder);
    assert_eq!(told.score.correctness, 50);
    assert_eq!(told.score.certainty, 0, "{told:?}");
}

fn change(set: impl FnOnce(&mut Change)) -> Change {
    let mut change = Change::default();
    set(&mut change);
    change
}

fn some(text: &str) -> Option<String> {
    Some(text.into())
}

#[test]
fn what_is_dangerous_is_refused_counted_and_costs_no_time() {
    let place = tempfile::tempdir().unwrap();
    let mut folder = start("hill-road", place.path(), None);
    let refused = |folder: &mut Folder, change: Change, part: &str| {
        let before = folder.log.clone();
        let answer = folder.order(&change).unwrap();
        let Answer::Refused(dangers) = answer else {
            panic!("{part}: {answer:?}");
        };
        assert!(
            dangers.iter().any(|d| d.reason.contains(part)),
            "{dangers:?}"
        );
        assert_eq!(folder.log.refusals.len(), before.refusals.len() + 1);
        assert_eq!(folder.log.minutes, before.minutes);
        assert_eq!(folder.log.orders, before.orders);
    };
    let idle = |set: &dyn Fn(&mut Change)| {
        change(|c| {
            c.test = some("idle");
            set(c);
        })
    };
    refused(
        &mut folder,
        change(|c| c.fuel = some("on")),
        "may start under your hands",
    );
    refused(
        &mut folder,
        idle(&|c| c.plugs_out = some("2")),
        "blows fuel and flame",
    );
    refused(
        &mut folder,
        idle(&|c| c.sync = some("cylinder:1")),
        "unburnt mixture",
    );
    refused(&mut folder, idle(&|c| c.cap = some("open")), "boils over");
    refused(
        &mut folder,
        idle(&|c| c.duration = some("30 s")),
        "no way out",
    );
    let Answer::Done(_) = folder.order(&idle(&|_| {})).unwrap() else {
        panic!("a plain test at idle is safe");
    };
    let crank = |set: &dyn Fn(&mut Change)| {
        change(|c| {
            c.test = some("crank");
            set(c);
        })
    };
    refused(
        &mut folder,
        crank(&|c| c.coolant = some("topped-up")),
        "boils and scalds",
    );
    refused(
        &mut folder,
        crank(&|c| c.plugs_out = some("1")),
        "burns hands",
    );
    let warm = folder.log.minutes;
    let Answer::Done(done) = folder
        .order(&crank(&|c| {
            c.plugs_out = some("1");
            c.let_cool = true;
        }))
        .unwrap()
    else {
        panic!("a cold engine may be opened");
    };
    assert!(done.bill.iter().any(|i| i.minutes == 45), "{:?}", done.bill);
    assert!(folder.log.minutes > warm + 45);
    assert_eq!(folder.log.refusals.len(), 7);
    folder.call("none", None).unwrap();
    assert_eq!(debriefed(&folder).score.care, 0);
}

/// The bill grows with what is in the way: the plug under the bulkhead costs more than the one in front,
/// and what stands fitted is not paid twice.
#[test]
fn minutes_follow_the_work() {
    let place = tempfile::tempdir().unwrap();
    let mut folder = start("market-van", place.path(), None);
    let mut cost = |change: Change| {
        let before = folder.log.minutes;
        folder.order(&change).unwrap();
        folder.log.minutes - before
    };
    let first = cost(change(|c| c.sync = some("coil:1")));
    assert_eq!(first, 3 + 8 + 2 + 2, "coil, adapter, fuel, crank");
    assert_eq!(cost(Change::default()), 2, "all of it stands fitted");
    assert_eq!(cost(change(|c| c.plugs_out = some("1"))), 5 + 2);
    assert_eq!(
        cost(change(|c| c.plugs_out = some("6"))),
        3 + 22 + 2,
        "one back, one out"
    );
}

/// Topping up leaves less air, and a pulse as much higher.
#[test]
fn topping_up_raises_the_pulses() {
    let place = tempfile::tempdir().unwrap();
    let folder = start("hill-road", place.path(), None);
    let full = Order::default()
        .with(&change(|c| c.coolant = some("topped-up")))
        .unwrap();
    let height = |order: &Order| {
        let truth = folder.job.render(order, false, 1).unwrap().truth;
        truth.leaks[0].pulse_height.unwrap()
    };
    let ratio = height(&full) / height(&Order::default());
    assert!(ratio > 1.3, "{ratio}");
}

/// The vehicle is the same in every test, and its captures come again bit for bit.
#[test]
fn an_interrupt_loses_nothing() {
    let place = tempfile::tempdir().unwrap();
    let path = place.path();
    let mut folder = start("hill-road", path, Some(3));
    follow(&mut folder, &[Order::default()]);
    folder.order(&change(|c| c.plugs_out = some("2"))).unwrap();
    let names = ["capture-02.wav", "capture-02.card.json", "capture-02.png"];
    let read = |name: &str| std::fs::read(path.join(name)).unwrap();
    let before: Vec<Vec<u8>> = names.iter().map(|n| read(n)).collect();
    let log = folder.log.clone();
    drop(folder);
    // Killed before the picture; between WAV and card; in the middle of the WAV; before anything.
    for gone in [&names[2..], &names[1..], &names[..1], &names[..]] {
        for name in gone {
            std::fs::remove_file(path.join(name)).unwrap();
        }
        std::fs::write(path.join(".capture-02.wav.part"), "half").unwrap();
        std::fs::write(path.join(".job.json.part"), "{").unwrap();
        let resumed = Folder::open(path).unwrap();
        assert_eq!(resumed.log, log);
        let after: Vec<Vec<u8>> = names.iter().map(|n| read(n)).collect();
        assert!(before == after, "{gone:?}");
        assert!(!path.join(".capture-02.wav.part").exists());
        assert!(!path.join(".job.json.part").exists());
    }
    // A capture cut short by something else is made again as well.
    std::fs::write(path.join(names[0]), &before[0][..1000]).unwrap();
    Folder::open(path).unwrap();
    assert!(read(names[0]) == before[0]);
}

/// A start that was killed before its log leaves a folder in which it can be started again.
#[test]
fn a_start_that_was_killed_can_be_repeated() {
    let place = tempfile::tempdir().unwrap();
    start("hill-road", place.path(), None);
    std::fs::remove_file(place.path().join("job.json")).unwrap();
    std::fs::write(place.path().join(".job.json.part"), "{").unwrap();
    start("shy-coupe", place.path(), None);
    assert_eq!(Folder::open(place.path()).unwrap().log.job, "shy-coupe");
}

#[test]
fn a_seed_brings_another_vehicle_of_the_kind() {
    let leaking = |seed| {
        let place = tempfile::tempdir().unwrap();
        start("hill-road", place.path(), seed).job.leaking()
    };
    assert_eq!(leaking(Some(5)), leaking(Some(5)));
    let all: BTreeSet<_> = (0..30).map(|s| leaking(Some(s))).collect();
    assert_eq!(all.len(), 4, "every cylinder has its turn: {all:?}");
}

/// Texts and numbers of a resolved tree that stand for something drawn.
fn drawn_values(value: &serde_json::Value, found: &mut BTreeSet<String>) {
    match value {
        serde_json::Value::Object(map) => map.values().for_each(|v| drawn_values(v, found)),
        serde_json::Value::Array(items) => items.iter().for_each(|v| drawn_values(v, found)),
        // A draw has many digits; a value written by hand has few, and may stand on the card.
        serde_json::Value::String(s) if s.chars().filter(char::is_ascii_digit).count() > 8 => {
            found.insert(s.split(' ').next().unwrap().to_string());
        }
        _ => {}
    }
}

#[test]
fn the_folder_gives_nothing_away() {
    for name in jobs::names() {
        let place = tempfile::tempdir().unwrap();
        let seed = 987_654_321;
        let mut folder = start(name, place.path(), Some(seed));
        let orders = [
            change(|c| c.sensor = some("both")),
            change(|c| {
                c.plugs_out = some("1");
                c.sync = some("starter,battery");
            }),
            change(|c| {
                c.test = some("idle");
                c.plugs_out = some("none");
                c.sync = some("none");
            }),
        ];
        for order in &orders {
            assert!(matches!(folder.order(order), Ok(Answer::Done(_))), "{name}");
        }
        let mut secrets = BTreeSet::new();
        let hidden = &folder.job.hidden;
        for part in [&hidden.vehicle, &hidden.faults, &hidden.test] {
            drawn_values(part, &mut secrets);
        }
        assert!(!secrets.is_empty(), "{name}");
        secrets.insert(seed.to_string());
        secrets.extend(
            [
                "leaks",
                "faults",
                "worn",
                "misfires",
                "opens_at",
                "supported",
                "evidence",
                "visible",
                "tdc_s",
                "seed",
                "truth",
            ]
            .map(String::from),
        );
        drop(folder);
        let mut files = 0;
        for entry in std::fs::read_dir(place.path()).unwrap() {
            let entry = entry.unwrap();
            let mut bytes = std::fs::read(entry.path()).unwrap();
            files += 1;
            if entry.file_name() == "page.html" {
                // Its own program is the same in every page (tests/page.rs).
                let page = PageParts::of(&bytes);
                assert_eq!(page.samples.len(), orders.len(), "{name}");
                bytes = page.told.into_bytes();
            }
            for secret in &secrets {
                let wide: Vec<u8> = secret.bytes().flat_map(|b| [b, 0]).collect();
                for needle in [secret.as_bytes(), &wide] {
                    let there = bytes.windows(needle.len()).any(|w| w == needle);
                    assert!(!there, "{name}: {:?} holds {secret}", entry.file_name());
                }
            }
            for needle in [seed.to_le_bytes(), seed.to_be_bytes()] {
                assert!(
                    !bytes.windows(8).any(|w| w == needle),
                    "{name}: the seed itself"
                );
            }
        }
        assert_eq!(
            files,
            3 + 3 * orders.len(),
            "{name}: job, seal, page and captures"
        );
    }
}

/// A job's file says nothing of which draw it is, and every seed fits.
#[test]
fn job_files_keep_the_rules() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/jobs");
    let mut files = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_str().unwrap().to_string();
        assert!(
            jobs::names().any(|n| n == name),
            "{name} is not in the list"
        );
        files += 1;
        let text = std::fs::read_to_string(&path).unwrap();
        let head: Vec<&str> = text.lines().take_while(|l| l.starts_with('#')).collect();
        assert!(head.iter().any(|l| l.contains("invented")), "{name}");
        let source = JobSource::parse(&name, text.as_bytes()).unwrap();
        for seed in 0..40 {
            let drawn = source.draw(Some(seed)).unwrap_or_else(|f| panic!("{f}"));
            let spec = drawn.spec.clone();
            let said = format!("{} {} {}", spec.title, spec.complaint, spec.findings);
            assert!(!said.contains("leak in"), "{name}");
            assert!(
                !spec.teaches.is_empty() && !spec.complaint.is_empty(),
                "{name}"
            );
            Job::new(&name, drawn, seed).unwrap_or_else(|f| panic!("{f}"));
        }
    }
    assert_eq!(files, jobs::names().count());
    let levels: Vec<u64> = jobs::names()
        .map(|n| jobs::draw(n, None).unwrap().spec.level)
        .collect();
    assert!(levels.is_sorted(), "from plain to nasty: {levels:?}");
}
