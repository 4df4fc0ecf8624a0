//! The shell of every page: one file, no network.

use super::parts::untrusted;
use crate::report::words;
use base64::Engine as _;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// Style sheet and script that one kind of page has beside those of all pages.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Extra {
    /// Rules of style, after those of all pages.
    pub style: &'static str,
    /// A script, after that of all pages; nothing if empty.
    pub script: &'static str,
}

/// A whole page. `title` may come from outside; `data` is embedded as JSON under the id `data`,
/// so that what the page shows can be read by machine.
pub(crate) fn page(title: &str, header: &Markup, body: &Markup, data: &[u8]) -> String {
    page_with(title, header, body, data, Extra::default())
}

/// The same with a style and a script of its own.
pub(super) fn page_with(title: &str, header: &Markup, body: &Markup, data: &[u8], extra: Extra) -> String {
    let data = String::from_utf8_lossy(data);
    let scripts: Vec<&str> = [SCRIPT, extra.script].into_iter().filter(|s| !s.is_empty()).collect();
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(policy(&scripts));
                link rel="icon" href="data:,";
                title { (words::escaped(title)) " · stilldays" }
                style { (PreEscaped(STYLE)) (PreEscaped(extra.style)) }
            }
            body {
                header {
                    h1 { (untrusted(title)) }
                    (header)
                }
                main { (body) }
                footer { p { "Made by stilldays " (crate::VERSION) ". This page is one file and needs no network." } }
                script type="application/json" id="data" { (PreEscaped(script_safe(&data))) }
                @for script in &scripts { script { (PreEscaped(script)) } }
            }
        }
    }
    .into_string()
}

/// Nothing may be fetched and no other script may run, whatever the input holds. Scripts are named by their hash (Content
/// Security Policy Level 3, section 6.7.3.3); charts need styles of their own.
fn policy(scripts: &[&str]) -> String {
    let base64 = base64::engine::general_purpose::STANDARD;
    let hashes: Vec<String> =
        scripts.iter().map(|s| format!("'sha256-{}'", base64.encode(Sha256::digest(s)))).collect();
    format!(
        "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src {}; base-uri 'none'; form-action 'none'",
        hashes.join(" ")
    )
}

/// JSON that cannot end the script element it stands in, nor open another.
fn script_safe(json: &str) -> String {
    json.replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A script with a closing tag or a carriage return would not be the one whose hash is named.
    #[test]
    fn scripts_stand_in_the_page_as_they_are() {
        let text = page("a page", &html! {}, &html! {}, b"{}");
        assert!(text.contains(&format!("<script>{SCRIPT}</script>")));
        assert!(!SCRIPT.contains("</") && !SCRIPT.contains('\r'));
        // The hash of "alert('Hello, world.');" is an example of the specification (Level 3, section 8.3).
        assert!(
            policy(&["alert('Hello, world.');"])
                .contains("'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='")
        );
    }
}
