//! Lines and columns of plain text: breaking, padding, cutting, and stand-ins in ASCII.

use std::borrow::Cow;
use textwrap::core::display_width;
use textwrap::{Options, WordSplitter};

/// A blank at which no line ends.
const FIRM: char = '\u{a0}';

/// Lines of at most so many columns. Runs of blanks become one; a word longer than a line is broken, not run over
/// the edge, and words are broken nowhere else. A per cent sign stays with its figure, and an amount with its currency.
pub fn wrap(text: &str, columns: usize) -> Vec<String> {
    let mut joined = String::with_capacity(text.len());
    for word in text.split(|c: char| c.is_whitespace() && c != FIRM).filter(|w| !w.is_empty()) {
        if !joined.is_empty() {
            joined.push(if word.starts_with('%') { FIRM } else { ' ' });
        }
        joined.push_str(word);
    }
    let options = Options::new(columns).word_splitter(WordSplitter::NoHyphenation);
    textwrap::wrap(&joined, options).into_iter().map(Cow::into_owned).map(|l| l.replace(FIRM, " ")).collect()
}

/// Columns that a text takes on a terminal.
pub(crate) fn width(text: &str) -> usize {
    display_width(text)
}

pub(super) fn pad(text: &str, columns: usize) -> String {
    format!("{text}{}", " ".repeat(columns.saturating_sub(width(text))))
}

pub(super) fn right(text: &str, columns: usize) -> String {
    format!("{}{text}", " ".repeat(columns.saturating_sub(width(text))))
}

/// At most so many columns; what is cut is marked.
pub(super) fn cut(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.to_owned();
    }
    let mut kept = String::new();
    for c in text.chars() {
        kept.push(c);
        if width(&kept) > columns.saturating_sub(2) {
            kept.pop();
            break;
        }
    }
    format!("{}{}", kept.trim_end(), if columns > 2 { ".." } else { "" })
}

/// Nearest ASCII of what this program writes; other characters become `?`.
pub(super) fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '±' => out.push_str("+/-"),
            '°' => out.push_str(" deg"),
            '·' => out.push('-'),
            '²' => out.push('2'),
            '×' => out.push('x'),
            '–' | '—' => out.push('-'),
            '“' | '”' => out.push('"'),
            '‘' | '’' => out.push('\''),
            '≥' => out.push_str(">="),
            '≤' => out.push_str("<="),
            c if c.is_ascii() => out.push(c),
            _ => out.push('?'),
        }
    }
    out
}
