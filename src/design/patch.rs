//! Changed designs: remedies, cells of a grid, builds from a shelf. A change is made on the tree
//! of values, written out again and checked like any other file.

use toml::{Table, Value};

use super::file::{DesignFile, Fit, parse_alone};
use super::keys;
use super::remedy::Change;
use crate::source::{Problem, Problems};
use crate::units::{Dimension, Uncertain, parse, text};

/// Quantities that belong to the same part: when the first is changed by a factor, the others, if
/// they are given, change by this power of it.
const COMPANIONS: [(&str, &[(&str, i32)]); 2] = [
    ("panel.rated_power", &[("panel.short_circuit_current", 1)]),
    ("battery.capacity", &[("battery.resistance", -1), ("electronics.charge_current_max", 1)]),
];

impl DesignFile {
    /// The design with some keys changed, checked anew. `name` says what was done, for messages
    /// and reports. Remedies are left out of the changed design.
    ///
    /// # Errors
    /// Whatever the checker finds in the changed design; a key that is not known or cannot be
    /// scaled.
    pub fn patched(&self, name: &str, changes: &[(String, Change)]) -> Result<DesignFile, Problems> {
        let shown = format!("{} ({name})", self.path.display());
        let fail = |title: String| Problems::from(Problem::error(title).in_file(&shown));
        let mut root: Table = self.text.parse().map_err(|_| fail("cannot be read again".into()))?;
        root.remove("remedy");
        for (path, change) in changes {
            let changed = match change {
                Change::Set(value) => put(&mut root, path, value.clone()),
                Change::Remove => {
                    take(&mut root, path);
                    Some(())
                }
                Change::Scale(factor) => {
                    self.scaled(&root, path, *factor).and_then(|value| put(&mut root, path, value))
                }
            };
            changed.ok_or_else(|| fail(format!("`{path}` cannot be changed in this way")))?;
        }
        drop_idle_care(&mut root);
        let text = toml::to_string(&root).map_err(|_| fail("cannot be written again".into()))?;
        let (file, _) = parse_alone(&shown, &self.path, text, self.fit)?;
        Ok(DesignFile { variant: Some(name.to_owned()), ..file }.with_units_of(self))
    }

    /// The design with the wish of another: `[wish]` as that design's file has it, the rest unchanged.
    ///
    /// # Errors
    /// Whatever the checker finds in the changed design.
    pub fn with_wish_of(&self, other: &DesignFile) -> Result<DesignFile, Problems> {
        let wish = other.text.parse::<Table>().ok().and_then(|root| root.get("wish").cloned());
        let change = wish.map_or(Change::Remove, Change::Set);
        let name = format!("with the wish of {}", other.path.display());
        self.patched(&name, &[("wish".to_owned(), change)])
    }

    /// Keys of the wish in which two designs differ, each with its value here and there.
    pub(crate) fn wish_differences(&self, other: &DesignFile) -> Vec<(String, String, String)> {
        let value = |file: &DesignFile, key: &str| {
            file.inputs.iter().find(|i| i.key == key).map_or("not given".to_owned(), |i| i.value.clone())
        };
        self.inputs
            .iter()
            .filter(|i| i.key.starts_with("wish."))
            .map(|i| (i.key.clone(), i.value.clone(), value(other, &i.key)))
            .filter(|(_, here, there)| here != there)
            .collect()
    }

    /// The same for a build of a shelf: whether its parts work together is asked by who chooses.
    pub(super) fn patched_open(
        &self,
        name: &str,
        changes: &[(String, Change)],
    ) -> Result<DesignFile, Problems> {
        DesignFile { fit: Fit::Open, ..self.clone() }.patched(name, changes)
    }

    /// Its text as a file that can be read from any folder: weather files by their whole path. `None` if a path
    /// cannot be made whole or written.
    pub fn standalone(&self) -> Option<String> {
        let mut root: Table = self.text.parse().ok()?;
        let paths = self.weather_paths();
        let whole =
            paths.iter().map(|p| Some(Value::String(std::path::absolute(p).ok()?.to_str()?.to_owned())));
        put(&mut root, "site.weather", Value::Array(whole.collect::<Option<_>>()?))?;
        if let Some(units) = &self.learned {
            let whole = std::path::absolute(&units.path).ok()?.to_str()?.to_owned();
            put(&mut root, "learned.units", Value::String(whole))?;
        }
        put(&mut root, "title", Value::String(self.design.title.clone()))?;
        toml::to_string(&root).ok()
    }

    /// What must change with a quantity that is multiplied by `factor`, if the file gives it: a
    /// panel of twice the power has twice the short-circuit current, a battery of twice the
    /// capacity half the resistance.
    pub(crate) fn companions(&self, key: &str, factor: f64) -> Vec<(String, Change)> {
        COMPANIONS
            .iter()
            .filter(|(first, _)| *first == key)
            .flat_map(|(_, others)| others.iter())
            .filter(|(other, _)| self.inputs.iter().any(|i| i.given && i.key == *other))
            .map(|(other, power)| {
                ((*other).to_owned(), Change::Scale(if *power < 0 { 1.0 / factor } else { factor }))
            })
            .collect()
    }

    /// The quantity of this key, if the design has it.
    pub fn quantity(&self, key: &str) -> Option<Uncertain> {
        let mut found = None;
        let _ = self.design.map(&mut |k, q| {
            if k == key {
                found = Some(*q);
            }
        });
        found
    }

    /// A quantity times a factor, as it would be written.
    fn scaled(&self, root: &Table, path: &str, factor: f64) -> Option<Value> {
        let (dimension, ..) = keys::key(path)?.quantity()?;
        if !(factor.is_finite() && factor > 0.0) {
            return None;
        }
        let quantity = match get(root, path) {
            Some(Value::String(written)) => parse(written, dimension).ok().or_else(|| self.quantity(path))?,
            Some(Value::Float(number)) => Uncertain::exact(*number),
            Some(Value::Integer(number)) => Uncertain::exact(*number as f64),
            Some(_) => return None,
            None => self.quantity(path)?,
        };
        Some(Value::String(text(&quantity.times(factor), dimension)))
    }
}

/// The kind of quantity a key holds, if it holds one.
pub fn dimension_of(key: &str) -> Option<Dimension> {
    keys::key(key)?.quantity().map(|(dimension, ..)| dimension)
}

/// What a design's text holds for a key.
pub(super) fn written_value(text: &str, path: &str) -> Option<Value> {
    get(&text.parse().ok()?, path).cloned()
}

fn get<'t>(root: &'t Table, path: &str) -> Option<&'t Value> {
    match path.split_once('.') {
        Some((table, rest)) => get(root.get(table)?.as_table()?, rest),
        None => root.get(path),
    }
}

/// Puts a value in its place, making the tables on the way.
fn put(root: &mut Table, path: &str, value: Value) -> Option<()> {
    match path.split_once('.') {
        Some((table, rest)) => {
            let inner = root.entry(table).or_insert_with(|| Value::Table(Table::new()));
            put(inner.as_table_mut()?, rest, value)
        }
        None => {
            root.insert(path.to_owned(), value);
            Some(())
        }
    }
}

/// Takes out a key or a table, if it is there.
fn take(root: &mut Table, path: &str) {
    match path.split_once('.') {
        Some((table, rest)) => {
            if let Some(inner) = root.get_mut(table).and_then(Value::as_table_mut) {
                take(inner, rest);
            }
        }
        None => {
            root.remove(path);
        }
    }
}

/// Removes the care of parts that a change has taken away.
fn drop_idle_care(root: &mut Table) {
    let kind = root.get("mount").and_then(|mount| mount.get("kind")).and_then(Value::as_str);
    let fixed = kind.is_none_or(|kind| kind.trim().eq_ignore_ascii_case("fixed"));
    if !root.contains_key("battery") {
        take(root, "care.replace_battery_below");
        take(root, "care.replace_battery_every");
    }
    if fixed {
        take(root, "care.replace_mount_after");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::parse as parse_design;
    use std::path::Path;

    const BASE: &str = r#"
[site]
weather = "a.csv"
skyline = [["90 deg", "8 deg"]]
[panel]
rated_power = "10 W ± 5 %"
open_circuit_voltage = "10.8 V"
short_circuit_current = "1.25 A"
[battery]
chemistry = "lithium iron phosphate"
voltage = "6.4 V"
capacity = "3 Ah ± 10 %"
[pump]
bench = [["6 V", "290 mA", "430 mm"]]
[[remedy]]
name = "battery 6 Ah"
battery.capacity = "6 Ah"
"#;

    fn base() -> DesignFile {
        parse_design(Path::new("b.toml"), BASE.into()).unwrap_or_else(|p| panic!("{p}"))
    }

    fn change(key: &str, change: Change) -> Vec<(String, Change)> {
        vec![(key.to_owned(), change)]
    }

    #[test]
    fn a_remedy_changes_what_it_names_and_what_follows() {
        let file = base();
        let remedy = &file.remedies[0];
        let better = file.patched(&remedy.name, &remedy.changes).unwrap_or_else(|p| panic!("{p}"));
        let battery = better.design.battery.as_ref().expect("battery");
        assert_eq!(battery.capacity_ah, Uncertain::exact(6.0));
        // Twice the capacity: the implied resistance halves.
        let before = file.design.battery.as_ref().expect("battery").resistance_ohm.nominal;
        assert!((battery.resistance_ohm.nominal - 0.5 * before).abs() < 1e-12);
        assert_eq!(better.variant.as_deref(), Some("battery 6 Ah"));
        assert_ne!(better.sha256, file.sha256);
        assert!(better.remedies.is_empty());
    }

    #[test]
    fn scaling_keeps_the_relative_spread_and_takes_companions_along() {
        let file = base();
        let mut changes = change("panel.rated_power", Change::Scale(2.0));
        changes.extend(file.companions("panel.rated_power", 2.0));
        let panel = file.patched("panel x2", &changes).unwrap_or_else(|p| panic!("{p}")).design.panel;
        assert!((panel.rated_power_w.nominal - 20.0).abs() < 1e-9);
        // ± 5 % is two standard deviations; cut at three.
        assert!((panel.rated_power_w.highest() - 21.5).abs() < 1e-9);
        assert!((panel.short_circuit_current_a.nominal - 2.5).abs() < 1e-9);
        // A default can be scaled as well.
        let lag = file.patched("slower", &change("battery.temperature_lag", Change::Scale(2.0)));
        let lag = lag.unwrap_or_else(|p| panic!("{p}")).design.battery.expect("battery").temperature_lag_h;
        assert_eq!((lag.lowest(), lag.highest()), (4.0, 12.0));
    }

    #[test]
    fn tables_and_keys_can_be_taken_out() {
        let mut changes = change("battery", Change::Remove);
        changes.extend(change("site.skyline", Change::Remove));
        let bare = base().patched("bare", &changes).unwrap_or_else(|p| panic!("{p}"));
        assert!(bare.design.battery.is_none() && bare.design.site.skyline.is_empty());
    }

    #[test]
    fn an_impossible_change_is_refused_and_named() {
        let file = base();
        for (changes, words) in [
            (change("panel.rated_power", Change::Scale(2.0)), "no cell has a fill factor of"),
            (change("battery.capacity", Change::Set(Value::String("6 V".into()))), "b.toml (try)"),
            (change("battery.chemistry", Change::Scale(2.0)), "cannot be changed"),
            (change("panel.rated_power", Change::Scale(f64::NAN)), "cannot be changed"),
            (change("nonsense", Change::Set(Value::Integer(1))), "unknown key"),
            (change("title.x", Change::Set(Value::Integer(1))), "cannot be a table"),
        ] {
            let problems = file.patched("try", &changes).expect_err(words).to_string();
            assert!(problems.contains(words), "{words} in {problems}");
        }
    }
}
