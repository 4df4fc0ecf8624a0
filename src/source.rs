//! A place in a file: path, line, column, excerpt; shared by all input errors.
//!
//! A [`Problem`] keeps the lines it points at, not the whole text, so that one bad row of a large
//! weather file stays small. Nothing here prints: [`Problems`] turns itself into text.

use std::fmt;
use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

/// Problems shown before the rest is only counted.
const SHOWN: usize = 50;
/// Problems of one kind from which they are told as one.
const ALIKE_MIN: usize = 4;
/// Bytes of a line kept beyond the end of what is pointed at.
const KEPT_BEYOND: usize = 160;
/// Bytes of a title, label or help that are shown.
const SAID_MAX: usize = 600;
/// Lines an excerpt may have; a longer span is cut to its first line.
const LINES_MAX: usize = 3;

/// How bad a problem is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// The file is refused.
    Error,
    /// The file is read; the result says so.
    Warning,
}

/// The lines a problem points at.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Excerpt {
    /// The file, as the user named it.
    pub path: String,
    /// Line of the start of the span, 1-based.
    pub line: usize,
    /// Column of the start of the span in characters, 1-based.
    pub column: usize,
    /// The lines, without the last line end.
    pub text: String,
    /// Bytes of `text` that are pointed at.
    pub span: Range<usize>,
    /// Message shown right at the span; may be empty.
    pub label: String,
}

impl Excerpt {
    /// The excerpt of `text` (a whole file) around a byte range. A range that lies outside of the
    /// text or splits a character is moved to the nearest whole one.
    pub(crate) fn of(path: &str, text: &str, span: Range<usize>, label: impl Into<String>) -> Self {
        let start = floor_char(text, span.start);
        let end = floor_char(text, span.end).max(start);
        let line_start = text[..start].rfind('\n').map_or(0, |at| at + 1);
        let mut lines_end = text[end..].find('\n').map_or(text.len(), |at| end + at);
        let mut end = end;
        if text[line_start..end].matches('\n').count() >= LINES_MAX {
            lines_end = text[start..].find('\n').map_or(text.len(), |at| start + at);
            end = lines_end;
        }
        let lines_end = floor_char(text, lines_end.min(end + KEPT_BEYOND));
        let before = sanitised_excerpt(&text[line_start..start]);
        let meant = sanitised_excerpt(&text[start..end]);
        let after = sanitised_excerpt(text[end..lines_end].trim_end_matches('\r'));
        Excerpt {
            path: path.to_owned(),
            line: text[..line_start].matches('\n').count() + 1,
            column: text[line_start..start].chars().count() + 1,
            span: before.len()..before.len() + meant.len(),
            text: before + &meant + &after,
            label: label.into(),
        }
    }

    /// The excerpt of one line whose number is known, e.g. a row of a weather file. `span` counts
    /// bytes within the line.
    pub(crate) fn of_line(
        path: &str,
        line: usize,
        line_text: &str,
        span: Range<usize>,
        label: impl Into<String>,
    ) -> Self {
        let line_text = line_text.split('\n').next().unwrap_or_default();
        Excerpt { line, ..Excerpt::of(path, line_text, span, label) }
    }
}

/// One thing that is wrong with a file, and how to correct it.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Problem {
    /// Refused, or only warned about.
    pub severity: Severity,
    /// What was found and why it is wrong, in one line.
    pub title: String,
    /// Where: the first is the guilty place, the others belong to it.
    pub places: Vec<Excerpt>,
    /// How to correct it.
    pub helps: Vec<String>,
}

impl Problem {
    /// A problem for which the file is refused.
    pub(crate) fn error(title: impl Into<String>) -> Self {
        Problem { severity: Severity::Error, title: title.into(), places: Vec::new(), helps: Vec::new() }
    }

    /// A problem the file may live with.
    pub(crate) fn warning(title: impl Into<String>) -> Self {
        Problem { severity: Severity::Warning, ..Problem::error(title) }
    }

    /// Points at bytes `span` of the whole text of a file. A second call adds a second place.
    #[must_use]
    pub(crate) fn at(mut self, path: &str, text: &str, span: Range<usize>, label: impl Into<String>) -> Self {
        self.places.push(Excerpt::of(path, text, span, label));
        self
    }

    /// Points at bytes `span` of one line whose number (1-based) is known.
    #[must_use]
    pub(crate) fn at_line(
        mut self,
        path: &str,
        line: usize,
        line_text: &str,
        span: Range<usize>,
        label: impl Into<String>,
    ) -> Self {
        self.places.push(Excerpt::of_line(path, line, line_text, span, label));
        self
    }

    /// Names the file where there is no line to show (missing, unreadable, empty).
    #[must_use]
    pub(crate) fn in_file(self, path: &str) -> Self {
        self.at_line(path, 0, "", 0..0, "")
    }

    /// Adds how to correct it.
    #[must_use]
    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.helps.push(help.into());
        self
    }

    /// Path, line and column of the guilty place; line 0 stands for the whole file.
    pub fn place(&self) -> Option<(&str, usize, usize)> {
        self.places.first().map(|p| (p.path.as_str(), p.line, p.column))
    }

    /// Title and place in one line, for lists of warnings.
    pub(crate) fn one_line(&self) -> String {
        match self.place() {
            None => self.title.clone(),
            Some((path, 0, _)) => format!("{path}: {}", self.title),
            Some((path, line, _)) => format!("{path}:{line}: {}", self.title),
        }
    }

    fn render(&self, renderer: &Renderer) -> String {
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        let title = match self.place() {
            Some((path, 0, _)) => format!("{path}: {}", self.title),
            _ => self.title.clone(),
        };
        let mut group = Group::with_title(level.primary_title(sanitised(&title)));
        for (k, place) in self.places.iter().enumerate().filter(|(_, p)| p.line > 0) {
            let kind = if k == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
            // line_start is the number of the excerpt's first line, which holds the span's start.
            group = group.element(
                Snippet::source(place.text.as_str())
                    .path(sanitised(&place.path))
                    .line_start(place.line)
                    .fold(false)
                    .annotation(kind.span(place.span.clone()).label(sanitised(&place.label))),
            );
        }
        for help in &self.helps {
            group = group.element(Level::HELP.message(sanitised(help)));
        }
        renderer.render(&[group])
    }
}

/// Everything found in one reading; shown together.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Problems {
    /// In the order in which they are to be shown.
    pub list: Vec<Problem>,
}

impl Problems {
    /// None yet.
    pub(crate) fn new() -> Self {
        Problems::default()
    }

    /// Adds one.
    pub(crate) fn push(&mut self, problem: Problem) {
        self.list.push(problem);
    }

    /// Whether any of them refuses the file.
    pub fn any_error(&self) -> bool {
        self.list.iter().any(|p| p.severity == Severity::Error)
    }

    /// Whether there are none at all.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Puts them in the order of their places.
    pub(crate) fn sort(&mut self) {
        self.list.sort_by(|a, b| a.place().cmp(&b.place()));
    }

    /// Makes one of many that differ only in their line and their numbers: the first, with how many more there are.
    pub(crate) fn gather_alike(&mut self) {
        let number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+');
        let kind = |p: &Problem| (p.title.replace(number, ""), p.helps.clone());
        let kinds: Vec<_> = self.list.iter().map(kind).collect();
        let alike = |k: &(String, Vec<String>)| kinds.iter().filter(|other| *other == k).count();
        let mut kept: Vec<Problem> = Vec::new();
        let mut told: Vec<&(String, Vec<String>)> = Vec::new();
        for (problem, kind) in self.list.drain(..).zip(&kinds) {
            let n = alike(kind);
            if n < ALIKE_MIN {
                kept.push(problem);
            } else if !told.contains(&kind) {
                told.push(kind);
                let title = format!("{}; the same in at least {} more lines", problem.title, n - 1);
                kept.push(Problem { title, ..problem });
            }
        }
        self.list = kept;
    }

    /// As text with ANSI colours, for a terminal.
    pub fn render_styled(&self) -> String {
        self.render(&Renderer::styled())
    }

    fn render(&self, renderer: &Renderer) -> String {
        let mut out: Vec<String> = self.list.iter().take(SHOWN).map(|p| p.render(renderer)).collect();
        if self.list.len() > SHOWN {
            out.push(format!("... and {} more", self.list.len() - SHOWN));
        }
        out.join("\n\n")
    }
}

impl From<Problem> for Problems {
    fn from(problem: Problem) -> Self {
        Problems { list: vec![problem] }
    }
}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(&Renderer::plain()))
    }
}

impl std::error::Error for Problems {}

/// The nearest start of a character at or before `at`.
fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Whether a character could move a terminal's cursor, turn the text around it, or hide: control and
/// direction characters, and those without width. Shown by none of our outputs.
pub fn is_terminal_control(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// A stretch of a file to be shown. The renderer draws ASCII control characters by itself; of the others
/// it lets some through, and those from U+0080 on steer a terminal as escape sequences do.
fn sanitised_excerpt(text: &str) -> String {
    text.chars().map(|c| if is_terminal_control(c) && !c.is_ascii() { '\u{fffd}' } else { c }).collect()
}

/// Text from a file may hold such characters, which must not reach a terminal, and may be long.
fn sanitised(text: &str) -> String {
    if text.len() > SAID_MAX {
        let cut = &text[..floor_char(text, SAID_MAX)];
        return format!("{} ...", sanitised(cut));
    }
    text.chars().map(|c| if is_terminal_control(c) && c != '\n' { '\u{fffd}' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "[panel]\nrated_power = \"10 V\"\n";

    #[test]
    fn a_problem_shows_path_line_caret_and_help() {
        let problem = Problem::error("`V` is no unit of power")
            .at("a/b.toml", TEXT, 26..27, "a voltage")
            .help("write it like \"10 W\"");
        let shown = Problems::from(problem).to_string();
        for part in ["error: `V` is no", "a/b.toml:2:19", "2 | rated_power", "^ a voltage", "help: write it"]
        {
            assert!(shown.contains(part), "{part} in\n{shown}");
        }
    }

    #[test]
    fn one_line_of_a_large_file_keeps_its_number() {
        let problem =
            Problem::warning("GHI of 2000 W/m²").at_line("w.csv", 4711, "1,2,2000", 4..8, "too much");
        assert_eq!(problem.place(), Some(("w.csv", 4711, 5)));
        assert_eq!(problem.one_line(), "w.csv:4711: GHI of 2000 W/m²");
        let shown = Problems::from(problem).to_string();
        assert!(shown.contains("w.csv:4711:5") && shown.contains("4711 | 1,2,2000"), "{shown}");
    }

    #[test]
    fn a_file_without_a_line_is_named_in_the_title() {
        let shown = Problems::from(Problem::error("no such file").in_file("x.toml")).to_string();
        assert_eq!(shown, "error: x.toml: no such file");
    }

    #[test]
    fn odd_spans_and_texts_are_shown_without_panic() {
        let long = "x".repeat(100_000);
        let texts = ["", "\n", "é\u{1b}[31m", "a\nb\nc\nd\ne\n", "\r\n\r\n", long.as_str()];
        for text in texts {
            for span in [0..0, 1..2, 0..text.len(), text.len()..text.len() + 9, Range { start: 5, end: 3 }] {
                let problems = Problems::from(Problem::error("t\u{7}").at("p", text, span, "l"));
                let shown = problems.to_string() + &problems.render_styled();
                assert!(shown.contains("l") && !problems.to_string().contains('\u{1b}'), "{shown}");
            }
        }
    }

    /// U+009B begins an escape sequence as ESC [ does; U+202E turns the rest of the line.
    #[test]
    fn nothing_that_steers_a_terminal_is_shown_and_the_caret_stays() {
        let line = "a\u{9b}31m\u{202e}b\u{feff}c wrong\u{85} d";
        let at = line.find("wrong").unwrap();
        let problem =
            Problem::error("t\u{9b}\u{202e}").at_line("p\u{202e}", 3, line, at..at + 5, "l\u{200f}");
        let shown = Problems::from(problem).to_string();
        assert!(!shown.contains(|c: char| is_terminal_control(c) && c != '\n'), "{shown:?}");
        let lines: Vec<&str> = shown.lines().collect();
        let column = |text: &str, mark: &str| text.find(mark).map(|at| text[..at].chars().count());
        let (source, carets) = (lines[3], lines[4]);
        assert_eq!(column(source, "wrong"), column(carets, "^^^^^"), "{shown}");
    }

    #[test]
    fn many_of_one_kind_become_one() {
        let mut problems = Problems::new();
        for line in 1..=60 {
            let title = format!("humidity {}.5 is out of range", line % 7);
            problems.push(Problem::error(title).at_line("w", line, "x", 0..1, "").help("divide by 100"));
            if line <= 3 {
                problems.push(Problem::error("another").at_line("w", line, "x", 0..1, ""));
            }
        }
        problems.gather_alike();
        let titles: Vec<&str> = problems.list.iter().map(|p| p.title.as_str()).collect();
        let first = "humidity 1.5 is out of range; the same in at least 59 more lines";
        assert_eq!(titles, [first, "another", "another", "another"]);
    }

    #[test]
    fn many_are_counted_and_sorted() {
        let mut problems = Problems::new();
        for line in (1..=60).rev() {
            problems.push(Problem::error("bad").at_line("w", line, "x", 0..1, ""));
        }
        problems.sort();
        assert_eq!(problems.list[0].place(), Some(("w", 1, 1)));
        assert!(problems.to_string().ends_with("... and 10 more"));
        assert!(problems.any_error() && !problems.is_empty());
    }
}
