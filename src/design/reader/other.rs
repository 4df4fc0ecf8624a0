//! Values without units: whole numbers, words, flags, texts, and forms of their own.

use toml::de::DeValue;

use super::lookup::DesignReader;
use crate::design::keys::words::WordList;
use crate::design::keys::{self, Fallback, Kind};
use crate::design::values::{LIKENESS_MIN, Value, as_written};

/// By how much a word must be more like another than like all others to be suggested.
const LEAD_MIN: f64 = 0.1;
/// Likeness from which a word is another one misspelt, whatever else is like it.
const MISSPELT_MIN: f64 = 0.95;

impl<'a> DesignReader<'a> {
    /// A whole number; `None` if not given.
    pub fn count(&mut self, path: &str) -> Option<i64> {
        let key = keys::key(path)?;
        let Kind::Count(lo, hi) = key.kind else { return None };
        let value = self.value(path)?;
        let number = match value.get_ref() {
            DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix()).ok(),
            _ => None,
        };
        match number {
            Some(number) if (lo..=hi).contains(&number) => {
                self.record(path, number.to_string(), true);
                Some(number)
            }
            _ => {
                let title = format!("`{path}` must be a whole number from {lo} to {hi}");
                self.error(value.span(), title, "", "");
                None
            }
        }
    }

    /// What the word of a key stands for, or that of its default, or `rule`.
    pub(crate) fn word<T: WordList>(&mut self, path: &str, rule: Option<T>) -> Option<T> {
        let key = keys::key(path)?;
        let Some(value) = self.value(path) else {
            let default = match key.default {
                Fallback::Required => {
                    self.missing(key);
                    return None;
                }
                Fallback::Text(word) => T::of(word)?,
                Fallback::Rule(_) | Fallback::Numbers(_) => rule?,
            };
            self.record(path, default.word(), false);
            return Some(default);
        };
        let DeValue::String(text) = value.get_ref() else {
            self.wrong_type(key, value);
            return None;
        };
        let same = |word: &str| word.eq_ignore_ascii_case(text.trim());
        let spellings = |k: usize| std::iter::once(T::WORDS[k].word).chain(T::WORDS[k].also.iter().copied());
        if let Some(k) = (0..T::WORDS.len()).find(|k| spellings(*k).any(same)) {
            self.record(path, T::WORDS[k].word, true);
            return Some(T::ALL[k]);
        }
        let likeness = |word: &str| strsim::jaro_winkler(&word.to_lowercase(), &text.to_lowercase());
        let of_word = |k: usize| spellings(k).map(&likeness).fold(0.0, f64::max);
        let mut meant: Vec<(f64, &str)> =
            (0..T::WORDS.len()).map(|k| (of_word(k), T::WORDS[k].word)).collect();
        meant.sort_by(|a, b| b.0.total_cmp(&a.0));
        // Of two that are meant about as likely none is named: which battery it is must not be guessed.
        let runner_up = meant.get(1).map_or(0.0, |second| second.0);
        let meant =
            meant.first().filter(|m| m.0 > MISSPELT_MIN || m.0 > LIKENESS_MIN.max(runner_up + LEAD_MIN));
        let known: Vec<&str> = T::WORDS.iter().map(|w| w.word).collect();
        let mut help = format!("possible values: {}", known.join(", "));
        if let Some((_, meant)) = meant {
            help = format!("did you mean \"{meant}\"? {help}");
        }
        self.error(value.span(), format!("`{path}` cannot be \"{text}\""), "unknown word", &help);
        None
    }

    /// true or false, or its default.
    pub(crate) fn flag(&mut self, path: &str) -> Option<bool> {
        let key = keys::key(path)?;
        let Some(value) = self.value(path) else {
            let Fallback::Text(default) = key.default else { return None };
            self.record(path, default, false);
            return default.parse().ok();
        };
        if let DeValue::Boolean(flag) = value.get_ref() {
            self.record(path, flag.to_string(), true);
            return Some(*flag);
        }
        self.wrong_type(key, value);
        None
    }

    /// A text; `None` if not given, or no text.
    pub(crate) fn string(&mut self, path: &str) -> Option<(Value<'a>, &'a str)> {
        let value = self.value(path)?;
        match value.get_ref() {
            DeValue::String(text) => {
                self.record(path, text.as_ref(), true);
                Some((value, text.as_ref()))
            }
            _ => {
                self.wrong_type(keys::key(path)?, value);
                None
            }
        }
    }

    /// The value of a key with a form of its own, noted as given; if it is left out, its default is noted.
    pub(crate) fn form(&mut self, path: &str) -> Option<Value<'a>> {
        let key = keys::key(path)?;
        let value = self.value(path);
        match (value, &key.default) {
            (Some(value), _) => self.record(path, as_written(value.get_ref()), true),
            (None, Fallback::Text(text) | Fallback::Rule(text)) => self.record(path, *text, false),
            (None, Fallback::Numbers(text)) => self.record(path, text(), false),
            (None, Fallback::Required) => self.missing(key),
        }
        value
    }

    /// The default of a key as it would be written, if it has one.
    pub(crate) fn default_text(&self, path: &str) -> Option<&'static str> {
        match keys::key(path)?.default {
            Fallback::Text(text) => Some(text),
            Fallback::Required | Fallback::Rule(_) | Fallback::Numbers(_) => None,
        }
    }

    /// Refuses a value that has nothing of the form its key is written in.
    pub(crate) fn wrong_form(&mut self, path: &str, value: Value<'a>) {
        if let Some(key) = keys::key(path) {
            self.wrong_type(key, value);
        }
    }
}
