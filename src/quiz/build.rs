//! Writing a pack: beside its place first, and there by one rename, so that it appears whole or not at
//! all.

use super::draw::Item;
use super::file::Quiz;
use super::html::sheet;
use super::order::{how_to_answer, work_order};
use super::pack::{Pack, answers};
use super::page;
use super::picture::{level, pictures};
use crate::capture::folder::NewFolder;
use crate::capture::{Card, Files, Opened, Samples, store};
use crate::debrief::{Units, debrief_picture, words};
use crate::error::Faults;
use crate::plot::{Theme, png};
use std::path::Path;

/// Names the captures and writes the pack as `folder/student` and `folder/key`. `tick` hears how many
/// captures are written, and may stop the work.
///
/// # Errors
/// A folder that is there and not empty, or cannot be written; whatever `tick` returns. Nothing is left
/// behind then.
pub fn write(
    quiz: &Quiz,
    mut items: Vec<Item>,
    seed: u64,
    units: Units,
    folder: &Path,
    tick: &mut dyn FnMut(usize) -> Result<(), Faults>,
) -> Result<Pack, Faults> {
    let building = NewFolder::begin(folder)?;
    let (student, key) = (building.inner("student")?, building.inner("key")?);
    name(&mut items);
    let mut drawn: Vec<Vec<u8>> = Vec::new();
    let mut all = Vec::new();
    for (i, item) in items.iter_mut().enumerate() {
        tick(i)?;
        let name = item.capture.card.capture.clone();
        let card = &item.capture.card;
        item.capture.truth.wav_sha256 =
            Files::of(&student, &name).write(card, &item.capture.samples)?;
        let order = work_order(card, units);
        store::write_all(&student.join(format!("{name}.order.txt")), order.as_bytes())?;
        let truth = &item.capture.truth;
        truth.write(&Files::of(&key, &name).truth)?;
        let opened = opened(item);
        drawn.extend(pictures(&opened, units)?);
        let debrief = debrief_picture(&opened, truth, (None, None), units, Theme::Light)?;
        store::write_all(&key.join(format!("{name}.debrief.png")), &png(&debrief)?)?;
        let debrief = words(card, truth, units).to_text();
        store::write_all(&key.join(format!("{name}.debrief.txt")), debrief.as_bytes())?;
        all.push(opened);
    }
    level(&mut drawn);
    let digests: Vec<&str> = items
        .iter()
        .map(|i| i.capture.truth.wav_sha256.as_str())
        .collect();
    let pack = Pack::of(quiz, seed, &digests)?;
    let cautions = cautions(&items);
    let has_page = page::fits(&items);
    let mut pages: Vec<(Card, [Vec<u8>; 2])> = Vec::new();
    let mut drawn = drawn.into_iter();
    for item in &items {
        let card = item.capture.card.clone();
        let (Some(whole), Some(close)) = (drawn.next(), drawn.next()) else {
            break;
        };
        let file = |ending: &str| student.join(format!("{}{ending}", card.capture));
        store::write_all(&file(".png"), &whole)?;
        store::write_all(&file(".close.png"), &close)?;
        pages.push((card, [whole, close]));
    }
    for (path, text) in [
        (student.join("calls.csv"), pack.blank_calls(&items)),
        (
            student.join("how-to-answer.txt"),
            how_to_answer(&pack, has_page, &cautions),
        ),
        (
            student.join("sheet.html"),
            sheet(&pack, &cautions, &pages, units),
        ),
        (key.join("pack.json"), pack.to_json()?),
    ] {
        store::write_all(&path, text.as_bytes())?;
    }
    store::write_all(&key.join("answers.csv"), &answers(quiz, &items)?)?;
    if has_page {
        page::student(&pack, &all, units, &student.join("page.html"))?;
        let mut tick = || tick(items.len());
        page::key(
            &pack,
            &items,
            &all,
            units,
            &key.join("page.html"),
            &mut tick,
        )?;
    }
    tick(items.len())?;
    building.finish()?;
    Ok(pack)
}

/// `item-01`, `item-02`, ... in the order of the items.
fn name(items: &mut [Item]) {
    let digits = items.len().to_string().len().max(2);
    for (i, item) in items.iter_mut().enumerate() {
        let name = format!("item-{:0digits$}", i + 1);
        item.capture.card.capture = name.clone();
        item.capture.truth.capture = name;
    }
}

fn opened(item: &Item) -> Opened {
    let card = item.capture.card.clone();
    Opened {
        name: card.capture.clone(),
        samples: Samples {
            sample_rate_hz: card.sample_rate_hz.round() as u32,
            channels: item.capture.samples.clone(),
        },
        card,
        truth: None,
    }
}

/// The cautions of all captures, each once.
fn cautions(items: &[Item]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for caution in items.iter().flat_map(|i| &i.capture.card.cautions) {
        if !all.contains(caution) {
            all.push(caution.clone());
        }
    }
    all
}
