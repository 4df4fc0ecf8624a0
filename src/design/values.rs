//! Values as they stand in a TOML file, and words that resemble others.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with its place in the file.
pub(super) type Value<'a> = &'a Spanned<DeValue<'a>>;

/// Names, their places and values of a table, in file order.
pub(super) fn in_file_order<'a>(table: &'a DeTable<'a>) -> Vec<(&'a str, Range<usize>, Value<'a>)> {
    let mut rows: Vec<_> = table.iter().map(|(k, v)| (k.get_ref().as_ref(), k.span(), v)).collect();
    rows.sort_by_key(|(_, span, _)| span.start);
    rows
}

/// A number of the file, if it is one.
pub(super) fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix()).ok().map(|i| i as f64),
        DeValue::Float(f) => f.as_str().parse().ok(),
        _ => None,
    }
}

/// Jaro-Winkler similarity from which a word may be meant.
pub(super) const LIKENESS_MIN: f64 = 0.8;

/// The word most like `found`, if one is like it at all.
pub(crate) fn nearest<'w>(found: &str, words: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let found = found.to_lowercase();
    words
        .map(|w| (strsim::jaro_winkler(&found, &w.to_lowercase()), w))
        .filter(|(likeness, _)| *likeness > LIKENESS_MIN)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, w)| w)
}

/// The kind of a TOML value, with its article.
pub(super) fn type_name(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// A value as it might have been written, for the record.
pub(super) fn as_written(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => text.to_string(),
        DeValue::Integer(i) => i.to_string(),
        DeValue::Float(f) => f.to_string(),
        DeValue::Boolean(b) => b.to_string(),
        DeValue::Datetime(d) => d.to_string(),
        DeValue::Array(list) => {
            let list: Vec<String> = list.iter().map(|v| as_written(v.get_ref())).collect();
            format!("[{}]", list.join(", "))
        }
        DeValue::Table(table) => {
            let rows: Vec<String> = in_file_order(table)
                .iter()
                .map(|(k, _, v)| format!("{k} = {}", as_written(v.get_ref())))
                .collect();
            format!("{{ {} }}", rows.join(", "))
        }
    }
}
