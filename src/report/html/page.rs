//! The shell of every page: one file, no network.

use super::parts::untrusted;
use crate::report::words;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// A whole page. `title` may come from outside; `data` is embedded as JSON under the id `data`,
/// so that what the page shows can be read by machine.
pub(crate) fn page(title: &str, header: &Markup, body: &Markup, data: &[u8]) -> String {
    let data = String::from_utf8_lossy(data);
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                // Nothing may be fetched, whatever the input holds.
                meta http-equiv="Content-Security-Policy"
                    content="default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'";
                link rel="icon" href="data:,";
                title { (words::escaped(title)) " · stilldays" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (untrusted(title)) }
                    (header)
                }
                main { (body) }
                footer { p { "Made by stilldays " (crate::VERSION) ". This page is one file and needs no network." } }
                script type="application/json" id="data" { (PreEscaped(script_safe(&data))) }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    }
    .into_string()
}

/// JSON that cannot end the script element it stands in, nor open another.
fn script_safe(json: &str) -> String {
    json.replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026")
}
