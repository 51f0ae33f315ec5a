//! Slips of the pen, and what was meant: words, units and numbers as people write them elsewhere, and YAML
//! that is nearly right.

use super::yaml::UNFOLDS;
use crate::error::Mark;
use serde_json::{Map, Value};

/// What people call our words (common usage of the trade).
const WORDS: &[(&str, &str)] = &[
    ("boxer", "flat"),
    ("opposed", "flat"),
    ("v", "vee"),
    ("straight", "inline"),
    ("running", "idle"),
    ("idling", "idle"),
    ("starter", "cranking"),
    ("closed", "sealed"),
    ("on", "enabled"),
    ("off", "disabled"),
    ("wasted_spark", "shared_pairs"),
    ("coil_on_plug", "one_per_cylinder"),
    ("vacuum", "absolute"),
];

/// Spellings of units that are no slip of a letter.
const UNITS: &[(&str, &str)] = &[
    ("l", "L"),
    ("liter", "L"),
    ("litre", "L"),
    ("cc", "mL"),
    ("ccm", "cm3"),
    ("gallon", "gal"),
    ("quart", "qt"),
    ("ounce", "fl oz"),
    ("sec", "s"),
    ("second", "s"),
    ("millisecond", "ms"),
    ("minute", "min"),
    ("celsius", "C"),
    ("degc", "C"),
    ("fahrenheit", "F"),
    ("degf", "F"),
    ("degree", "deg"),
    ("", "deg"),
    ("inch", "in"),
    ("inche", "in"),
    ("foot", "ft"),
    ("feet", "ft"),
    ("\"", "in"),
    ("nm", "N m"),
    ("ft lb", "lbf ft"),
    ("psig", "psi"),
    ("percent", "%"),
    ("volt", "V"),
    ("joule", "J"),
    ("ω", "ohm"),
    ("mω", "mohm"),
    ("rev/min", "rpm"),
    ("1/min", "rpm"),
];

/// The word of `names` that people also call `word`.
pub(super) fn word(word: &str, names: &[&'static str]) -> Option<&'static str> {
    let word = word.trim().to_lowercase().replace([' ', '-'], "_");
    meant(&word, WORDS, names)
}

/// The unit of `names` that people also write as `unit`.
pub(super) fn unit(unit: &str, names: &[&'static str]) -> Option<&'static str> {
    let plain = unit.to_lowercase().replace('²', "2").replace('³', "3");
    let plain = plain.trim_start_matches('°');
    let same = |name: &&&str| name.to_lowercase() == plain;
    names.iter().find(same).copied().or_else(|| {
        let singular = plain.strip_suffix('s').filter(|p| !p.is_empty());
        meant(singular.unwrap_or(plain), UNITS, names).or_else(|| meant(plain, UNITS, names))
    })
}

fn meant(said: &str, table: &[(&str, &str)], names: &[&'static str]) -> Option<&'static str> {
    let of = |name: &&&str| table.contains(&(said, name));
    names.iter().find(of).copied()
}

/// What is wrong with a number that goes on behind its end as `rest`, and what was meant.
pub(super) fn number(number: &str, rest: &str) -> Option<(&'static str, String)> {
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    if let Some(one) = rest.strip_prefix(':').map(str::trim_start)
        && digits(one) == one.len()
    {
        return Some(("has a colon", format!("write the ratio to one, `{number}`")));
    }
    let decimals = rest.strip_prefix(',')?;
    let thousands = match digits(decimals) {
        0 => return None,
        3 => format!(", and nothing between thousands: `{number}{decimals}`"),
        _ => String::new(),
    };
    let remedy = format!("write a decimal point: `{number}.{decimals}`{thousands}");
    Some(("has a decimal comma", remedy))
}

/// Fields of a mapping in braces whose values a decimal comma has cut in two: each with what mends it; the value
/// that was meant takes its place.
pub(super) fn decimal_commas(given: &mut Map<String, Value>) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let entries: Vec<(String, Value)> = given.clone().into_iter().collect();
    for [(key, whole), (rest, nothing)] in entries.array_windows() {
        let mended = number(&whole.to_string(), &format!(",{rest}"));
        if let Some((_, remedy)) = mended.filter(|_| whole.is_u64() && nothing.is_null()) {
            given.insert(key.clone(), format!("{whole}.{rest}").into());
            given.shift_remove(rest);
            found.push((key.clone(), remedy));
        }
    }
    found
}

/// A key in braces, or a text in place of a section, that begins with a key and no colon: what was meant.
pub(super) fn lost_colon(text: &str) -> Option<String> {
    let at = Mark { line: 1, column: 1 };
    without_colon(text, at).map(|broken| broken.remedy)
}

/// YAML that cannot be read: what is wrong, where, and what mends it.
pub(super) struct Broken {
    pub problem: String,
    pub remedy: String,
    pub path: String,
    pub at: Option<Mark>,
}

/// What broke a text, from the words of the library that gave up on it at `at`.
pub(super) fn yaml(words: &str, text: &str, at: Option<Mark>) -> Broken {
    let (words, context) = words.split_once(", while ").unwrap_or((words, ""));
    let before = |words, end| str::split(words, end).next().unwrap_or_default();
    let problem = before(before(words, " at line "), " at position ");
    let (path, problem) = match problem.split_once(": ") {
        Some((path, problem)) if !path.contains(' ') => (path, problem),
        _ => ("", problem),
    };
    let broken = |at, problem: String, remedy: String| Broken {
        problem,
        remedy,
        path: path.into(),
        at,
    };
    if problem.contains(UNFOLDS) || problem.starts_with("repetition limit") {
        return broken(
            at,
            UNFOLDS.into(),
            "write the values out, without aliases".into(),
        );
    }
    let line = |number: usize| text.lines().nth(number.wrapping_sub(1)).unwrap_or_default();
    let plain = broken(
        at,
        problem.into(),
        "mend the YAML; an editor with the schema helps".into(),
    );
    let Some(mark) = at else { return plain };
    let own = line(mark.line);
    let indent = &own[..own.len() - own.trim_start().len()];
    if let Some(before) = indent.find('\t') {
        let column = indent[..before].chars().count() + 1;
        return broken(
            Some(Mark { column, ..mark }),
            "a tab indents the line".into(),
            "indent with spaces; YAML takes no tabs there".into(),
        );
    }
    let opened = mark_in(context);
    match (problem, opened) {
        ("could not find expected ':'", Some(key)) => {
            without_colon(line(key.line), key).unwrap_or(plain)
        }
        ("mapping values are not allowed in this context", _) => {
            let before = Mark {
                line: mark.line.saturating_sub(1),
                column: 1,
            };
            let second = own.split(": ").count() > 2 && !own.contains(['{', '\'', '"']);
            match without_colon(line(before.line), before) {
                Some(found) => found,
                None if second => broken(
                    at,
                    "a second colon in one line".into(),
                    "put the text in quotation marks, or begin another line".into(),
                ),
                None => plain,
            }
        }
        (_, Some(_)) if context.starts_with("parsing a flow") => {
            let (bracket, end) = match context.starts_with("parsing a flow mapping") {
                true => ('{', '}'),
                false => ('[', ']'),
            };
            broken(
                opened,
                format!(
                    "the `{bracket}` that opens here is not closed before line {}, column {}",
                    mark.line, mark.column
                ),
                format!("close it with `{end}`, and set a comma between what stands in it"),
            )
        }
        (_, Some(open)) if context.starts_with("scanning a quoted") => broken(
            Some(open),
            "the quotation mark that opens here is not closed".into(),
            "close it, or double an apostrophe within".into(),
        ),
        _ => plain,
    }
}

/// `... at line 3 column 4`, as the library tells where something began.
fn mark_in(context: &str) -> Option<Mark> {
    let (_, numbers) = context.split_once(" at line ")?;
    let (line, column) = numbers.split_once(" column ")?;
    Some(Mark {
        line: line.parse().ok()?,
        column: column.parse().ok()?,
    })
}

/// A line that should begin with a key, and has no colon and space behind it.
fn without_colon(line: &str, at: Mark) -> Option<Broken> {
    let content = line.trim_start();
    let column = line.chars().count() - content.chars().count() + 1;
    let content = content.strip_prefix("- ").unwrap_or(content).trim();
    let word = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let (key, value) = content.split_at(content.find(|c| !word(c))?);
    let (problem, value) = match value.strip_prefix(':') {
        Some(value) if !value.is_empty() && !value.starts_with(' ') => {
            ("no space behind the colon of", value)
        }
        None if value.starts_with(' ') => ("no colon behind the key", value.trim()),
        _ => return None,
    };
    Some(Broken {
        problem: format!("{problem} `{key}`"),
        remedy: format!("write `{key}: {value}`"),
        path: String::new(),
        at: Some(Mark { column, ..at }),
    })
}
