//! From a shelf's text to its checked parts: each is read as if it were the table of a design.

use super::part::{BUILDS_MAX, Checked, Kind, Part, Shelf};
use crate::design::reader::DesignReader;
use crate::design::values::{Value, in_file_order, nearest, type_name};
use crate::design::{file, known, remedy, tables};
use crate::source::{Problem, Problems};
use sha2::{Digest, Sha256};
use std::path::Path;
use toml::de::{DeTable, DeValue};

/// Parts a shelf may hold of one kind.
const PARTS_MAX: usize = 500;

/// Keys of a part that no table of a design has.
const OWN: [&str; 3] = ["name", "price", "left_out"];

/// Reads and checks a shelf.
///
/// # Errors
/// All that is wrong with it, at once, as for a design.
pub fn read_shelf(path: &Path) -> Result<Shelf, Problems> {
    parse_shelf(path, &file::text_of(path, "shelf")?)
}

/// Checks a shelf from its text; `path` is named in messages.
///
/// # Errors
/// As [`read_shelf`].
pub fn parse_shelf(path: &Path, text: &str) -> Result<Shelf, Problems> {
    let name = path.display().to_string();
    let root = DeTable::parse(text).map_err(|e| file::not_toml(&name, text, &e))?;
    let root = root.get_ref();
    let mut r = DesignReader::new(&name, text, root);
    let stem = path.file_stem().map_or_else(|| "shelf".into(), |s| s.to_string_lossy().into_owned());
    let title = r.string("title").map_or(stem, |(_, text)| text.trim().to_owned());
    let invented = match r.value("invented").map(|v| (v, v.get_ref())) {
        None => false,
        Some((_, DeValue::Boolean(flag))) => *flag,
        Some((value, found)) => {
            r.error(
                value.span(),
                format!("`invented` cannot be {}", type_name(found)),
                "",
                "write true or false",
            );
            false
        }
    };
    for (key, span, _) in in_file_order(root) {
        if !["title", "invented", "shelf"].contains(&key) {
            let help = match key {
                "site" | "wish" | "panel" | "battery" | "pump" | "mount" | "prices" => {
                    "this looks like a design; a shelf lists parts under [[shelf.panel]], [[shelf.battery]], [[shelf.pump]] and [[shelf.mount]]"
                }
                _ => {
                    "a shelf has `title`, `invented`, and parts under [[shelf.panel]], [[shelf.battery]], [[shelf.pump]] and [[shelf.mount]]"
                }
            };
            r.error(span, format!("unknown key `{key}` at the top of a shelf"), "unknown", help);
        }
    }
    let parts = parts(&mut r);
    let mut problems = r.problems;
    problems.sort();
    if problems.any_error() {
        return Err(problems);
    }
    let sha256 = Sha256::digest(text.as_bytes()).iter().map(|b| format!("{b:02x}")).collect();
    Ok(Shelf { title, path: path.to_owned(), sha256, invented, parts, warnings: problems })
}

fn parts(r: &mut DesignReader<'_>) -> Vec<Part> {
    let Some(shelf) = r.value("shelf") else {
        let problem = Problem::error("there are no parts on this shelf").in_file(r.path);
        r.problems.push(problem.help("add [[shelf.panel]], [[shelf.battery]], [[shelf.pump]] or [[shelf.mount]], each with name, price and its keys"));
        return Vec::new();
    };
    let Some(tables) = shelf.get_ref().as_table() else {
        let title = format!("`shelf` must contain tables of parts, not {}", type_name(shelf.get_ref()));
        r.error(shelf.span(), title, "", "write [[shelf.panel]] on a line of its own, and its keys below it");
        return Vec::new();
    };
    let mut found = Vec::new();
    for (name, span, value) in in_file_order(tables) {
        let Some(kind) = Kind::ALL.into_iter().find(|k| k.name() == name) else {
            let kinds = Kind::ALL.map(Kind::name);
            let help = match nearest(name, kinds.into_iter()) {
                Some(meant) => format!("did you mean [[shelf.{meant}]]?"),
                None => format!("kinds of parts: {}", kinds.join(", ")),
            };
            r.error(span, format!("unknown kind of part `{name}`"), "unknown", &help);
            continue;
        };
        found.extend(parts_of(r, kind, value));
    }
    let builds = Kind::ALL
        .iter()
        .map(|k| found.iter().filter(|p: &&Part| p.kind == *k).count().max(1))
        .fold(1, usize::saturating_mul);
    if builds > BUILDS_MAX {
        let title = format!("these parts make {builds} builds: more than {BUILDS_MAX}");
        r.error(shelf.span(), title, "", "leave out parts that you would not buy");
    } else if found.is_empty() && r.problems.is_empty() {
        r.error(shelf.span(), "there are no parts on this shelf", "empty", "");
    }
    found.sort_by_key(|p| p.kind);
    found
}

fn parts_of<'a>(r: &mut DesignReader<'a>, kind: Kind, value: Value<'a>) -> Vec<Part> {
    let list: Option<Vec<_>> = match value.get_ref() {
        DeValue::Array(list) => list.iter().map(|v| Some((v, v.get_ref().as_table()?))).collect(),
        _ => None,
    };
    let Some(list) = list else {
        let title = format!("`shelf.{}` must be a list of tables", kind.name());
        r.error(value.span(), title, "", &format!("write [[shelf.{}]] once for each part", kind.name()));
        return Vec::new();
    };
    if list.len() > PARTS_MAX {
        r.error(value.span(), format!("more than {PARTS_MAX} parts of one kind"), "", "");
        return Vec::new();
    }
    let mut parts: Vec<Part> = Vec::new();
    for (item, keys) in list {
        if r.has_too_many_problems() {
            break;
        }
        let mut reader = DesignReader::for_part(r.path, r.text, kind.name(), item, keys);
        if let Some(part) = part(&mut reader, kind, item, keys) {
            if parts.iter().any(|p| p.name == part.name) {
                let title = format!("two parts of [[shelf.{}]] are named \"{}\"", kind.name(), part.name);
                reader.error(item.span(), title, "", "give each its own name");
            }
            parts.push(part);
        }
        r.problems.list.append(&mut reader.problems.list);
    }
    parts
}

fn part<'a>(r: &mut DesignReader<'a>, kind: Kind, item: Value<'a>, keys: &'a DeTable<'a>) -> Option<Part> {
    let name = name(r, kind, item, keys);
    let price = price(r, name.as_deref().unwrap_or("this part"), item, keys);
    if left_out(r, kind, keys) {
        return Some(Part { kind, name: name?, price: price?, keys: Vec::new(), is: None });
    }
    let changes = remedy::keys_of_part(r, kind.name(), keys, &OWN);
    let is = checked(r, kind);
    // Keys without effect are warned about: the part is then not what its keys say.
    known::warn_unused(r);
    Some(Part { kind, name: name?, price: price?, keys: changes, is: Some(is?) })
}

fn name<'a>(r: &mut DesignReader<'a>, kind: Kind, item: Value<'a>, keys: &'a DeTable<'a>) -> Option<String> {
    match keys.get("name").map(|v| v.get_ref()) {
        Some(DeValue::String(name)) if !name.trim().is_empty() => Some(name.trim().to_owned()),
        _ => {
            let title = format!("a part of [[shelf.{}]] needs a name", kind.name());
            r.error(item.span(), title, "", "add `name = \"12 W, framed\"`");
            None
        }
    }
}

/// The price of a part that is called so.
fn price<'a>(r: &mut DesignReader<'a>, called: &str, item: Value<'a>, keys: &'a DeTable<'a>) -> Option<f64> {
    let Some(value) = keys.get("price") else {
        let help = "add `price = 12.5`, or 0 if you have it already";
        r.error(item.span(), format!("`{called}` has no price"), "missing in this part", help);
        return None;
    };
    tables::price(r, called, value)
}

/// Whether this part stands for having none of its kind, which only a battery may; other keys have then no place.
fn left_out<'a>(r: &mut DesignReader<'a>, kind: Kind, keys: &'a DeTable<'a>) -> bool {
    let Some(value) = keys.get("left_out") else { return false };
    match (kind, value.get_ref()) {
        (Kind::Battery, DeValue::Boolean(false)) => {}
        (Kind::Battery, DeValue::Boolean(true)) => {
            for (key, span, _) in in_file_order(keys).into_iter().filter(|k| !OWN.contains(&k.0)) {
                let title = format!("`{key}` has no effect on a battery that is left out");
                r.error(span, title, "not allowed here", "remove this key or `left_out`");
            }
            return true;
        }
        (Kind::Battery, _) => r.error(value.span(), "`left_out` must be true or false", "", ""),
        (Kind::Panel | Kind::Pump | Kind::Mount, _) => {
            let help =
                "only [[shelf.battery]] can have left_out = true: the panel then feeds the pump directly";
            r.error(value.span(), format!("a {} cannot be left out", kind.name()), "", help);
        }
    }
    false
}

/// The part as the readers of its table see it.
fn checked(r: &mut DesignReader<'_>, kind: Kind) -> Option<Checked> {
    match kind {
        Kind::Panel => tables::panel(r).map(|p| Checked::Panel(Box::new(p))),
        Kind::Mount => tables::mount(r).map(|m| Checked::Mount(Box::new(m))),
        Kind::Pump => tables::pump(r).map(Checked::Pump),
        Kind::Battery => {
            let battery = tables::battery(r);
            // The charger that comes with it, if it names one, is checked with it.
            let charger = if r.given("electronics") || battery.is_some() {
                tables::electronics(r, battery.as_ref(), None)
            } else {
                None
            };
            battery.filter(|_| charger.is_some()).map(Checked::Battery)
        }
    }
}
