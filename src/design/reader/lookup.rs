//! A design file while it is being read: finding values by key, noting problems and inputs.

use std::ops::Range;

use toml::de::DeTable;

use crate::design::keys::{Key, Kind};
use crate::design::values::{Value, in_file_order, type_name};
use crate::source::{Problem, Problems, Severity};
use crate::units::{Dimension, QuantityError};

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
pub(in crate::design) struct DesignReader<'a> {
    pub path: &'a str,
    pub text: &'a str,
    root: &'a DeTable<'a>,
    /// The table of a design that the whole reader stands for, and its place.
    part: Option<(&'static str, Value<'a>)>,
    pub problems: Problems,
    pub inputs: Vec<Input>,
}

impl<'a> DesignReader<'a> {
    /// A reader of a whole file; `path` is named in messages.
    pub(crate) fn new(path: &'a str, text: &'a str, root: &'a DeTable<'a>) -> Self {
        DesignReader { path, text, root, part: None, problems: Problems::new(), inputs: Vec::new() }
    }

    /// A part of a shelf: `item`, whose table is `keys`, stands for the table `name` of a design; other tables of
    /// a design lie within it.
    pub(crate) fn for_part(
        path: &'a str,
        text: &'a str,
        name: &'static str,
        item: Value<'a>,
        keys: &'a DeTable<'a>,
    ) -> Self {
        DesignReader { part: Some((name, item)), ..DesignReader::new(path, text, keys) }
    }

    /// Whether this is a part of a shelf, which need not say how it is set up at a place.
    pub(crate) fn is_shelf_part(&self) -> bool {
        self.part.is_some()
    }

    /// The value written for a key.
    pub(crate) fn value(&self, path: &str) -> Option<Value<'a>> {
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

    /// Whether the file gives a key or table.
    pub(crate) fn given(&self, path: &str) -> bool {
        self.value(path).is_some()
    }

    /// The whole table, its names in file order.
    pub(crate) fn table(&self, name: &str) -> Vec<(&'a str, Range<usize>, Value<'a>)> {
        let Some(table) = self.value(name).and_then(|v| v.get_ref().as_table()) else { return Vec::new() };
        in_file_order(table)
    }

    /// The whole file, or the table of a part.
    pub(crate) fn root(&self) -> &'a DeTable<'a> {
        self.root
    }

    /// Whether so many problems are noted that more would not help: a file of nothing but mistakes must not take
    /// long to refuse.
    pub(crate) fn has_too_many_problems(&self) -> bool {
        self.problems.list.len() >= PROBLEMS_MAX && self.problems.any_error()
    }

    /// Notes a problem for which the file is refused.
    pub(crate) fn error(&mut self, span: Range<usize>, title: impl Into<String>, label: &str, help: &str) {
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
    pub(crate) fn warn_in(&mut self, table: &str, title: &str, help: &str) {
        match self.value(table) {
            Some(value) => self.warn(value.span(), title, "", help),
            None => self.problems.push(Problem::warning(title).in_file(self.path).help(help)),
        }
    }

    /// Notes something odd.
    pub(crate) fn warn(&mut self, span: Range<usize>, title: impl Into<String>, label: &str, help: &str) {
        if self.problems.list.len() >= PROBLEMS_MAX {
            return;
        }
        let problem = Problem::warning(title).at(self.path, self.text, span, label);
        self.problems.push(if help.is_empty() { problem } else { problem.help(help) });
    }

    /// Keys that contradict one another; those that are written are shown.
    pub(crate) fn contradiction(&mut self, title: impl Into<String>, paths: &[(&str, &str)], help: &str) {
        self.at_odds(Severity::Error, title, paths, help);
    }

    /// Keys that do not go together; those that are written are shown.
    pub(crate) fn at_odds(
        &mut self,
        severity: Severity,
        title: impl Into<String>,
        paths: &[(&str, &str)],
        help: &str,
    ) {
        let mut problem = Problem { severity, ..Problem::error(title) }.help(help);
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

    pub(super) fn missing(&mut self, key: &Key) {
        let (table, name) = key.path.rsplit_once('.').unwrap_or(("", key.path));
        let title = format!("`{name}` is missing: {}", key.meaning);
        let to = match self.part {
            Some((part, _)) if part == table => format!("[[shelf.{table}]]"),
            _ => format!("[{table}]"),
        };
        let help = format!("add `{name} = {}` to {to}", example(key));
        match self.value(table) {
            Some(value) => self.error(value.span(), title, "missing in this table", &help),
            None => {
                self.problems.push(Problem::error(format!("[{table}] {title}")).in_file(self.path).help(help))
            }
        }
    }

    /// Refuses a value of the wrong TOML type, or a text that is not in the key's form.
    pub(super) fn wrong_type(&mut self, key: &Key, value: Value<'a>) {
        let found = match (&key.kind, value.get_ref().as_str()) {
            (Kind::Form(form), Some(text)) if form.starts_with('"') => format!("\"{text}\""),
            _ => type_name(value.get_ref()).to_owned(),
        };
        let title = format!("`{}` cannot be {found}", key.path);
        let help = match key.kind {
            Kind::Form(form) => format!("`{}` is written as {form}", name_of(key.path)),
            _ => format!("write, for example, `{} = {}`", name_of(key.path), example(key)),
        };
        self.error(value.span(), title, "", &help);
    }

    /// Bytes `inner` of the content of a string value, as bytes of the file.
    pub(crate) fn span_within(&self, value: Value<'a>, content: &str, inner: Range<usize>) -> Range<usize> {
        let outer = value.span();
        // Only a plain "..." has its content one byte in; anything with escapes is shown whole.
        match self.text.get(outer.start + 1..outer.end.saturating_sub(1)) {
            Some(raw) if raw == content => outer.start + 1 + inner.start..outer.start + 1 + inner.end,
            _ => outer,
        }
    }

    /// Notes what is wrong with the text of a quantity.
    pub(crate) fn quantity_problem(&mut self, value: Value<'a>, content: &str, error: QuantityError) {
        let span = self.span_within(value, content, error.span);
        self.error(span, error.title, &error.label, &error.help);
    }

    /// Notes a value that the design rests on.
    pub(crate) fn record(&mut self, key: &str, value: impl Into<String>, given: bool) {
        self.inputs.push(Input { key: key.to_owned(), value: value.into(), given });
    }
}

/// A value that would do for a key, as written in TOML.
fn example(key: &Key) -> String {
    match key.kind {
        Kind::Quantity(Dimension::Number, ..) | Kind::Exact(Dimension::Number, ..) => "1.1".into(),
        Kind::Quantity(dimension, ..) | Kind::Exact(dimension, ..) => format!("\"{}\"", dimension.example()),
        Kind::Named(words, ..) => format!("\"{}\"", words.first().map_or("", |w| w.0)),
        Kind::Count(lo, hi) => lo.midpoint(hi).to_string(),
        Kind::Words(words) => format!("\"{}\"", words.first().map_or("", |w| w.word)),
        Kind::Text => "\"...\"".into(),
        Kind::Flag => "true".into(),
        Kind::Form(form) => form.into(),
    }
}

fn name_of(path: &str) -> &str {
    path.rsplit_once('.').map_or(path, |(_, name)| name)
}
