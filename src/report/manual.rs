//! The documents that the program carries: for those who installed it and have no repository.

use super::html;
use crate::design;
use maud::{PreEscaped, html};
use pulldown_cmark::{Event, HeadingLevel, Options, Parser, Tag, TagEnd};

/// The guide, as Markdown.
pub const GUIDE: &str = include_str!("../../scenarios/GUIDE.md");
/// The page on weather files, as Markdown.
pub const WEATHER: &str = include_str!("../../weather/README.md");

/// Guide, weather files and all keys, as one page.
pub fn page() -> Vec<u8> {
    let parts = [
        ("guide", "Guide", as_html(GUIDE)),
        ("weather", "Weather files", as_html(WEATHER)),
        ("keys", "Designs and their keys", as_html(&design::reference())),
    ];
    let contents = html! {
        nav aria-label="Contents" { p { @for (k, (id, name, _)) in parts.iter().enumerate() {
            @if k > 0 { " · " }
            a href=(format!("#{id}")) { (name) }
        } } }
    };
    let body = html! {
        @for (id, _, text) in &parts {
            section class="manual" id=(id) { (PreEscaped(text)) }
        }
    };
    html::page("Manual", &contents, &body, b"{}").into_bytes()
}

/// Headings are one level lower than in the document, since the page has its own. Links to other documents of the
/// repository lead nowhere here: their words stay.
fn as_html(markdown: &str) -> String {
    let mut kept = Vec::new();
    let events = Parser::new_ext(markdown, Options::ENABLE_TABLES).filter_map(|event| match event {
        Event::Start(Tag::Link { ref dest_url, .. }) => {
            let keep = dest_url.starts_with("https://");
            kept.push(keep);
            keep.then_some(event)
        }
        Event::End(TagEnd::Link) => kept.pop().unwrap_or(false).then_some(event),
        Event::Start(Tag::Heading { level, id, classes, attrs }) => {
            Some(Event::Start(Tag::Heading { level: lower(level), id, classes, attrs }))
        }
        Event::End(TagEnd::Heading(level)) => Some(Event::End(TagEnd::Heading(lower(level)))),
        other => Some(other),
    });
    let mut out = String::new();
    pulldown_cmark::html::push_html(&mut out, events);
    // Tables and commands scroll within themselves where the page is narrow.
    out.replace("<table>", "<div class=\"scroll\" tabindex=\"0\" role=\"group\" aria-label=\"table\"><table>")
        .replace("</table>", "</table></div>")
        .replace("<pre>", "<pre tabindex=\"0\" role=\"group\" aria-label=\"example\">")
}

fn lower(level: HeadingLevel) -> HeadingLevel {
    match level {
        HeadingLevel::H1 => HeadingLevel::H2,
        HeadingLevel::H2 => HeadingLevel::H3,
        HeadingLevel::H3 => HeadingLevel::H4,
        HeadingLevel::H4 => HeadingLevel::H5,
        HeadingLevel::H5 | HeadingLevel::H6 => HeadingLevel::H6,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_holds_every_key_and_no_dead_link() {
        let page = String::from_utf8(page()).unwrap();
        for part in
            ["id=\"guide\"", "id=\"weather\"", "id=\"keys\"", "<code>capacity</code>", "<h2>Guide</h2>"]
        {
            assert!(page.contains(part), "{part}");
        }
        for at in page.match_indices("href=\"").map(|(at, found)| &page[at + found.len()..]) {
            let target = at.split('"').next().unwrap();
            let inside = target.strip_prefix('#').is_some_and(|id| page.contains(&format!("id=\"{id}\"")));
            assert!(inside || target.starts_with("https://") || target == "data:,", "{target}");
        }
        assert_eq!(page.matches("<h1").count(), 1);
    }
}
