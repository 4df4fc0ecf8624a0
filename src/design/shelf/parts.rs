//! From a shelf's text to its checked parts.

use super::{BUILDS_MAX, Checked, Kind, Part, Shelf};
use crate::design::reader::DesignReader;
use crate::design::values::{Value, in_file_order, nearest, type_name};
use crate::design::{check, check_power, file, forms, known, remedy};
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
    let mut s = DesignReader::new(&name, text, root);
    let stem = path.file_stem().map_or_else(|| "shelf".into(), |s| s.to_string_lossy().into_owned());
    let title = s.string("title").map_or(stem, |(_, text)| text.trim().to_owned());
    let invented = match s.value("invented").map(|v| (v, v.get_ref())) {
        None => false,
        Some((_, DeValue::Boolean(flag))) => *flag,
        Some((value, found)) => {
            s.error(
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
                    "this looks like a design; parts of a shelf stand under [[shelf.panel]] and its kin"
                }
                _ => {
                    "a shelf holds title, invented, and parts under [[shelf.panel]], [[shelf.battery]], [[shelf.pump]], [[shelf.mount]]"
                }
            };
            s.error(span, format!("unknown key `{key}` at the top of a shelf"), "not known", help);
        }
    }
    let parts = parts(&mut s);
    let mut problems = s.problems;
    problems.sort();
    if problems.any_error() {
        return Err(problems);
    }
    let sha256 = Sha256::digest(text.as_bytes()).iter().map(|b| format!("{b:02x}")).collect();
    Ok(Shelf { title, path: path.to_owned(), sha256, invented, parts, warnings: problems })
}

fn parts(s: &mut DesignReader<'_>) -> Vec<Part> {
    let Some(shelf) = s.value("shelf") else {
        let problem = Problem::error("there is no part on this shelf").in_file(s.path);
        s.problems.push(problem.help("add [[shelf.panel]], [[shelf.battery]], [[shelf.pump]] or [[shelf.mount]], each with name, price and its keys"));
        return Vec::new();
    };
    let Some(tables) = shelf.get_ref().as_table() else {
        let title = format!("`shelf` must be tables of parts, not {}", type_name(shelf.get_ref()));
        s.error(shelf.span(), title, "", "write [[shelf.panel]] and its keys below it");
        return Vec::new();
    };
    let mut found = Vec::new();
    for (name, span, value) in in_file_order(tables) {
        let Some(kind) = Kind::ALL.into_iter().find(|k| k.name() == name) else {
            let kinds = Kind::ALL.map(Kind::name);
            let help = match nearest(name, kinds.into_iter()) {
                Some(meant) => format!("did you mean [[shelf.{meant}]]?"),
                None => format!("a shelf holds {}", kinds.join(", ")),
            };
            s.error(span, format!("no kind of part is called `{name}`"), "not known", &help);
            continue;
        };
        found.extend(parts_of(s, kind, value));
    }
    let builds = Kind::ALL
        .iter()
        .map(|k| found.iter().filter(|p: &&Part| p.kind == *k).count().max(1))
        .fold(1, usize::saturating_mul);
    if builds > BUILDS_MAX {
        let title = format!("these parts make {builds} builds: more than {BUILDS_MAX}");
        s.error(shelf.span(), title, "", "leave out parts that you would not buy");
    } else if found.is_empty() && s.problems.is_empty() {
        s.error(shelf.span(), "there is no part on this shelf", "empty", "");
    }
    found.sort_by_key(|p| p.kind);
    found
}

fn parts_of<'a>(s: &mut DesignReader<'a>, kind: Kind, value: Value<'a>) -> Vec<Part> {
    let list: Option<Vec<_>> = match value.get_ref() {
        DeValue::Array(list) => list.iter().map(|v| Some((v, v.get_ref().as_table()?))).collect(),
        _ => None,
    };
    let Some(list) = list else {
        let title = format!("`shelf.{}` must be a list of tables", kind.name());
        s.error(value.span(), title, "", &format!("write [[shelf.{}]], once for each part", kind.name()));
        return Vec::new();
    };
    if list.len() > PARTS_MAX {
        s.error(value.span(), format!("more than {PARTS_MAX} parts of one kind"), "", "");
        return Vec::new();
    }
    let mut parts: Vec<Part> = Vec::new();
    for (item, keys) in list {
        if s.has_too_many_problems() {
            break;
        }
        let mut reader = DesignReader::for_part(s.path, s.text, kind.name(), item, keys);
        if let Some(part) = part(&mut reader, kind, item, keys) {
            if parts.iter().any(|p| p.name == part.name) {
                let title =
                    format!("there are two parts named \"{}\" in [[shelf.{}]]", part.name, kind.name());
                reader.error(item.span(), title, "", "give each a name of its own");
            }
            parts.push(part);
        }
        s.problems.list.append(&mut reader.problems.list);
    }
    parts
}

fn part<'a>(s: &mut DesignReader<'a>, kind: Kind, item: Value<'a>, keys: &'a DeTable<'a>) -> Option<Part> {
    let heading = format!("[[shelf.{}]]", kind.name());
    let name = match keys.get("name").map(|v| v.get_ref()) {
        Some(DeValue::String(name)) if !name.trim().is_empty() => Some(name.trim().to_owned()),
        _ => {
            s.error(
                item.span(),
                format!("a part of {heading} needs a name"),
                "",
                "add `name = \"12 W, framed\"`",
            );
            None
        }
    };
    let called = name.clone().unwrap_or_else(|| "this part".to_owned());
    let price = match keys.get("price") {
        Some(value) => forms::price(s, &called, value),
        None => {
            let title = format!("`{called}` has no price");
            s.error(
                item.span(),
                title,
                "this part lacks it",
                "add `price = 12.5`, or 0 if you have it already",
            );
            None
        }
    };
    if let Some((value, left_out)) = keys.get("left_out").map(|v| (v, v.get_ref())) {
        match (kind, left_out) {
            (Kind::Battery, DeValue::Boolean(false)) => {}
            (Kind::Battery, DeValue::Boolean(true)) => {
                for (key, span, _) in in_file_order(keys).into_iter().filter(|k| !OWN.contains(&k.0)) {
                    let title = format!("`{key}` has no use for a battery that is left out");
                    s.error(span, title, "not used", "take it or `left_out` away");
                }
                return Some(Part { kind, name: name?, price: price?, keys: Vec::new(), is: None });
            }
            (Kind::Battery, _) => {
                s.error(value.span(), "`left_out` must be true or false", "", "");
            }
            _ => {
                let help =
                    "only `[[shelf.battery]]` may say left_out = true: the pump then hangs on the panel";
                s.error(value.span(), format!("a {} cannot be left out", kind.name()), "", help);
            }
        }
    }
    let changes = remedy::keys_of_part(s, kind.name(), keys, &OWN);
    let is = match kind {
        Kind::Panel => check::panel(s).map(Checked::Panel),
        Kind::Mount => check::mount(s).map(Checked::Mount),
        Kind::Pump => check_power::pump(s).map(Checked::Pump),
        Kind::Battery => {
            let battery = check_power::battery(s);
            // The charger that comes with it, if it names one, is held against it.
            let charger = if s.given("electronics") || battery.is_some() {
                check_power::electronics(s, battery.as_ref(), None)
            } else {
                None
            };
            battery.filter(|_| charger.is_some()).map(Checked::Battery)
        }
    };
    // Keys that would have no effect are worth a word: the part is then not what its keys say.
    known::warn_unused(s);
    Some(Part { kind, name: name?, price: price?, keys: changes, is: Some(is?) })
}
