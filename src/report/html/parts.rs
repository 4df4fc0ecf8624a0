//! The parts of every page: sections, figures, tables.

use crate::report::words;
use crate::units::dates::{MONTH_STARTS, MONTHS};
use maud::{Markup, html};

/// A table of text; the first column names the row.
#[derive(Clone, Debug, Default)]
pub(super) struct Table {
    /// Names of the columns, with units.
    pub head: Vec<String>,
    /// Rows of as many cells.
    pub rows: Vec<Vec<String>>,
    /// Whether all columns are words, set from the left.
    pub words: bool,
    /// Whether the first column holds long names: on a narrow page each gets a line of its own above its figures.
    pub named: bool,
}

impl Table {
    /// A table of numbers with these column names.
    pub(crate) fn new(head: &[&str]) -> Self {
        Table { head: head.iter().map(|h| (*h).to_owned()).collect(), ..Table::default() }
    }

    /// Appends a row.
    pub(crate) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }
}

/// Letters up to which a cell is a figure, which is never broken over two lines.
const FIGURE_LETTERS: usize = 16;

/// A table that scrolls within itself where the page is narrow.
pub(super) fn table(t: &Table) -> Markup {
    let class = t.words.then_some("t");
    let long = |cell: &str| (cell.chars().count() > FIGURE_LETTERS).then_some("w");
    let name = |cell: &str| if t.words || t.named { Some("w") } else { long(cell) };
    html! {
        // A group and no region: a page has many, and each region would be a landmark.
        div class="scroll" tabindex="0" role="group" aria-label="table" {
            table class=[t.named.then_some("named")] style=[t.named.then(|| column_names(&t.head))] {
                thead { tr {
                    @for h in &t.head {
                        @if h.is_empty() { td class=[class] {} } @else { th scope="col" class=[class] { (h) } }
                    }
                } }
                tbody {
                    @for row in &t.rows {
                        tr {
                            @for (i, cell) in row.iter().enumerate() {
                                @if i == 0 { th scope="row" class=[name(cell)] { (cell) } }
                                @else { td class=[class.or_else(|| long(cell))] { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Names of columns for the style sheet, which repeats them over the figures of a named row on a narrow page.
/// They are words of ours, without quotation marks.
pub(super) fn column_names(head: &[impl AsRef<str>]) -> String {
    (1..).zip(head).map(|(i, name)| format!("--h{i}:'{}';", name.as_ref())).collect()
}

/// A chart under the sentence it shows, a line for the value pointed at, and its numbers one
/// click away.
pub(super) fn figure(finding: &str, chart: &Markup, key: Option<&Markup>, numbers: &Table) -> Markup {
    figure_noted(finding, chart, key, numbers, None)
}

/// The same with a note below.
pub(super) fn figure_noted(
    finding: &str,
    chart: &Markup,
    key: Option<&Markup>,
    numbers: &Table,
    note: Option<&Markup>,
) -> Markup {
    html! {
        figure {
            figcaption { h3 { (non_breaking(finding)) } }
            // One block, so that charts side by side begin at one height however long their findings are.
            div {
                (chart)
                @if let Some(key) = key { (key) }
                div class="say" { output aria-live="polite" {} }
                details { summary { "Numbers" } (table(numbers)) }
                @if let Some(note) = note { p class="note" { (note) } }
            }
        }
    }
}

/// Words that belong to the figure before them.
const UNITS: [&str; 17] = [
    "%", "±", "Ah", "mAh", "Wh", "W", "V", "A", "mA", "mm", "m", "L", "min", "minutes", "h", "years", "year",
];

/// A word without the punctuation behind it.
pub(super) fn without_punctuation(word: &str) -> &str {
    word.trim_end_matches(['.', ',', ';', ':', ')'])
}

/// Whether a word belongs to the figure before it.
pub(super) fn is_unit(word: &str) -> bool {
    UNITS.contains(&without_punctuation(word))
}

/// A sentence whose lines never break between a figure and its unit, its error or its month.
pub(super) fn non_breaking(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut before = "";
    for (i, word) in text.split(' ').enumerate() {
        let figure = before.ends_with(|c: char| c.is_ascii_digit());
        let belongs =
            figure && (is_unit(word) || MONTHS.contains(&without_punctuation(word))) || before == "±";
        if i > 0 {
            out.push(if belongs { '\u{a0}' } else { ' ' });
        }
        out.push_str(word);
        before = word;
    }
    out
}

/// One entry of a key: a patch or line of a class, and its meaning.
pub(super) struct Key<'a> {
    /// Class of the style sheet.
    pub class: &'a str,
    /// Whether the mark is a line.
    pub line: bool,
    /// What it means.
    pub text: String,
}

/// Classes that a chart draws as dots.
const DOT_CLASSES: [&str; 3] = ["point", "ring", "speck"];

/// The key of a chart.
pub(super) fn key(entries: &[Key]) -> Markup {
    html! {
        ul class="key" {
            @for e in entries {
                li {
                    svg viewBox="0 0 24 12" aria-hidden="true" {
                        @if e.line { path class={ "line " (e.class) } d="M0 6H24" {} }
                        @else if DOT_CLASSES.contains(&e.class) { circle class=(e.class) cx="12" cy="6" r="5" {} }
                        @else { rect class=(e.class) width="24" height="12" {} }
                    }
                    (e.text)
                }
            }
        }
    }
}

/// A section of a page.
pub(super) struct Section {
    /// Anchor of the page.
    pub id: String,
    /// Heading.
    pub heading: String,
    /// What stands beside the heading.
    pub remark: Markup,
    /// The matter.
    pub body: Markup,
    /// Whether the matter has the whole width, below heading and remark, rather than beside them.
    pub full_width: bool,
    /// What stands in place of the matter until somebody opens it; none: it is open.
    pub folded: Option<String>,
}

impl Section {
    /// A section whose matter stands beside its heading.
    pub(crate) fn new(id: &str, heading: &str, remark: Markup, body: Markup) -> Section {
        Section {
            id: id.to_owned(),
            heading: heading.to_owned(),
            remark,
            body,
            full_width: false,
            folded: None,
        }
    }

    /// The same with its matter below the heading, over the whole width.
    pub(crate) fn full_width(self) -> Section {
        Section { full_width: true, ..self }
    }

    /// The same with remark and matter folded away behind these words.
    pub(crate) fn folded(self, words: &str) -> Section {
        Section { folded: Some(words.to_owned()), ..self }
    }
}

/// Numbered sections, one below another.
pub(super) fn sections(list: &[Section]) -> Markup {
    html! {
        @for (i, s) in list.iter().enumerate() {
            section id=(s.id) class=[class(s)] aria-labelledby={ (s.id) "-h" } {
                @match &s.folded {
                    None => {
                        div { h2 id={ (s.id) "-h" } { span { (i + 1) } (s.heading) } p { (s.remark) } }
                        div class="body" { (s.body) }
                    },
                    Some(words) => {
                        div { h2 id={ (s.id) "-h" } { span { (i + 1) } (s.heading) } }
                        div class="body" { details class="fold" { summary { (words) } div class="note" { (s.remark) } (s.body) } }
                    },
                }
            }
        }
    }
}

fn class(s: &Section) -> Option<&'static str> {
    match (s.full_width, &s.folded) {
        (_, Some(_)) => Some("folded"),
        (true, None) => Some("full"),
        (false, None) => None,
    }
}

/// Text from outside: escaped, its control and direction characters shown, kept from turning the
/// text around it.
pub(super) fn untrusted(text: &str) -> Markup {
    html! { bdi { (words::escaped(text)) } }
}

/// Places where months begin on an axis that counts rows of `step` days, of which these are the
/// first days; with short names.
pub(super) fn month_marks(first_days: &[u16], step: f64) -> Vec<(f64, &'static str)> {
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

/// Figures in bold, with `±` and unit, without the punctuation behind them.
pub(super) fn numbers_bold(text: &str) -> Markup {
    let end = |word: &str| without_punctuation(word).len();
    let mut runs: Vec<(bool, String)> = Vec::new();
    for word in text.split(' ') {
        let goes_on = runs.last().is_some_and(|(bold, run)| *bold && end(run) == run.len());
        let bold = word.starts_with(|c: char| c.is_ascii_digit()) || goes_on && is_unit(word);
        match runs.last_mut() {
            Some((kind, run)) if *kind == bold && (goes_on || !bold) => {
                run.push(' ');
                run.push_str(word);
            }
            _ => runs.push((bold, word.to_owned())),
        }
    }
    html! {
        @for (i, (bold, run)) in runs.iter().enumerate() {
            @if i > 0 { " " }
            @if *bold { b { (run[..end(run)]) } (run[end(run)..]) } @else { (run) }
        }
    }
}

/// A list of sentences from outside.
pub(super) fn bullets(class: &str, items: &[String]) -> Markup {
    html! { ul class="list" { @for i in items { li class=(class) { (untrusted(i)) } } } }
}
