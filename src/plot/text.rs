//! How words look, how much room they take, and how they are broken to fit.

use super::palette::Colour;
use plotters::style::{FontDesc, FontStyle, IntoFont, register_font};
use std::sync::Once;

/// The font by which all words are measured and painted; a viewer of an SVG that lacks it falls back
/// on its own sans-serif, which is usually narrower.
const FAMILY: &str = "DejaVu Sans, sans-serif";
/// Line height over em; source: the `hhea` table of DejaVu Sans 2.37 (1901 + 483 of 2048).
pub(super) const LINE_PER_EM: f64 = 2384.0 / 2048.0;
/// Words are measured at this size and scaled, because the measure is cut to whole pixels.
const MEASURED_AT: f64 = 1000.0;

/// How words look.
#[derive(Clone, Copy)]
pub(super) struct Style {
    /// Height of a line (ascent plus descent), from which the font's em follows; whole pixels, so that
    /// the painter's letters all stand on one base line.
    pub size: u32,
    pub bold: bool,
    pub colour: Colour,
}

impl Style {
    /// The same in another colour.
    pub fn coloured(self, colour: Colour) -> Style {
        Style { colour, ..self }
    }

    /// The font at a size of its own.
    pub fn font(self, size: f64) -> FontDesc<'static> {
        static REGISTERED: Once = Once::new();
        // Without its font, painting reports that it is missing.
        REGISTERED.call_once(|| {
            let _ = register_font(FAMILY, FontStyle::Normal, dejavu::sans::regular());
            let _ = register_font(FAMILY, FontStyle::Bold, dejavu::sans::bold());
        });
        let weight = if self.bold {
            FontStyle::Bold
        } else {
            FontStyle::Normal
        };
        (FAMILY, size, weight).into_font()
    }

    /// Width of one line of text, pixels.
    pub fn width(self, text: &str) -> f64 {
        let measured = self.font(MEASURED_AT).box_size(text);
        measured.map_or(0.0, |(width, _)| f64::from(width)) / MEASURED_AT * self.line()
    }

    /// Height of a line of text, pixels.
    pub fn line(self) -> f64 {
        f64::from(self.size)
    }

    /// From the top of a line of text to its base line. Source: the `hhea` table of DejaVu Sans 2.37.
    pub fn ascent(self) -> f64 {
        (self.line() * 1901.0 / 2384.0).round()
    }

    /// Base line of words whose capitals, 0.73 em high, stand in the middle of a row around `y`.
    pub fn base(self, y: f64) -> f64 {
        (y + 0.365 * self.line() / LINE_PER_EM).round()
    }

    /// The text, shortened with an ellipsis if it is wider than `most` pixels; empty if not even the
    /// ellipsis fits.
    pub fn elide(self, text: &str, most: f64) -> String {
        let text = clean(text);
        if self.width(&text) <= most {
            return text;
        }
        let ends: Vec<usize> = text.char_indices().map(|(end, _)| end).collect();
        let shortened = |end: usize| format!("{}…", text[..end].trim_end());
        // Widths grow with the number of letters.
        let fitting = ends.partition_point(|end| self.width(&shortened(*end)) <= most);
        ends[..fitting]
            .last()
            .map_or(String::new(), |end| shortened(*end))
    }

    /// The text in lines no wider than `most` pixels, broken between words, or within a word that is
    /// wider than a line. Empty text has no lines.
    pub fn wrap(self, text: &str, most: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for paragraph in text.lines() {
            let mut line = String::new();
            for word in clean(paragraph).split_whitespace() {
                let longer = format!("{line} {word}");
                if self.width(longer.trim_start()) <= most {
                    line = longer.trim_start().into();
                    continue;
                }
                lines.push(std::mem::take(&mut line));
                for letter in word.chars() {
                    let longer = format!("{line}{letter}");
                    if self.width(&longer) > most {
                        lines.push(std::mem::take(&mut line));
                    }
                    line.push(letter);
                }
            }
            lines.push(line);
        }
        lines.retain(|line| !line.is_empty());
        lines
    }
}

/// The text without what cannot be drawn or may not stand in an XML document.
fn clean(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\u{fffe}' | '\u{ffff}' => '\u{fffd}',
            c if c.is_control() => ' ',
            c => c,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn style(size: u32, bold: bool) -> Style {
        let colour = [0, 0, 0];
        Style { size, bold, colour }
    }

    #[test]
    fn words_have_a_width_that_grows_with_their_size() {
        let one = style(20, false).width("Neck pressure (kPa)");
        assert!(one > 150.0 && one < 220.0, "{one}");
        let twice = style(40, false).width("Neck pressure (kPa)");
        assert!((twice - 2.0 * one).abs() < 0.1);
        assert!(style(20, true).width("Neck pressure (kPa)") > one);
    }

    #[test]
    fn lines_fit_and_no_word_is_lost() {
        let text = "Counting the firing order from the sync to the pulse names a cylinder";
        let style = style(20, false);
        let lines = style.wrap(text, 200.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|l| style.width(l) <= 200.0));
        assert_eq!(lines.join(" "), text);
        assert_eq!(
            style.wrap(&"x".repeat(100), 200.0).concat(),
            "x".repeat(100)
        );
        assert_eq!(style.wrap("xyz", 1.0), ["x", "y", "z"]);
        assert_eq!(style.wrap("two\nlines", 900.0), ["two", "lines"]);
        assert!(style.wrap(" \n ", 200.0).is_empty());
    }

    #[test]
    fn what_is_shortened_says_so_and_fits() {
        let style = style(20, false);
        assert_eq!(style.elide("short", 200.0), "short");
        let text = style.elide("a name that goes on and on and on", 200.0);
        assert!(text.ends_with('…') && text.len() > 12);
        assert!(style.width(&text) <= 200.0);
        assert_eq!(style.elide("name", 1.0), "");
    }

    #[test]
    fn control_characters_become_blanks() {
        assert_eq!(clean("a\u{0}b\tc\u{ffff}"), "a b c\u{fffd}");
    }
}
