//! Promise: data flows one way. Each module uses only those named here, all of which stand before it
//! in `lib.rs`; only the command line prints, reads the environment or ends the program.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Which modules a module may use, besides itself; a file that may use others has its own line.
const ARROWS: &[(&str, &[&str])] = &[
    ("error", &[]),
    ("math", &[]),
    ("digest", &[]),
    ("random", &["math"]),
    ("prose", &[]),
    ("model", &[]),
    ("guide", &[]),
    ("domain", &["error"]),
    ("scenario", &["error", "math", "random", "domain"]),
    ("vehicle", &["math", "domain", "scenario"]),
    ("simulation", &["math", "domain", "scenario", "vehicle"]),
    (
        "sensors",
        &["math", "domain", "scenario", "vehicle", "simulation"],
    ),
    (
        "acquisition",
        &[
            "math",
            "random",
            "domain",
            "scenario",
            "vehicle",
            "simulation",
            "sensors",
        ],
    ),
    (
        "truth",
        &[
            "math",
            "domain",
            "scenario",
            "vehicle",
            "simulation",
            "sensors",
            "acquisition",
        ],
    ),
    (
        "render",
        &[
            "error",
            "math",
            "random",
            "domain",
            "scenario",
            "vehicle",
            "simulation",
            "sensors",
            "acquisition",
            "truth",
        ],
    ),
    ("formats", &["error", "digest", "domain"]),
    ("files", &["error", "digest"]),
    ("storage", &["error", "domain", "formats", "files"]),
    // An attributor sees no more than samples and card.
    ("attribute", &["math", "domain"]),
    ("table", &["prose", "formats"]),
    ("html", &["table"]),
    ("grade", &["error", "math", "domain", "formats", "table"]),
    ("plot", &["error", "math", "domain"]),
    ("report", &["error", "table", "html", "plot", "grade"]),
    // A debrief reads what was recorded; a sweep renders a scenario again and again.
    (
        "debrief",
        &["error", "domain", "scenario", "render", "plot"],
    ),
    ("page", &["error", "domain", "html", "plot", "debrief"]),
    (
        "quiz",
        &[
            "error", "digest", "random", "prose", "domain", "scenario", "render", "formats",
            "files", "storage", "html", "plot", "debrief", "page",
        ],
    ),
    // A student's job asks for everything: it renders, draws, grades and debriefs.
    (
        "practice",
        &[
            "error", "digest", "random", "domain", "scenario", "render", "formats", "files",
            "storage", "grade", "plot", "debrief", "page",
        ],
    ),
    (
        "corpus",
        &[
            "error", "digest", "random", "domain", "scenario", "render", "formats", "files",
            "storage",
        ],
    ),
];

/// What the sensors may take from the domain: a word for what is measured.
const SENSORS_TAKE: &[&str] = &["domain::Measures"];

/// Words that may stand in some modules only.
const WORDS: &[(&str, &[&str])] = &[
    ("println!", &["cli"]),
    ("print!", &["cli"]),
    ("eprintln!", &["cli"]),
    ("eprint!", &["cli"]),
    ("dbg!", &[]),
    ("std::env", &["cli"]),
    ("stdout()", &["cli"]),
    ("stderr()", &["cli"]),
    ("process::exit", &["cli"]),
    ("std::fs", &["files", "storage", "corpus", "cli"]),
    // The command line writes through the guard of its outputs.
    (
        "atomic::write",
        &["files", "storage", "quiz", "practice", "corpus"],
    ),
    ("Part::", &["files", "storage", "corpus"]),
    ("SystemTime", &[]),
    ("Instant", &[]),
    ("rand::", &["random"]),
    ("rand_chacha::", &["random"]),
    ("serde_yaml::", &["scenario"]),
    ("hound::", &["formats"]),
    ("parquet::", &["formats", "corpus"]),
    ("plotters::", &["plot"]),
    ("clap::", &["cli"]),
];

/// The code of every top-level module without tests and comments, a line each, with its file.
fn modules() -> BTreeMap<String, Vec<(PathBuf, String)>> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    collect(&src, &mut files);
    let mut tests = Vec::new();
    let mut read = Vec::new();
    for file in files {
        let text = fs::read_to_string(&file).unwrap();
        read.push((file.clone(), code(&file, &text, &mut tests)));
    }
    let mut modules: BTreeMap<String, Vec<(PathBuf, String)>> = BTreeMap::new();
    for (file, lines) in read {
        let inner = file.strip_prefix(&src).unwrap().with_extension("");
        let top = inner.iter().next().unwrap().to_str().unwrap();
        if !tests.iter().any(|t| file.with_extension("").starts_with(t)) {
            let lines = lines.into_iter().map(|line| (file.clone(), line));
            modules.entry(top.into()).or_default().extend(lines);
        }
    }
    modules
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => collect(&path, files),
            false if path.extension().is_some_and(|e| e == "rs") => files.push(path),
            false => {}
        }
    }
}

/// The lines of a file without comments and `#[cfg(test)]` modules; test modules in files of their
/// own go to `tests`.
fn code(file: &Path, text: &str, tests: &mut Vec<PathBuf>) -> Vec<String> {
    let mut lines = Vec::new();
    let mut all = text.lines();
    while let Some(line) = all.next() {
        if line.trim() == "#[cfg(test)]" {
            let next = all.next().unwrap_or_default();
            if let Some(name) = next
                .trim()
                .split("mod ")
                .nth(1)
                .and_then(|n| n.strip_suffix(';'))
            {
                let folder = match file.file_stem().unwrap().to_str() {
                    Some("mod" | "lib") => file.parent().unwrap().to_path_buf(),
                    _ => file.with_extension(""),
                };
                tests.push(folder.join(name));
            } else if next.ends_with('{') {
                // Formatted code closes a block where it opened it.
                let indent = next.len() - next.trim_start().len();
                let end = format!("{}}}", " ".repeat(indent));
                all.find(|l| *l == end).expect("an open block");
            } else {
                panic!("{}: what is only for tests: {next:?}", file.display());
            }
        } else if !line.trim_start().starts_with("//") {
            lines.push(line.to_string());
        }
    }
    lines
}

/// Paths from the root of the crate in a line, as `domain::Measures`; a `super` that leaves the
/// module counts as well.
fn paths(file: &Path, line: &str) -> Vec<String> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let inner = file.strip_prefix(src).unwrap().with_extension("");
    let depth = inner.iter().filter(|part| *part != "mod").count();
    let to_root = "super::".repeat(depth);
    let mut found = Vec::new();
    for start in ["crate::", to_root.as_str()] {
        for (at, _) in line.match_indices(start) {
            let before = line[..at].chars().next_back();
            if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':') {
                continue;
            }
            let rest = &line[at + start.len()..];
            assert!(
                !rest.starts_with(['{', '*']),
                "write one path a line: {line}"
            );
            let word = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
            found.push(rest.split(|c| !word(c)).next().unwrap().to_string());
        }
    }
    found
}

/// What a file may use, by the line of [`ARROWS`] that fits it most closely.
fn allowed(file: &Path) -> Option<&'static [&'static str]> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let inner = file.strip_prefix(src).unwrap().with_extension("");
    let fitting = ARROWS.iter().filter(|a| inner.starts_with(a.0));
    fitting.max_by_key(|a| a.0.len()).map(|a| a.1)
}

#[test]
fn every_module_uses_what_stands_before_it_in_the_pipeline() {
    let mut wrong = Vec::new();
    let mut uses = 0;
    for (module, lines) in modules() {
        if module == "cli" || module == "lib" || module == "main" {
            continue;
        }
        for (file, line) in lines {
            let allowed = allowed(&file)
                .unwrap_or_else(|| panic!("say in ARROWS what the new module `{module}` may use"));
            for path in paths(&file, &line) {
                let used = path.split("::").next().unwrap();
                uses += 1;
                let types_only = module != "sensors"
                    || used != "domain"
                    || SENSORS_TAKE.iter().any(|t| path.starts_with(t));
                if used != module && !(allowed.contains(&used) && types_only) {
                    wrong.push(format!("{}: {module} uses {path}", file.display()));
                }
            }
        }
    }
    assert_eq!(wrong, [""; 0]);
    assert!(
        uses > 50,
        "only {uses} uses were found; is the search broken?"
    );
}

#[test]
fn modules_stand_in_the_order_of_the_pipeline() {
    let lib = fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/src/lib.rs")).unwrap();
    let order: Vec<&str> = lib
        .lines()
        .filter_map(|l| l.strip_prefix("pub mod ")?.strip_suffix(';'))
        .collect();
    for (path, uses) in ARROWS {
        let module = path.split('/').next().unwrap();
        let place = order.iter().position(|m| *m == module);
        let before = &order[..place.unwrap_or_else(|| panic!("{module} is gone"))];
        for used in *uses {
            assert!(
                before.contains(used),
                "{path} uses {used}, which comes later"
            );
        }
    }
    assert_eq!(order.last(), Some(&"cli"));
}

#[test]
fn only_the_command_line_prints_and_ends_the_program() {
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (module, lines) in modules() {
        for (file, line) in lines {
            for (word, places) in WORDS {
                let whole = line.match_indices(word).any(|(at, _)| {
                    let before = line[..at].chars().next_back();
                    !before.is_some_and(|c| c.is_alphanumeric() || c == '_')
                });
                seen += usize::from(whole);
                if whole && !places.contains(&module.as_str()) {
                    wrong.push(format!("{}: {}", file.display(), line.trim()));
                }
            }
        }
    }
    assert_eq!(wrong, [""; 0]);
    assert!(
        seen > 10,
        "only {seen} words were found; is the search broken?"
    );
}

#[test]
fn the_search_sees_through_paths_and_test_modules() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let here = |file: &str, line: &str| paths(&src.join(file), line);
    assert_eq!(here("a.rs", "use crate::plot::Mark;"), ["plot::Mark"]);
    assert_eq!(
        here("a/mod.rs", "    x: super::plot::Mark,"),
        ["plot::Mark"]
    );
    assert_eq!(
        here("a/b.rs", "super::plot + super::super::grade::Call"),
        ["grade::Call"]
    );
    let text = "a\n#[cfg(test)]\nmod tests {\n    b\n}\n#[cfg(test)]\nmod more;\n// c\nd\n";
    let mut tests = Vec::new();
    assert_eq!(code(&src.join("a/mod.rs"), text, &mut tests), ["a", "d"]);
    assert_eq!(tests, [src.join("a/more")]);
}
