//! `[[remedy]]`: named changes whose effect is to be compared. What they do to a design is in `patch`.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::reader::DesignReader;
use super::values::{as_written, in_file_order, type_name};
use super::{keys, known, tables};

/// One named change.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedy {
    /// What the builder calls it.
    pub name: String,
    /// What it costs, if that is known.
    pub price: Option<f64>,
    /// Keys and what is put in their place, in file order.
    pub changes: Vec<(String, Change)>,
}

/// What is done to one key of a design.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// This value is put in its place.
    Set(toml::Value),
    /// The key, or the whole table, is taken out.
    Remove,
    /// The quantity is multiplied by this (> 0), and its uncertainty with it.
    Scale(f64),
}

/// Remedies a file may hold.
const REMEDIES_MAX: usize = 100;

pub(super) fn remedies(r: &mut DesignReader<'_>) -> Vec<(Remedy, Range<usize>)> {
    let Some(value) = r.value("remedy") else { return Vec::new() };
    let list: Option<Vec<_>> = match value.get_ref() {
        DeValue::Array(list) => list.iter().map(|v| Some((v, v.get_ref().as_table()?))).collect(),
        _ => None,
    };
    let Some(list) = list else {
        let title = format!("`remedy` must be a list of tables, not {}", type_name(value.get_ref()));
        r.error(value.span(), title, "", "write [[remedy]] on a line of its own, and its keys below it");
        return Vec::new();
    };
    if list.len() > REMEDIES_MAX {
        r.error(value.span(), format!("more than {REMEDIES_MAX} remedies"), "", "");
        return Vec::new();
    }
    let mut remedies: Vec<(Remedy, Range<usize>)> = Vec::new();
    for (item, table) in list {
        if let Some(remedy) = remedy(r, item, table) {
            if remedies.iter().any(|(r, _)| r.name == remedy.name) {
                r.error(
                    item.span(),
                    format!("two remedies are named \"{}\"", remedy.name),
                    "",
                    "give each its own name",
                );
            }
            remedies.push((remedy, item.span()));
        }
    }
    remedies
}

fn remedy<'a>(
    r: &mut DesignReader<'a>,
    item: &'a Spanned<DeValue<'a>>,
    table: &'a DeTable<'a>,
) -> Option<Remedy> {
    let name = match table.get("name").map(Spanned::get_ref) {
        Some(DeValue::String(name)) if !name.trim().is_empty() => name.trim().to_owned(),
        _ => {
            r.error(item.span(), "a remedy needs a name", "", "add `name = \"battery 6 Ah\"`");
            return None;
        }
    };
    let price = table.get("price").and_then(|value| tables::price(r, &name, value));
    let mut changes = Vec::new();
    if let Some(list) = table.get("remove") {
        let names =
            list.get_ref().as_array().map(|l| l.iter().map(|v| v.get_ref().as_str()).collect::<Vec<_>>());
        for name in names.unwrap_or_else(|| vec![list.get_ref().as_str()]) {
            let known = |n: &&str| keys::key(n).is_some() || keys::TABLES.iter().any(|t| t.0 == *n);
            match name.filter(known) {
                Some(name) => changes.push((name.to_owned(), Change::Remove)),
                None => {
                    let help = "write, for example, remove = \"battery\" or remove = [\"site.skyline\"]";
                    r.error(
                        list.span(),
                        "`remove` must name a key or table that a design can do without",
                        "",
                        help,
                    );
                }
            }
        }
    }
    collect(r, table, "", &mut changes);
    if table.iter().all(|(key, _)| ["name", "price"].contains(&key.get_ref().as_ref())) {
        let help = "add a key, like battery.capacity = \"6 Ah\"";
        r.error(item.span(), format!("remedy \"{name}\" changes nothing"), "", help);
        return None;
    }
    Some(Remedy { name, price, changes })
}

/// Flattens dotted keys and sub-tables into paths.
fn collect<'a>(
    r: &mut DesignReader<'a>,
    table: &'a DeTable<'a>,
    prefix: &str,
    changes: &mut Vec<(String, Change)>,
) {
    for (name, span, value) in in_file_order(table) {
        if prefix.is_empty() && ["name", "price", "remove"].contains(&name) {
            continue;
        }
        let path = if prefix.is_empty() { name.to_owned() } else { format!("{prefix}.{name}") };
        if keys::key(&path).is_some() {
            match plain(value.get_ref()) {
                Some(value) => changes.push((path, Change::Set(value))),
                None => r.error(
                    value.span(),
                    format!("{} is not a valid value", as_written(value.get_ref())),
                    "",
                    "",
                ),
            }
        } else if let (DeValue::Table(inner), true) =
            (value.get_ref(), keys::TABLES.iter().any(|t| t.0 == path))
        {
            collect(r, inner, &path, changes);
        } else {
            let (title, help) = known::describe_unknown(prefix, name);
            let title = if r.is_shelf_part() { title } else { format!("{title}, set by a remedy") };
            r.error(span, title, "unknown", &help);
        }
    }
}

/// The keys a part of a shelf brings to the table `name` of a design, `own` ones left out; a battery may bring the
/// electronics that go with it.
pub(super) fn keys_of_part<'a>(
    r: &mut DesignReader<'a>,
    name: &str,
    table: &'a DeTable<'a>,
    own: &[&'static str],
) -> Vec<(String, Change)> {
    let mut changes = Vec::new();
    for (key, span, value) in in_file_order(table).into_iter().filter(|(key, ..)| !own.contains(key)) {
        let path = format!("{name}.{key}");
        if keys::key(&path).is_some() {
            match plain(value.get_ref()) {
                Some(value) => changes.push((path, Change::Set(value))),
                None => r.error(
                    value.span(),
                    format!("{} is not a valid value", as_written(value.get_ref())),
                    "",
                    "",
                ),
            }
        } else if let (DeValue::Table(inner), "battery", "electronics") = (value.get_ref(), name, key) {
            collect(r, inner, key, &mut changes);
        } else {
            let (title, help) = known::describe_unknown_beside(name, key, own);
            r.error(span, title, "unknown", &help);
        }
    }
    changes
}

/// A value of the file without its places.
fn plain(value: &DeValue<'_>) -> Option<toml::Value> {
    Some(match value {
        DeValue::String(text) => toml::Value::String(text.to_string()),
        DeValue::Integer(i) => toml::Value::Integer(i64::from_str_radix(i.as_str(), i.radix()).ok()?),
        DeValue::Float(f) => toml::Value::Float(f.as_str().parse().ok()?),
        DeValue::Boolean(flag) => toml::Value::Boolean(*flag),
        DeValue::Datetime(date) => toml::Value::Datetime(*date),
        DeValue::Array(list) => {
            toml::Value::Array(list.iter().map(|v| plain(v.get_ref())).collect::<Option<_>>()?)
        }
        DeValue::Table(table) => toml::Value::Table(
            table
                .iter()
                .map(|(k, v)| Some((k.get_ref().to_string(), plain(v.get_ref())?)))
                .collect::<Option<_>>()?,
        ),
    })
}
