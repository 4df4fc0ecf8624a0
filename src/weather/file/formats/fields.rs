//! One line of comma-separated text, with the place of each field so that errors can point at it.

use std::borrow::Cow;
use std::ops::Range;

/// A line and its number in the file, 1-based.
#[derive(Clone, Copy, Debug)]
pub struct TextLine<'t> {
    /// Number in the file, 1-based.
    pub number: usize,
    /// Its text, without line end.
    pub text: &'t str,
}

/// The lines of a text that are not blank.
pub fn lines(text: &str) -> impl Iterator<Item = TextLine<'_>> {
    text.split('\n')
        .enumerate()
        .map(|(k, line)| TextLine { number: k + 1, text: line.strip_suffix('\r').unwrap_or(line) })
        .filter(|line| !line.text.trim().is_empty())
}

/// One field.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Field<'t> {
    /// Its text, without quotes and outer blanks.
    pub text: Cow<'t, str>,
    /// Its bytes in the line.
    pub span: Range<usize>,
}

/// Splits a line at commas outside of quotes (RFC 4180, but a quote never runs into the next line:
/// a stray one must not swallow the rest of a year). `None` if a quote is not closed.
pub(crate) fn split(line: &str) -> Option<Vec<Field<'_>>> {
    split_by(line, b',')
}

/// The same at another separator (ASCII).
pub(crate) fn split_by(line: &str, separator: u8) -> Option<Vec<Field<'_>>> {
    let mut fields = Vec::with_capacity(72);
    let mut start = 0;
    let mut quoted = false;
    let bytes = line.as_bytes();
    for at in 0..=bytes.len() {
        match bytes.get(at) {
            Some(b'"') => quoted = !quoted,
            Some(&b) if b != separator || quoted => {}
            Some(_) | None => {
                fields.push(field(line, start..at));
                start = at + 1;
            }
        }
    }
    (!quoted).then_some(fields)
}

/// What separates the columns of a line that has no commas, or fewer: `semicolons` or `tabs`.
pub(crate) fn other_separator(line: &str) -> Option<&'static str> {
    let count = |c: char| line.matches(c).count();
    let (commas, semicolons, tabs) = (count(','), count(';'), count('\t'));
    match () {
        () if semicolons > commas && semicolons >= tabs => Some("semicolons"),
        () if tabs > commas => Some("tabs"),
        () => None,
    }
}

/// The line without quotes around the whole of it.
pub(crate) fn unwrap_quotes(line: TextLine) -> TextLine {
    let trimmed = line.text.trim();
    let inner = trimmed.strip_prefix('"').and_then(|t| t.strip_suffix('"'));
    match inner {
        Some(inner) if inner.contains(',') && split(line.text).is_some_and(|f| f.len() == 1) => {
            TextLine { text: inner, ..line }
        }
        _ => line,
    }
}

fn field(line: &str, span: Range<usize>) -> Field<'_> {
    let raw = &line[span.clone()];
    // Nearly all fields are bare numbers.
    let bare = |b: Option<&u8>| b.is_some_and(|b| b.is_ascii_graphic() && *b != b'"');
    if bare(raw.as_bytes().first()) && bare(raw.as_bytes().last()) {
        return Field { text: Cow::Borrowed(raw), span };
    }
    let trimmed = raw.trim();
    let lead = raw.len() - raw.trim_start().len();
    let span = span.start + lead..span.start + lead + trimmed.len();
    let text = match trimmed.strip_prefix('"').and_then(|t| t.strip_suffix('"')) {
        Some(inner) if inner.contains("\"\"") => Cow::Owned(inner.replace("\"\"", "\"")),
        Some(inner) => Cow::Borrowed(inner.trim()),
        None => Cow::Borrowed(trimmed),
    };
    Field { text, span }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_hide_commas_and_places_are_kept() {
        let line = "1, \"A, \"\"B\"\"\" ,-3";
        let fields = split(line).expect("closed quotes");
        let texts: Vec<&str> = fields.iter().map(|f| f.text.as_ref()).collect();
        assert_eq!(texts, ["1", "A, \"B\"", "-3"]);
        assert_eq!(&line[fields[2].span.clone()], "-3");
        assert_eq!(split("1,\"2"), None);
        assert_eq!(split("").expect("one empty field").len(), 1);
    }
}
