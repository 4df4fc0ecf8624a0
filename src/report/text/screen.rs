//! Text for a terminal as it is gathered, line by line.

use super::wrap::{ascii, cut, width, wrap};
use crate::report::style::Style;
use crate::report::words;
use crate::tally::Summary;
use anstyle::{AnsiColor, Color};

const BOLD: anstyle::Style = anstyle::Style::new().bold();
const DIM: anstyle::Style = anstyle::Style::new().dimmed();
pub(super) const WATER: anstyle::Style = anstyle::Style::new().fg_color(Some(Color::Ansi(AnsiColor::Cyan)));
const ALERT: anstyle::Style = anstyle::Style::new().fg_color(Some(Color::Ansi(AnsiColor::Yellow)));

/// Lines as they are gathered.
pub(super) struct Screen {
    pub(super) style: Style,
    pub(super) out: String,
}

impl Screen {
    /// Nothing yet.
    pub(super) fn new(style: Style) -> Screen {
        Screen { style, out: String::new() }
    }

    /// A line as it stands, without blanks at its end.
    pub(super) fn line(&mut self, text: &str) {
        self.out.push_str(text.trim_end());
        self.out.push('\n');
    }

    /// The design's title, the trials and the seed, and a word on invented weather.
    pub(super) fn heading(&mut self, s: &Summary) {
        self.heading_with(&s.design.title, s);
    }

    /// The same under a title that is not the design's own.
    pub(super) fn heading_with(&mut self, title: &str, s: &Summary) {
        let trials = format!("{}, seed {}", words::trials(s.run.trials), s.run.seed);
        let room = self.style.columns().saturating_sub(trials.len() + 2);
        let title = cut(&self.encoded(&words::escaped(title)), room.max(16));
        self.two_ends(&title, &trials);
        if s.weather.invented {
            self.wrapped(
                "",
                "The weather is invented. The figures show how the program works; they describe no real place.",
            );
        }
        self.blank();
    }

    /// A bold text at the left and a dim one at the right edge.
    pub(super) fn two_ends(&mut self, left: &str, right: &str) {
        let gap = " ".repeat(self.style.columns().saturating_sub(width(left) + width(right)).max(2));
        let line = format!("{}{gap}{}", self.style.paint(BOLD, left), self.style.paint(DIM, right));
        self.line(&line);
    }

    /// An empty line.
    pub(super) fn blank(&mut self) {
        self.out.push('\n');
    }

    /// Wrapped text in bold.
    pub(super) fn bold(&mut self, text: &str) {
        for line in wrap(&self.encoded(text), self.style.columns()) {
            let line = self.style.paint(BOLD, &line);
            self.line(&line);
        }
    }

    /// One dim line, cut at the edge.
    pub(super) fn dim(&mut self, text: &str) {
        let text = self.encoded(text);
        let text = self.style.paint(DIM, &cut(text.trim_end(), self.style.columns()));
        self.line(&text);
    }

    /// A paragraph whose name is painted as an alert; `text` may come from outside.
    pub(super) fn flagged(&mut self, name: &str, text: &str) {
        let before = self.out.len();
        self.wrapped(name, &words::escaped(text));
        if self.style.colour {
            let painted = self.style.paint(ALERT, name);
            self.out.replace_range(before..before + name.len(), &painted);
        }
    }

    /// Cautions in short, in five lines at most: the first sentence of each, most pressing first. The page has them in full.
    pub(super) fn cautions(&mut self, list: &[String]) {
        const LINES: usize = 5;
        const REST: &str = "All of them, in full: on the page, or by stilldays check. Local codes and licensed practice come first.";
        let columns = self.style.columns() - 11;
        let fits = |text: &str| wrap(&self.encoded(text), columns).len() <= LINES;
        let mut told = String::new();
        for caution in list {
            let sentence = caution.split_once(". ").map_or(caution.as_str(), |(first, _)| first);
            let longer = format!("{told}{}. ", words::escaped(sentence.trim_end_matches('.')));
            if !fits(&format!("{longer}{REST}")) {
                break;
            }
            told = longer;
        }
        if !list.is_empty() {
            self.flagged("Caution", &format!("{told}{REST}"));
        }
    }

    /// A paragraph behind a hanging name of eleven columns.
    pub(super) fn wrapped(&mut self, name: &str, text: &str) {
        let indent = if name.is_empty() { 0 } else { 11 };
        let lines = wrap(&self.encoded(text), self.style.columns() - indent);
        for (i, line) in lines.iter().enumerate() {
            let lead = if i == 0 { name } else { "" };
            self.line(&format!("{lead:indent$}{line}"));
        }
    }

    /// The text in the characters this terminal may be given.
    pub(super) fn encoded(&self, text: &str) -> String {
        if self.style.unicode { text.to_owned() } else { ascii(text) }
    }
}
