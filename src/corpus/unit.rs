//! One unit of work: from draws to whole files, and the lines that tell of them.

use super::layout::{Layout, name, truth as truth_file};
use super::manifest::Line;
use super::plan::Plan;
use crate::digest::sha256_hex;
use crate::domain::{Capture, Truth};
use crate::error::{Fault, Faults};
use crate::files::atomic::write_hashed;
use crate::files::directory;
use crate::formats::{CorpusForm, columns, json, key, parquet, wav};
use crate::render::{Rendered, Renderer, render};
use crate::storage::{CaptureFiles, document};
use std::cell::RefCell;

thread_local! {
    /// What a thread renders in, capture after capture.
    static RENDERER: RefCell<Renderer> = RefCell::default();
}

/// What a finished unit adds to the books.
#[derive(Debug)]
pub struct Made {
    /// Its captures' lines of the key.
    pub key: String,
    /// Its files' lines of the manifest.
    pub manifest: String,
}

/// Renders one unit and writes its files. `go_on` is asked before each capture.
pub fn make(
    plan: &Plan,
    layout: &Layout,
    unit: u64,
    go_on: &dyn Fn() -> Result<(), Faults>,
) -> Result<Made, Faults> {
    let mut lines = Vec::new();
    let mut truths = Vec::new();
    let draw = |index: u64| {
        go_on()?;
        let drawn = plan.draw(layout.head.seed, index)?;
        let capture = RENDERER.with_borrow_mut(|room| room.render(&drawn, &name(index)));
        Ok::<Rendered, Faults>(capture)
    };
    match layout.head.form {
        CorpusForm::Wav => {
            for index in layout.captures(unit) {
                truths.push(write_wav(layout, unit, draw(index)?, &mut lines)?);
            }
        }
        CorpusForm::Parquet | CorpusForm::Labelled => {
            write_parquet(layout, unit, &draw, &mut lines, &mut truths)?;
        }
    }
    if layout.head.truths {
        for (truth, index) in truths.iter().zip(layout.captures(unit)) {
            let file = truth_file(index);
            make_folder_of(layout, &file)?;
            document::write(&layout.place(&file), truth)?;
            lines.push(line(file, digest(json::text(truth).as_bytes())?));
        }
    }
    Ok(Made {
        key: truths.iter().map(key::line).collect(),
        manifest: lines.iter().map(Line::to_text).collect(),
    })
}

fn write_wav(
    layout: &Layout,
    unit: u64,
    rendered: Rendered,
    lines: &mut Vec<Line>,
) -> Result<Truth, Faults> {
    let [wav, card] = [0, 1].map(|i| layout.files(unit)[i].clone());
    make_folder_of(layout, &wav)?;
    let files = CaptureFiles::at(&layout.place(&wav))?;
    let Rendered { capture, mut truth } = rendered;
    truth.wav_sha256 = files.write(&capture.card, &capture.samples)?;
    lines.push(line(wav, truth.wav_sha256.clone()));
    lines.push(line(card, digest(json::text(&capture.card).as_bytes())?));
    Ok(truth)
}

fn write_parquet(
    layout: &Layout,
    unit: u64,
    draw: &dyn Fn(u64) -> Result<Rendered, Faults>,
    lines: &mut Vec<Line>,
    truths: &mut Vec<Truth>,
) -> Result<(), Faults> {
    let labelled = layout.head.form == CorpusForm::Labelled;
    let files = layout.files(unit);
    let (format, table) = match labelled {
        true => (columns::LABELLED_FORMAT, columns::labelled_columns()),
        false => (columns::CAPTURES_FORMAT, columns::CAPTURE_COLUMNS.to_vec()),
    };
    make_folder_of(layout, &files[0])?;
    let mut captures = layout.captures(unit);
    let written = write_hashed(&layout.place(&files[0]), |out| {
        parquet::write(out, format, &table, &mut || {
            let Some(index) = captures.next() else {
                return Ok(None);
            };
            let Rendered { capture, mut truth } = draw(index)?;
            let Capture { card, samples } = capture;
            truth.wav_sha256 = wav::sha256(card.sample_rate_hz.round() as u32, &samples)?;
            let mut row = columns::capture_cells(&card, samples);
            if labelled {
                row.extend(columns::truth_cells(&truth));
            }
            truths.push(truth);
            Ok(Some(row))
        })
    })?;
    lines.push(line(files[0].clone(), written));
    if !labelled {
        make_folder_of(layout, &files[1])?;
        let mut rows = truths.iter().map(|truth| {
            let mut row = vec![columns::Cell::Text(truth.capture.clone())];
            row.extend(columns::truth_cells(truth));
            row
        });
        let written = write_hashed(&layout.place(&files[1]), |out| {
            parquet::write(
                out,
                columns::TRUTHS_FORMAT,
                &columns::truth_columns(),
                &mut || Ok(rows.next()),
            )
        })?;
        lines.push(line(files[1].clone(), written));
    }
    Ok(())
}

/// SHA-256 of the first capture as a WAV, by which another build of the program is told.
pub fn first_wav_sha256(plan: &Plan, seed: u64) -> Result<String, Faults> {
    let first = render(&plan.draw(seed, 0)?, &name(0));
    wav::sha256(
        first.capture.card.sample_rate_hz.round() as u32,
        &first.capture.samples,
    )
}

fn line(file: String, sha256: String) -> Line {
    Line { sha256, file }
}

fn digest(bytes: &[u8]) -> Result<String, Faults> {
    Ok(sha256_hex(bytes).map_err(|e| Fault::new("memory", e, "run the command again"))?)
}

fn make_folder_of(layout: &Layout, file: &str) -> Result<(), Faults> {
    match layout.place(file).parent() {
        Some(folder) => directory::make(folder),
        None => Ok(()),
    }
}
