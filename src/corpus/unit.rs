//! One unit of work: from draws to whole files, and the lines that tell of them.

use super::layout::{Layout, name};
use super::manifest::Line;
use super::plan::Plan;
use crate::digest::sha256;
use crate::domain::{Capture, Truth};
use crate::error::Faults;
use crate::files::{atomic, directory};
use crate::formats::{CorpusForm, columns, json, key, parquet, wav};
use crate::render::{Rendered, Renderer, render};
use crate::storage::{CaptureFiles, document};
use std::cell::RefCell;
use std::path::PathBuf;

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
    /// Its files.
    pub files: Vec<PathBuf>,
}

/// Renders one unit and writes its files. `go_on` is asked before each capture.
pub fn make(
    plan: &Plan,
    layout: &Layout,
    unit: u64,
    go_on: &dyn Fn() -> Result<(), Faults>,
) -> Result<Made, Faults> {
    let names = layout.files(unit);
    let files: Vec<PathBuf> = names.iter().map(|file| layout.place(file)).collect();
    for folder in files.iter().filter_map(|file| file.parent()) {
        directory::make(folder)?;
    }
    let mut captures = layout.captures(unit);
    let mut next = || {
        let Some(index) = captures.next() else {
            return Ok(None);
        };
        go_on()?;
        let drawn = plan.draw(layout.head.seed, index)?;
        let render = |buffers: &mut Renderer| buffers.render(&drawn, &name(index));
        Ok::<_, Faults>(Some(RENDERER.with_borrow_mut(render)))
    };
    let mut truths = Vec::new();
    // In the order of the files.
    let mut digests = Vec::new();
    if layout.head.form == CorpusForm::Wav {
        while let Some(Rendered { capture, mut truth }) = next()? {
            truth.wav_sha256 =
                CaptureFiles::at(&files[0])?.write(&capture.card, &capture.samples)?;
            digests.push(truth.wav_sha256.clone());
            digests.push(sha256(json::text(&capture.card)));
            truths.push(truth);
        }
    } else {
        write_parquet(layout, &files, &mut next, &mut digests, &mut truths)?;
    }
    // The rest are whole truths, if they are wanted.
    for (file, truth) in files[digests.len()..].iter().zip(&truths) {
        document::write(file, truth)?;
        digests.push(sha256(json::text(truth)));
    }
    let lines = names.into_iter().zip(digests);
    Ok(Made {
        key: truths.iter().map(key::line).collect(),
        manifest: lines
            .map(|(file, sha256)| Line { sha256, file }.to_text())
            .collect(),
        files,
    })
}

fn write_parquet(
    layout: &Layout,
    files: &[PathBuf],
    next: &mut dyn FnMut() -> Result<Option<Rendered>, Faults>,
    digests: &mut Vec<String>,
    truths: &mut Vec<Truth>,
) -> Result<(), Faults> {
    let labelled = layout.head.form == CorpusForm::Labelled;
    let (format, table) = match labelled {
        true => (columns::LABELLED_FORMAT, columns::labelled_columns()),
        false => (columns::CAPTURES_FORMAT, columns::CAPTURE_COLUMNS.to_vec()),
    };
    digests.push(atomic::write_hashed(&files[0], |out| {
        parquet::write(out, format, &table, &mut || {
            let Some(Rendered { capture, mut truth }) = next()? else {
                return Ok(None);
            };
            let Capture { card, samples } = capture;
            truth.wav_sha256 = wav::sha256(card.sample_rate_hz.round() as u32, &samples)?;
            let mut row = columns::capture_cells(&card, samples);
            if labelled {
                row.extend(columns::truth_cells(&truth));
            }
            truths.push(truth);
            Ok(Some(row))
        })
    })?);
    if !labelled {
        let table = columns::truth_columns();
        let mut rows = truths.iter().map(|truth| {
            let name = columns::Cell::Text(truth.capture.clone());
            [vec![name], columns::truth_cells(truth)].concat()
        });
        digests.push(atomic::write_hashed(&files[1], |out| {
            parquet::write(out, columns::TRUTHS_FORMAT, &table, &mut || Ok(rows.next()))
        })?);
    }
    Ok(())
}

/// SHA-256 of the first capture as a WAV, by which another build of the program is told.
pub fn first_wav_sha256(plan: &Plan, seed: u64) -> Result<String, Faults> {
    let Capture { card, samples } = render(&plan.draw(seed, 0)?, &name(0)).capture;
    wav::sha256(card.sample_rate_hz.round() as u32, &samples)
}
