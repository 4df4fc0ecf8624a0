//! A design file laid open: values by key, each checked on its own against its row of the key
//! table; every problem is noted and reading goes on.

use std::ops::Range;

use toml::de::{DeTable, DeValue};

use super::keys::{self, Fallback, Key, Kind};
use super::values::{LIKENESS_MIN, Value, as_written, in_file_order, number, type_name};
use crate::source::{Problem, Problems};
use crate::units::{Dimension, QuantityError, System, Uncertain, parse, show, show_uncertain};

/// One value a design rests on, for the record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Input {
    /// Its key, e.g. `battery.capacity`.
    pub key: String,
    /// As written, or what was put in its place.
    pub value: String,
    /// Whether the file gives it.
    pub given: bool,
}

/// Problems of one file that are noted.
const PROBLEMS_MAX: usize = 200;

/// A design file while it is being read, or one part of a shelf, which is read as if it were a table of a design.
pub(super) struct DesignReader<'a> {
    pub path: &'a str,
    pub text: &'a str,
    root: &'a DeTable<'a>,
    /// The design table that the whole reader stands for, and its place.
    part: Option<(&'static str, Value<'a>)>,
    pub problems: Problems,
    pub inputs: Vec<Input>,
}

impl<'a> DesignReader<'a> {
    pub fn new(path: &'a str, text: &'a str, root: &'a DeTable<'a>) -> Self {
        DesignReader { path, text, root, part: None, problems: Problems::new(), inputs: Vec::new() }
    }

    /// A part of a shelf: `item`, whose table is `keys`, stands for the table `name` of a design; other tables of
    /// a design lie within it.
    pub fn for_part(
        path: &'a str,
        text: &'a str,
        name: &'static str,
        item: Value<'a>,
        keys: &'a DeTable<'a>,
    ) -> Self {
        DesignReader { part: Some((name, item)), ..DesignReader::new(path, text, keys) }
    }

    /// Whether this is a part of a shelf, which need not say how it is set up at a place.
    pub fn is_shelf_part(&self) -> bool {
        self.part.is_some()
    }

    /// The value written for a key.
    pub fn value(&self, path: &str) -> Option<Value<'a>> {
        let path = match self.part {
            Some((name, item)) if path == name => return Some(item),
            Some((name, _)) => {
                path.strip_prefix(name).and_then(|rest| rest.strip_prefix('.')).unwrap_or(path)
            }
            None => path,
        };
        let (tables, name) = path.rsplit_once('.').unwrap_or(("", path));
        let mut table = self.root;
        for part in tables.split('.').filter(|p| !p.is_empty()) {
            table = table.get(part)?.get_ref().as_table()?;
        }
        table.get(name)
    }

    pub fn given(&self, path: &str) -> bool {
        self.value(path).is_some()
    }

    /// The whole table, its names in file order.
    pub fn table(&self, name: &str) -> Vec<(&'a str, Range<usize>, Value<'a>)> {
        let Some(table) = self.value(name).and_then(|v| v.get_ref().as_table()) else { return Vec::new() };
        in_file_order(table)
    }

    pub fn root(&self) -> &'a DeTable<'a> {
        self.root
    }

    // ---- problems

    /// Whether so much is wrong that more would not help: a file of nothing but slips must not take
    /// long to refuse.
    pub fn has_too_many_problems(&self) -> bool {
        self.problems.list.len() >= PROBLEMS_MAX && self.problems.any_error()
    }

    pub fn error(&mut self, span: Range<usize>, title: impl Into<String>, label: &str, help: &str) {
        if self.has_too_many_problems() {
            return;
        }
        let mut problem = Problem::error(title).at(self.path, self.text, span, label);
        if !help.is_empty() {
            problem = problem.help(help);
        }
        self.problems.push(problem);
    }

    /// Warns of something in a table, or in the file if the table is left out.
    pub fn warn_in(&mut self, table: &str, title: &str, help: &str) {
        match self.value(table) {
            Some(value) => self.warn(value.span(), title, "", help),
            None => self.problems.push(Problem::warning(title).in_file(self.path).help(help)),
        }
    }

    pub fn warn(&mut self, span: Range<usize>, title: impl Into<String>, label: &str, help: &str) {
        if self.problems.list.len() >= PROBLEMS_MAX {
            return;
        }
        let problem = Problem::warning(title).at(self.path, self.text, span, label);
        self.problems.push(if help.is_empty() { problem } else { problem.help(help) });
    }

    /// Two keys that contradict one another; those that are written are shown.
    pub fn contradiction(&mut self, title: impl Into<String>, paths: &[(&str, &str)], help: &str) {
        let mut problem = Problem::error(title).help(help);
        for (path, label) in paths {
            if let Some(value) = self.value(path) {
                problem = problem.at(self.path, self.text, value.span(), *label);
            }
        }
        if problem.places.is_empty() {
            problem = problem.in_file(self.path);
        }
        self.problems.push(problem);
    }

    fn missing(&mut self, key: &Key) {
        let (table, name) = key.path.rsplit_once('.').unwrap_or(("", key.path));
        let title = format!("`{name}` is missing: {}", key.meaning);
        let to = match self.part {
            Some((part, _)) if part == table => format!("[[shelf.{table}]]"),
            _ => format!("[{table}]"),
        };
        let help = format!("add `{name} = {}` to {to}", example(key));
        match self.value(table) {
            Some(value) => self.error(value.span(), title, "this table lacks it", &help),
            None => {
                self.problems.push(Problem::error(format!("[{table}] {title}")).in_file(self.path).help(help))
            }
        }
    }

    fn wrong_type(&mut self, key: &Key, value: Value<'a>) {
        let title = format!("`{}` cannot be {}", key.path, type_name(value.get_ref()));
        let help = format!("write it like `{} = {}`", name_of(key.path), example(key));
        self.error(value.span(), title, "", &help);
    }

    /// Bytes `inner` of the content of a string value, as bytes of the file.
    pub fn span_within(&self, value: Value<'a>, content: &str, inner: Range<usize>) -> Range<usize> {
        let outer = value.span();
        // Only a plain "..." has its content one byte in; anything with escapes is shown whole.
        match self.text.get(outer.start + 1..outer.end.saturating_sub(1)) {
            Some(raw) if raw == content => outer.start + 1 + inner.start..outer.start + 1 + inner.end,
            _ => outer,
        }
    }

    pub fn quantity_problem(&mut self, value: Value<'a>, content: &str, error: QuantityError) {
        let span = self.span_within(value, content, error.span);
        self.error(span, error.title, &error.label, &error.help);
    }

    // ---- values, one by one

    fn record(&mut self, key: &str, value: impl Into<String>, given: bool) {
        self.inputs.push(Input { key: key.to_owned(), value: value.into(), given });
    }

    /// A quantity, or its default.
    pub fn quantity(&mut self, path: &str) -> Option<Uncertain> {
        self.quantity_or(path, None)
    }

    /// A quantity, or what follows from other keys.
    pub fn quantity_or(&mut self, path: &str, rule: Option<Uncertain>) -> Option<Uncertain> {
        let key = keys::key(path)?;
        let (dimension, lo, hi) = key.quantity()?;
        if let Some(value) = self.value(path) {
            self.record(path, as_written(value.get_ref()), true);
            if let (Kind::Named(words, ..), Some(text)) = (&key.kind, value.get_ref().as_str()) {
                if let Some((_, named)) = words.iter().find(|(word, _)| *word == text.trim()) {
                    return Some(Uncertain::exact(*named));
                }
                if parse(text, dimension).is_err() {
                    self.wrong_type(key, value);
                    return None;
                }
            }
            let quantity = self.quantity_at(path, value, dimension)?;
            return self.in_range(path, value, quantity, dimension, lo, hi);
        }
        if let Some(rule) = rule {
            self.record(path, show_uncertain(&rule, dimension, 3, System::Si), false);
            return Some(rule);
        }
        match key.default {
            Fallback::Text(text) => {
                self.record(path, text, false);
                parse(text, dimension).ok()
            }
            Fallback::Required => {
                self.missing(key);
                None
            }
            Fallback::Rule(_) => None,
        }
    }

    /// A quantity at any place of the file; a plain number will do where no unit is wanted.
    pub fn quantity_at(&mut self, name: &str, value: Value<'a>, dimension: Dimension) -> Option<Uncertain> {
        if let DeValue::String(content) = value.get_ref() {
            return match parse(content, dimension) {
                Ok(quantity) => Some(quantity),
                Err(error) => {
                    self.quantity_problem(value, content, error);
                    None
                }
            };
        }
        let number = number(value.get_ref());
        if let (Some(number), Dimension::Number) = (number, dimension) {
            if number.is_finite() {
                return Some(Uncertain::exact(number));
            }
            self.error(value.span(), format!("`{name}` must be a finite number"), "not finite", "");
            return None;
        }
        let help = format!("{} is written like \"{}\"", dimension.name(), dimension.example());
        let title = if number.is_some() {
            format!("a unit is missing: `{name}` is {}", dimension.name())
        } else {
            format!("`{name}` cannot be {}", type_name(value.get_ref()))
        };
        self.error(value.span(), title, if number.is_some() { "in which unit?" } else { "" }, &help);
        None
    }

    /// Holds a quantity, with its whole spread, against an allowed range.
    pub fn in_range(
        &mut self,
        name: &str,
        value: Value<'a>,
        q: Uncertain,
        dimension: Dimension,
        lo: f64,
        hi: f64,
    ) -> Option<Uncertain> {
        let slack = 1e-12 * (lo.abs() + hi.abs()).min(1e6);
        if q.lowest() >= lo - slack && q.highest() <= hi + slack {
            return Some(q);
        }
        let shown = |v: f64| show(v, dimension, 4, System::Si);
        let title = format!("`{name}` must lie between {} and {}", shown(lo), shown(hi));
        let (reached, word) = if q.lowest() < lo { (q.lowest(), "down") } else { (q.highest(), "up") };
        let label = if (lo..=hi).contains(&q.nominal) {
            format!("its spread reaches {word} to {}", shown(reached))
        } else {
            format!("this is {}", shown(q.nominal))
        };
        self.error(value.span(), title, &label, "");
        None
    }

    /// A quantity without uncertainty, or its default.
    pub fn exact(&mut self, path: &str) -> Option<f64> {
        self.exact_or(path, None)
    }

    /// The same, or what follows from other keys; `None` also if there is nothing to follow.
    pub fn exact_or(&mut self, path: &str, rule: Option<f64>) -> Option<f64> {
        let quantity = self.quantity_or(path, rule.map(Uncertain::exact))?;
        if quantity.is_exact() {
            return Some(quantity.nominal);
        }
        if let Some(value) = self.value(path) {
            let title = format!("`{path}` must be one exact value");
            self.error(value.span(), title, "a spread has no use here", "");
        }
        None
    }

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

    /// One of the words of a key, or its default, or `rule`.
    pub fn word(&mut self, path: &str, rule: &'static str) -> Option<&'static str> {
        let key = keys::key(path)?;
        let Kind::Words(words) = key.kind else { return None };
        let Some(value) = self.value(path) else {
            let word = match key.default {
                Fallback::Required => {
                    self.missing(key);
                    return None;
                }
                Fallback::Text(word) => word,
                Fallback::Rule(_) => rule,
            };
            self.record(path, word, false);
            return Some(word);
        };
        let DeValue::String(text) = value.get_ref() else {
            self.wrong_type(key, value);
            return None;
        };
        let same = |word: &str| word.eq_ignore_ascii_case(text.trim());
        if let Some((word, _)) = words.iter().find(|(w, others)| same(w) || others.iter().any(|o| same(o))) {
            self.record(path, *word, true);
            return Some(word);
        }
        let known: Vec<&str> = words.iter().map(|(w, _)| *w).collect();
        let likeness = |word: &str| strsim::jaro_winkler(&word.to_lowercase(), &text.to_lowercase());
        let meant = words
            .iter()
            .flat_map(|(w, others)| std::iter::once(w).chain(others.iter()).map(move |o| (likeness(o), *w)))
            .filter(|(likeness, _)| *likeness > LIKENESS_MIN)
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let mut help = format!("one of: {}", known.join(", "));
        if let Some((_, meant)) = meant {
            help = format!("did you mean \"{meant}\"? {help}");
        }
        self.error(value.span(), format!("`{path}` has no choice \"{text}\""), "not known", &help);
        None
    }

    /// true or false; false if not given.
    pub fn flag(&mut self, path: &str) -> Option<bool> {
        let Some(value) = self.value(path) else {
            self.record(path, "false", false);
            return Some(false);
        };
        if let DeValue::Boolean(flag) = value.get_ref() {
            self.record(path, flag.to_string(), true);
            return Some(*flag);
        }
        self.wrong_type(keys::key(path)?, value);
        None
    }

    /// A text; `None` if not given, or no text.
    pub fn string(&mut self, path: &str) -> Option<(Value<'a>, &'a str)> {
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

    /// The value of a key with a form of its own, noted as given; or its default, noted as such.
    pub fn form(&mut self, path: &str) -> Option<Value<'a>> {
        match (self.value(path), keys::key(path).map(|k| (k, &k.default))) {
            (Some(value), _) => {
                self.record(path, as_written(value.get_ref()), true);
                return Some(value);
            }
            (None, Some((_, Fallback::Text(text) | Fallback::Rule(text)))) => self.record(path, *text, false),
            (None, Some((key, Fallback::Required))) => self.missing(key),
            (None, None) => {}
        }
        None
    }

    /// A value of a form of its own that is of the wrong type altogether.
    pub fn wrong_form(&mut self, path: &str, value: Value<'a>) {
        if let Some(key) = keys::key(path) {
            self.wrong_type(key, value);
        }
    }
}

/// A value that would do for a key, as written in TOML.
fn example(key: &Key) -> String {
    match key.kind {
        Kind::Quantity(Dimension::Number, ..) | Kind::Exact(Dimension::Number, ..) => "1.1".into(),
        Kind::Quantity(dimension, ..) | Kind::Exact(dimension, ..) => format!("\"{}\"", dimension.example()),
        Kind::Named(words, ..) => format!("\"{}\"", words.first().map_or("", |w| w.0)),
        Kind::Count(lo, hi) => lo.midpoint(hi).to_string(),
        Kind::Words(words) => format!("\"{}\"", words.first().map_or("", |w| w.0)),
        Kind::Text => "\"...\"".into(),
        Kind::Flag => "true".into(),
        Kind::Form(form) => form.into(),
    }
}

fn name_of(path: &str) -> &str {
    path.rsplit_once('.').map_or(path, |(_, name)| name)
}
