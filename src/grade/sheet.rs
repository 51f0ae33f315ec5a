//! Call sheets: CSV with the columns `capture,cylinders,confidence,note`, as a spreadsheet saves it.
//!
//! Reading forgives what a spreadsheet does to a file (byte order mark, semicolons or tabs, a first
//! line `sep=;`, any line ending, capitals, further columns, blank rows, a note in Windows-1252) and
//! nothing that would change a call. Whatever cannot be read is a fault, and the rest is graded all
//! the same:
//!
//! - a row in which nothing but the capture stands, as in a blank sheet, is a capture not called, and no fault;
//! - a row whose capture or cylinders cannot be read is left out;
//! - a confidence or a note that cannot be read is left empty, since the call itself stands;
//! - of several rows for one capture only the first is read.
//!
//! A column `pack` ties a sheet to its key: a sheet of another pack is refused as a whole. A sheet
//! without the column is taken as one of this key.

use super::entry::{Entry, parse_confidence};
use crate::error::shown;
use crate::error::{Fault, nearest};
use csv::ByteRecord;
use std::borrow::Cow;
use std::collections::HashMap;

/// The columns of a call sheet; the last two may be missing.
pub const COLUMNS: [&str; 4] = ["capture", "cylinders", "confidence", "note"];

/// The column that names the pack of the captures; it may be missing.
pub const PACK: &str = "pack";

/// Columns without which there is no call.
const REQUIRED: usize = 2;

/// Longest cell that is read, bytes: far more than a note, far less than a file swallowed whole.
const LONGEST_CELL: usize = 4096;

/// A last row of our own; it is only missing at the end if an open quotation mark swallowed it.
const END: &[u8] = b"end of the call sheet";

/// The calls of a sheet, in its order, and everything in it that could not be read.
///
/// `file` names the sheet in the faults' places; `pack` is the id of the key's pack, if it has one.
pub fn read(file: &str, bytes: &[u8], pack: Option<&str>) -> (Vec<Entry>, Vec<Fault>) {
    let records = match records(file, bytes) {
        Ok(records) => records,
        Err(fault) => return (Vec::new(), vec![fault]),
    };
    let mut faults = Vec::new();
    let mut calls = Vec::new();
    let Some(((line, header), rows)) = records.rows.split_first() else {
        let remedy = format!("begin it with the line {}", COLUMNS.join(","));
        faults.extend(records.unclosed);
        if faults.is_empty() {
            faults.push(Fault::new(file, "the call sheet is empty", remedy));
        }
        return (calls, faults);
    };
    if let Some(fault) = pack.and_then(|pack| other_pack(file, header, rows, pack)) {
        return (calls, vec![fault]);
    }
    let columns = columns(&format!("{file}: line {line}"), header, &mut faults);
    if let Some(columns) = columns {
        let mut lines: HashMap<String, usize> = HashMap::new();
        let answered = |(_, record): &&(usize, ByteRecord)| {
            let cells = columns[1..].iter().flatten();
            cells
                .filter_map(|at| record.get(*at))
                .any(|cell| !cell.trim_ascii().is_empty())
        };
        for (line, record) in rows.iter().filter(answered) {
            let place = format!("{file}: line {line}");
            let (call, capture) = read_row(&place, record, &columns, &mut faults);
            if let Some(first) = capture.as_ref().and_then(|name| lines.get(name)) {
                let name = shown(capture.as_deref().unwrap_or_default());
                faults.push(Fault::new(
                    format!("{place}, column capture"),
                    format!("{name} already stands on line {first}"),
                    "keep one row for each capture; only the first is read",
                ));
                continue;
            }
            calls.extend(call);
            lines.extend(capture.map(|name| (name, *line)));
        }
        if !rows.iter().any(|row| answered(&row)) && records.unclosed.is_none() {
            faults.push(Fault::new(
                file,
                "there is no call below the header",
                "write a row for each capture",
            ));
        }
    }
    faults.extend(records.unclosed);
    (calls, faults)
}

/// The rows of a sheet that are not blank, each with its line, counted from 1.
struct Records {
    rows: Vec<(usize, ByteRecord)>,
    unclosed: Option<Fault>,
}

fn records(file: &str, bytes: &[u8]) -> Result<Records, Fault> {
    let remedy = "save the sheet as CSV in UTF-8";
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Err(Fault::new(file, "the file is in UTF-16", remedy));
    }
    if bytes.starts_with(b"PK\x03\x04") {
        let problem = "the file is a spreadsheet workbook or another archive, not CSV";
        return Err(Fault::new(file, problem, remedy));
    }
    let mut text = one_line_ending(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes));
    let named = named_delimiter(&text);
    if named.is_some() {
        // The line's end stays, so that lines keep their numbers.
        text.drain(..text.iter().position(|b| *b == b'\n').unwrap_or(text.len()));
    }
    text.push(b'\n');
    text.extend_from_slice(END);

    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(named.unwrap_or_else(|| delimiter(&text)))
        .from_reader(text.as_slice());
    let mut rows = Vec::new();
    let (mut line, mut counted) = (1, 0);
    for record in reader.byte_records() {
        let record = record.map_err(|error| {
            Fault::new(file, format!("the sheet cannot be read: {error}"), remedy)
        })?;
        // The reader's own line count is that of the blank lines before a record.
        let mut start = record.position().map_or(0, |p| p.byte() as usize);
        start += text[start..].iter().take_while(|b| **b == b'\n').count();
        line += text[counted..start].iter().filter(|b| **b == b'\n').count();
        counted = start;
        if !record.iter().all(|cell| cell.trim_ascii().is_empty()) {
            rows.push((line, record));
        }
    }
    let unclosed = rows.pop().filter(|(_, last)| last.as_slice() != END);
    let unclosed = unclosed.map(|(line, _)| {
        Fault::new(
            format!("{file}: line {line}"),
            "a quotation mark opened in this row is never closed",
            "close it, or write the cell without it",
        )
    });
    Ok(Records { rows, unclosed })
}

/// Line feeds for carriage returns, alone or in front of a line feed.
fn one_line_ending(bytes: &[u8]) -> Vec<u8> {
    let mut text = Vec::with_capacity(bytes.len() + END.len() + 1);
    for (i, byte) in bytes.iter().enumerate() {
        match (byte, bytes.get(i + 1)) {
            (b'\r', Some(b'\n')) => {}
            (b'\r', _) => text.push(b'\n'),
            _ => text.push(*byte),
        }
    }
    text
}

/// The separator that a first line such as `sep=;` names for spreadsheets.
fn named_delimiter(text: &[u8]) -> Option<u8> {
    let line = text.split(|b| *b == b'\n').next()?.trim_ascii();
    let line = line.strip_prefix(b"\"").unwrap_or(line);
    match line {
        [s, e, p, b'=', separator @ (b';' | b',' | b'\t' | b'|'), ..]
            if [*s, *e, *p].eq_ignore_ascii_case(b"sep") =>
        {
            Some(*separator)
        }
        _ => None,
    }
}

/// The separator that stands most often in the first line with any; a comma if in doubt.
pub(super) fn delimiter(text: &[u8]) -> u8 {
    let known = b"\t;,";
    text.split(|b| *b == b'\n')
        .find(|line| line.iter().any(|b| known.contains(b)))
        .and_then(|line| {
            let times = |d: &u8| line.iter().filter(|b| *b == d).count();
            known.iter().copied().max_by_key(times)
        })
        .unwrap_or(b',')
}

/// Why the sheet is not one of `pack`: the first row that names another.
fn other_pack(
    file: &str,
    header: &ByteRecord,
    rows: &[(usize, ByteRecord)],
    pack: &str,
) -> Option<Fault> {
    let text = |cell: &[u8]| String::from_utf8_lossy(cell).trim().to_string();
    let at = header.iter().position(|c| text(c).to_lowercase() == PACK)?;
    rows.iter().find_map(|(line, record)| {
        let named = text(record.get(at).unwrap_or_default());
        (!named.is_empty() && !named.eq_ignore_ascii_case(pack)).then(|| {
            Fault::new(
                format!("{file}: line {line}, column {PACK}"),
                format!("the sheet is of pack {}, the key of {pack}", shown(&named)),
                "grade it with the key of its own pack",
            )
        })
    })
}

/// Where each of [`COLUMNS`] stands in the header; `None` if the rows cannot be read without more.
fn columns(
    place: &str,
    header: &ByteRecord,
    faults: &mut Vec<Fault>,
) -> Option<[Option<usize>; COLUMNS.len()]> {
    let names: Vec<String> = header
        .iter()
        .map(|cell| String::from_utf8_lossy(cell).trim().to_lowercase())
        .collect();
    let spare = || {
        let unknown = names.iter().filter(|n| !COLUMNS.contains(&n.as_str()));
        unknown.map(String::as_str)
    };
    let mut found = [None; COLUMNS.len()];
    let mut readable = true;
    for (i, column) in COLUMNS.into_iter().enumerate() {
        let mut places = (0..names.len()).filter(|at| names[*at] == column);
        found[i] = places.next();
        if places.next().is_some() {
            readable = false;
            faults.push(Fault::new(
                place,
                format!("there are two columns called {column}"),
                "keep the one that counts",
            ));
        } else if found[i].is_none() {
            let near = nearest(column, spare());
            let required = i < REQUIRED;
            readable &= !required;
            if required || near.is_some() {
                let remedy = match near {
                    Some(name) => format!("rename the column {} to {column}", shown(name)),
                    None => format!("begin the sheet with the line {}", COLUMNS.join(",")),
                };
                let problem = format!("the column {column} is missing");
                faults.push(Fault::new(place, problem, remedy));
            }
        }
    }
    readable.then_some(found)
}

/// The call of one row, if it can be read, and its capture, if that can.
fn read_row(
    place: &str,
    record: &ByteRecord,
    columns: &[Option<usize>; COLUMNS.len()],
    faults: &mut Vec<Fault>,
) -> (Option<Entry>, Option<String>) {
    let mut keep = |fault: Fault| {
        let place = format!("{place}, column {}", fault.place);
        faults.push(Fault { place, ..fault });
    };
    let [capture, cylinders, confidence] = [0, 1, 2].map(|i| cell(record, columns[i], COLUMNS[i]));
    let note = note(record, columns[3]);
    let capture = capture.and_then(|name| match name {
        "" => Err(Fault::new(
            COLUMNS[0],
            "the cell is empty",
            "write the name of the capture that is called",
        )),
        name => Ok(name.to_string()),
    });
    let capture = capture.map_err(&mut keep).ok();
    let cylinders = cylinders.and_then(str::parse).map_err(&mut keep).ok();
    let confidence = confidence
        .and_then(|text| match split_by_comma(text, record, columns[2]) {
            Some(fault) => Err(fault),
            None => parse_confidence(text),
        })
        .map_err(&mut keep);
    let note = note.map_err(&mut keep).unwrap_or_default();
    let call = capture
        .clone()
        .zip(cylinders)
        .map(|(capture, cylinders)| Entry {
            capture,
            cylinders,
            confidence: confidence.unwrap_or_default(),
            note: note.into_owned(),
        });
    (call, capture)
}

/// A confidence such as 0,8 in a row whose cells are parted by commas too: `0`, and then `8`.
fn split_by_comma(text: &str, record: &ByteRecord, column: Option<usize>) -> Option<Fault> {
    let next = record.get(column? + 1)?;
    let digits = !next.is_empty() && next.iter().all(u8::is_ascii_digit);
    (text == "0" && digits).then(|| {
        let next = String::from_utf8_lossy(next);
        Fault::new(
            COLUMNS[2],
            format!("{} is parted by its comma", shown(&format!("0,{next}"))),
            format!("write 0.{next}, or put it in quotation marks"),
        )
    })
}

/// The text of one cell without the space around it; a cell that is not there is empty.
fn cell<'r>(
    record: &'r ByteRecord,
    column: Option<usize>,
    name: &'static str,
) -> Result<&'r str, Fault> {
    let bytes = column.and_then(|i| record.get(i)).unwrap_or_default();
    check_length(bytes, name)?;
    let text = std::str::from_utf8(bytes).map_err(|_| {
        let lossy = shown(&String::from_utf8_lossy(bytes));
        Fault::new(
            name,
            format!("{lossy} is not UTF-8"),
            "save the sheet as CSV in UTF-8",
        )
    })?;
    check_letters(text, name)?;
    Ok(text.trim())
}

/// The text of the note's cell. Nothing is graded by it, so one that is not in UTF-8 is read in the
/// code page in which spreadsheets most often save.
fn note(record: &ByteRecord, column: Option<usize>) -> Result<Cow<'_, str>, Fault> {
    let bytes = column.and_then(|i| record.get(i)).unwrap_or_default();
    if std::str::from_utf8(bytes).is_ok() {
        return cell(record, column, COLUMNS[3]).map(Cow::Borrowed);
    }
    check_length(bytes, COLUMNS[3])?;
    let text: String = bytes.iter().map(|b| windows_1252(*b)).collect();
    check_letters(&text, COLUMNS[3])?;
    Ok(Cow::Owned(text.trim().to_string()))
}

/// A letter of Windows-1252: Latin-1 but for 0x80 to 0x9F, five of which are left free. Source:
/// `cp1252` of Python 3.
fn windows_1252(byte: u8) -> char {
    const UPPER: &str = "€\u{81}‚ƒ„…†‡ˆ‰Š‹Œ\u{8d}Ž\u{8f}\u{90}‘’“”•–—˜™š›œ\u{9d}žŸ";
    match byte {
        0x80..=0x9f => UPPER.chars().nth(usize::from(byte - 0x80)),
        _ => None,
    }
    .unwrap_or(char::from(byte))
}

fn check_length(bytes: &[u8], name: &'static str) -> Result<(), Fault> {
    if bytes.len() > LONGEST_CELL {
        return Err(Fault::new(
            name,
            format!("the cell is {} bytes long", bytes.len()),
            format!("keep it within {LONGEST_CELL}, and look for a stray quotation mark"),
        ));
    }
    Ok(())
}

fn check_letters(text: &str, name: &'static str) -> Result<(), Fault> {
    let control = |c: &char| c.is_control() && !matches!(c, '\n' | '\t');
    match text.chars().find(control) {
        Some(c) => Err(Fault::new(
            name,
            format!(
                "{} holds the control character U+{:04X}",
                shown(text),
                c as u32
            ),
            "delete it, or save the sheet as CSV in UTF-8",
        )),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
