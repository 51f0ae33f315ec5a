//! How much room words take, and how they are broken to fit.
//!
//! A size is the height of a line in whole pixels (ascent plus descent), which the font's own em
//! follows from; whole, so that the painter's letters all stand on one base line.

use plotters::style::{FontStyle, IntoFont, register_font};
use std::sync::Once;

/// The font by which all words are measured and painted; a viewer of an SVG that lacks it falls back
/// on its own sans-serif, which is usually narrower.
pub(super) const FAMILY: &str = "DejaVu Sans, sans-serif";
/// Line height over em; source: the `hhea` table of DejaVu Sans 2.37 (1901 + 483 of 2048).
pub(super) const LINE_PER_EM: f64 = 2384.0 / 2048.0;
/// Words are measured at this size and scaled, because the measure is cut to whole pixels.
const MEASURED_AT: f64 = 1000.0;

/// Makes the font known to plotters; without it, painting reports a missing font.
pub(super) fn register_fonts() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let _ = register_font(FAMILY, FontStyle::Normal, dejavu::sans::regular());
        let _ = register_font(FAMILY, FontStyle::Bold, dejavu::sans::bold());
    });
}

/// The plotters style of normal or bold words.
pub(super) fn style(bold: bool) -> FontStyle {
    if bold {
        FontStyle::Bold
    } else {
        FontStyle::Normal
    }
}

/// Width of one line of text, pixels.
pub(super) fn width(text: &str, size: u32, bold: bool) -> f64 {
    register_fonts();
    let font = (FAMILY, MEASURED_AT, style(bold)).into_font();
    let measured = font.box_size(text).map_or(0.0, |(w, _)| f64::from(w));
    measured / MEASURED_AT * f64::from(size)
}

/// The text without what cannot be drawn or may not stand in an XML document.
pub(super) fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
            c if c.is_control() => ' ',
            c => c,
        })
        .collect()
}

/// The text, shortened with an ellipsis if it is wider than `most` pixels; empty if not even the
/// ellipsis fits.
pub(super) fn elide(text: &str, size: u32, bold: bool, most: f64) -> String {
    let text = clean(text);
    if width(&text, size, bold) <= most {
        return text;
    }
    let chars: Vec<char> = text.chars().collect();
    let shortened = |n: usize| {
        let kept: String = chars[..n].iter().collect();
        format!("{}…", kept.trim_end())
    };
    // Widths grow with the number of letters, so the longest that fits is found by halving.
    let (mut fits, mut too_long) = (0, chars.len());
    while too_long - fits > 1 {
        let middle = (fits + too_long) / 2;
        if width(&shortened(middle), size, bold) <= most {
            fits = middle;
        } else {
            too_long = middle;
        }
    }
    let text = shortened(fits);
    if width(&text, size, bold) <= most {
        text
    } else {
        String::new()
    }
}

/// The text in lines no wider than `most` pixels, broken between words, or within a word that is
/// wider than a line. Empty text has no lines.
pub(super) fn wrap(text: &str, size: u32, bold: bool, most: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        for word in clean(paragraph).split_whitespace() {
            let longer = if line.is_empty() {
                word.to_string()
            } else {
                format!("{line} {word}")
            };
            if width(&longer, size, bold) <= most {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for c in word.chars() {
                line.push(c);
                if width(&line, size, bold) > most && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::replace(&mut line, c.to_string()));
                }
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_have_a_width_that_grows_with_their_size() {
        let one = width("Neck pressure (kPa)", 20, false);
        assert!(one > 150.0 && one < 220.0, "{one}");
        assert!((width("Neck pressure (kPa)", 40, false) - 2.0 * one).abs() < 0.1);
        assert!(width("Neck pressure (kPa)", 20, true) > one);
    }

    #[test]
    fn lines_fit_and_no_word_is_lost() {
        let text = "Counting the firing order from the sync to the pulse names a cylinder";
        let lines = wrap(text, 20, false, 200.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|l| width(l, 20, false) <= 200.0));
        assert_eq!(lines.join(" "), text);
        assert_eq!(
            wrap(&"x".repeat(100), 20, false, 200.0).concat(),
            "x".repeat(100)
        );
        assert!(wrap(" \n ", 20, false, 200.0).is_empty());
    }

    #[test]
    fn what_is_shortened_says_so_and_fits() {
        assert_eq!(elide("short", 20, false, 200.0), "short");
        let text = elide("a name that goes on and on and on", 20, false, 200.0);
        assert!(text.ends_with('…') && text.len() > 12);
        assert!(width(&text, 20, false) <= 200.0);
        assert_eq!(elide("name", 20, false, 1.0), "");
    }

    #[test]
    fn control_characters_become_blanks() {
        assert_eq!(clean("a\u{0}b\tc\u{ffff}"), "a b c\u{fffd}");
    }
}
