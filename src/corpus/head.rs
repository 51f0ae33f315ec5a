//! The head of a corpus in its folder: by it, a run knows whether a folder is its own.

use super::layout::{FOLDERS, Layout};
use super::merge::MANIFEST;
use crate::error::{Fault, Faults};
use crate::files::directory;
use crate::formats::corpus::{CORPUS_FILE, CorpusHead};
use crate::storage::{KeyLines, document};
use std::path::{Path, PathBuf};

/// Where the head of the corpus in `folder` stands.
pub fn path(folder: &Path) -> PathBuf {
    folder.join(CORPUS_FILE)
}

/// Makes the layout's folder the corpus of its head, or finds that it is already. A corpus that lost its head gets it
/// again.
///
/// # Errors
/// A folder with something else in it, the corpus of another head (each field that differs), or one
/// that cannot be written.
pub fn settle(layout: &Layout) -> Result<(), Faults> {
    let Layout { folder, head } = layout;
    directory::make(folder)?;
    let path = path(folder);
    if !path.exists() {
        refuse_strangers(layout)?;
        // Shards may begin at the same time: whichever comes last puts the same bytes there.
        return document::write(&path, head);
    }
    let [there, own] = [&document::read(&path)?, head].map(fields);
    let mut faults = Vec::new();
    for ((field, there), (_, own)) in there.into_iter().zip(own) {
        let remedy = match field.as_str() {
            "plan" => continue,
            "plan_sha256" => "give the plan and its scenarios as they were",
            "version" => "use the program of that version",
            // Another plan or seed has another first capture: that says nothing of the program.
            "first_wav_sha256" if !faults.is_empty() => continue,
            "first_wav_sha256" => "use the very program that began it",
            _ => "ask for the same",
        };
        if there != own {
            faults.push(Fault::new(
                format!("{}: {field}", path.display()),
                format!("the corpus there has {there}, and this run {own}"),
                format!("{remedy}, or name another folder"),
            ));
        }
    }
    match faults.is_empty() {
        true => Ok(()),
        false => Err(Faults(faults)),
    }
}

/// The fields of a head in their order, with their values as a person writes them.
fn fields(head: &CorpusHead) -> Vec<(String, String)> {
    let tree = serde_json::to_value(head).unwrap_or_default();
    let fields = tree.as_object().into_iter().flatten();
    fields
        .map(|(field, value)| {
            let text = value.as_str().map(str::to_owned);
            (field.clone(), text.unwrap_or_else(|| value.to_string()))
        })
        .collect()
}

/// Whether seed and first capture of the head are those of the key's first line, if there is one.
pub fn fits_key(layout: &Layout) -> bool {
    let key = layout.place(&layout.key(layout.shard(1)));
    let first = KeyLines::open(&key).ok().and_then(|mut key| key.next());
    let head = &layout.head;
    !matches!(first, Some(Ok(first))
        if (first.seed, &first.wav_sha256) != (head.seed, &head.first_wav_sha256))
}

/// A corpus does not mix with what it does not know; hidden files are other shards at work.
fn refuse_strangers(layout: &Layout) -> Result<(), Faults> {
    let folder = &layout.folder;
    let names = directory::names(folder)?;
    let own = names.iter().any(|n| n == "key") && fits_key(layout);
    let known = |name: &str| own && (FOLDERS.contains(&name) || name == MANIFEST);
    match names.iter().find(|n| !n.starts_with('.') && !known(n)) {
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
