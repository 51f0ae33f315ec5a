//! Writing a pack: beside its place first, and there by one rename, so that it appears whole or not at
//! all.

use super::draw::Item;
use super::file::Quiz;
use super::html::sheet;
use super::order::{how_to_answer, work_order};
use super::pack::{Pack, answers};
use super::page;
use super::picture::{level, pictures};
use crate::debrief::{Units, debrief_picture, words};
use crate::domain::{Capture, Card};
use crate::error::Faults;
use crate::files::{NewFolder, atomic};
use crate::plot::{Theme, png};
use crate::storage::{CaptureFiles, document};
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
    for (i, item) in items.iter_mut().enumerate() {
        tick(i)?;
        let name = item.rendered.capture.card.capture.clone();
        let card = &item.rendered.capture.card;
        item.rendered.truth.wav_sha256 =
            CaptureFiles::of(&student, &name).write(card, &item.rendered.capture.samples)?;
        let order = work_order(card, units);
        atomic::write(&student.join(format!("{name}.order.txt")), order)?;
        let truth = &item.rendered.truth;
        document::write(&CaptureFiles::of(&key, &name).truth, truth)?;
        let capture = &item.rendered.capture;
        drawn.extend(pictures(capture, units)?);
        let debrief = debrief_picture(capture, truth, (None, None), units, Theme::Light)?;
        atomic::write(&key.join(format!("{name}.debrief.png")), png(&debrief)?)?;
        let debrief = words(card, truth, units).to_text();
        atomic::write(&key.join(format!("{name}.debrief.txt")), debrief)?;
    }
    level(&mut drawn);
    let digests: Vec<&str> = items
        .iter()
        .map(|i| i.rendered.truth.wav_sha256.as_str())
        .collect();
    let pack = Pack::of(quiz, seed, &digests)?;
    let cautions = cautions(&items);
    let has_page = page::fits(&items);
    let mut pages: Vec<(Card, [Vec<u8>; 2])> = Vec::new();
    let mut drawn = drawn.into_iter();
    for item in &items {
        let card = item.rendered.capture.card.clone();
        let (Some(whole), Some(close)) = (drawn.next(), drawn.next()) else {
            break;
        };
        let file = |ending: &str| student.join(format!("{}{ending}", card.capture));
        atomic::write(&file(".png"), &whole)?;
        atomic::write(&file(".close.png"), &close)?;
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
        atomic::write(&path, text)?;
    }
    atomic::write(&key.join("answers.csv"), answers(quiz, &items)?)?;
    if has_page {
        let all: Vec<&Capture> = items.iter().map(|i| &i.rendered.capture).collect();
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
        item.rendered.capture.card.capture = name.clone();
        item.rendered.truth.capture = name;
    }
}

/// The cautions of all captures, each once.
fn cautions(items: &[Item]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for caution in items.iter().flat_map(|i| &i.rendered.capture.card.cautions) {
        if !all.contains(caution) {
            all.push(caution.clone());
        }
    }
    all
}
