//! The student's words: a work order for each capture, and how to answer.

use super::Pack;
use crate::debrief::{Units, test, vehicle};
use crate::domain::Card;
use crate::prose::wrap;

/// How a call is written, one form a line.
pub const FORMS: [(&str, &str); 5] = [
    ("3", "cylinder 3 leaks"),
    ("2+5", "cylinders 2 and 5 both leak"),
    ("2|5", "one of the two, and the capture cannot tell which"),
    ("none", "the capture shows no leak"),
    ("unsure", "the capture does not settle it"),
];

/// Heading and text of a work order's paragraphs.
pub fn paragraphs(card: &Card, units: Units) -> Vec<(&'static str, String)> {
    let channels: Vec<&str> = card.channels.iter().map(|c| c.name.as_str()).collect();
    vec![
        ("Vehicle", vehicle(&card.engine)),
        ("Complaint", card.brief.clone()),
        ("Done", test(card, units)),
        ("Recorded", format!("{}.", channels.join(", "))),
        (
            "Wanted",
            "Which cylinder leaks into the coolant, as far as this capture shows it?".into(),
        ),
    ]
}

/// The work order of one capture as plain text.
pub fn work_order(card: &Card, units: Units) -> String {
    let mut text = format!("Work order {}\n", card.capture);
    for (heading, words) in paragraphs(card, units) {
        text += &format!("\n{heading}\n{}", indented(&words));
    }
    text += "\nBefore you do this on a car\n";
    for caution in &card.cautions {
        text += &indented(caution);
    }
    text
}

/// How to answer, and the cautions of every capture of the pack; `has_page` if `page.html` lies beside.
pub fn how_to_answer(pack: &Pack, has_page: bool, cautions: &[String]) -> String {
    let mut text = format!("{}\nPack {}\n\n", pack.title, pack.id);
    for words in instructions(pack) {
        text += &indented(&words);
        text.push('\n');
    }
    for (form, meaning) in FORMS {
        text += &format!("  {form:8}{meaning}\n");
    }
    if has_page {
        text.push('\n');
        text += &indented(
            "page.html holds all captures and opens in a browser, without a network: zoom in, lay cursors, \
             count the firing order, and save your calls as a sheet in place of calls.csv.",
        );
    }
    text += "\nBefore you do this on a car\n";
    for caution in cautions {
        text += &indented(caution);
    }
    text
}

/// What a student does with a pack.
pub fn instructions(pack: &Pack) -> [String; 3] {
    [
        format!(
            "{} captures of invented vehicles, all synthetic. Beside each lies its card (firing order, set-up, channels), its work order, a picture of the whole and a closer look. Some leak, some may not, and some may not show it.",
            pack.captures
        ),
        "Call every capture in calls.csv, one row each: in `cylinders` what it shows and no more, in `confidence` how sure you are (0.8 or 80%), in `note` what you like. Leave the columns `capture` and `pack` as they are; the pack's id finds the key.".into(),
        "A wrong cylinder costs a teardown, and so does a pulse overlooked. Say `unsure` where the capture leaves you no better choice; it earns more than a wrong name where a leak shows, and all where none can be told. So write one of:".into(),
    ]
}

/// A paragraph, indented.
fn indented(paragraph: &str) -> String {
    wrap(paragraph, 98, "  ", "  ")
}
