//! The printable sheet: one HTML file with all pictures inside, a page of A4 for each capture.

use super::Pack;
use super::order::{FORMS, instructions, paragraphs};
use crate::debrief::Units;
use crate::domain::Card;
use crate::html::Writer;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

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
    let (title, id) = (&pack.title, &pack.id);
    let mut html = Writer::default();
    html.raw("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n")
        .raw("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n")
        .element("title", &[], title)
        .raw(&format!("<style>{STYLE}</style>\n</head>\n<body>\n"))
        .element("h1", &[], title)
        .element("p", &[("class", "id")], &format!("Pack {id}"))
        .raw("<p><b>Name</b> ______________________________</p>\n");
    for words in instructions(pack) {
        html.raw("<p>");
        // What stands between back quotes is code.
        for (i, part) in words.split('`').enumerate() {
            if i % 2 == 0 {
                html.text(part);
            } else {
                html.open("code", &[]).text(part).raw("</code>");
            }
        }
        html.raw("</p>\n");
    }
    html.raw("<dl>\n");
    for (form, meaning) in FORMS {
        html.raw("<dt>")
            .element("code", &[], form)
            .raw("</dt>")
            .element("dd", &[], meaning);
    }
    html.raw("</dl>\n<h3>Before you do this on a car</h3>\n")
        .list(cautions);
    for (card, [whole, close]) in items {
        let name = &card.capture;
        html.raw("<section>\n<div class=\"head\">")
            .element("h2", &[], name)
            .element("span", &[("class", "id")], &format!("pack {id}"))
            .raw("</div>\n<dl>\n");
        for (heading, words) in paragraphs(card, units) {
            html.element("dt", &[], heading).element("dd", &[], &words);
        }
        html.raw("</dl>\n<div class=\"answer\"><span>Cylinders</span><span>Confidence</span><span>Note</span></div>\n");
        for (picture, what) in [(whole, "the whole capture"), (close, "a closer look")] {
            let source = format!("data:image/png;base64,{}", STANDARD.encode(picture));
            let about = format!("{name}, {what}");
            html.open("img", &[("alt", &about), ("src", &source)])
                .raw("\n");
        }
        html.raw("</section>\n");
    }
    html.raw("</body>\n</html>\n").take()
}
