//! Which keys hold a quantity, for studies that vary one.

use super::file::DesignFile;
use super::keys;
use super::known;
use super::values::nearest;
use crate::units::{Dimension, Uncertain, parse};

/// A key that holds a quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Numeric {
    /// Its name in a design file.
    pub key: &'static str,
    /// The kind of quantity.
    pub dimension: Dimension,
    /// Least value allowed, base unit.
    pub least: f64,
    /// Greatest value allowed, base unit.
    pub greatest: f64,
}

/// The quantity a key holds.
///
/// # Errors
/// A key that is not known or holds no quantity: what is wrong, and what would do or was meant.
pub fn numeric(path: &str) -> Result<Numeric, (String, String)> {
    if let Some(key) = keys::key(path) {
        return match key.kind.quantity() {
            Ok((dimension, least, greatest)) => Ok(Numeric { key: key.path, dimension, least, greatest }),
            Err(held) => Err((
                format!("`{path}` is not a quantity: it holds {held}"),
                "use a key with a unit, such as battery.capacity or panel.rated_power".to_owned(),
            )),
        };
    }
    let all = || keys::all().filter(|k| k.quantity().is_some()).map(|k| k.path);
    let (table, name) = path.rsplit_once('.').unwrap_or(("", path));
    let known_table = keys::TABLES.iter().any(|t| t.0 == table && !table.is_empty());
    let (title, elsewhere) = match known_table {
        true => known::describe_unknown(table, name),
        false => (format!("unknown key `{path}`"), "scenarios/README.md lists every key".to_owned()),
    };
    // A name without its table, or with a slip in either.
    let bare = all().find(|k| k.rsplit_once('.').is_some_and(|(_, local)| local == name));
    let help = match nearest(path, all()).filter(|_| !known_table).or(bare) {
        Some(meant) => format!("did you mean `{meant}`?"),
        None => elsewhere,
    };
    Err((title, help))
}

impl DesignFile {
    /// What the design has for a key that holds a quantity, given or by default; also for keys that must be
    /// exact.
    pub(crate) fn value_of(&self, key: &Numeric) -> Option<Uncertain> {
        self.quantity(key.key).or_else(|| {
            let input = self.inputs.iter().find(|i| i.key == key.key)?;
            parse(&input.value, key.dimension).ok()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_that_cannot_vary_are_told_apart() {
        assert_eq!(numeric("battery.capacity").map(|n| n.dimension), Ok(Dimension::Charge));
        assert_eq!(numeric("wish.still_below").map(|n| n.dimension), Ok(Dimension::Duration));
        for (path, title, help) in [
            ("battery.capacty", "unknown key `capacty` in [battery]", "`capacity`?"),
            ("battry.capacity", "unknown key `battry.capacity`", "`battery.capacity`?"),
            ("capacity", "unknown key `capacity`", "`battery.capacity`?"),
            ("zzz.qqq", "unknown key `zzz.qqq`", "scenarios/README.md"),
            ("battery.chemistry", "holds a word", "such as battery.capacity"),
            ("panel.cells", "a whole number", "such as battery.capacity"),
            ("wish.season", "a form of its own", "such as battery.capacity"),
        ] {
            let (said, would_do) = numeric(path).expect_err(path);
            assert!(said.contains(title), "{path}: {said}");
            assert!(would_do.contains(help), "{path}: {would_do}");
        }
    }
}
