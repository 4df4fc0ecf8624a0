//! Values with units: quantities, with or without uncertainty.

use toml::de::DeValue;

use super::lookup::DesignReader;
use crate::design::keys::{self, Allowed, Fallback, Kind};
use crate::design::values::{Value, as_written, number, type_name};
use crate::units::{Dimension, System, Uncertain, parse, show, show_uncertain};

impl<'a> DesignReader<'a> {
    /// A quantity, or its default.
    pub(crate) fn quantity(&mut self, path: &str) -> Option<Uncertain> {
        self.quantity_or(path, None)
    }

    /// A quantity, or what follows from other keys; `None` also if there is nothing to follow.
    pub(crate) fn quantity_or(&mut self, path: &str, rule: Option<Uncertain>) -> Option<Uncertain> {
        let key = keys::key(path)?;
        let allowed @ (dimension, ..) = key.quantity()?;
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
            return self.in_range(path, value, quantity, allowed);
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
            Fallback::Rule(_) | Fallback::Numbers(_) => None,
        }
    }

    /// A quantity at any place of the file; a plain number will do where no unit is wanted.
    pub(crate) fn quantity_at(
        &mut self,
        name: &str,
        value: Value<'a>,
        dimension: Dimension,
    ) -> Option<Uncertain> {
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

    /// Checks that a quantity, with its whole uncertainty range, lies in the allowed range.
    pub(crate) fn in_range(
        &mut self,
        name: &str,
        value: Value<'a>,
        q: Uncertain,
        (dimension, lo, hi): Allowed,
    ) -> Option<Uncertain> {
        let slack = 1e-12 * (lo.abs() + hi.abs()).min(1e6);
        if q.lowest() >= lo - slack && q.highest() <= hi + slack {
            return Some(q);
        }
        let shown = |v: f64| show(v, dimension, 4, System::Si);
        let title = format!("`{name}` must be between {} and {}", shown(lo), shown(hi));
        let (reached, word) = if q.lowest() < lo { (q.lowest(), "down") } else { (q.highest(), "up") };
        let label = if (lo..=hi).contains(&q.nominal) {
            format!("its uncertainty range reaches {word} to {}", shown(reached))
        } else {
            format!("this is {}", shown(q.nominal))
        };
        let help = if dimension == Dimension::Angle && name.ends_with("azimuth") && q.nominal < 0.0 {
            azimuth_help(q.nominal)
        } else {
            String::new()
        };
        self.error(value.span(), title, &label, &help);
        None
    }

    /// A quantity without uncertainty, or its default.
    pub(crate) fn exact(&mut self, path: &str) -> Option<f64> {
        self.exact_or(path, None)
    }

    /// The same, or what follows from other keys; `None` also if there is nothing to follow.
    pub(crate) fn exact_or(&mut self, path: &str, rule: Option<f64>) -> Option<f64> {
        let quantity = self.quantity_or(path, rule.map(Uncertain::exact))?;
        if quantity.is_exact() {
            return Some(quantity.nominal);
        }
        if let Some(value) = self.value(path) {
            self.not_exact(path, value);
        }
        None
    }

    /// An exact quantity at any place of the file.
    pub(crate) fn exact_at(&mut self, name: &str, value: Value<'a>, allowed: Allowed) -> Option<f64> {
        let q = self.quantity_at(name, value, allowed.0)?;
        if !q.is_exact() {
            self.not_exact(name, value);
            return None;
        }
        self.in_range(name, value, q, allowed).map(|q| q.nominal)
    }

    fn not_exact(&mut self, name: &str, value: Value<'a>) {
        let title = format!("`{name}` must be a single exact value");
        self.error(value.span(), title, "no uncertainty allowed here", "");
    }
}

/// What a negative azimuth may mean: some count from north, others from south.
fn azimuth_help(deg: f64) -> String {
    format!(
        "azimuth counts clockwise from north: 0 is north, 90 east, 180 south, 270 west. {deg} deg counted from north is {} deg, \
         counted from south (east negative) {} deg",
        360.0 + deg,
        180.0 + deg
    )
}
