//! Paragraphs in lines, for terminals and text files.

use textwrap::{Options, WordSplitter};

/// A paragraph in lines of at most `width` characters, the first behind `first` and the others behind
/// `rest`, each ending in a line feed. Runs of white space count as one; a word longer than a line
/// is broken.
pub fn wrap(paragraph: &str, width: usize, first: &str, rest: &str) -> String {
    let plain = paragraph.split_whitespace().collect::<Vec<_>>().join(" ");
    let options = Options::new(width)
        .initial_indent(first)
        .subsequent_indent(rest)
        .word_splitter(WordSplitter::NoHyphenation);
    textwrap::fill(&plain, options) + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_paragraph_fills_its_lines() {
        let text = wrap("one  two\nthree four-five", 11, "- ", "  ");
        assert_eq!(text, "- one two\n  three\n  four-five\n");
        assert_eq!(wrap("abcdef", 4, "", ""), "abcd\nef\n");
    }
}
