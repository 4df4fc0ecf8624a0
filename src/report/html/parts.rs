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
    // A column that says nothing in any row takes room for nothing.
    let said: Vec<usize> = (0..t.head.len())
        .filter(|&i| i == 0 || t.rows.iter().any(|row| row.get(i).is_some_and(|cell| !cell.is_empty())))
        .collect();
    let head: Vec<&str> = said.iter().map(|&i| t.head[i].as_str()).collect();
    html! {
        // A group and no region: a page has many, and each region would be a landmark.
        div class="scroll" tabindex="0" role="group" aria-label="table" {
            table class=[t.named.then_some("named")] style=[t.named.then(|| column_names(&head))] {
                thead { tr {
                    @for h in &head {
                        @if h.is_empty() { td class=[class] {} } @else { th scope="col" class=[class] { (h) } }
                    }
                } }
                tbody {
                    @for row in &t.rows {
                        tr {
                            @for (i, cell) in said.iter().filter_map(|&i| Some((i, row.get(i)?))) {
                                @if i == 0 { th scope="row" class=[name(cell)] { (non_breaking(cell)) } }
                                @else { td class=[class.or_else(|| long(cell))] { (non_breaking(cell)) } }
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
const UNITS: [&str; 20] = [
    "%", "±", "Ah", "mAh", "Wh", "W", "V", "A", "mA", "mm", "m", "L", "min", "minutes", "h", "days", "years",
    "year", "kWh/m²", "°C",
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

/// Figures in bold, with `±` and unit, without the punctuation behind them. A figure is a number with a unit, an error or decimals;
/// counts, and what stands in brackets, are not picked out.
pub(super) fn numbers_bold(text: &str) -> Markup {
    let words: Vec<&str> = text.split(' ').collect();
    let end = |word: &str| without_punctuation(word).len();
    let mut depth = 0_usize;
    let mut runs: Vec<(bool, String)> = Vec::new();
    for (i, word) in words.iter().enumerate() {
        depth += word.matches('(').count();
        let goes_on = runs.last().is_some_and(|(bold, run)| *bold && end(run) == run.len());
        let after_error = goes_on && runs.last().is_some_and(|(_, run)| run.ends_with('±'));
        let figure = depth == 0 && (after_error || is_figure(word, words.get(i + 1).copied()));
        let bold = figure || goes_on && is_unit(word);
        match runs.last_mut() {
            Some((kind, run)) if *kind == bold && (goes_on || !bold) => {
                run.push(' ');
                run.push_str(word);
            }
            _ => runs.push((bold, (*word).to_owned())),
        }
        depth = depth.saturating_sub(word.matches(')').count());
    }
    html! {
        @for (i, (bold, run)) in runs.iter().enumerate() {
            @if i > 0 { " " }
            @if *bold { b { (non_breaking(&run[..end(run)])) } (run[end(run)..]) } @else { (non_breaking(run)) }
        }
    }
}

/// Whether a word is a figure worth seeing: a number with decimals, or one with a unit or an error behind it.
fn is_figure(word: &str, next: Option<&str>) -> bool {
    let bare = without_punctuation(word);
    let number = bare.starts_with(|c: char| c.is_ascii_digit())
        && bare.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '+'));
    number && (bare.contains('.') || bare.len() == word.len() && next.is_some_and(is_unit))
}

/// A sentence with these parts of it in bold, each where it first stands.
pub(super) fn phrases_bold(text: &str, phrases: &[String]) -> Markup {
    let found = phrases.iter().filter(|p| !p.is_empty()).filter_map(|p| Some((text.find(p.as_str())?, p)));
    let Some((at, phrase)) = found.min_by_key(|(at, _)| *at) else {
        return html! { (non_breaking(text)) };
    };
    let (before, rest) = (&text[..at], &text[at + phrase.len()..]);
    html! { (non_breaking(before)) b class="phrase" { (non_breaking(phrase)) } (phrases_bold(rest, phrases)) }
}

/// A list of sentences from outside.
pub(super) fn bullets(class: &str, items: &[String]) -> Markup {
    html! { ul class="list" { @for i in items { li class=(class) { (with_code(i)) } } } }
}

/// A sentence from outside in which keys and commands stand between backquotes, as a terminal shows them.
pub(super) fn with_code(text: &str) -> Markup {
    let parts: Vec<&str> = text.split('`').collect();
    // A backquote without its partner is one of the text.
    if parts.len().is_multiple_of(2) {
        return untrusted(text);
    }
    html! { @for (i, part) in parts.iter().enumerate() { @if i % 2 == 1 { code { (untrusted(part)) } } @else if !part.is_empty() { (untrusted(part)) } } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_picked_out_and_counts_are_not() {
        let bold = |text: &str| numbers_bold(text).into_string().replace('\u{a0}', " ");
        assert_eq!(
            bold("2 % (0.2 to 7.1 %) in year 1, all in 10 years."),
            "<b>2 %</b> (0.2 to 7.1 %) in year 1, all in <b>10 years</b>."
        );
        assert_eq!(
            bold("From 3 files, 1.17 ± 0.10 a month, 30 ± 2 of 4."),
            "From 3 files, <b>1.17 ± 0.10</b> a month, <b>30 ± 2</b> of 4."
        );
        assert_eq!(bold("for 60.00. At most 1,000 days"), "for <b>60.00</b>. At most <b>1,000 days</b>");
        assert_eq!(bold("no < figure"), "no &lt; figure");
    }

    #[test]
    fn phrases_are_bold_where_they_first_stand() {
        let said =
            phrases_bold("build <a>, for 12 EUR", &["12 EUR".to_owned(), "<a>".to_owned(), String::new()]);
        assert_eq!(
            said.into_string(),
            "build <b class=\"phrase\">&lt;a&gt;</b>, for <b class=\"phrase\">12 EUR</b>"
        );
    }

    #[test]
    fn keys_between_backquotes_are_code() {
        assert_eq!(
            with_code("see `a.b`.").into_string(),
            "<bdi>see </bdi><code><bdi>a.b</bdi></code><bdi>.</bdi>"
        );
        assert_eq!(with_code("a ` alone").into_string(), "<bdi>a ` alone</bdi>");
    }

    #[test]
    fn a_column_without_a_word_is_left_out() {
        let mut t = Table { named: true, ..Table::new(&["", "price", "wish", "trials"]) };
        t.row(["a", "1", "", "16"].map(str::to_owned));
        t.row(["b", "2 %", "", "16"].map(str::to_owned));
        let shown = table(&t).into_string();
        assert!(
            !shown.contains("wish") && shown.contains("--h3:'trials'") && shown.contains("2\u{a0}%"),
            "{shown}"
        );
    }
}
