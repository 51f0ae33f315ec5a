//! HTML, style, modules and data joined into one document.
//!
//! Browsers import no module from a file beside a page that was opened from a disk, so the modules
//! are joined: in the order of [`MODULES`], without their `import` lines and without the word
//! `export`. That holds as long as every module keeps to the form that the tests below ask for; it then
//! runs alone under `node --test` and joined in the page, letter by letter the same.

use super::Page;
use super::data;
use super::samples;
use crate::html::escaped;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

const TEMPLATE: &str = include_str!("web/page.html");
const STYLE: &str = include_str!("web/style.css");

/// The modules, each after those it imports.
const MODULES: &[(&str, &str)] = &[
    ("arithmetic.js", include_str!("web/arithmetic.js")),
    ("firing.js", include_str!("web/firing.js")),
    ("pyramid.js", include_str!("web/pyramid.js")),
    ("crank.js", include_str!("web/crank.js")),
    ("sync.js", include_str!("web/sync.js")),
    ("samples.js", include_str!("web/samples.js")),
    ("aids.js", include_str!("web/aids.js")),
    ("trace.js", include_str!("web/trace.js")),
    ("view.js", include_str!("web/view.js")),
    ("cursors.js", include_str!("web/cursors.js")),
    ("sheet.js", include_str!("web/sheet.js")),
    ("layout.js", include_str!("web/layout.js")),
    ("element.js", include_str!("web/element.js")),
    ("marks.js", include_str!("web/marks.js")),
    ("drawing.js", include_str!("web/drawing.js")),
    ("chart.js", include_str!("web/chart.js")),
    ("handles.js", include_str!("web/handles.js")),
    ("strip.js", include_str!("web/strip.js")),
    ("hand.js", include_str!("web/hand.js")),
    ("keys.js", include_str!("web/keys.js")),
    ("readings.js", include_str!("web/readings.js")),
    ("controls.js", include_str!("web/controls.js")),
    ("calls.js", include_str!("web/calls.js")),
    ("story.js", include_str!("web/story.js")),
    ("main.js", include_str!("web/main.js")),
];

/// The whole document.
pub fn document(page: &Page) -> String {
    let script = script();
    let policy = format!(
        "default-src 'none'; script-src '{}'; style-src '{}'; base-uri 'none'; form-action 'none'",
        digest(&script),
        digest(STYLE)
    );
    let mut packed = String::new();
    for (i, shown) in page.captures.iter().enumerate() {
        let [from, to] = shown.frames;
        let own = shown.capture.samples.iter();
        let probes = shown.debrief.iter().flat_map(|d| &d.probes).map(|p| &p.1);
        let text = samples::pack(own.chain(probes).map(|c| &c[from..to]));
        packed += &format!("<script type=\"text/plain\" id=\"samples-{i}\">{text}</script>\n");
    }
    let parts = [
        ("{{policy}}", policy),
        ("{{title}}", escaped(&page.title)),
        ("{{style}}", STYLE.to_string()),
        ("{{script}}", script),
        ("{{data}}", in_script(&data::json(page))),
        ("{{samples}}", packed),
    ];
    fill(TEMPLATE, &parts)
}

/// The template with its places filled, in one pass, so that nothing filled in is taken for a place.
fn fill(template: &str, parts: &[(&str, String)]) -> String {
    let mut whole = String::new();
    let mut rest = template;
    while let Some(start) = rest.find("{{") {
        let (before, from) = rest.split_at(start);
        whole += before;
        match parts.iter().find(|(place, _)| from.starts_with(place)) {
            Some((place, text)) => {
                whole += text;
                rest = &from[place.len()..];
            }
            None => {
                whole += "{{";
                rest = &from[2..];
            }
        }
    }
    whole + rest
}

/// The modules as one script.
fn script() -> String {
    let mut script = String::from("\n");
    for (name, text) in MODULES {
        script += &format!("// {name}\n");
        for line in text.lines().filter(|line| !line.starts_with("import ")) {
            script += line.strip_prefix("export ").unwrap_or(line);
            script.push('\n');
        }
    }
    script
}

/// How a Content-Security-Policy names an inline script or style (CSP Level 3, section 2.3.1).
fn digest(text: &str) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(text)))
}

/// JSON that ends no script and starts no comment, whatever its strings hold.
fn in_script(json: &str) -> String {
    json.replace('<', "\\u003c")
        .replace('>', "\\u003e")
        .replace('&', "\\u0026")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::{BTreeMap, BTreeSet};

    /// Names between the braces of `import { a, b } from "./x.js";`, and the module.
    fn import(line: &str) -> Option<(Vec<&str>, &str)> {
        let (names, from) = line.strip_prefix("import { ")?.split_once(" } from \"./")?;
        Some((names.split(", ").collect(), from.strip_suffix("\";")?))
    }

    /// The name that a line at the top level of a module declares.
    fn declared(line: &str) -> Option<&str> {
        let line = line.strip_prefix("export ").unwrap_or(line);
        let kinds = [
            "const ",
            "let ",
            "class ",
            "function ",
            "async function ",
            "function* ",
        ];
        let rest = kinds.iter().find_map(|kind| line.strip_prefix(kind))?;
        rest.split(|c: char| !c.is_alphanumeric() && c != '_')
            .next()
    }

    #[test]
    fn every_module_keeps_the_form_that_can_be_joined() {
        let mut exported: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        let mut names: BTreeMap<&str, &str> = BTreeMap::new();
        for (module, text) in MODULES {
            let mut exports = BTreeSet::new();
            let mut used = Vec::new();
            for line in text.lines() {
                assert!(!line.contains("import("), "{module}: {line}");
                if line.starts_with("import") {
                    let (wanted, from) = import(line).unwrap_or_else(|| panic!("{module}: {line}"));
                    let known = exported
                        .get(from)
                        .unwrap_or_else(|| panic!("{module} imports {from}, which comes later"));
                    for name in &wanted {
                        assert!(known.contains(name), "{from} exports no {name}");
                    }
                    used.extend(wanted);
                } else if let Some(name) = declared(line) {
                    assert!(!name.is_empty(), "{module}: {line}");
                    let other = names.insert(name, module);
                    assert_eq!(other, None, "{name} stands in {module} too");
                    if line.starts_with("export ") {
                        exports.insert(name);
                    }
                } else {
                    // Only main.js runs anything by itself.
                    let inner = line.is_empty() || line.starts_with([' ', '}', '/', ']', '*', ')']);
                    assert!(inner || *module == "main.js", "{module}: {line}");
                    assert!(!line.trim_start().starts_with("export"), "{module}: {line}");
                }
            }
            for name in used {
                let times = text.matches(name).count();
                assert!(times > 1, "{module} imports {name} for nothing");
            }
            exported.insert(module, exports);
        }
        let taken = MODULES.iter().map(|m| m.0).collect::<BTreeSet<_>>();
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/page/web");
        for entry in std::fs::read_dir(folder).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            let joined = taken.contains(name.as_str());
            assert!(joined || !name.ends_with(".js"), "{name} is not joined");
        }
    }

    #[test]
    fn every_export_is_imported_somewhere() {
        for (module, text) in MODULES {
            let exports = text.lines().filter(|l| l.starts_with("export "));
            for name in exports.filter_map(declared) {
                let wanted = MODULES.iter().any(|(_, other)| {
                    let mut imports = other.lines().filter_map(import);
                    imports.any(|(names, from)| from == *module && names.contains(&name))
                });
                assert!(wanted, "{module} exports {name} to nobody");
            }
        }
    }

    #[test]
    fn the_template_has_every_place_once_and_nothing_ends_the_script() {
        for place in ["policy", "style", "script", "data", "samples"] {
            let place = format!("{{{{{place}}}}}");
            assert_eq!(TEMPLATE.matches(&place).count(), 1, "{place}");
        }
        for text in [script().as_str(), STYLE] {
            assert!(!text.contains("</") && !text.contains("<!--"));
        }
    }

    #[test]
    fn what_is_filled_in_is_no_place() {
        let parts = [("{{a}}", "{{b}}".to_string()), ("{{b}}", "x".to_string())];
        assert_eq!(fill("{{a}} {{b}} {{c}} {", &parts), "{{b}} x {{c}} {");
    }

    #[test]
    fn json_cannot_leave_its_script() {
        let text = in_script("\"</script><!--\u{2028}&\"");
        assert_eq!(text, "\"\\u003c/script\\u003e\\u003c!--\\u2028\\u0026\"");
        let back: String = serde_json::from_str(&text).unwrap();
        assert_eq!(back, "</script><!--\u{2028}&");
    }

    /// The digest of NIST's message "abc" (FIPS 180-4's examples, from memory), in base 64.
    #[test]
    fn a_policy_names_a_digest_in_base_64() {
        let expected = "sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=";
        assert_eq!(digest("abc"), expected);
    }
}
