//! Keys that are unknown or have no effect: the former are refused, with the word that was likely meant; the latter are
//! warned about.

use toml::de::{DeTable, DeValue};

use super::keys::{self, Kind, Only, TABLES};
use super::reader::DesignReader;
use super::values::{in_file_order, nearest, type_name};

/// Tables whose rows are free: any name in `[prices]`, and `[[remedy]]`, which is read by itself.
const FREE: [&str; 2] = ["prices", "remedy"];

/// Notes every key of the file that is not known.
pub(super) fn refuse_unknown(r: &mut DesignReader<'_>) {
    let root = r.root();
    walk(r, root, "");
}

fn walk<'a>(r: &mut DesignReader<'a>, table: &'a DeTable<'a>, prefix: &str) {
    for (name, span, value) in in_file_order(table) {
        if r.has_too_many_problems() {
            return;
        }
        let path = if prefix.is_empty() { name.to_owned() } else { format!("{prefix}.{name}") };
        if keys::key(&path).is_some() || (prefix.is_empty() && FREE.contains(&name)) {
            continue;
        }
        let is_table = prefix.is_empty() && TABLES.iter().any(|t| t.0 == name && !name.is_empty());
        match value.get_ref() {
            DeValue::Table(inner) if is_table => walk(r, inner, &path),
            _ if is_table => {
                let title = format!("`{name}` must be a table, not {}", type_name(value.get_ref()));
                r.error(
                    value.span(),
                    title,
                    "",
                    &format!("write [{name}] on a line of its own, and its keys below it"),
                );
            }
            _ => {
                let (title, help) = describe_unknown(prefix, name);
                r.error(span, title, "unknown", &help);
            }
        }
    }
}

/// Title and help for an unknown key in a table.
pub(super) fn describe_unknown(prefix: &str, name: &str) -> (String, String) {
    describe_unknown_beside(prefix, name, &[])
}

/// The same where the table may hold some keys of its own, as on a shelf.
pub(super) fn describe_unknown_beside(prefix: &str, name: &str, own: &[&'static str]) -> (String, String) {
    let place = match (prefix, own) {
        ("", _) => "at the top of a design".to_owned(),
        (_, []) => format!("in [{prefix}]"),
        _ => format!("in [[shelf.{prefix}]]"),
    };
    let title = format!("unknown key `{name}` {place}");
    let local = |path: &'static str| path.rsplit_once('.').map_or(("", path), |(table, name)| (table, name));
    let mut known: Vec<&str> =
        keys::all().map(|k| local(k.path)).filter(|(table, _)| *table == prefix).map(|(_, n)| n).collect();
    known.extend(own);
    if prefix.is_empty() {
        known.extend(TABLES.iter().map(|t| t.0).chain(FREE).filter(|t| !t.is_empty()));
    }
    if let Some(meant) = nearest(name, known.iter().copied()) {
        return (title, format!("did you mean `{meant}`?"));
    }
    if let Some((table, _)) = keys::all().map(|k| local(k.path)).find(|(_, n)| *n == name) {
        let where_to =
            if table.is_empty() { "at the top of the file".into() } else { format!("in [{table}]") };
        return (title, format!("`{name}` belongs {where_to}"));
    }
    let help = match known.len() {
        0 => "scenarios/README.md lists every table and key".into(),
        _ => format!("known keys here: {}", known.join(", ")),
    };
    (title, help)
}

/// Whether a known key has an effect in this file, and if not, why.
fn no_effect_because(
    r: &DesignReader<'_>,
    path: &str,
    words: &dyn Fn(&str) -> Option<String>,
) -> Option<String> {
    match keys::key(path)?.only {
        Only::Always => None,
        Only::WithBattery => (!r.given("battery")).then(|| "without a battery".into()),
        Only::Beside(others) => match others.iter().find(|other| r.given(other)) {
            // One of keys that stand for one another.
            Some(other) if *other == path => None,
            Some(other) => no_effect_because(r, other, words),
            None => Some(format!("without `{}`", others.join("` or `"))),
        },
        Only::Words(other, wanted) => {
            if let Some(reason) = no_effect_because(r, other, words) {
                return Some(reason);
            }
            let word = words(other)?;
            (!wanted.contains(&word.as_str())).then(|| format!("with {other} = \"{word}\""))
        }
    }
}

/// Warns of known keys that are written but have no effect, and drops the defaults of such keys
/// from the record. Gives the keys without effect.
pub(super) fn warn_unused(r: &mut DesignReader<'_>) -> Vec<&'static str> {
    let words: Vec<(String, String)> = r
        .inputs
        .iter()
        .filter(|i| keys::key(&i.key).is_some_and(|k| matches!(k.kind, Kind::Words(_))))
        .map(|i| (i.key.clone(), i.value.clone()))
        .collect();
    let word = |key: &str| words.iter().find(|(k, _)| k == key).map(|(_, w)| w.clone());
    let mut idle = Vec::new();
    for key in keys::all() {
        let Some(reason) = no_effect_because(r, key.path, &word) else { continue };
        idle.push(key.path);
        r.inputs.retain(|i| i.given || i.key != key.path);
        if let Some(value) = r.value(key.path) {
            r.warn(value.span(), format!("`{}` has no effect {reason}", key.path), "ignored", "");
        }
    }
    idle
}
