//! Reads `KEY=RANGE`: which key an axis of a grid varies, and over which values.
//!
//! ```text
//! battery.capacity=1..6x5           multiples of what the design has: from 1 to 6 times, five of them
//! battery.capacity=1.5..9 Ah x6     amounts, with their unit
//! panel.rated_power=5, 10, 20 W     a list, of amounts or of multiples
//! ```
//!
//! A number without unit is a multiple of the design's value. Keys whose values have no unit are the exception: there it is
//! an amount, and multiples are written with `times`.

use super::price::is_size;
use crate::design::{Change, DesignFile, Numeric, numeric};
use crate::source::{Problem, Problems};
use crate::units::{Dimension, System, Uncertain, parse, show, text};
use serde::Serialize;
use std::ops::Range;

/// Number of values of a range if none is given.
const DEFAULT_COUNT: usize = 6;
/// Allowed number of values of an axis.
const COUNTS: std::ops::RangeInclusive<usize> = 2..=20;
/// How an axis is written.
const HOW: &str =
    "write it like battery.capacity=1..6x5 (1 to 6 times, five values), =\"1.5..9 Ah x5\" or =1,2,4";

/// One axis of a grid.
#[derive(Clone, Debug, Serialize)]
pub struct Axis {
    /// The key it varies.
    pub key: &'static str,
    /// Base unit of `values`; empty for plain numbers.
    pub unit: &'static str,
    /// Its values, base unit, increasing.
    pub values: Vec<f64>,
    /// The same as multiples of the design's value, if given so.
    pub multiples: Option<Vec<f64>>,
    /// The design's value, base unit, if it has one.
    pub design: Option<f64>,
    /// Kind of quantity.
    #[serde(skip)]
    pub dimension: Dimension,
    /// The design's value with its uncertainty.
    #[serde(skip)]
    has: Option<Uncertain>,
}

impl Axis {
    /// Reads `text`, the argument of `flag`.
    ///
    /// # Errors
    /// What is wrong with it, where, and what is allowed.
    pub fn parse(flag: &str, text: &str, file: &DesignFile) -> Result<Axis, Problems> {
        AxisReader { flag, text, file }.axis().map_err(Problems::from)
    }

    /// Reads both axes, the arguments of `--x` and `--y`.
    ///
    /// # Errors
    /// All problems of both; two axes with the same key.
    pub fn pair(x: &str, y: &str, file: &DesignFile) -> Result<(Axis, Axis), Problems> {
        match (Axis::parse("--x", x, file), Axis::parse("--y", y, file)) {
            (Ok(x), Ok(y)) if x.key == y.key => {
                let title = format!("--x and --y both vary {}", x.key);
                Err(Problem::error(title).help("give one of them another key").into())
            }
            (Ok(x), Ok(y)) => Ok((x, y)),
            (x, y) => {
                let list = [x.err(), y.err()].into_iter().flatten().flat_map(|p| p.list).collect();
                Err(Problems { list })
            }
        }
    }

    /// Number of values.
    pub(crate) fn len(&self) -> usize {
        self.values.len()
    }

    /// Value `i` as text with its unit.
    pub(crate) fn label(&self, i: usize, system: System) -> String {
        self.values.get(i).map_or(String::new(), |v| show(*v, self.dimension, 3, system))
    }

    /// Value at a position between two places: `at` counts places from 0.
    pub fn between(&self, at: f64) -> f64 {
        let last = self.values.len().saturating_sub(1);
        let i = (at.max(0.0) as usize).min(last);
        let (a, b) = (self.values[i], self.values[(i + 1).min(last)]);
        a + (at - i as f64).clamp(0.0, 1.0) * (b - a)
    }

    /// Value `i` as a multiple of the design's value.
    pub(crate) fn multiple(&self, i: usize) -> Option<f64> {
        match (&self.multiples, self.design) {
            (Some(multiples), _) => multiples.get(i).copied(),
            (None, Some(d)) if d > 0.0 => Some(self.values[i] / d),
            _ => None,
        }
    }

    /// The changes to the design for value `i`, that of the key itself last.
    ///
    /// The uncertainty of the design's value is scaled with a multiple, and with the size of panel or battery, whose other
    /// quantities scale along; any other amount is exact.
    pub(super) fn changes(&self, i: usize, file: &DesignFile) -> Vec<(String, Change)> {
        let sized = is_size(self.key);
        let as_multiple = self.multiple(i).filter(|_| self.multiples.is_some() || sized);
        let mut changes = as_multiple.map_or(Vec::new(), |m| file.companions(self.key, m));
        let value = match (as_multiple, self.has) {
            (Some(m), Some(has)) => has.times(m),
            _ => Uncertain::exact(self.values[i]),
        };
        let value = toml::Value::String(text(&value, self.dimension));
        changes.push((self.key.to_owned(), Change::Set(value)));
        changes
    }
}

struct AxisReader<'a> {
    flag: &'a str,
    text: &'a str,
    file: &'a DesignFile,
}

/// A number and the unit behind it, if any.
struct AxisValue<'a> {
    number: &'a str,
    unit: &'a str,
    span: Range<usize>,
}

impl<'a> AxisReader<'a> {
    fn error(&self, span: Range<usize>, title: impl Into<String>, help: impl Into<String>) -> Problem {
        Problem::error(title).at(self.flag, self.text, span, "").help(help)
    }

    fn axis(&self) -> Result<Axis, Problem> {
        let whole = 0..self.text.len();
        let Some((name, _)) = self.text.split_once('=') else {
            return Err(self.error(whole, "an axis is a key and its values", HOW));
        };
        let key = numeric(name.trim()).map_err(|(title, help)| self.error(0..name.len(), title, help))?;
        let (parts, count) = self.parts(name.len() + 1)?;
        let has = self.file.value_of(&key);
        // A value without unit has the unit of the last one.
        let unit = parts.last().map_or("", |p| p.unit);
        let as_multiples = |u: &str| u == "times" || (u.is_empty() && key.dimension != Dimension::Number);
        let multiples = as_multiples(unit);
        let mut ends = Vec::with_capacity(parts.len());
        for part in &parts {
            let own = if part.unit.is_empty() { unit } else { part.unit };
            if as_multiples(own) != multiples {
                let help = "give all values a unit, or none (multiples)";
                return Err(self.error(part.span.clone(), "multiples and amounts do not mix", help));
            }
            ends.push(if multiples { self.multiple(part)? } else { self.amount(part, own, &key)? });
        }
        let list = spread(&ends, count);
        if !list.windows(2).all(|w| w[0] < w[1]) {
            let span = parts[0].span.start..parts[parts.len() - 1].span.end;
            return Err(self.error(span, "the values of an axis must be in increasing order", HOW));
        }
        let span = parts[0].span.start..parts[parts.len() - 1].span.end;
        let values = match multiples {
            true => self.times(&key, has, &list, span.clone())?,
            false => list.clone(),
        };
        self.within(&key, &values, span)?;
        Ok(Axis {
            key: key.key,
            unit: key.dimension.base_unit(),
            values,
            multiples: multiples.then_some(list),
            design: has.map(|q| q.nominal),
            dimension: key.dimension,
            has,
        })
    }

    /// The values as written, from byte `start` on, and the number of values of a range (`None`: a list).
    fn parts(&self, start: usize) -> Result<(Vec<AxisValue<'a>>, Option<usize>), Problem> {
        let rest = &self.text[start..];
        if rest.trim().is_empty() {
            return Err(self.error(0..self.text.len(), "no values behind the `=`", HOW));
        }
        let (body, count) = match counted(rest) {
            Some((at, digits)) => (&rest[..at], Some((start + at..self.text.trim_end().len(), digits))),
            None => (rest, None),
        };
        if let Some(dots) = body.find("..") {
            let to = &body[dots + 2..];
            if to.starts_with('.') || to.contains("..") {
                let span = start + dots..start + body.len();
                return Err(self.error(span, "a range has two ends, with two points between", HOW));
            }
            let count = match count {
                None => DEFAULT_COUNT,
                Some((span, digits)) => match digits.parse::<usize>() {
                    Ok(n) if COUNTS.contains(&n) => n,
                    _ => {
                        let title = format!("{digits} values of an axis");
                        let help = format!("from {} to {} will do", COUNTS.start(), COUNTS.end());
                        return Err(self.error(span, title, help));
                    }
                },
            };
            let from = self.part(&body[..dots], start)?;
            let to = self.part(to, start + dots + 2)?;
            return Ok((vec![from, to], Some(count)));
        }
        if let Some((span, _)) = count {
            let help = "leave it out, or write a range: 1..6x5";
            return Err(self.error(span, "a number of values goes with a range only", help));
        }
        let mut parts = Vec::new();
        let mut at = start;
        for piece in body.split(',') {
            parts.push(self.part(piece, at)?);
            at += piece.len() + 1;
        }
        if !COUNTS.contains(&parts.len()) {
            let title = match parts.len() {
                1 => "one value makes no axis".to_owned(),
                n => format!("{n} values of an axis; {} are the most", COUNTS.end()),
            };
            return Err(self.error(start..self.text.len(), title, HOW));
        }
        Ok((parts, None))
    }

    fn part(&self, piece: &'a str, at: usize) -> Result<AxisValue<'a>, Problem> {
        let body = piece.trim();
        let from = at + (piece.len() - piece.trim_start().len());
        let span = from..from + body.len();
        let numeric = |c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-' | '−');
        let end = body.find(|c: char| !numeric(c)).unwrap_or(body.len());
        let (number, unit) = (&body[..end], body[end..].trim());
        if number.is_empty() {
            let found = if body.is_empty() {
                "a value is missing".to_owned()
            } else {
                format!("`{body}` is not a number")
            };
            return Err(self.error(span, found, HOW));
        }
        Ok(AxisValue { number, unit, span })
    }

    fn multiple(&self, part: &AxisValue<'_>) -> Result<f64, Problem> {
        match part.number.parse::<f64>() {
            Ok(m) if m.is_finite() && m > 0.0 => Ok(m),
            _ => {
                let title = format!("`{}` is no multiple", part.number);
                Err(self.error(part.span.clone(), title, "a multiple is a number above 0, such as 0.5 or 2"))
            }
        }
    }

    fn amount(&self, part: &AxisValue<'_>, unit: &str, key: &Numeric) -> Result<f64, Problem> {
        let written = format!("{} {unit}", part.number);
        match parse(written.trim_end(), key.dimension) {
            Ok(q) => Ok(q.nominal),
            Err(e) => Err(self.error(part.span.clone(), e.title, e.help)),
        }
    }

    /// The amounts for multiples of the design's value.
    fn times(
        &self,
        key: &Numeric,
        has: Option<Uncertain>,
        list: &[f64],
        span: Range<usize>,
    ) -> Result<Vec<f64>, Problem> {
        let example = key.dimension.example();
        match has.map(|q| q.nominal) {
            Some(v) if v > 0.0 && key.dimension != Dimension::Temperature => {
                Ok(list.iter().map(|m| m * v).collect())
            }
            Some(v) => {
                let now = show(v, key.dimension, 3, System::Si);
                let title = format!("`{}` is {now} in this design: no multiple of that makes sense", key.key);
                Err(self.error(span, title, format!("give amounts, like \"{example}\"")))
            }
            None => {
                let title = format!("this design has no `{}` to take multiples of", key.key);
                Err(self.error(span, title, "vary a key that it has"))
            }
        }
    }

    fn within(&self, key: &Numeric, values: &[f64], span: Range<usize>) -> Result<(), Problem> {
        // They increase: if any is outside, the first or last is.
        let ends = [values.first(), values.last()];
        let Some(v) = ends.into_iter().flatten().find(|v| **v < key.least || **v > key.greatest) else {
            return Ok(());
        };
        let told = |v: f64| show(v, key.dimension, 3, System::Si);
        let title = format!("{} is outside of what `{}` may be", told(*v), key.key);
        Err(self.error(span, title, format!("allowed: {} to {}", told(key.least), told(key.greatest))))
    }
}

/// Start of `x5` at the end of a text, byte, and its digits.
fn counted(text: &str) -> Option<(usize, &str)> {
    let body = text.trim_end();
    let stem = body.trim_end_matches(|c: char| c.is_ascii_digit());
    let digits = &body[stem.len()..];
    let before = stem.trim_end();
    let mark = before.chars().next_back().filter(|c| matches!(c, 'x' | '×'))?;
    (!digits.is_empty()).then_some((before.len() - mark.len_utf8(), digits))
}

/// `count` equally spaced values from the first to the last; the list itself without a count.
fn spread(ends: &[f64], count: Option<usize>) -> Vec<f64> {
    match (ends, count) {
        ([from, to], Some(n)) => (0..n)
            .map(|k| if k + 1 == n { *to } else { from + (to - from) * k as f64 / (n - 1) as f64 })
            .collect(),
        _ => ends.to_vec(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    const DESIGN: &str = r#"
[site]
weather = "a.csv"
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
"#;

    fn file() -> DesignFile {
        crate::design::parse(Path::new("b.toml"), DESIGN.into()).unwrap_or_else(|p| panic!("{p}"))
    }

    fn axis(text: &str) -> Axis {
        Axis::parse("--x", text, &file()).unwrap_or_else(|p| panic!("{p}"))
    }

    #[test]
    fn ranges_and_lists_of_multiples_and_amounts() {
        let a = axis("battery.capacity=1..6x5");
        assert_eq!(a.multiples.as_deref(), Some(&[1.0, 2.25, 3.5, 4.75, 6.0][..]));
        assert_eq!(a.values, [3.0, 6.75, 10.5, 14.25, 18.0]);
        let b = axis("battery.capacity = 1500 mAh .. 9 Ah × 2");
        assert_eq!((b.multiples.as_ref(), &b.values[..]), (None, &[1.5, 9.0][..]));
        assert_eq!(b.multiple(1), Some(3.0));
        assert_eq!(axis("battery.capacity=1.5..9Ahx4").values, [1.5, 4.0, 6.5, 9.0]);
        assert_eq!(axis("panel.rated_power=5, 10,20 W").values, [5.0, 10.0, 20.0]);
        assert_eq!(axis("panel.rated_power=0.5,2").values, [5.0, 20.0]);
        assert_eq!(axis("panel.rated_power=1..2").len(), DEFAULT_COUNT);
        // A key of plain numbers has no unit by which amounts could be told.
        assert_eq!(axis("panel.ideality=1..1.5x2").values, [1.0, 1.5]);
        assert_eq!(
            axis("battery.cycle_exponent=0.5..1 times x2").multiples.as_deref(),
            Some(&[0.5, 1.0][..])
        );
        // A key that must be exact and is not written in the design.
        assert_eq!(axis("wish.still_below=1..2x2").values, [30.0, 60.0]);
        assert_eq!(a.between(0.5), 4.875);
        assert_eq!(a.between(4.0), 18.0);
    }

    #[test]
    fn a_size_takes_spread_and_companions_along() {
        let file = file();
        let cell = |text: &str| {
            let a = axis(text);
            file.patched("cell", &a.changes(1, &file)).unwrap_or_else(|p| panic!("{p}")).design
        };
        for text in ["panel.rated_power=1..2x2", "panel.rated_power=10..20 W x2"] {
            let panel = cell(text).panel;
            assert!((panel.rated_power_w.nominal - 20.0).abs() < 1e-9, "{text}");
            assert!((panel.rated_power_w.highest() - 21.5).abs() < 1e-9, "{text}");
            assert!((panel.short_circuit_current_a.nominal - 2.5).abs() < 1e-9, "{text}");
        }
        assert_eq!(cell("panel.soiling=0 %..10 % x2").panel.soiling, Uncertain::exact(0.1));
    }

    #[test]
    fn what_is_off_is_pointed_at() {
        for (text, words) in [
            ("battery.capacity", &["a key and its values", "1..6x5"][..]),
            ("battery.capacity=", &["no values", "1..6x5"]),
            ("battery.capcity=1..2", &["unknown key `capcity` in [battery]", "did you mean `capacity`?"]),
            ("battery.chemistry=1..2", &["is not a quantity"]),
            ("battery.capacity=1..6x1", &["1 values of an axis", "from 2 to 20"]),
            ("battery.capacity=1..6x99999999999999999999999", &["from 2 to 20"]),
            ("battery.capacity=1..6 V", &["`V` is a unit of voltage, but a charge is expected", "Ah"]),
            ("battery.capacity=1 Ah..6", &["do not mix"]),
            ("battery.capacity=6..1", &["increasing order"]),
            ("battery.capacity=2,2", &["increasing order"]),
            ("battery.capacity=2", &["one value makes no axis"]),
            ("battery.capacity=1,2x3", &["goes with a range only"]),
            ("battery.capacity=0..2", &["`0` is no multiple", "above 0"]),
            ("battery.capacity=one..two", &["`one` is not a number"]),
            ("battery.capacity=1..", &["a value is missing"]),
            ("battery.capacity=1...2", &["two points"]),
            ("battery.capacity=1..2..3", &["two points"]),
            ("battery.capacity=1..5000 Ah", &["5000 Ah is outside", "allowed: 10 mAh to 1000 Ah"]),
            ("battery.capacity=1..5000", &["outside of what"]),
            ("water.wind_cut_off=1..2", &["no `water.wind_cut_off`", "vary a key"]),
            ("=1..2", &["unknown key"]),
            ("=", &["unknown key"]),
        ] {
            let problems = Axis::parse("--x", text, &file()).expect_err(text).to_string();
            for word in words {
                assert!(problems.contains(word), "{word} in\n{problems}");
            }
            assert!(problems.contains("--x:1:"), "{problems}");
        }
    }
}
