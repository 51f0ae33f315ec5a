//! The head of a corpus in its folder: by it, a run knows whether a folder is its own.

use crate::error::{Fault, Faults};
use crate::files::atomic;
use crate::files::directory::names;
use crate::formats::corpus::{CORPUS_FILE, CorpusHead, SHARD_DIGITS};
use crate::formats::json;
use crate::storage::document;
use std::fmt::Display;
use std::fs;
use std::path::{Path, PathBuf};

/// Where the head of the corpus in `folder` stands.
pub fn path(folder: &Path) -> PathBuf {
    folder.join(CORPUS_FILE)
}

/// Reads the head of the corpus in `folder`.
///
/// # Errors
/// A folder without a corpus, or a head of another format.
pub fn read(folder: &Path) -> Result<CorpusHead, Faults> {
    document::read(&path(folder))
}

/// Makes `folder` the corpus of this head, or finds that it is already.
///
/// # Errors
/// A folder with something else in it, the corpus of another head (each field that differs), or one
/// that cannot be written.
pub fn settle(head: &CorpusHead, folder: &Path, shard: u64) -> Result<(), Faults> {
    fs::create_dir_all(folder).map_err(|e| Fault::io(folder, "make the folder", &e))?;
    let path = path(folder);
    if !path.exists() {
        refuse_strangers(folder)?;
        // Shards may begin at the same time: each writes a part of its own, and whichever rename
        // comes last puts the same bytes there.
        let part = folder.join(format!(".{CORPUS_FILE}.{shard:0SHARD_DIGITS$}.part"));
        atomic::write(&part, json::checked_text(path.display(), head)?)?;
        return Ok(fs::rename(&part, &path).map_err(|e| Fault::io(&path, "write it", &e))?);
    }
    let there = read(folder)?;
    let the_same = "ask for the same";
    let asked: [(&str, [&dyn Display; 2], &str); 9] = [
        (
            "plan_sha256",
            [&there.plan_sha256, &head.plan_sha256],
            "give the plan and its scenarios as they were",
        ),
        ("seed", [&there.seed, &head.seed], the_same),
        ("count", [&there.count, &head.count], the_same),
        ("shards", [&there.shards, &head.shards], the_same),
        ("form", [&there.form, &head.form], the_same),
        (
            "captures_per_file",
            [&there.captures_per_file, &head.captures_per_file],
            the_same,
        ),
        ("truths", [&there.truths, &head.truths], the_same),
        (
            "version",
            [&there.version, &head.version],
            "use the program of that version",
        ),
        (
            "first_wav_sha256",
            [&there.first_wav_sha256, &head.first_wav_sha256],
            "use the very program that began it",
        ),
    ];
    let mut faults = Vec::new();
    for (field, [there, own], remedy) in asked {
        let (there, own) = (there.to_string(), own.to_string());
        // Another plan or seed has another first capture: that says nothing of the program.
        if there != own && (field != "first_wav_sha256" || faults.is_empty()) {
            faults.push(Fault::new(
                format!("{}: {field}", path.display()),
                format!("the corpus there has {there}, and this run {own}"),
                format!("{remedy}, or name another folder"),
            ));
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Faults(faults))
    }
}
/// A corpus does not mix with what it does not know; hidden files are other shards at work.
fn refuse_strangers(folder: &Path) -> Result<(), Faults> {
    let names = names(folder)?;
    match names.iter().find(|name| !name.starts_with('.')) {
        // Another shard may have finished the head just now.
        Some(_) if path(folder).exists() => Ok(()),
        Some(name) => {
            let problem = format!("the folder is no corpus, and not empty: it holds {name}");
            let remedy = "name a new folder, or empty this one";
            Err(Fault::new(folder.display(), problem, remedy).into())
        }
        None => Ok(()),
    }
}
