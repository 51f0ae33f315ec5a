//! The printable sheet: one HTML file with all pictures inside, a page of A4 for each capture.

use super::Pack;
use super::order::{FORMS, instructions, paragraphs};
use crate::debrief::Units;
use crate::domain::Card;
use std::fmt::Write;

const STYLE: &str = "
@page { size: A4; margin: 12mm }
* { box-sizing: border-box }
body { margin: 0 auto; max-width: 186mm; padding: 4mm; font: 10.5pt/1.4 system-ui, sans-serif; color: #111; background: #fff }
h1 { font-size: 18pt; margin: 0 0 2mm } h2 { font-size: 13pt; margin: 0 } h3 { font-size: 11pt; margin: 5mm 0 1mm }
section { border-top: 1px solid #888; padding-top: 4mm; margin-top: 8mm }
img { display: block; width: 100%; height: auto; margin-top: 2mm }
dl { display: grid; grid-template-columns: 22mm 1fr; gap: .6mm 3mm; margin: 2mm 0; font-size: 9.5pt; line-height: 1.3 }
dt { font-weight: 600 } dd { margin: 0 }
.head { display: flex; justify-content: space-between; align-items: baseline; flex-wrap: wrap; gap: 1mm 6mm }
.id { color: #444; font-size: 9pt }
.answer { display: flex; flex-wrap: wrap; gap: 2mm 6mm; margin: 2mm 0 0; font-size: 10pt }
.answer span { flex: 1 1 40mm; border-bottom: 1px solid #111; padding-bottom: 1mm }
code { font-size: 10pt }
@media print { body { padding: 0; max-width: none } section { break-before: page; border: 0; margin: 0; padding: 0 } img { max-height: 107mm; width: auto; max-width: 100%; margin: 2mm auto 0 } }
";

/// The sheet: how to answer, then each capture's card with its two pictures.
pub fn sheet(
    pack: &Pack,
    cautions: &[String],
    items: &[(Card, [Vec<u8>; 2])],
    units: Units,
) -> String {
    let (title, id) = (escaped(&pack.title), escaped(&pack.id));
    let mut html = format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n\
         <h1>{title}</h1>\n<p class=\"id\">Pack {id}</p>\n"
    );
    let mut add = |text: std::fmt::Arguments| html.write_fmt(text).unwrap_or_default();
    add(format_args!(
        "<p><b>Name</b> ______________________________</p>\n"
    ));
    for words in instructions(pack) {
        add(format_args!("<p>{}</p>\n", coded(&words)));
    }
    add(format_args!("<dl>\n"));
    for (form, meaning) in FORMS {
        add(format_args!(
            "<dt><code>{form}</code></dt><dd>{meaning}</dd>\n"
        ));
    }
    add(format_args!(
        "</dl>\n<h3>Before you do this on a car</h3>\n<ul>\n"
    ));
    for caution in cautions {
        add(format_args!("<li>{}</li>\n", escaped(caution)));
    }
    add(format_args!("</ul>\n"));
    for (card, [whole, close]) in items {
        let name = escaped(&card.capture);
        add(format_args!(
            "<section>\n<div class=\"head\"><h2>{name}</h2><span class=\"id\">pack {id}</span></div>\n<dl>\n"
        ));
        for (heading, words) in paragraphs(card, units) {
            add(format_args!(
                "<dt>{heading}</dt><dd>{}</dd>\n",
                escaped(&words)
            ));
        }
        add(format_args!(
            "</dl>\n<div class=\"answer\"><span>Cylinders</span><span>Confidence</span><span>Note</span></div>\n"
        ));
        for (picture, what) in [(whole, "the whole capture"), (close, "a closer look")] {
            add(format_args!(
                "<img alt=\"{name}, {what}\" src=\"data:image/png;base64,{}\">\n",
                base64(picture)
            ));
        }
        add(format_args!("</section>\n"));
    }
    html + "</body>\n</html>\n"
}

/// Text that HTML takes for text.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// The same, with what stands between back quotes set as code.
fn coded(text: &str) -> String {
    let parts = text.split('`').map(escaped).enumerate();
    parts
        .map(|(i, part)| match i % 2 {
            0 => part,
            _ => format!("<code>{part}</code>"),
        })
        .collect()
}

/// Base 64 (RFC 4648, section 4).
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let byte = |i: usize| u32::from(group.get(i).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * place) & 63) as usize];
            text.push(if place <= group.len() {
                char::from(letter)
            } else {
                '='
            });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648, section 10.
    #[test]
    fn base_64_has_its_test_vectors() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn text_stays_text() {
        assert_eq!(escaped("a<b & \"c\">"), "a&lt;b &amp; &quot;c&quot;&gt;");
        assert_eq!(
            coded("write `2|5` <now>"),
            "write <code>2|5</code> &lt;now&gt;"
        );
    }
}
