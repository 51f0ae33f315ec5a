//! The name of a capture: one that is a safe file name on every system.

use crate::error::Fault;

/// Longest name of a capture, in characters.
pub const MAX_LENGTH: usize = 100;

/// The endings that make the file names of a capture from its name.
pub const ENDINGS: [&str; 3] = [".card.json", ".truth.json", ".wav"];

/// Refuses a name that is no safe file name: it must have 1 to [`MAX_LENGTH`] ASCII letters,
/// digits, `-`, `_` and `.`, begin with a letter, a digit or `_`, and end in none of [`ENDINGS`].
/// Windows' device names are refused as well, whatever the letter case.
pub fn check_name(name: &str) -> Result<(), Fault> {
    let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    let lower = name.to_ascii_lowercase();
    let fault = |problem: String, remedy: &str| {
        let shown: String = name.chars().take(MAX_LENGTH).collect();
        Err(Fault::new(
            format!("capture name {shown:?}"),
            problem,
            remedy,
        ))
    };
    if name.is_empty() {
        return fault("it is empty".into(), "give the capture a name");
    }
    if let Some(c) = name.chars().find(|c| !allowed(*c)) {
        return fault(
            format!("it contains {c:?}"),
            "use ASCII letters, digits, `-`, `_` and `.` only",
        );
    }
    if name.len() > MAX_LENGTH {
        return fault(
            format!("it has {} characters", name.len()),
            "use at most 100 characters",
        );
    }
    if name.starts_with(['.', '-']) {
        return fault(
            format!("it begins with `{}`", &name[..1]),
            "begin with a letter, a digit or `_`",
        );
    }
    if let Some(ending) = ENDINGS.iter().find(|ending| lower.ends_with(**ending)) {
        return fault(
            format!("it ends in `{ending}`"),
            "leave the ending out; the files of the capture add it",
        );
    }
    if is_device(lower.split('.').next().unwrap_or_default()) {
        return fault(
            "Windows keeps this name for a device".into(),
            "choose another name",
        );
    }
    Ok(())
}

/// Whether Windows takes a file of this lower-case stem for a device, whatever its ending.
fn is_device(stem: &str) -> bool {
    let port = stem
        .strip_prefix("com")
        .or_else(|| stem.strip_prefix("lpt"))
        .is_some_and(|n| matches!(n.as_bytes(), [b'0'..=b'9']));
    port || matches!(stem, "con" | "prn" | "aux" | "nul")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinary_names_pass() {
        for name in ["a", "quiz-07", "Bay_2.cold", "_x", "com", "comb1", "7"] {
            assert_eq!(check_name(name), Ok(()), "{name}");
        }
        assert_eq!(check_name(&"n".repeat(MAX_LENGTH)), Ok(()));
    }

    #[test]
    fn unsafe_names_are_refused() {
        let long = "n".repeat(MAX_LENGTH + 1);
        for name in [
            "",
            ".hidden",
            "..",
            "-rf",
            "a b",
            "a/b",
            "a\\b",
            "a\n",
            "motor\u{e9}",
            "a:b",
            "a.wav",
            "a.WAV",
            "a.card.json",
            "a.truth.json",
            "con",
            "NUL.x",
            "lpt1",
            &long,
        ] {
            assert!(check_name(name).is_err(), "{name:?} was accepted");
        }
    }

    #[test]
    fn a_refused_name_cannot_reach_a_terminal_raw() {
        let fault = check_name("a\u{1b}[2J").unwrap_err().to_string();
        assert!(!fault.contains('\u{1b}'), "{fault:?}");
    }
}
