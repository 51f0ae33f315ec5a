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

use super::calls::{FIELDS, Fields, Header, Places, delimiter, text};
use crate::domain::{Entry, parse_confidence};
use crate::error::{Fault, shown};
use csv::ByteRecord;
use std::borrow::Cow;
use std::collections::HashMap;

/// The columns of a call sheet; the last two may be missing.
pub const COLUMNS: [&str; 4] = [FIELDS[0], FIELDS[1], FIELDS[2], FIELDS[4]];

/// The column that names the pack of the captures; it may be missing.
pub const PACK: &str = "pack";

/// What mends a sheet in other letters.
const SAVE: &str = "save the sheet as CSV in UTF-8";

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
    let place = format!("{file}: line {line}");
    let begin = "begin the sheet with the line";
    let header = Header::of(header.iter(), &COLUMNS, &place, begin);
    faults.extend(header.faults);
    if header.readable {
        let places = header.places;
        let mut lines: HashMap<String, usize> = HashMap::new();
        let answered = |record: &ByteRecord| {
            let cells = places[1..].iter().flatten();
            cells
                .filter_map(|at| record.get(*at))
                .any(|cell| !cell.trim_ascii().is_empty())
        };
        let mut any = false;
        for (line, record) in rows.iter().filter(|(_, record)| answered(record)) {
            any = true;
            let place = |field: &str| format!("{file}: line {line}, column {field}");
            let call = fields(record, &places).entry("the cell is empty", |fault| {
                let place = place(&fault.place);
                faults.push(Fault { place, ..fault });
            });
            let capture = match &call {
                Ok(call) => Some(&call.capture),
                Err(capture) => capture.as_ref(),
            };
            if let Some(capture) = capture {
                if let Some(first) = lines.get(capture) {
                    let problem = format!("{} already stands on line {first}", shown(capture));
                    let remedy = "keep one row for each capture; only the first is read";
                    faults.push(Fault::new(place(FIELDS[0]), problem, remedy));
                    continue;
                }
                lines.insert(capture.clone(), *line);
            }
            calls.extend(call);
        }
        if !any && records.unclosed.is_none() {
            let remedy = "write a row for each capture";
            faults.push(Fault::new(
                file,
                "there is no call below the header",
                remedy,
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
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Err(Fault::new(file, "the file is in UTF-16", SAVE));
    }
    if bytes.starts_with(b"PK\x03\x04") {
        let problem = "the file is a spreadsheet workbook or another archive, not CSV";
        return Err(Fault::new(file, problem, SAVE));
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
        let unread = |error| Fault::new(file, format!("the sheet cannot be read: {error}"), SAVE);
        let record = record.map_err(unread)?;
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

/// What was read of each field of a row.
fn fields<'r>(record: &'r ByteRecord, places: &Places) -> Fields<'r> {
    let bytes = |i: usize| places[i].and_then(|at| record.get(at)).unwrap_or_default();
    let cell = |i: usize| {
        check_length(bytes(i), FIELDS[i])?;
        let text = text(bytes(i), FIELDS[i], SAVE)?;
        check_letters(text, FIELDS[i]).map(|()| text)
    };
    // Nothing is graded by a note, so that one not in UTF-8 is read in the code page in which spreadsheets most often
    // save.
    let note = || {
        if std::str::from_utf8(bytes(4)).is_ok() {
            return cell(4).map(Cow::Borrowed);
        }
        check_length(bytes(4), FIELDS[4])?;
        let text: String = bytes(4).iter().map(|b| windows_1252(*b)).collect();
        check_letters(&text, FIELDS[4])?;
        Ok(Cow::Owned(text.trim().to_string()))
    };
    Fields {
        capture: cell(0),
        cylinders: cell(1).and_then(str::parse),
        confidence: cell(2).and_then(|text| match split_by_comma(text, record, places[2]) {
            Some(fault) => Err(fault),
            None => parse_confidence(text),
        }),
        lag_ms: Ok(None),
        note: note(),
    }
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
            format!("delete it, or {SAVE}"),
        )),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
