//! The parts every page is set from: sections, figures, tables.

use crate::report::words;
use crate::units::dates::MONTH_STARTS;
use maud::{Markup, html};

/// A table of text; the first column names the row.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// Names of the columns, with units.
    pub head: Vec<String>,
    /// Rows of as many cells.
    pub rows: Vec<Vec<String>>,
    /// Whether all columns are words, set from the left.
    pub words: bool,
}

impl Table {
    /// A table of numbers with these column names.
    pub fn new(head: &[&str]) -> Self {
        Table { head: head.iter().map(|h| (*h).to_owned()).collect(), ..Table::default() }
    }

    /// Appends a row.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }
}

/// A table that scrolls within itself where the page is narrow.
pub fn table(t: &Table) -> Markup {
    let class = t.words.then_some("t");
    html! {
        div class="scroll" tabindex="0" role="region" aria-label="table" {
            table {
                thead { tr { @for h in &t.head { th scope="col" class=[class] { (h) } } } }
                tbody {
                    @for row in &t.rows {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @if i == 0 { th scope="row" { (cell) } } @else { td class=[class] { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A chart under the sentence it shows, a line for the value pointed at, and its numbers one
/// click away.
pub fn figure(finding: &str, chart: &Markup, key: Option<&Markup>, numbers: &Table) -> Markup {
    html! {
        figure {
            figcaption { h3 { (finding) } }
            (chart)
            @if let Some(key) = key { (key) }
            div class="say" { output aria-live="polite" {} }
            details { summary { "Numbers" } (table(numbers)) }
        }
    }
}

/// One entry of a key: a patch or line of a class, and its meaning.
pub struct Key<'a> {
    /// Class of the style sheet.
    pub class: &'a str,
    /// Whether the mark is a line.
    pub line: bool,
    /// What it means.
    pub text: String,
}

/// The key of a chart.
pub fn key(entries: &[Key]) -> Markup {
    html! {
        ul class="key" {
            @for e in entries {
                li {
                    svg viewBox="0 0 24 12" aria-hidden="true" {
                        @if e.line { path class={ "line " (e.class) } d="M0 6H24" {} }
                        @else { rect class=(e.class) width="24" height="12" {} }
                    }
                    (e.text)
                }
            }
        }
    }
}

/// A numbered section: heading and remark at the side, matter beside it; `full`: over it, so that
/// the matter has the whole width.
pub fn section(number: usize, id: &str, full: bool, heading: &str, remark: &Markup, body: &Markup) -> Markup {
    html! {
        section id=(id) class=[full.then_some("full")] aria-labelledby={ (id) "-h" } {
            div { h2 id={ (id) "-h" } { span { (number) } (heading) } p { (remark) } }
            div class="body" { (body) }
        }
    }
}

/// Text from outside: escaped, its control and direction characters shown, kept from turning the
/// text around it.
pub fn outside(text: &str) -> Markup {
    html! { bdi { (words::visible(text)) } }
}

/// Places where months begin on an axis that counts rows of `step` days, of which these are the
/// first days; with short names.
pub fn month_marks(first_days: &[u16], step: f64) -> Vec<(f64, &'static str)> {
    let mut marks = Vec::new();
    for (i, first) in first_days.iter().enumerate() {
        for (month, start) in (1_u8..).zip(&MONTH_STARTS[..12]) {
            let ahead = f64::from((365 + start - first % 365) % 365);
            if ahead < step {
                marks.push((i as f64 + ahead / step, words::month_short(month)));
            }
        }
    }
    marks
}
