//! Mutations of valid files: in their bytes, in their text, and in the tree that they stand for.

use proptest::prelude::*;
use proptest::sample::Index;
use serde_json::Value;

/// What may be put where something sensible stood.
const ODD: &[&str] = &[
    "",
    "~",
    "null",
    "true",
    "-1",
    "0",
    "1",
    "4",
    "12",
    "13",
    "65",
    "1e308",
    "-1e308",
    "1e-320",
    "1e999",
    "nan",
    ".nan",
    ".inf",
    "-.inf",
    "NaN mm2",
    "0x1F",
    "1_000",
    "18446744073709551615",
    "18446744073709551616",
    "-9223372036854775809",
    "1e308 m",
    "-5 mm2",
    "3 mm2",
    "0.0001 mm2",
    "60 bar",
    "1e300 GPa",
    "0 bar",
    "2 bar",
    "-273.16 C",
    "0 K",
    "110 C",
    "-40 F",
    "1 MHz",
    "200 Hz",
    "0.2 s",
    "120 s",
    "1e-9 s",
    "720 deg",
    "-720 deg",
    "20 deg",
    "1500 rpm",
    "30 V",
    "3 V s/rad",
    "100 %",
    "10 mL",
    "5 L",
    "20 mL/kPa",
    "0.02 mL/kPa",
    "0.1 m",
    "6 m",
    "1",
    "16",
    "6",
    "1.41",
    "mm",
    "3 m m",
    "3  mm2",
    "3mm2",
    "é mm",
    "\u{0}",
    "\u{202e}",
    "a\u{301}",
    "'",
    "\"",
    "\\",
    "|",
    ">",
    "%",
    "@",
    "`",
    "*a",
    "&a",
    "!t x",
    "- -",
    "? ",
    ": ",
    "#",
    "---",
    "...",
    "idle",
    "cranking",
    "relief",
    "open",
    "sealed",
    "disabled",
    "shared_pairs",
    "probe",
    "leak_flow",
    "ac",
    "absolute",
    "[1, 3, 4, 2]",
    "[1]",
    "[]",
    "[[]]",
    "[1, 1]",
    "[0 kPa, 1 kPa]",
    "[1 kPa, 0 kPa]",
    "{}",
    "{a: b}",
    "[150 deg, 90 deg]",
    "{uniform: [1, 4]}",
    "{uniform: [4, 1]}",
    "{uniform: [0, 18446744073709551615]}",
    "{uniform: [0 mm2, 1 mm2]}",
    "{uniform: [10 mL, 5 L]}",
    "{log_uniform: [0 mm2, 1 mm2]}",
    "{log_uniform: [1e-300 mm2, 1 mm2]}",
    "{log_uniform: [-1 C, 10 C]}",
    "{normal: {mean: 1, sd: 1e300}}",
    "{normal: {mean: 3 bar, sd: 1 psi}}",
    "{normal: {mean: 20 C, sd: 1 F}}",
    "{normal: 1}",
    "{choose: []}",
    "{choose: 1}",
    "{choose: [{choose: [{choose: [1]}]}]}",
    "{choose: [idle, cranking]}",
    "{choose: [1, {uniform: [1, 2]}]}",
    "{choose: [[1], [2, 3]]}",
    "{uniform: [1], choose: [1]}",
    "q1",
    "2|5",
    "2+5",
    "3|3",
    "1+2+3+4+5+6+7+8+9+10+11+12+13",
    "99999999999",
    "none",
    "unsure",
    "80",
    "0,8",
    "101 %",
    "capture",
];

/// Changes of a `T`, made one after the other.
pub trait Edits<T> {
    fn apply(&self, to: T) -> T;
}

#[derive(Clone, Debug)]
pub enum BytesEdit {
    Set(Index, u8),
    Insert(Index, Vec<u8>),
    Delete(Index, usize),
    Truncate(Index),
    Word(Index, u32),
}

/// A few changes of bytes.
pub fn bytes_edits() -> impl Strategy<Value = Vec<BytesEdit>> {
    let word = prop_oneof![
        Just(0),
        Just(u32::MAX),
        Just(1 << 31),
        0..100_u32,
        any::<u32>()
    ];
    let at = any::<Index>;
    let one = prop_oneof![
        (at(), any::<u8>()).prop_map(|(i, b)| BytesEdit::Set(i, b)),
        (at(), prop::collection::vec(any::<u8>(), 1..9)).prop_map(|(i, b)| BytesEdit::Insert(i, b)),
        (at(), 1..40_usize).prop_map(|(i, n)| BytesEdit::Delete(i, n)),
        at().prop_map(BytesEdit::Truncate),
        // Where the sizes of a header stand.
        (at(), word).prop_map(|(i, w)| BytesEdit::Word(i, w)),
    ];
    prop::collection::vec(one, 1..5)
}

impl Edits<Vec<u8>> for Vec<BytesEdit> {
    fn apply(&self, mut bytes: Vec<u8>) -> Vec<u8> {
        for edit in self {
            let place = |i: &Index, bytes: &[u8]| i.index(bytes.len() + 1).min(bytes.len());
            match edit {
                BytesEdit::Set(i, b) => {
                    let at = place(i, &bytes);
                    bytes.iter_mut().skip(at).take(1).for_each(|x| *x = *b);
                }
                BytesEdit::Insert(i, new) => {
                    let at = place(i, &bytes);
                    bytes.splice(at..at, new.iter().copied());
                }
                BytesEdit::Delete(i, n) => {
                    let at = place(i, &bytes);
                    bytes.drain(at..(at + n).min(bytes.len()));
                }
                BytesEdit::Truncate(i) => bytes.truncate(place(i, &bytes)),
                BytesEdit::Word(i, word) => {
                    let at = i.index(44);
                    if bytes.len() >= at + 4 {
                        bytes[at..at + 4].copy_from_slice(&word.to_le_bytes());
                    }
                }
            }
        }
        bytes
    }
}

#[derive(Clone, Debug)]
pub enum TextEdit {
    /// A word or value becomes an odd one.
    Replace(Index, String),
    Delete(Index),
    Duplicate(Index),
    Swap(Index, Index),
    Indent(Index, usize),
    /// A line's value becomes a nest so deep.
    Nest(Index, usize),
    Insert(Index, String),
}

fn odd() -> impl Strategy<Value = String> {
    prop_oneof![
        8 => prop::sample::select(ODD).prop_map(String::from),
        1 => any::<f64>().prop_map(|x| format!("{x} bar")),
        1 => any::<i64>().prop_map(|x| x.to_string()),
        1 => "\\PC{0,12}",
        1 => (1..600_usize).prop_map(|n| "9".repeat(n)),
    ]
}

/// A few changes of lines and words.
pub fn text_edits() -> impl Strategy<Value = Vec<TextEdit>> {
    let at = any::<Index>;
    let one = prop_oneof![
        8 => (at(), odd()).prop_map(|(i, s)| TextEdit::Replace(i, s)),
        1 => at().prop_map(TextEdit::Delete),
        1 => at().prop_map(TextEdit::Duplicate),
        1 => (at(), at()).prop_map(|(i, j)| TextEdit::Swap(i, j)),
        1 => (at(), 0..9_usize).prop_map(|(i, n)| TextEdit::Indent(i, n)),
        1 => (at(), 1..400_usize).prop_map(|(i, n)| TextEdit::Nest(i, n)),
        1 => (at(), odd()).prop_map(|(i, s)| TextEdit::Insert(i, s)),
    ];
    prop::collection::vec(one, 1..5)
}

impl Edits<Vec<u8>> for Vec<TextEdit> {
    fn apply(&self, bytes: Vec<u8>) -> Vec<u8> {
        let mut lines: Vec<String> = String::from_utf8_lossy(&bytes)
            .lines()
            .map(String::from)
            .collect();
        for edit in self {
            if lines.is_empty() {
                break;
            }
            let n = lines.len();
            match edit {
                TextEdit::Replace(i, new) => replace_word(&mut lines, i, new),
                TextEdit::Delete(i) => {
                    lines.remove(i.index(n));
                }
                TextEdit::Duplicate(i) => lines.insert(i.index(n), lines[i.index(n)].clone()),
                TextEdit::Swap(i, j) => lines.swap(i.index(n), j.index(n)),
                TextEdit::Indent(i, spaces) => {
                    let line = &mut lines[i.index(n)];
                    *line = " ".repeat(*spaces) + line.trim_start();
                }
                TextEdit::Nest(i, depth) => {
                    let line = &mut lines[i.index(n)];
                    let key = line.split(':').next().unwrap_or("").to_string();
                    *line = format!("{key}: {}{}", "[".repeat(*depth), "]".repeat(*depth));
                }
                TextEdit::Insert(i, new) => lines.insert(i.index(n), new.clone()),
            }
        }
        lines.join("\n").into_bytes()
    }
}

/// Puts `new` in place of one of the words of all lines; comments have none.
fn replace_word(lines: &mut [String], which: &Index, new: &str) {
    let mut words = Vec::new();
    for (l, line) in lines.iter().enumerate() {
        let mut start = None;
        for (i, c) in line.char_indices().chain([(line.len(), ',')]) {
            if c == '#' {
                break;
            }
            if ",:[]{}\"".contains(c) {
                words.extend(start.take().map(|s| (l, s, i)));
            } else if c != ' ' && c != '-' {
                start.get_or_insert(i);
            }
        }
    }
    if !words.is_empty() {
        let (line, start, end) = words[which.index(words.len())];
        lines[line].replace_range(start..end, new);
    }
}

#[derive(Clone, Debug)]
pub enum TreeEdit {
    Replace(Index, String),
    /// One part of the tree put in the place of another.
    Graft(Index, Index),
    Delete(Index),
    Repeat(Index, usize),
}

/// A few changes of a tree.
pub fn tree_edits() -> impl Strategy<Value = Vec<TreeEdit>> {
    let at = any::<Index>;
    let one = prop_oneof![
        6 => (at(), odd()).prop_map(|(i, s)| TreeEdit::Replace(i, s)),
        1 => (at(), at()).prop_map(|(i, j)| TreeEdit::Graft(i, j)),
        1 => at().prop_map(TreeEdit::Delete),
        1 => (at(), 2..80_usize).prop_map(|(i, n)| TreeEdit::Repeat(i, n)),
    ];
    prop::collection::vec(one, 0..4)
}

impl Edits<Value> for Vec<TreeEdit> {
    fn apply(&self, mut tree: Value) -> Value {
        for edit in self {
            let mut places = Vec::new();
            pointers(&tree, String::new(), &mut places);
            let at = |i: &Index| i.get(&places).clone();
            match edit {
                TreeEdit::Replace(i, new) => {
                    let value = serde_yaml::from_str(new).unwrap_or(Value::String(new.clone()));
                    *tree.pointer_mut(&at(i)).unwrap() = value;
                }
                TreeEdit::Graft(i, j) => {
                    let part = tree.pointer(&at(i)).unwrap().clone();
                    *tree.pointer_mut(&at(j)).unwrap() = part;
                }
                TreeEdit::Delete(i) => {
                    let place = at(i);
                    let (parent, key) = place.rsplit_once('/').unwrap_or(("", ""));
                    match tree.pointer_mut(parent) {
                        Some(Value::Object(map)) => {
                            map.shift_remove(key);
                        }
                        Some(Value::Array(list)) => {
                            let at = key.parse::<usize>().ok();
                            at.map(|at| list.remove(at));
                        }
                        _ => {}
                    }
                }
                TreeEdit::Repeat(i, n) => {
                    let part = tree.pointer_mut(&at(i)).unwrap();
                    *part = match part.take() {
                        Value::Array(list) => list
                            .iter()
                            .cycle()
                            .take(list.len().min(1) * n)
                            .cloned()
                            .collect(),
                        other => vec![other; *n].into(),
                    };
                }
            }
        }
        tree
    }
}

/// JSON pointers of all parts of a tree.
fn pointers(value: &Value, at: String, all: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            for (key, below) in map {
                let key = key.replace('~', "~0").replace('/', "~1");
                pointers(below, format!("{at}/{key}"), all);
            }
        }
        Value::Array(list) => {
            for (i, below) in list.iter().enumerate() {
                pointers(below, format!("{at}/{i}"), all);
            }
        }
        _ => {}
    }
    all.push(at);
}

/// Text made of pieces that mean something to YAML, or to a scenario.
pub fn soup() -> impl Strategy<Value = String> {
    const PIECES: &[&str] = &[
        "\n",
        "\n  ",
        "\n    ",
        " ",
        ": ",
        "- ",
        "? ",
        "[",
        "]",
        "{",
        "}",
        ", ",
        "&a ",
        "*a",
        "!!int ",
        "\"",
        "'",
        "|\n",
        ">-\n",
        "#",
        "---\n",
        "...\n",
        "%YAML 1.2\n",
        "<<: ",
        "\t",
        "\r\n",
        "\\",
        "vehicle",
        "engine",
        "cylinders",
        "firing_order",
        "channels",
        "sensor",
        "neck_pressure",
        "test",
        "faults",
        "leaks",
        "acquisition",
    ];
    let piece = prop_oneof![
        5 => prop::sample::select(PIECES).prop_map(String::from),
        2 => odd(),
    ];
    prop::collection::vec(piece, 0..80).prop_map(|pieces| pieces.concat())
}
